"""Rules of what a verification rests on: the drive's display, the reference, the range."""

from collections.abc import Iterator
from datetime import date

from calculations import verification
from calculations.aspects import entries, loop, suction, verifying
from calculations.aspects.verifying import VERIFICATIONS, Check
from calculations.case import Case, Missing, Waits, once
from calculations.findings import Finding, Shown, digits
from calculations.inputs.base import Moment
from calculations.rule import Limit, Rule, about, entered, show
from calculations.rules.closeness import above, below, signed_percent
from calculations.rules.loop_set_point import SCALED
from calculations.rules.sensor_readings import (
    has_verifications,
    left,
    name,
    shown,
)
from calculations.units import Quantity, factor, to_si

NEEDS_NO_CALIBRATION = ("stopwatch", "tape")


# -- the reference --------------------------------------------------------------------------------


def _reference_uncertainty(case: Case, place: str) -> Iterator[Finding]:
    found = left(case, place)
    entries.require_right(case, place, verifying.state_left(case, place))
    beyond = verifying.beyond_range(case, found)
    if beyond is not None:
        applied, top = beyond
        reference = verifying.reference_place(case, place)
        yield REFERENCE_UNCERTAINTY.finding(
            "beyond", "review", place, compared={"applied": applied, "top": top},
            limit=f"at most {entered(top)}", sensor=name(case, found),
            serial=case.find(f"{reference}/serial") or "without a serial number",
        )  # fmt: skip
        return
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
    "review below 1, or where an error lies in the guard band that keeps false acceptance to 2 %, "
    "or more was applied than the reference's range holds.",
    source="ANSI/NCSL Z540.3-2006, 5.3 b); guard band by method 6 of its handbook, from memory",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_reference_uncertainty,
    limits={
        "note": Limit(4, "1", "test uncertainty ratio", "higher", "retrieved"),
        "review": Limit(1, "1", "test uncertainty ratio", "higher", "from memory"),
    },
    sentences={
        "beyond": "{applied} were applied to {sensor} with instrument {serial}, whose range ends "
        "at {top}: beyond it nothing is known of what it reads, and it may be damaged.",
        "useless": "The reference is known to {uncertainty} only, the tolerance of {sensor} is "
        "{tolerance} (ratio {ratio}): nothing can be accepted with it.",
        "guard_band": "{sensor} is off by {error} of span: inside its tolerance of {tolerance}, "
        "but so near that it cannot be decided with a reference known to {uncertainty} (ratio "
        "{ratio}).",
        "coarse": "The reference is known to {uncertainty}, the tolerance of {sensor} is "
        "{tolerance}: a ratio of {ratio}. The verdict allows for it.",
    },
    remedies={
        "beyond": "Read unit and range on the instrument again; if they are right, verify with one "
        "whose range holds it.",
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
