"""Rules of the readings of a verification by themselves: the loop's current, slips of reading."""

from collections.abc import Iterator
from math import floor, log10
from statistics import median

from calculations import signals
from calculations.aspects import entries, kinds, liquid, loop, verifying, weighing
from calculations.aspects.verifying import VERIFICATIONS, Check, Point
from calculations.case import Case, Waits, once
from calculations.findings import Finding, Shown, digits
from calculations.rule import Rule, entered, show, spaced
from calculations.rules import mix_ups
from calculations.rules.closeness import above, below, signed_percent
from calculations.rules.loop_set_point import SCALED
from calculations.signals import LoopState
from calculations.units import Quantity

FAILURES = (
    LoopState.FAILURE_LOW,
    LoopState.INDETERMINATE_LOW,
    LoopState.INDETERMINATE_HIGH,
    LoopState.FAILURE_HIGH,
)
LEAST_POINTS = 4
STATES: tuple[verifying.State, ...] = ("as_found", "as_left")
END = 0.05
"""Share of span at either end where errors of zero and span leave the band; no source."""


def has_verifications(case: Case) -> bool:
    """Whether sensors were verified, or should have been."""
    return case.event is not None and bool(case.find("/sensors") or case.find(VERIFICATIONS))


@once
def left(case: Case, place: str) -> Check:
    """The verification in the state in which the sensor was left."""
    return verifying.check(case, place, verifying.state_left(case, place))


def name(case: Case, found: Check) -> str:
    """The tag of the sensor, for sentences."""
    return str(case.find(f"{found.sensor}/tag") or case.find(f"{found.sensor}/serial") or "sensor")


def shown(case: Case, found: Check, value: float) -> Shown:
    """A computed value of what the sensor measures, in the unit of its readings."""
    applied = case.quantity(f"{found.points[0].place}/applied")
    ranged = case.quantity(f"{found.sensor}/upper_range_value")
    level = case.is_(f"{found.sensor}/quantity", "level")
    for unit_of in (applied, ranged):
        if unit_of.kind == "ratio":
            continue
        in_pressure = level and unit_of.kind == "pressure"
        return show(liquid.pressure(case, value) if in_pressure else value, unit_of.unit)
    return show(value, "%")


# -- kinds --------------------------------------------------------------------------------------


def _kinds(case: Case, place: str) -> Iterator[Finding]:
    sensor = verifying.sensor_place(case, place)
    signal, applied = kinds.of_signal(case, sensor), kinds.of_readings(case, sensor)
    shown = applied
    if verifying.is_regulating(case, sensor):
        shown = (*applied, str(kinds.of_loop(case)))  # what the drive makes of it
    right = {"applied": applied, "signal": (signal,) if signal else (), "indicated": shown}
    named = [(name, kinds_) for name, kinds_ in right.items() if kinds_]
    for state in ("as_found", "as_left"):
        for index, point in enumerate(case.find(f"{place}/{state}") or ()):
            for name, kinds_ in named:
                read = getattr(point, name)
                if read is not None and read.kind not in kinds_:
                    other = _other_signal if name == "signal" else _other_kind
                    yield other(case, sensor, f"{place}/{state}/{index}/{name}", read)
                    return


def _other_kind(case: Case, sensor: str, pointer: str, read: Quantity) -> Finding:
    return KINDS.finding(
        "kind", "review", pointer,
        compared={"value": read}, sensor=_tag(case, sensor), kind=kinds.WORDS[read.kind],
        measures=spaced(case.word(f"{sensor}/quantity")),
        verb="applied" if pointer.endswith("/applied") else "shown",
    )  # fmt: skip


def _other_signal(case: Case, sensor: str, pointer: str, read: Quantity) -> Finding:
    output, load = case.word(f"{sensor}/output"), case.find(f"{sensor}/loop_load")
    over = read.kind == "voltage"
    known = over and load is not None and load.si > 0
    return KINDS.finding(
        "voltage_over" if known else "voltage" if over else "current", "review", pointer,
        compared={"signal": read, "output": Shown(output, "")}, sensor=_tag(case, sensor),
        load=f"{load.value} {load.unit}" if known else "",
        current=show(read.si / load.si, "mA") if known else "",
    )  # fmt: skip


def _tag(case: Case, sensor: str) -> str:
    return str(case.find(f"{sensor}/tag") or case.find(f"{sensor}/serial") or "The sensor")


