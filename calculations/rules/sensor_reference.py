"""Rules of what a verification rests on: the drive's display, the reference, the range."""

from collections.abc import Iterator
from datetime import date
from math import isclose

from calculations import verification
from calculations.aspects import liquid, loop, rooted, suction, verifying
from calculations.aspects.verifying import VERIFICATIONS, Check, Point
from calculations.case import Case, Missing, Waits, once
from calculations.findings import Finding, Shown, digits
from calculations.inputs.base import Moment
from calculations.rule import Limit, Rule, about, percent, show
from calculations.rules.closeness import above, below, signed_percent
from calculations.rules.loop_set_point import CHAIN as LOOP_CHAIN
from calculations.rules.loop_set_point import SCALED
from calculations.rules.sensor_readings import explained, has_verifications, left, name, shown
from calculations.signals import ANALOGUE_SIGNALS
from calculations.units import KINDS, Quantity, factor, to_si

LIVE_ZERO = 0.2
"""Where a live zero stands, as a share of the highest signal [1]; IEC 60381-1."""

UNIT_WITHIN = 0.02
NEEDS_NO_CALIBRATION = ("stopwatch", "tape")


# -- transmitter against display ------------------------------------------------------------------


def _gaps(found: Check) -> list[tuple[Point, float]]:
    """Points with signal and display, and how far the display is from the signal [1]."""
    return [
        (point, (point.shown - point.by_signal) / found.span)
        for point in found.points
        if point.by_signal is not None and point.shown is not None
    ]


def _chain(case: Case, place: str) -> Iterator[Finding]:
    explained(case, place)
    found = left(case, place)
    gaps = _gaps(found)
    if not gaps:
        return
    limit = max(case.limit("sensor.chain.difference"), found.tolerance)
    point, gap = max(gaps, key=lambda each: abs(each[1]))
    if not above(abs(gap) - 2 * point.reading_rounding / found.span, limit):
        return
    if rooted.is_taken_behind(case, found):
        raise Waits("sensor.error-as-left")  # which notes where the root is taken
    unit = _unit(case, found)
    zero = None if unit else _zero_taken_for(case, found, gaps, limit)
    root = rooted.display(case, found, limit)
    variant = "unit" if unit else zero or (f"root_{root}" if root else _kind(found, gaps))
    if variant == "shifted" and _shows_absolute(case, found, gap):
        variant = "absolute"
    yield CHAIN.finding(
        variant, "note" if variant == "absolute" else "review", place,
        compared={
            "signal": case.quantity(f"{point.place}/signal"),
            "meant": shown(case, found, point.by_signal or 0.0),
            "indicated": case.quantity(f"{point.place}/indicated"),
        },
        limit=f"{percent(limit)} of span", sensor=name(case, found), gap=signed_percent(gap),
        unit=unit or "", where=_where(case, point), output=case.find(f"{found.sensor}/output"),
    )  # fmt: skip


def _zero_taken_for(
    case: Case, found: Check, gaps: list[tuple[Point, float]], limit: float
) -> str | None:
    """Whether a live zero shown as a dead one, or the reverse, explains every point.

    A signal S of the highest T is S / T of span with a dead zero and (S - T / 5) / (4 T / 5) with
    a live one: (1 - S / T) / 4 apart.
    """
    sent = ANALOGUE_SIGNALS.get(str(case.find(f"{found.sensor}/output")))
    values = [gap for _, gap in gaps]
    if sent is None or not above(max(values) - min(values), limit):
        return None
    live = isclose(sent.lower, LIVE_ZERO * sent.upper)
    if not live and sent.lower:
        return None
    sign = 1 if live else -1
    fits = all(
        abs(gap - sign * (1 - case.si(f"{point.place}/signal") / sent.upper) / 4) <= limit
        for point, gap in gaps
    )
    if not fits:
        return None
    return "dead_zero" if live else "live_zero"


def _kind(found: Check, gaps: list[tuple[Point, float]]) -> str:
    values = [gap for _, gap in gaps]
    return "shifted" if not above(max(values) - min(values), found.tolerance) else "scaling"


