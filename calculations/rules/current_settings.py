"""Rules of the current limit and of dry run by low load, against what the motor draws."""

from collections.abc import Iterator

from calculations.aspects import load
from calculations.aspects.duty import POINTS
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, percent, show
from calculations.rules.closeness import above, below
from calculations.rules.scope import has_drive
from calculations.units import Quantity

LIMIT, THRESHOLD = "/settings/current_limit", "/settings/dry_run_threshold"


# -- current limit --------------------------------------------------------------------------------


def _current_limit(case: Case, place: str) -> Iterator[Finding]:
    given = case.quantity(LIMIT)
    reading = load.highest_reading(case)
    plate = load.highest_plate_current(case)
    if given.kind == "ratio":
        yield from _share_of_rated(case, place, given)
        return
    if reading and given.at_most < reading[1].si <= plate.si:
        yield CURRENT_LIMIT.finding(
            "below_drawn", "review", place, compared={"set": given, "drawn": reading[1]}
        )
        return
    yield from _above_drive(case, place, given)
    expected = case.known("load.highest-expected-current")
    needed = plate.si if expected is None else min(expected, plate.si)
    share = case.limit("drive.current-limit.low")
    if expected is not None and below(given.at_most, needed * (1 - share)):
        yield CURRENT_LIMIT.finding(
            "below_needed", "review", place,
            compared={"set": given, "needed": show(needed, plate.unit)}, limit=percent(share),
        )  # fmt: skip


def _share_of_rated(case: Case, place: str, given: Quantity) -> Iterator[Finding]:
    """A limit in percent: too low even if it is a share of the largest current that it may be."""
    reading = load.highest_reading(case)
    duties = (case.find(f"/drive/rated_current_{duty}_duty") for duty in ("normal", "heavy"))
    plate = load.highest_plate_current(case)
    rated = max(plate.si, *(each.si for each in duties if each is not None), 0.0)
    most = given.at_most * rated
    if reading is None or not below(most, reading[1].si):
        return
    meant = float(given.value) if given.unit == "%" else 0.0
    yield CURRENT_LIMIT.finding(
        "amperes" if meant >= reading[1].si else "share_drawn", "review", place,
        compared={"set": given, "most": about(most, "A"), "drawn": reading[1]}, value=given.value,
    )  # fmt: skip


def _above_drive(case: Case, place: str, given: Quantity) -> Iterator[Finding]:
    """Above what the drive gives for a short time: then it is the drive's own limit that acts."""
    duty, short = case.find("/settings/duty_class"), case.find("/drive/overload_percent")
    rated = case.find(f"/drive/rated_current_{duty}_duty") if duty is not None else None
    if rated is None or short is None or not above(given.si, rated.si * short.si):
        return
    yield CURRENT_LIMIT.finding(
        "above_drive", "note", place,
        compared={"set": given, "gives": about(rated.si * short.si, rated.unit)},
    )  # fmt: skip


CURRENT_LIMIT = Rule(
    id="drive.current-limit",
    title="Current limit against what the motor draws",
    severities=("review", "note"),
    condition="The current limit, in amperes or as a share of what drive or motor is rated for, is "
    "not below a current that was read at "
    "a point, nor more than 5 % below what is expected at the maximum frequency: the drive slows "
    "down there and keeps neither pressure nor level. Above what the drive gives for a short time "
    "(note) it protects nothing.",
    source="common practice, no source",
    subject=LIMIT,
    needs=(LIMIT, "/rating/current"),
    waits_for=("motor.power-balance", "drive.volts-per-hertz", "drive.motor-frequency"),
    applies=lambda case: has_drive(case) and case.find(LIMIT) is not None,
    check=_current_limit,
    limits={"low": Limit(5, "%", "below the current expected", "lower", "common practice")},
    sentences={
        "above_drive": "The current limit is set to {set}, more than the {gives} that the drive "
        "gives for a short time: it protects nothing.",
        "below_drawn": "The current limit is set to {set}, but the motor drew {drawn} during the "
        "readings: it would slow down there.",
        "amperes": "Probably {value} A was meant. The current limit is set to {set}, {most} at "
        "most, but the motor drew {drawn} during the readings: it would slow down there.",
        "share_drawn": "The current limit is set to {set}, {most} at most, but the motor drew "
        "{drawn} during the readings: it would slow down there.",
        "below_needed": "The current limit is set to {set}, below the {needed} to expect at the "
        "maximum frequency: the pump never gets there.",
    },
    remedies={
        **dict.fromkeys(
            ("amperes", "share_drawn"),
            "Check digits and unit; set it above what the motor draws, at most to what motor and "
            "drive bear.",
        ),
        "below_drawn": "Check the digits; set it above what the motor draws, at most to what motor "
        "and drive bear.",
        "below_needed": "Check the digits; set it above {needed}, at most to what motor and drive "
        "bear.",
    },
)