KINDS = Rule(
    id="sensor.kinds",
    title="Kinds of quantity of a verification's readings",
    severities=("review",),
    condition="What was applied and shown is of the kind that the sensor measures, or in % of its "
    "span; the signal was read in what carries it.",
    source="definition: quantities of different kinds cannot be compared; Ohm's law",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_kinds,
    sentences={
        "kind": "{sensor} measures {measures}, but {value} was {verb}, {kind}: the verification is "
        "not judged.",
        "voltage": "{sensor} gives {output}, but its signal was read as {signal}: a voltage says "
        "nothing without the resistor that it was read over.",
        "voltage_over": "{sensor} gives {output}, but its signal was read as {signal}; over the "
        "{load} that are recorded for the loop that is {current}.",
        "current": "{sensor} gives {output}, but its signal was read as {signal}: a voltage output "
        "is not read as a current.",
    },
    remedies={
        "kind": "Read value and unit again, and check which sensor was verified.",
        "voltage_over": "Enter the current, {current}, if it was read over that resistor.",
        "voltage": "Enter the current: the voltage over the resistor divided by its resistance.",
        "current": "Read the voltage, or check which sensor was verified.",
    },
)


# -- one slip that explains all -------------------------------------------------------------------


def _entry(case: Case, place: str) -> Iterator[Finding]:
    states = [each for each in STATES if case.find(f"{place}/{each}")]
    for state in states or STATES[:1]:
        slip = entries.slip(case, place, state)
        if slip is not None:
            found = verifying.check(case, place, state)
            yield ENTRY.finding(
                slip.kind, "review", f"{place}/{state}",
                compared=readings(case, slip.point), sensor=name(case, found),
                **_in_words(case, found, slip),
            )  # fmt: skip
            return


def _rounded(case: Case, found: Check, ends: tuple[float, float]) -> Iterator[str]:
    """Ends of a range to a hundredth or a thousandth of it: readings tell no more."""
    told = [shown(case, found, end) for end in ends]
    values = [float(each.value) for each in told]
    step = 10.0 ** (floor(log10(abs(values[1] - values[0]))) - 2)
    for value, each in zip(values, told, strict=True):
        yield f"{digits(round(value / step) * step, 6)} {each.unit}"


INVERTED = {
    "inverted": ", or the output of the sensor is inverted",
    "or_else": " If they stand there, set the direction of the sensor's output.",
}
"""What explains readings in one direction alone as well as their order does."""


def _in_words(case: Case, found: Check, slip: entries.Slip) -> dict[str, str]:
    if slip.kind == "range":
        own = loop.measuring_range(case, found.sensor)
        return {
            "range": " to ".join(_rounded(case, found, slip.ends)),
            "recorded": f"{shown(case, found, own.low)} to {shown(case, found, own.high)}",
        }
    if slip.kind == "other":
        low, high = (
            case.quantity(f"{slip.meant}/{each}_range_value") for each in ("lower", "upper")
        )
        return {
            "meant": _tag(case, slip.meant),
            "range": f"{entered(low)} to {entered(high)}",
        }
    if not slip.meant:
        both_ways = len({point.rising for point in found.readable}) == 2
        return dict.fromkeys(INVERTED, "") if both_ways else INVERTED
    column = "applied" if "applied" in slip.kind else "indicated"
    column = "signal" if slip.kind == "signal_percent" else column
    read = case.quantity(f"{slip.point.place}/{column}")
    return {"meant": f"{read.value} {slip.meant}", "unit": slip.meant, "entered": read.unit}


