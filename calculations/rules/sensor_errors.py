"""Rules of a sensor against its reference: shift, error as found and as left, and its kind."""

from collections.abc import Iterator

from calculations.aspects import entries, liquid, rooted, verifying, weighing
from calculations.aspects.verifying import VERIFICATIONS, Check
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import above, signed_percent
from calculations.rules.loop_set_point import SCALED
from calculations.rules.sensor_readings import (
    LEAST_POINTS,
    explained,
    has_verifications,
    left,
    made_up_with,
    name,
    outlier_in,
    readings,
    shown,
)

SAME_SHIFT = 0.3
"""Spread of the errors, as a share of their mean, up to which they are one shift; no source."""


# -- shift --------------------------------------------------------------------------------------


def shift(found: Check) -> float | None:
    """The shift of all readings [1], if they are off by the same amount and beyond tolerance."""
    if len(found.readable) < LEAST_POINTS - 1 or not found.outside:
        return None
    errors = found.errors
    mean = sum(errors) / len(errors)
    spread = max(errors) - min(errors)
    alike = not above(spread, max(SAME_SHIFT * abs(mean), found.tolerance / 2))
    return mean if alike and above(abs(mean), found.tolerance) else None


def severity_left(case: Case, found: Check, error: float) -> Severity:
    """Stop for a regulating sensor that was certainly left reading low by more than 2 %."""
    uncertainty = verifying.known_uncertainty(case, found)
    if uncertainty is None or not verifying.is_regulating(case, found.sensor):
        return "review"
    if case.is_("/settings/regulated_quantity", "suction_pressure"):
        return "review"
    low = -error - uncertainty - found.points[0].rounding / found.span
    return "stop" if above(low, case.limit("sensor.error-as-left.low")) else "review"


def _offset(case: Case, place: str) -> Iterator[Finding]:
    explained(case, place)
    found = left(case, place)
    mean = shift(found)
    if mean is None:
        return
    amount = mean * found.span
    variant, height = _cause_of_shift(case, found, amount)
    severity = "review" if variant == "absolute" else severity_left(case, found, mean)
    yield OFFSET.finding(
        variant, severity, place,
        compared={"shift": shown(case, found, amount)}, limit=_tolerance(found),
        sensor=name(case, found), share=signed_percent(mean), height=height,
    )  # fmt: skip


def _cause_of_shift(case: Case, found: Check, amount: float) -> tuple[str, str]:
    if not case.is_(f"{found.sensor}/quantity", "pressure"):
        return "plain", ""
    if liquid.is_an_atmosphere(case, abs(amount)):
        low = amount < 0 and case.is_(f"{found.sensor}/reference", "absolute")
        return "absolute" if low else "atmosphere", ""
    tapping = case.find(f"{found.sensor}/tapping_elevation")
    unit = tapping.unit if tapping is not None else "m"
    return "water", str(about(abs(liquid.head(case, amount)), unit))


def _tolerance(found: Check) -> str:
    return f"{percent(found.tolerance)} of span"


OFFSET = Rule(
    id="sensor.offset",
    title="All readings shifted by the same amount",
    severities=("stop", "review"),
    condition="The readings of a verification are not all shifted by the same amount beyond the "
    "sensor's tolerance. Such a shift is given as height of water, or named where it is one "
    "atmosphere. Stop where a regulating sensor was left reading low by more than 2 % of span.",
    source="hydrostatics; definition of gauge and absolute pressure",
    each=VERIFICATIONS,
    waits_for=SCALED,
    waits_at=weighing.is_in_doubt_with_loop,
    applies=has_verifications,
    check=_offset,
    sentences={
        "water": "{sensor} is shifted by {shift} ({share} of span) at every point: as much as "
        "{height} of water. Height of the reference over the sensor, a filled line, or the zero.",
        "atmosphere": "{sensor} is shifted by {shift} ({share} of span) at every point, about one "
        "atmosphere: absolute and gauge pressure are probably mixed up.",
        "absolute": "{sensor} measures absolute pressure and is shifted by {shift} ({share} of "
        "span) at every point, about one atmosphere: what was applied was probably entered as "
        "absolute pressure. Records have gauge ones.",
        "plain": "{sensor} is shifted by {shift} ({share} of span) at every point.",
    },
    remedies={
        "water": "Check heights and lines; set the zero if they are right.",
        "atmosphere": "Check the reference of the cell, and of the calibrator.",
        "absolute": "Enter what was applied less the air pressure of the day; correct the "
        "reference of the sensor if it is a gauge transmitter.",
        "plain": "Set the zero.",
    },
)