def _shows_absolute(case: Case, found: Check, gap: float) -> bool:
    """Whether a cell that measures absolute pressure is shown as what it measures."""
    measures = case.is_(f"{found.sensor}/reference", "absolute")
    return measures and liquid.is_an_atmosphere(case, gap * found.span)


def _unit(case: Case, found: Check) -> str | None:
    """The unit that is really shown, if one explains every point."""
    pairs = [
        (case.quantity(f"{point.place}/indicated"), point.by_signal)
        for point, _ in _gaps(found)
        if point.by_signal and above(abs(point.by_signal), 0.1 * found.span)
    ]
    entered = pairs[0][0] if pairs else None
    if entered is None or entered.kind not in ("pressure", "length", "flow"):
        return None
    for unit in KINDS[entered.kind]:
        ratios = [float(read.value) * factor(unit) / meant for read, meant in pairs]
        if unit != entered.unit and all(not above(abs(ratio - 1), UNIT_WITHIN) for ratio in ratios):
            return unit
    return None


def _where(case: Case, point: Point) -> str:
    words = {"transmitter": "The transmitter's display", "remote_display": "The remote display"}
    return words.get(str(case.find(f"{point.place}/indicated_at")), "The drive")


CHAIN = Rule(
    id="sensor.chain",
    title="What is shown against what the signal means",
    severities=("review", "note"),
    condition="At every point the value shown is what the signal means by the sensor's range, to "
    "within 1 % of span or the sensor's tolerance: a good transmitter shown wrongly points to the "
    "scaling or the unit, a shift to the datum. One atmosphere more from a cell that measures "
    "absolute pressure is noted.",
    source="IEC 60381-1; limit from memory",
    each=VERIFICATIONS,
    waits_for=LOOP_CHAIN,
    waits_at=verifying.is_shown_by_drive,
    applies=has_verifications,
    check=_chain,
    limits={"difference": Limit(1, "%", "display against signal, of span", "lower", "from memory")},
    sentences={
        "unit": "{where} shows {indicated} where {signal} of {sensor} means {meant}: the digits "
        "fit {unit}, so the unit is probably wrong; the transmitter itself is right.",
        "shifted": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span), shifted alike at every point: datum or zero of the display, not the transmitter.",
        "absolute": "{where} shows {indicated} where {signal} of {sensor} means {meant} gauge: one "
        "atmosphere more, absolute pressure as this sensor measures it. Records have gauge ones.",
        "dead_zero": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span), and less amiss the higher the signal: what shows it is set for a signal that "
        "begins at zero, the transmitter gives {output}.",
        "live_zero": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span), and less amiss the higher the signal: what shows it is set for a signal with a "
        "live zero, the transmitter gives {output}.",
        "root_twice": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} "
        "of span): at every point the root of what is right. The root of the difference of "
        "pressure is taken in the transmitter, and again behind it.",
        "root_missing": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} "
        "of span): at every point the square of what is right. What shows it takes the flow for a "
        "difference of pressure.",
        "scaling": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span): the scaling is not what is recorded; the transmitter itself is judged by its "
        "signal.",
    },
    remedies={
        "unit": "Correct the unit of the display or of the record.",
        "shifted": "Compare datum and zero of the display with the record.",
        "dead_zero": "Set the input to {output}.",
        "live_zero": "Set the input to {output}.",
        "root_twice": "Switch the root off in what shows it, and read again.",
        "root_missing": "Set what shows it to a linear signal, and read again.",
        "scaling": "Compare the scaling in the drive with the record.",
    },
)


# -- the reference --------------------------------------------------------------------------------


def _reference_uncertainty(case: Case, place: str) -> Iterator[Finding]:
    found = left(case, place)
    uncertainty = verifying.reference_uncertainty(case, found)
    if found.outside:
        raise Waits("sensor.error-as-left")
    if uncertainty == 0:
        return
    ratio = verification.uncertainty_ratio(tolerance=found.tolerance, uncertainty=uncertainty)
    variant = _doubt(case, found, uncertainty, ratio)
    if variant is None:
        return
    _, worst = found.worst
    yield REFERENCE_UNCERTAINTY.finding(
        variant, "note" if variant == "coarse" else "review", place,
        compared={
            "tolerance": shown(case, found, found.tolerance * found.span),
            "uncertainty": shown(case, found, uncertainty * found.span),
        },
        limit=f"ratio {digits(case.limit('sensor.reference-uncertainty.note'))}",
        ratio=about(ratio), sensor=name(case, found), error=signed_percent(worst),
    )  # fmt: skip