ENTRY = Rule(
    id=entries.RULE,
    title="Readings of a verification as they were written down",
    severities=("review",),
    condition="Where readings are out of tolerance, no single slip brings all of them, at two "
    "inputs or more, inside of it: another unit of what was applied or shown, the signal or the "
    "share of span written down in another column, the range of another sensor of the pump set, a "
    "range of its own that is wider or narrower by a quarter and more, one direction written down "
    "from its other end. Its errors are not judged before that is asked.",
    source="NIST SP 811:2008, appendix B.8 (units); IEC 60381-1 (signals); else logic",
    each=VERIFICATIONS,
    waits_for=SCALED,
    waits_at=weighing.is_in_doubt_with_loop,
    applies=has_verifications,
    check=_entry,
    sentences={
        "unit_applied": "All readings of {sensor} fit if what was applied is read as {unit}, not "
        "as {entered}: {applied} as {meant}. The sensor itself is then right.",
        "unit_indicated": "All readings of {sensor} fit if what was shown is read as {unit}, not "
        "as {entered}: {reading} at {applied} as {meant}. The sensor itself is then right.",
        "applied_signal": "All readings of {sensor} fit if what is entered as applied is a signal: "
        "{applied} as {meant}. The sensor itself is then right.",
        "applied_percent": "All readings of {sensor} fit if what is entered as applied is a share "
        "of its span: {applied} as {meant}. The sensor itself is then right.",
        "signal": "All readings of {sensor} fit if what was shown is its signal: {reading} at "
        "{applied} as {meant}. The sensor itself is then right.",
        "percent": "All readings of {sensor} fit if what was shown is a share of its span: "
        "{reading} at {applied} as {meant}. The sensor itself is then right.",
        "signal_percent": "All readings of {sensor} fit if what is entered as its signal is a "
        "share of span: {reading} at {applied} as {meant}. The sensor itself is then right.",
        "range": "The signals of {sensor} are those of a range from about {range}, but it is "
        "recorded with {recorded} ({reading} at {applied}): another range is set in it, or the "
        "record is wrong.",
        "other": "The signals do not fit the range of {sensor} ({reading} at {applied}), but all "
        "of them fit {meant}, of {range}: that one was probably verified, or its range is set.",
        "falling": "The readings of {sensor} with falling input ({reading} at {applied}) all fit "
        "in the reverse order: they were probably written down from the lowest up{inverted}.",
        "rising": "The readings of {sensor} with rising input ({reading} at {applied}) all fit in "
        "the reverse order: they were probably written down from the highest down{inverted}.",
    },
    remedies=dict.fromkeys(
        (
            "unit_applied",
            "applied_signal",
            "applied_percent",
            "unit_indicated",
            "signal",
            "percent",
            "signal_percent",
        ),
        "Read units and columns again at reference and display, and correct what is written down; "
        "adjust nothing for it.",
    )
    | {
        "range": "Read the range that is set in the transmitter. Correct the record if it is "
        "meant; else set what is recorded, and verify again.",
        "other": "Check at which sensor the readings were taken, and the range that is set in it.",
    }
    | dict.fromkeys(
        ("falling", "rising"),
        "Put the readings beside the inputs at which they were taken.{or_else}",
    ),
)


# -- signal band --------------------------------------------------------------------------------


@once
def band_problem(case: Case, place: str) -> Point | None:
    """The first point whose current means a failure, although what was applied is in range.

    At the ends of the range an error of the zero or span looks the same, and counts as that.
    """
    found = left(case, place)
    if not case.is_(f"{found.sensor}/output", "4-20 mA"):
        return None
    ranged = loop.measuring_range(case, found.sensor)
    room = END if found.outside else -0.001
    for point in found.points:
        signal = point.signal
        if signal is None or signal.kind != "current":
            continue
        if signals.loop_state(current=signal.si) in FAILURES:
            share = ranged.share(point.applied)
            if not below(min(share, 1 - share), room):
                return point
    return None


def _signal_band(case: Case, place: str) -> Iterator[Finding]:
    entries.require_right(case, place, verifying.state_left(case, place))
    if outlier(case, place):
        raise Waits("sensor.outlier")
    point = band_problem(case, place)
    if point is not None and point.signal is not None:
        found, signal = left(case, place), point.signal
        yield SIGNAL_BAND.finding(
            "low" if signal.si < 0.012 else "high", "review", point.place,
            compared={"signal": signal, "applied": case.quantity(f"{point.place}/applied")},
            limit="3.8 to 20.5 mA", sensor=name(case, found),
        )  # fmt: skip


SIGNAL_BAND = Rule(
    id="sensor.signal-band",
    title="Current inside the band of measurement",
    severities=("review",),
    condition="With a value inside the range applied, the current of a 4-20 mA loop lies from 3.8 "
    "to 20.5 mA: outside, receivers take it for a failure.",
    source="NAMUR NE 43, secondary text",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_signal_band,
    sentences={
        "low": "{sensor} gives {signal} with {applied} applied: receivers take that for a broken "
        "wire or a failed transmitter.",
        "high": "{sensor} gives {signal} with {applied} applied: receivers take that for a failed "
        "transmitter.",
    },
    remedies=dict.fromkeys(("low", "high"), "Check supply, wiring and load of the loop."),
)


# -- outlier ------------------------------------------------------------------------------------


