"""Rules of the readings of a verification by themselves: the loop's current, slips of reading."""

from collections.abc import Iterator
from statistics import median

from calculations import signals
from calculations.aspects import entries, liquid, loop, verifying
from calculations.aspects.verifying import VERIFICATIONS, Check, Point
from calculations.case import Case, Waits, once
from calculations.findings import Finding, Shown
from calculations.rule import Rule, each_alone, show
from calculations.rules import mix_ups
from calculations.rules.closeness import above, below, signed_percent
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
BEYOND = 0.1
"""Share of span beyond the range that nobody applies by intention; common practice, no source."""

PARTNER = 0.02
"""Share of span within which two inputs, or two readings, count as the same; no source."""
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


MADE_UP_WITH = {
    "pressure": "real pressure", "differential_pressure": "real pressure", "level": "real level",
    "flow": "real flow", "temperature": "real temperature",
}  # fmt: skip


def made_up_with(case: Case, found: Check) -> str:
    """With what a drive makes up for a sensor that reads low, in words."""
    return MADE_UP_WITH.get(str(case.find(f"{found.sensor}/quantity")), "the real thing")


def shown(case: Case, found: Check, value: float, significant: int = 4) -> Shown:
    """A computed value of what the sensor measures, in the unit of its readings."""
    applied = case.quantity(f"{found.points[0].place}/applied")
    ranged = case.quantity(f"{found.sensor}/upper_range_value")
    level = case.is_(f"{found.sensor}/quantity", "level")
    for unit_of in (applied, ranged):
        if unit_of.kind == "ratio":
            continue
        in_pressure = level and unit_of.kind == "pressure"
        si = liquid.pressure(case, value) if in_pressure else value
        return show(si, unit_of.unit, significant)
    return show(value, "%", significant)


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


def outlier(case: Case, place: str) -> tuple[Point, float] | None:
    """The one reading of the state as left that contradicts all others."""
    return outlier_in(case, place, verifying.state_left(case, place))


@once
def outlier_in(case: Case, place: str, state: verifying.State) -> tuple[Point, float] | None:
    """The one reading that contradicts all others of a state, if there is exactly one."""
    found = verifying.check(case, place, state)
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
        below(abs(other.applied - point.applied), PARTNER * found.span) for other, _ in others
    ) or _reads_as_another(found, point, [other for other, _ in others])
    slipped = _slip(case, found, point) or applied_otherwise(case, found, point)
    return (point, error) if partner or slipped else None


def _reads_as_another(found: Check, point: Point, others: list[Point]) -> bool:
    """Whether the same is read at another input, and more and less at others again.

    At its ends a sensor that stands still reads the same at two inputs as well.
    """
    read, near = point.indicated, PARTNER * found.span
    away = [each.indicated - read for each in others if each.indicated is not None] if read else []
    same = any(below(abs(each), near) for each in away)
    return same and above(max(away), near) and below(min(away), -near)


def _slip(case: Case, found: Check, point: Point) -> Quantity | None:
    """Other digits that bring the reading where the value applied says it should be."""
    if point.by_signal is not None and point.signal is not None:
        ranged = loop.measuring_range(case, found.sensor)
        if not -BEYOND <= ranged.share(point.applied) <= 1 + BEYOND:
            return None  # no digits of a signal mean that: what was applied is wrong
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
    left_in = verifying.state_left(case, place)
    before = left_in == "as_left" and case.find(f"{place}/as_found")
    states: tuple[verifying.State, ...] = ("as_left", "as_found") if before else (left_in,)
    return each_alone(*(_outlier_in(case, place, each) for each in states))


def _outlier_in(case: Case, place: str, state: verifying.State) -> Iterator[Finding]:
    entries.require_right(case, place, state)
    odd = outlier_in(case, place, state)
    if odd is None:
        return
    found, (point, error) = verifying.check(case, place, state), odd
    read = _slip(case, found, point)
    applied = None if read else applied_otherwise(case, found, point)
    yield OUTLIER.finding(
        "digits" if read else "applied" if applied else "plain", "review", point.place,
        compared=readings(case, point), sensor=name(case, found), error=signed_percent(error),
        read=f"{read.value} {read.unit}" if read else "",
        meant=f"{applied.value} {applied.unit}" if applied else "",
        again=AGAIN if state == verifying.state_left(case, place) else AS_FOUND,
    )  # fmt: skip


def readings(case: Case, point: Point) -> dict[str, Shown | Quantity]:
    """What was applied at a point, and the reading that counts there."""
    reading = "signal" if point.by_signal is not None else "indicated"
    return {
        "applied": case.quantity(f"{point.place}/applied"),
        "reading": case.quantity(f"{point.place}/{reading}"),
    }


AGAIN = "Take this point again."
AS_FOUND = (
    "Correct it by what was noted on site: the sensor was adjusted since, and cannot be read as it "
    "was found any more."
)

OUTLIER = Rule(
    id="sensor.outlier",
    title="One reading against all others of a verification",
    severities=("review",),
    condition="No single reading, as found or as left, lies more than twice the tolerance from the "
    "others, where these agree with each other and a second reading of the same input is right, or "
    "the same reading at another input is (not the highest or lowest), or other digits or another "
    "unit explain it.",
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
    remedies=dict.fromkeys(("digits", "applied", "plain"), "{again}"),
)


@once
def explained(case: Case, place: str) -> None:
    """Raise `Waits` where an earlier rule has named the cause of the errors."""
    entries.require_right(case, place, verifying.state_left(case, place))
    if outlier(case, place):
        raise Waits("sensor.outlier")
    if band_problem(case, place):
        raise Waits("sensor.signal-band")