# -- error as found and as left -------------------------------------------------------------------


def _error_finding(
    case: Case, rule: Rule, variant: str, severity: Severity, found: Check
) -> Finding:
    lowest = variant == "low"
    point, error = max(found.outside, key=lambda each: -each[1] if lowest else abs(each[1]))
    indicated = point.indicated if point.indicated is not None else 0.0
    return rule.finding(
        variant, severity, found.place,
        compared=readings(case, point) | {"indicated": shown(case, found, indicated)},
        limit=_tolerance(found), sensor=name(case, found), error=signed_percent(error),
        tolerance=percent(found.tolerance), real=made_up_with(case, found),
    )  # fmt: skip


DIGITS = (
    "Half a last digit is granted to what was read, and to what was applied as far as the "
    "reference's uncertainty; inputs that are evenly spaced or round shares of span were set, and "
    "are as exact as the reference. An error that only these digits explain is not judged."
)


def _require_decided(case: Case, found: Check) -> None:
    """Raise `Missing` where only what is granted to the digits keeps an error in its tolerance."""
    for point in found.undecided:
        if point.rounding > point.reading_rounding:
            verifying.reference_uncertainty(case, found)
        reading = "signal" if point.by_signal is not None else "indicated"
        raise Missing(
            f"{point.place}/{reading}",
            because="its digits leave open whether the tolerance is kept",
        )


def _error_as_found(case: Case, place: str) -> Iterator[Finding]:
    found = verifying.check(case, place, "as_found")
    entries.require_right(case, place, "as_found")
    if not found.outside:
        _require_decided(case, found)
        return
    if "sensor.outlier" not in case.accepted and outlier_in(case, place, "as_found"):
        raise Waits("sensor.outlier")  # one slip is told once; the others agree
    if rooted.is_taken_behind(case, found):
        return  # what rests on it was right: sensor.error-as-left notes where the root is taken
    scaling = SCALED[-1]
    if scaling not in case.accepted and weighing.shows_drives_range(case, place, "as_found"):
        raise Waits(scaling)
    yield _error_finding(case, ERROR_AS_FOUND, "outside", "note", found)


ERROR_AS_FOUND = Rule(
    id="sensor.error-as-found",
    title="Error of the sensor as it was found",
    severities=("note",),
    condition="As found, no error of the sensor is larger than its tolerance, but for a root that "
    "is taken behind it. Always shown: readings since the last verification rest on this sensor. "
    + DIGITS,
    source="IEC 61298-2 (definition of error)",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_error_as_found,
    sentences={
        "outside": "{sensor} was found {error} of span off at {applied} (it says {indicated}), "
        "outside its tolerance of {tolerance}: readings since its last verification rest on it.",
    },
)


def _error_as_left(case: Case, place: str) -> Iterator[Finding]:
    explained(case, place)
    found = left(case, place)
    if shift(found) is not None:
        raise Waits("sensor.offset")
    failing = found.outside
    if not failing:
        _require_decided(case, found)
        return
    if rooted.is_taken_behind(case, found):
        yield _error_finding(case, ERROR_AS_LEFT, "root_behind", "note", found)
        return
    root = rooted.transmitter(case, found)
    lowest = min(error for _, error in failing)
    severity = severity_left(case, found, lowest)
    variant = "low" if severity == "stop" else "outside"
    yield _error_finding(case, ERROR_AS_LEFT, f"root_{root}" if root else variant, severity, found)


