"""Rules of the motor's current under load."""

from collections.abc import Iterator
from math import sqrt

from calculations.aspects import load
from calculations.case import Case, Waits
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, about, of_two, percent, show
from calculations.rules.closeness import Apart, rounding, signed_percent
from calculations.rules.point_powers import is_of_the_input
from calculations.rules.scope import has_motor, is_new_work
from calculations.rules.winding import CURRENT_UNBALANCE
from calculations.units import Quantity

NO_LOAD_RANGE = (0.3, 0.5)
"""No-load over rated current [1] that induction motors have; from memory."""

NO_LOAD_OF_REACTIVE = 0.95
"""Highest share of a plate's reactive current [1] that is there without load: that of small and
many-poled motors; from memory."""

HALF = 0.5


def has_points(case: Case) -> bool:
    """Whether duty points were read, or should have been."""
    return has_motor(case) and (bool(case.find("/event/duty_points")) or is_new_work(case))


def _apart(case: Case, place: str, found: list[Quantity], reference: float) -> Apart:
    mean = load.mean(found)
    rounded = max([each.resolution for each in found]) / reference
    accuracy = load.instrument_share(case, place, found[0]) * mean / reference
    return Apart(mean / reference, rounded + accuracy)


# -- against the plate --------------------------------------------------------------------------


def _nameplate(case: Case, place: str) -> Iterator[Finding]:
    found = load.require_motor_currents(case, place)
    plate = load.highest_plate_current(case)
    apart = _apart(case, place, found, load.allowed_current(case))
    apart = Apart(apart.ratio, apart.margin + apart.ratio * rounding(plate))
    review, stop = map(case.limit, ("load.current-nameplate.review", "load.current-nameplate.stop"))
    if not apart.over(review):
        return
    certain = apart.over(stop) and not load.may_have_others(case, place)
    severity: Severity = "stop" if certain else "review"
    yield NAMEPLATE.finding(
        "across_the_line" if case.fixed_speed else "above", severity, place,
        compared={"read": show(load.mean(found), found[0].unit), "plate": plate},
        limit=f"{percent(1 + review)} review, {percent(1 + stop)} stop",
        share=percent(load.mean(found) / plate.si),
    )  # fmt: skip


NAMEPLATE = Rule(
    id="load.current-nameplate",
    title="Motor current under load against the plate",
    severities=("stop", "review"),
    condition="The motor's current is at most 105 % of the plate (stop above 115 %): read at the "
    "drive's output; an immersed motor, and one across the line, may use its service factor. "
    "Without a drive the supply's currents are the motor's at the only duty point "
    "(review at most where the supply feeds more than the motor).",
    source="common practice; NFPA 70 430.32 for 115 %",
    each="/event/duty_points",
    needs=("/rating/current",),
    waits_for=("motor.power-balance", "drive.volts-per-hertz"),
    applies=has_points,
    check=_nameplate,
    limits={
        "review": Limit(5, "%", "above the plate", "lower", "common practice"),
        "stop": Limit(15, "%", "above the plate", "lower", "retrieved", "NFPA 70 430.32"),
    },
    sentences=dict.fromkeys(
        ("above", "across_the_line"), "The motor drew {read}, {share} of the plate's {plate}."
    ),
    remedies={
        "across_the_line": "Throttle the discharge until the current is that of the plate; look "
        "for a pump beyond its curve, low voltage and, isolated and proven dead, a wrong "
        "connection or rubbing parts.",
        "above": "Lower the maximum frequency or throttle until the current is that of the plate; "
        "look for a pump beyond its curve, low voltage and, isolated and proven dead, a wrong "
        "connection or rubbing parts.",
    },
)


# -- against the torque model -------------------------------------------------------------------


def model_margin(case: Case, place: str, *, above: bool) -> float:
    """How much more, or less, than the expected current [1] another no-load current would give."""
    if load.magnetizing_share(case) == 0:
        return 0.0
    low, high = no_load_range(case)
    other = load.expected_current(case, place, high if above else low)
    return abs(other / load.expected_current(case, place) - 1)