def _doubt(case: Case, found: Check, uncertainty: float, ratio: float) -> str | None:
    if below(ratio, case.limit("sensor.reference-uncertainty.review")):
        return "useless"
    if verification.ErrorVerdict.UNDECIDED in verifying.verdicts(found, uncertainty):
        return "guard_band"
    return "coarse" if below(ratio, case.limit("sensor.reference-uncertainty.note")) else None


REFERENCE_UNCERTAINTY = Rule(
    id="sensor.reference-uncertainty",
    title="Reference fine enough for the tolerance",
    severities=("review", "note"),
    condition="Tolerance over expanded uncertainty of the reference is 4 or more (note below); "
    "review below 1, or where an error lies in the guard band that keeps false acceptance to 2 %.",
    source="ANSI/NCSL Z540.3-2006, 5.3 b); guard band by method 6 of its handbook, from memory",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_reference_uncertainty,
    limits={
        "note": Limit(4, "1", "test uncertainty ratio", "higher", "retrieved"),
        "review": Limit(1, "1", "test uncertainty ratio", "higher", "from memory"),
    },
    sentences={
        "useless": "The reference is known to {uncertainty} only, the tolerance of {sensor} is "
        "{tolerance} (ratio {ratio}): nothing can be accepted with it.",
        "guard_band": "{sensor} is off by {error} of span: inside its tolerance of {tolerance}, "
        "but so near that it cannot be decided with a reference known to {uncertainty} (ratio "
        "{ratio}).",
        "coarse": "The reference is known to {uncertainty}, the tolerance of {sensor} is "
        "{tolerance}: a ratio of {ratio}. The verdict allows for it.",
    },
    remedies={
        "useless": "Use a finer reference.",
        "guard_band": "Use a finer reference, or adjust the sensor nearer to zero error.",
    },
)


@once
def _used(case: Case) -> set[str]:
    """Places of the instruments that were used on the visit, or for its readings."""
    event = case.event
    if event is None:
        return set()
    named = list(event.instruments or ())
    named += [each.instrument for each in event.sensor_verifications or () if each.instrument]
    for point in event.duty_points or ():
        named += point.instruments or ()
    found = [case.instrument(each) for each in named]
    return {each[0] for each in found if each is not None}


@once
def _day(case: Case) -> str:
    """The day of the visit where it was made."""
    begun: Moment = case.require("/event/performed_at")[0]
    return begun.at.date().isoformat()


def _reference_calibration(case: Case, place: str) -> Iterator[Finding]:
    if place not in _used(case) or case.is_(f"{place}/kind", *NEEDS_NO_CALIBRATION):
        return
    day = _day(case)
    due, calibrated = case.require(f"{place}/due_on", f"{place}/calibrated_on")
    longest = case.limit("sensor.reference-calibration.longest")
    lasts = _months(calibrated, due)
    if calibrated <= day <= due and not above(lasts, longest):
        return
    variant = "overdue" if due < day else "later" if day < calibrated else "long"
    yield REFERENCE_CALIBRATION.finding(
        "reversed" if due < calibrated else variant, "review", place,
        compared={
            "day": Shown(day, ""),
            "calibrated": Shown(calibrated, ""),
            "due": Shown(due, ""),
        },
        limit=f"at most {show(longest, 'mo', 2)}" if variant == "long" else "",
        serial=case.find(f"{place}/serial") or place, lasts=show(lasts, "mo", 3),
    )  # fmt: skip


def _months(first: str, last: str) -> float:
    """From the month of one day to that of another [s]: certificates end with a day or a month."""
    begun, ended = date.fromisoformat(first), date.fromisoformat(last)
    return to_si(12 * (ended.year - begun.year) + ended.month - begun.month, "mo")