@once
def outlier(case: Case, place: str) -> tuple[Point, float] | None:
    """The one reading that contradicts all others, if there is exactly one."""
    found = left(case, place)
    if len(found.readable) < LEAST_POINTS:
        return None
    middle = median(found.errors)
    pairs = list(zip(found.readable, found.errors, strict=True))
    far = [pair for pair in pairs if above(abs(pair[1] - middle), 2 * found.tolerance)]
    if len(far) != 1:
        return None
    point, error = far[0]
    others = [pair for pair in pairs if pair not in far]
    if any(above(abs(each - middle), found.tolerance) for _, each in others):
        return None
    partner = any(
        below(abs(other.applied - point.applied), 0.02 * found.span) for other, _ in others
    )
    slipped = _slip(case, found, point) or applied_otherwise(case, found, point)
    return (point, error) if partner or slipped else None


def _slip(case: Case, found: Check, point: Point) -> Quantity | None:
    """Other digits that bring the reading where the value applied says it should be."""
    if point.by_signal is not None and point.signal is not None:
        ranged = loop.measuring_range(case, found.sensor)
        right = signals.signal_from_value(
            kind=case.word(f"{found.sensor}/output"), value=point.applied,
            lower_range_value=ranged.low, upper_range_value=ranged.high,
        )  # fmt: skip
        return mix_ups.other_digits(point.signal, mix_ups.of(right))
    entered = case.find(f"{point.place}/indicated")
    if entered is None or entered.kind == "temperature":
        return None
    return mix_ups.other_digits(entered, mix_ups.of(point.applied))


def applied_otherwise(case: Case, found: Check, point: Point) -> Quantity | None:
    """Other digits, or another unit, of what was applied that the reading agrees with."""
    entered = case.quantity(f"{point.place}/applied")
    if entered.kind in ("temperature", "ratio") or point.indicated is None:
        return None
    meant = point.indicated - (point.applied - entered.si)
    allowed = found.tolerance * found.span + point.rounding
    units = (mix_ups.in_unit(entered, unit) for unit in mix_ups.SLIPS.get(entered.unit, ()))
    ways = [*units, *filter(None, [mix_ups.other_digits(entered, mix_ups.of(meant))])]
    return next((each for each in ways if abs(each.si - meant) <= allowed), None)


def _outlier(case: Case, place: str) -> Iterator[Finding]:
    entries.require_right(case, place, verifying.state_left(case, place))
    odd = outlier(case, place)
    if odd is None:
        return
    found, (point, error) = left(case, place), odd
    read = _slip(case, found, point)
    applied = None if read else applied_otherwise(case, found, point)
    yield OUTLIER.finding(
        "digits" if read else "applied" if applied else "plain", "review", point.place,
        compared=readings(case, point), sensor=name(case, found), error=signed_percent(error),
        read=f"{read.value} {read.unit}" if read else "",
        meant=f"{applied.value} {applied.unit}" if applied else "",
    )  # fmt: skip


def readings(case: Case, point: Point) -> dict[str, Shown | Quantity]:
    """What was applied at a point, and the reading that counts there."""
    reading = "signal" if point.by_signal is not None else "indicated"
    return {
        "applied": case.quantity(f"{point.place}/applied"),
        "reading": case.quantity(f"{point.place}/{reading}"),
    }


OUTLIER = Rule(
    id="sensor.outlier",
    title="One reading against all others of a verification",
    severities=("review",),
    condition="No single reading lies more than twice the tolerance from the others, where these "
    "agree with each other and a second reading of the same input is right, or other digits or "
    "another unit explain it.",
    source="common practice, no source",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_outlier,
    sentences={
        "digits": "Probably {read} instead of {reading}: with {applied} applied to {sensor} this "
        "one reading is off by {error} of span, all others agree.",
        "applied": "Probably {meant} was applied instead of {applied}: {reading} of {sensor} is "
        "off by {error} of span at this one point, all others agree.",
        "plain": "{reading} with {applied} applied to {sensor} is off by {error} of span, while "
        "all other readings agree: probably a slip of reading.",
    },
    remedies=dict.fromkeys(("digits", "applied", "plain"), "Take this point again."),
)


@once
def explained(case: Case, place: str) -> None:
    """Raise `Waits` where an earlier rule has named the cause of the errors."""
    entries.require_right(case, place, verifying.state_left(case, place))
    if outlier(case, place):
        raise Waits("sensor.outlier")
    if band_problem(case, place):
        raise Waits("sensor.signal-band")