def no_load_range(case: Case) -> tuple[float, float]:
    """No-load over rated current [1]: more than usual where the plate's power factor is low."""
    low, high = NO_LOAD_RANGE
    factor = case.find("/rating/power_factor")
    reactive = sqrt(1 - factor.si**2) if factor is not None else 0.0
    return low, max(high, NO_LOAD_OF_REACTIVE * reactive)


def _expected(case: Case, place: str) -> Iterator[Finding]:
    if case.is_(f"{place}/purpose", "shut_off"):
        return  # no curve states the power at closed valve
    found = load.require_own_currents(case, place)
    expected = load.expected_current(case, place)
    apart = _apart(case, place, found, expected)
    note, review = map(case.limit, ("load.current-expected.note", "load.current-expected.review"))
    if apart.beyond(note):
        apart = Apart(apart.ratio, apart.margin + model_margin(case, place, above=apart.over(0)))
    if not apart.beyond(note):
        return
    if CURRENT_UNBALANCE.id not in case.accepted and load.lost_phases(case, found):
        raise Waits(CURRENT_UNBALANCE.id)
    # Less flux at part load by intention: the model's magnetizing current does not hold.
    quadratic = case.is_("/settings/control_mode", "volts_per_hertz_quadratic")
    severity: Severity = "review" if apart.beyond(review) and not quadratic else "note"
    yield EXPECTED.finding(
        _misread(case, place, apart) or ("high" if apart.over(0) else "low"), severity, place,
        compared={
            "read": show(load.mean(found), found[0].unit),
            "expected": about(expected, found[0].unit),
        },
        limit=f"{percent(note)} note, {percent(review)} review",
        deviation=signed_percent(apart.deviation),
    )  # fmt: skip


def _misread(case: Case, place: str, found: Apart) -> str:
    """Whether one of two leads was read, or the current that the drive takes; empty if neither."""
    leads = case.find("/drive/motor_cable_conductors_in_parallel")
    half = found.near(HALF, 0.1) and leads != 1
    at_output = _current_at_output(case, place)
    if at_output and found.under(0) and not half and is_of_the_input(case, place, at_output):
        return "input"
    return "half" if half else ""


def _current_at_output(case: Case, place: str) -> float:
    """Mean of the currents at the drive's output [A]; 0 where none were read there."""
    read: list[Quantity] = case.find(f"{place}/currents_drive_output") or []
    return load.mean(read) if read else 0.0


_EXPECTED = "The motor drew {read} where {expected} are expected of its load ({deviation})."

EXPECTED = Rule(
    id="load.current-expected",
    title="Motor current under load against what the load explains",
    severities=("review", "note"),
    condition="The motor's current is within 15 % (note) and 20 % (review) of the torque model "
    "I = I_n sqrt(k^2 + (1 - k^2) (T / T_n)^2) at the pump's shaft power, beyond what k (0.3 to "
    "0.5, or to 95 % of the plate's reactive share) leaves open.",
    source="circle diagram, derived; k from memory",
    each="/event/duty_points",
    needs=("/rating/current", "/rating/power", "/rating/speed"),
    waits_for=(
        "drive.extended-torque",
        "motor.power-balance",
        "curve.shape",
        "curve.speed",
        "drive.volts-per-hertz",
        "drive.motor-frequency",
        "rotation.reversed",
        "load.current-nameplate",
        "load.power",
        "curve.point",
    ),
    applies=has_points,
    check=_expected,
    alike=of_two("read", "expected"),
    limits={
        "note": Limit(15, "%", "worth a note", "lower", "from memory"),
        "review": Limit(20, "%", "needs an answer", "lower", "from memory"),
    },
    sentences={
        "half": "Probably one of two parallel leads was read. " + _EXPECTED,
        "input": "Probably the current that the drive takes was read, whose power it fits. "
        + _EXPECTED,
        "high": _EXPECTED,
        "low": _EXPECTED,
    },
    remedies={
        "half": "Read with all leads of the phase in the clamp.",
        "input": "Read with the clamp around a lead to the motor, behind the drive.",
        "high": "Read again at the drive's output; look for a heavier liquid, a curve that is not "
        "this pump's and, isolated and proven dead, rubbing parts or a wrong connection.",
        "low": "Read again at the drive's output; look for a closed valve, air, or a curve that is "
        "not this pump's.",
    },
)
