"""Rules of how a verification was written down: kinds of its readings, one slip in all of them."""

from collections.abc import Iterator
from math import floor, log10

from calculations.aspects import entries, kinds, loop, verifying, weighing
from calculations.aspects.verifying import VERIFICATIONS, Check, Point
from calculations.case import Case
from calculations.findings import Finding, Shown, digits
from calculations.rule import Rule, entered, show, spaced
from calculations.rules.closeness import signed_percent
from calculations.rules.loop_set_point import SCALED
from calculations.rules.sensor_errors import severity_left
from calculations.rules.sensor_readings import (
    STATES,
    has_verifications,
    made_up_with,
    name,
    readings,
    shown,
)
from calculations.units import Quantity

# -- kinds --------------------------------------------------------------------------------------


def _kinds(case: Case, place: str) -> Iterator[Finding]:
    sensor = verifying.sensor_place(case, place)
    signal, applied = kinds.of_signal(case, sensor), kinds.of_readings(case, sensor)
    shown = applied
    if verifying.is_regulating(case, sensor):
        shown = (*applied, str(kinds.of_loop(case)))  # what the drive makes of it
    right = {"applied": applied, "signal": (signal,) if signal else (), "indicated": shown}
    named = [(column, kinds_) for column, kinds_ in right.items() if kinds_]
    for state in ("as_found", "as_left"):
        for index, point in enumerate(case.find(f"{place}/{state}") or ()):
            for column, kinds_ in named:
                read = getattr(point, column)
                if read is not None and read.kind not in kinds_:
                    other = _other_signal if column == "signal" else _other_kind
                    yield other(case, sensor, f"{place}/{state}/{index}/{column}", read)
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
            at_drive = _lowest_at_drive(case, found) if slip.kind == "range" else None
            low = at_drive is not None and _is_left_so(case, place, state) and (
                severity_left(case, found, _error_shown(found, at_drive)) == "stop"
            )  # fmt: skip
            showing = at_drive if low and at_drive is not None else slip.point
            yield ENTRY.finding(
                "range_low" if low else slip.kind, "stop" if low else "review", f"{place}/{state}",
                compared=readings(case, showing), sensor=name(case, found),
                real=made_up_with(case, found), **_in_words(case, found, slip),
                **({"error": signed_percent(_error_shown(found, showing))} if low else {}),
            )  # fmt: skip
            return


def _is_left_so(case: Case, place: str, state: str) -> bool:
    """Whether it was left as these readings say: nothing was adjusted behind them."""
    return state == "as_left" or (
        case.is_(f"{place}/adjusted", "none") and not case.find(f"{place}/as_left")
    )


def _lowest_at_drive(case: Case, found: Check) -> Point | None:
    """The point at which the drive itself showed the least of what was applied, beside the signal.

    Whatever range is set and whatever is recorded: what it shows is what it regulates on. None
    where something else regulates: what its display says then moves nothing.
    """
    if not loop.reads_feedback(case):
        return None
    read = [
        point for point in found.readable
        if point.shown is not None and case.is_(f"{point.place}/indicated_at", "drive")
    ]  # fmt: skip
    return min(read, key=lambda point: _error_shown(found, point), default=None)


def _error_shown(found: Check, point: Point) -> float:
    return ((point.shown or 0.0) - point.applied) / found.span


EXACTLY = 9
"""Digits that tell apart the ends of a narrow range far from zero, and no noise of conversions."""


def _rounded(case: Case, found: Check, ends: tuple[float, float]) -> Iterator[str]:
    """Ends of a range to a hundredth or a thousandth of it: readings tell no more."""
    told = [shown(case, found, end, EXACTLY) for end in ends]
    values = [float(each.value) for each in told]
    step = 10.0 ** (floor(log10(abs(values[1] - values[0]))) - 2)
    for value, each in zip(values, told, strict=True):
        yield f"{digits(round(value / step) * step, EXACTLY)} {each.unit}"


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
    severities=("stop", "review"),
    condition="Where readings are out of tolerance, no single slip brings all of them, at two "
    "inputs or more, inside of it: another unit of what was applied or shown, the signal or the "
    "share of span written down in another column, the other range of another sensor of the pump "
    "set, a range of its own that is wider or narrower by a quarter and more, one direction "
    "written down from its other end. Its errors are not judged before that is asked. "
    "Stop where a transmitter was left with another range than the record has, and the drive that "
    "is regulated on it was itself seen to show less than was applied, by more than a sensor may "
    "be left reading low.",
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
        "range_low": "The signals of {sensor} are those of a range from about {range}, but it is "
        "recorded with {recorded}, and the drive, which is regulated on it, shows {error} of span "
        "at {applied}: it makes up for that with {real}.",
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
        "range_low": "Set the range that the drive is scaled by, or scale the drive by the range "
        "that is set, before the loop runs by itself; correct the record, and verify again.",
        "other": "Check at which sensor the readings were taken, and the range that is set in it.",
    }
    | dict.fromkeys(
        ("falling", "rising"),
        "Put the readings beside the inputs at which they were taken.{or_else}",
    ),
)