# -- dry run by low load --------------------------------------------------------------------------


def _by_low_load(case: Case) -> bool:
    return has_drive(case) and case.is_("/settings/dry_run_method", "underload")


def _loads(case: Case, kind: str) -> Iterator[tuple[float, Quantity]]:
    """Output frequency [Hz], and current or output power, of the points at which water flowed."""
    for place in case.elements(POINTS):
        flow, frequency = case.find(f"{place}/flow"), case.find(f"{place}/frequency")
        if flow is None or flow.si <= 0 or frequency is None:
            continue
        if kind == "current":
            read = load.motor_currents(case, place)
        else:
            powers = (case.find(f"{place}/power_drive_{name}") for name in ("output", "display"))
            read = [each for each in powers if each is not None][:1]
        yield from ((frequency.si, each) for each in read)


def _low_load(case: Case, place: str) -> Iterator[Finding]:
    threshold = case.find(THRESHOLD)
    if threshold is None or threshold.kind not in ("current", "power"):
        return
    if threshold.si <= 0:
        yield LOW_LOAD.finding("never", "review", place, compared={"threshold": threshold})
        return
    loads = list(_loads(case, threshold.kind))
    if not loads:
        yield from _above_plate(case, place, threshold)
        return
    fastest = max(frequency for frequency, _ in loads) * NEARLY
    at_speed = min((read for at, read in loads if at >= fastest), key=lambda each: each.si)
    lowest = min((read for _, read in loads), key=lambda each: each.si)
    surely = threshold.at_least
    if not below(surely, at_speed.si):
        yield LOW_LOAD.finding(
            "always", "review", place, compared={"threshold": threshold, "lowest": at_speed}
        )
    elif not below(surely, lowest.si):
        yield LOW_LOAD.finding(
            "slow", "note", place, compared={"threshold": threshold, "lowest": lowest}
        )


NEARLY = 0.98
"""Share of the highest frequency read from which a point is one of that speed [1]; no source."""


def _above_plate(case: Case, place: str, threshold: Quantity) -> Iterator[Finding]:
    plate = case.quantity(f"/rating/{threshold.kind}")
    if not below(threshold.si, plate.si):
        yield LOW_LOAD.finding(
            "plate", "review", place, compared={"threshold": threshold, "plate": plate}
        )


LOW_LOAD = Rule(
    id="well.low-load",
    title="Threshold of dry run by low load against what the motor takes with water",
    severities=("review", "note"),
    condition="A threshold of current or power for dry run is above zero and below the lowest that "
    "was read with water at the highest speed of the points (of the plate, where nothing was "
    "read). Above what was read at a lower speed (note) it has to fall with the speed, as many "
    "drives make it.",
    source="logic",
    subject=THRESHOLD,
    waits_for=("motor.power-balance",),
    applies=_by_low_load,
    check=_low_load,
    sentences={
        "never": "Dry run is seen below {threshold}: it never is.",
        "always": "Dry run is seen below {threshold}, but with water the motor took {lowest} at "
        "the highest speed that was read: the drive stops a pump that is well.",
        "slow": "Dry run is seen below {threshold}, but with water the motor took {lowest} at a "
        "lower speed: unless the threshold falls with the speed, the drive stops a pump that is "
        "well.",
        "plate": "Dry run is seen below {threshold}, the motor's plate has {plate}: the drive "
        "stops a pump that is well.",
    },
    remedies=dict.fromkeys(
        ("never", "always", "plate"),
        "Set it between what was read with a closed valve and the lowest with water.",
    ),
)