REFERENCE_CALIBRATION = Rule(
    id="sensor.reference-calibration",
    title="Instruments in calibration on the day",
    severities=("review",),
    condition="Every instrument that was used had been calibrated before the visit and was not yet "
    "due again; it is due after it was calibrated, within five years or by the end of that month. "
    "Stopwatches and tapes are left out.",
    source="common practice: traceability of readings; five years: no source",
    each="/instruments",
    needs=("/event/performed_at",),
    applies=lambda case: case.event is not None and bool(case.find("/instruments")),
    check=_reference_calibration,
    limits={
        "longest": Limit(60, "mo", "from calibration to the next", "lower", "common practice"),
    },
    sentences={
        "reversed": "Instrument {serial} was calibrated on {calibrated} and was due on {due}, "
        "before that: the dates stand in each other's place, or one of them is wrong.",
        "long": "Instrument {serial} was calibrated on {calibrated} and is due on {due}, {lasts} "
        "later; 12 to 24 are common: probably a slip in one of the years.",
        "overdue": "Instrument {serial} was due for calibration on {due}, before the visit on "
        "{day}.",
        "later": "Instrument {serial} was calibrated on {calibrated}, after the visit on {day}: "
        "what held on the day is not shown.",
    },
    remedies={
        **dict.fromkeys(("reversed", "long"), "Read both days on the certificate again."),
        "overdue": "Repeat the readings with another instrument, or have it calibrated and say "
        "what was found.",
        "later": "Give the certificate that was valid on the day.",
    },
)


# -- range --------------------------------------------------------------------------------------


def _ordinary(case: Case, sensor: str) -> float | None:
    """The highest value that a pressure sensor sees in ordinary service [Pa]."""
    if verifying.is_regulating(case, sensor) and loop.keeps_discharge_pressure(case):
        return loop.set_point(case) if case.find("/settings/set_point") else None
    if case.is_(f"{sensor}/location", "suction") and case.find("/site/suction_kind"):
        height = case.find(f"{sensor}/tapping_elevation")
        return suction.pressure(case, "high", height.si if height else 0.0)
    return None


def _range(case: Case, place: str) -> Iterator[Finding]:
    if not case.is_(f"{place}/quantity", "pressure") or case.is_(f"{place}/reference", "absolute"):
        return
    ordinary = _ordinary(case, place)
    if ordinary is None or ordinary <= 0:
        return
    if case.si(f"{place}/lower_range_value") < 0:
        raise Missing(
            f"{place}/lower_range_value", because="its range begins below zero, as for a vacuum"
        )
    ranged = loop.measuring_range(case, place)
    times = abs(ranged.span) / ordinary
    limit = case.limit("sensor.range.times")
    if above(times, limit):
        upper = case.quantity(f"{place}/upper_range_value")
        yield RANGE.finding(
            "wide", "note", place,
            compared={"upper": upper, "ordinary": _in_unit(ordinary, upper)},
            limit=f"{digits(limit)} times", times=about(times),
            sensor=case.find(f"{place}/tag") or place,
        )  # fmt: skip


def _in_unit(value: float, like: Quantity) -> Shown:
    return Shown(digits(value / factor(like.unit)), like.unit)


RANGE = Rule(
    id="sensor.range",
    title="Range of the sensor against ordinary service",
    severities=("note",),
    condition="The span of a pressure sensor is no more than four times what it sees in ordinary "
    "service: set point, or highest suction. "
    "A range that begins below zero is not judged.",
    source="common practice, from memory: a tolerance in % of span grows with the span",
    each="/sensors",
    waits_for=(*SCALED, "loop.set-point-unit"),
    waits_at=verifying.is_regulating,
    applies=lambda case: bool(case.find("/sensors")),
    check=_range,
    limits={"times": Limit(4, "1", "span over ordinary service", "lower", "from memory")},
    sentences={
        "wide": "{sensor} measures up to {upper}, {times} times what it sees in ordinary service "
        "({ordinary}): its tolerance in % of span weighs as much more.",
    },
)