ERROR_AS_LEFT = Rule(
    id="sensor.error-as-left",
    title="Error of the sensor as it was left",
    severities=("stop", "review", "note"),
    condition="As left, no error of the sensor is larger than its tolerance. Stop where the sensor "
    "that the drive is regulated on reads low by more than 2 % of span, the reference's "
    "uncertainty granted: the drive makes up for it with real pressure. Of a flow by a difference "
    "of pressure, a root that is not taken, or taken twice, is named where it explains all "
    "readings; a note where it is taken behind the transmitter. " + DIGITS,
    source="IEC 61298-2 (definition of error); flow as the root of the difference: ISO 5167-1, "
    "from memory; limit from memory",
    each=VERIFICATIONS,
    waits_for=SCALED,
    waits_at=weighing.is_in_doubt_with_loop,
    applies=has_verifications,
    check=_error_as_left,
    limits={"low": Limit(2, "%", "regulating sensor reads low, of span", "lower", "from memory")},
    sentences={
        "outside": "{sensor} was left {error} of span off at {applied} (it says {indicated}), "
        "outside its tolerance of {tolerance}.",
        "low": "{sensor}, which the drive is regulated on, was left reading {error} of span at "
        "{applied} (it says {indicated}): the drive makes up for it with {real}.",
        "root_missing": "{sensor} was left {error} of span off at {applied} (it says {indicated}), "
        "outside its tolerance of {tolerance}: all of its readings are the square of the share "
        "applied. It follows the difference of pressure, whose root nothing takes.",
        "root_twice": "{sensor} was left {error} of span off at {applied} (it says {indicated}), "
        "outside its tolerance of {tolerance}: all of its readings are the root of the share "
        "applied. The root of the difference of pressure is taken twice.",
        "root_behind": "{sensor} sends the difference of pressure, not the flow ({indicated} at "
        "{applied} by its signal), and its root is taken where it is shown: that is right as long "
        "as the transmitter itself is not set to take it as well.",
    },
    remedies=dict.fromkeys(("outside", "low"), "Adjust or replace the sensor, and verify again.")
    | {
        "root_missing": "Have the root taken in the transmitter or behind it, in one of them "
        "alone, and verify again.",
        "root_twice": "Have the root taken in the transmitter or behind it, in one of them alone, "
        "and verify again.",
    },
)


# -- hysteresis, linearity ------------------------------------------------------------------------


def _settled(case: Case, place: str) -> Check:
    """The verification as left, where no error is outside the tolerance."""
    explained(case, place)
    found = left(case, place)
    if found.outside:
        raise Waits("sensor.offset" if shift(found) is not None else "sensor.error-as-left")
    return found


def _hysteresis(case: Case, place: str) -> Iterator[Finding]:
    found = _settled(case, place)
    gap = found.result.hysteresis
    if gap is None:
        raise Missing(f"{place}/{verifying.state_left(case, place)}",
                      because="no input was applied both rising and falling")  # fmt: skip
    rounding = 2 * found.points[0].reading_rounding / found.span
    if above(gap - rounding, case.limit("sensor.hysteresis.share") * found.tolerance):
        yield HYSTERESIS.finding(
            "wide", "review", place,
            compared={"gap": Shown(percent(gap), "")}, limit=_tolerance(found),
            sensor=name(case, found), tolerance=percent(found.tolerance),
        )  # fmt: skip


HYSTERESIS = Rule(
    id="sensor.hysteresis",
    title="Rising against falling readings",
    severities=("review",),
    condition="Readings of the same input, once rising and once falling, differ by no more than "
    "the tolerance.",
    source="IEC 61298-2 (definition of hysteresis); limit: common practice, no source",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_hysteresis,
    limits={"share": Limit(100, "%", "of the tolerance", "lower", "common practice")},
    sentences={
        "wide": "{sensor} reads {gap} of span differently when the same input is reached from "
        "below and from above (tolerance {tolerance}): a sticking mechanism, or a line that does "
        "not drain.",
    },
    remedies={"wide": "Clear the line and repeat; replace the sensor if it stays."},
)


def _linearity(case: Case, place: str) -> Iterator[Finding]:
    found = _settled(case, place)
    bend = found.result.terminal_nonlinearity
    if bend is None:
        raise Missing(f"{place}/{verifying.state_left(case, place)}",
                      because="fewer than three different inputs were applied")  # fmt: skip
    rounding = 2 * max(point.reading_rounding for point in found.points) / found.span
    if above(bend - rounding, case.limit("sensor.linearity.share") * found.tolerance):
        yield LINEARITY.finding(
            "bent", "review", place,
            compared={"bend": Shown(percent(bend), "")}, limit=_tolerance(found),
            sensor=name(case, found), tolerance=percent(found.tolerance),
        )  # fmt: skip


LINEARITY = Rule(
    id="sensor.linearity",
    title="Readings on a straight line",
    severities=("review",),
    condition="The mean of rising and falling readings stays within the tolerance of the line "
    "through its ends.",
    source="IEC 61298-2 (terminal-based linearity); limit: common practice, no source",
    each=VERIFICATIONS,
    applies=has_verifications,
    check=_linearity,
    limits={"share": Limit(100, "%", "of the tolerance", "lower", "common practice")},
    sentences={
        "bent": "{sensor} bends by {bend} of span away from the line through its ends (tolerance "
        "{tolerance}): zero and span cannot put that right.",
    },
    remedies={"bent": "Repeat the middle points; replace the sensor if it stays."},
)
