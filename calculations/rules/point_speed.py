"""Rule of a measured speed against the frequency that it was measured at."""

from collections.abc import Iterator

from calculations import motors
from calculations.aspects import duty, pumping
from calculations.aspects.duty import POINTS
from calculations.aspects.rating import run_rating
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, entered, percent, rpm
from calculations.rules import mix_ups, motor_plate
from calculations.rules.closeness import Apart, signed_percent
from calculations.rules.scope import has_motor, is_synchronous
from calculations.units import Quantity

WEAKENED = 4
"""Power of the frequency over the rated one with which slip grows above it: torque as its square,
flux as its inverse, slip as torque over flux squared; derived."""


def _was_measured(case: Case) -> bool:
    """Whether a speed was measured at some point while the motor turned."""
    points = case.find(POINTS) or ()
    return has_motor(case) and any(each.speed_measured and each.speed for each in points)


def _measured(case: Case, place: str) -> Iterator[Finding]:
    read = case.find(f"{place}/speed")
    if read is None or read.si <= 0 or not case.find(f"{place}/speed_measured"):
        return
    frequency = case.quantity(duty.at_frequency(case, place))
    if frequency.si <= 0:
        yield MEASURED.finding(
            "still", "review", f"{place}/speed", compared={"speed": read, "frequency": frequency}
        )
        return
    motor_plate.require_consistent(case)
    poles = int(case.value("motor.poles"))
    field = motors.synchronous_speed(frequency=frequency.si, poles=poles)
    rounding = read.resolution / field + read.si / field * frequency.resolution / frequency.si
    found = Apart(read.si / field, rounding)
    if is_synchronous(case):
        yield from _synchronous(case, place, found, field)
    elif found.over(case.limit("speed.measured.above")):
        yield _finding(case, place, "above", found, field)
    else:
        yield from _slipping(case, place, found, field)


def _synchronous(case: Case, place: str, found: Apart, field: float) -> Iterator[Finding]:
    if found.beyond(case.limit("speed.measured.synchronous")):
        yield _finding(case, place, "synchronous", found, field)


def _slipping(case: Case, place: str, found: Apart, field: float) -> Iterator[Finding]:
    usual = _rated_slip_speed(case, case.si(duty.at_frequency(case, place))) / field
    allowed = case.limit("speed.measured.slips") * usual + case.limit("speed.measured.above")
    if found.under(allowed):
        yield _finding(case, place, "slips", found, field, slip=percent(usual))


def _rated_slip_speed(case: Case, frequency: float) -> float:
    """Speed that the motor loses to its field at full load [1/s], more where the field is weak."""
    run, poles = run_rating(case), int(case.value("motor.poles"))
    speed = case.si("/rating/speed")
    field = motors.synchronous_speed(frequency=case.si("/rating/frequency"), poles=poles)
    return (field - speed) * max(frequency / run.frequency, 1.0) ** WEAKENED


def _finding(
    case: Case, place: str, variant: str, found: Apart, field: float, slip: str = ""
) -> Finding:
    read: Quantity = case.quantity(f"{place}/speed")
    if variant in ("slips", "above") and _is_the_pumps(case, found):
        return MEASURED.finding(
            "of_pump", "review", f"{place}/speed",
            compared={
                "speed": read,
                "frequency": case.quantity(duty.at_frequency(case, place)),
                "motor": rpm(read.si * pumping.transmission(case)),
                "ratio": about(pumping.transmission(case)),
            },
        )  # fmt: skip
    meant = mix_ups.other_digits(read, mix_ups.of(field * (1 - _half_slip(case))))
    limits = {
        "above": f"at most {percent(case.limit('speed.measured.above'))} above the field",
        "slips": f"{case.limit('speed.measured.slips'):g} times the rated slip and "
        f"{percent(case.limit('speed.measured.above'))}",
        "synchronous": f"within {percent(case.limit('speed.measured.synchronous'))}",
    }
    return MEASURED.finding(
        variant, "review", f"{place}/speed",
        compared={
            "speed": read,
            "frequency": case.quantity(duty.at_frequency(case, place)),
            "field": rpm(field),
            "poles": Shown(str(int(case.value("motor.poles"))), "1"),
        },
        limit=limits[variant], deviation=signed_percent(found.deviation), slip=slip,
        probably=f"Probably {entered(meant)}. " if meant else "",
    )  # fmt: skip


def _is_the_pumps(case: Case, found: Apart) -> bool:
    """Whether it is the speed behind belt or gear: times their ratio it is one of the motor's."""
    ratio = case.find("/pump_set/transmission_ratio")
    if ratio is None or ratio.si == 1:
        return False
    of_motor = (1 + found.deviation) * ratio.si
    room = case.limit("speed.measured.above")
    least = 1 - case.limit("speed.measured.slips") * 2 * _half_slip(case) - room
    return bool(least <= of_motor <= 1 + room)


def _half_slip(case: Case) -> float:
    """What a motor at part load slips, about [1]; nothing where it runs with its field."""
    return 0.0 if is_synchronous(case) else (case.known("motor.slip") or 0.0) / 2


_FIELD = "{probably}{speed} were measured at {frequency}, where {poles} poles turn at {field}"

MEASURED = Rule(
    id="speed.measured",
    title="Measured speed against the frequency",
    severities=("review",),
    condition="A speed measured at a point is not above that of the motor's field at that "
    "frequency; it is below by no more than twice the rated slip (more above the rated "
    "frequency), and by nothing where the motor is synchronous. The tachometer is allowed 1 %, "
    "and the last digits of both readings.",
    source="definition of synchronous speed; slip over torque and flux; bands: common practice, "
    "no source",
    each=POINTS,
    needs=("/motor/kind",),
    applies=_was_measured,
    check=_measured,
    limits={
        "above": Limit(1, "%", "for the tachometer", "lower", "common practice"),
        "slips": Limit(2, "1", "times the rated slip", "lower", "common practice"),
        "synchronous": Limit(1, "%", "from the field, synchronous motor", "lower",
                             "common practice"),
    },
    sentences={
        "above": _FIELD + ": no motor drives a pump faster than its field ({deviation}).",
        "slips": _FIELD + ": it would slip more than a motor can that carries its load "
        "({deviation}; at full load it slips {slip} of it).",
        "of_pump": "{speed} at {frequency} are the speed of the pump's shaft, behind a ratio of "
        "{ratio}: the motor then turns at {motor}. A point's speed is the motor's.",
        "still": "{speed} were measured at {frequency}: a drive that gives nothing turns nothing. "
        "The frequency was probably not read.",
        "synchronous": _FIELD + ": a synchronous motor keeps to its field ({deviation}).",
    },
    remedies=dict.fromkeys(
        ("above", "slips", "synchronous"),
        "Measure speed and frequency again; check the pole count.",
    )
    | {"of_pump": "Enter the motor's speed, {motor}, and the ratio as it is.",
    "still": "Read the frequency at that speed; if the pump turns with the drive at rest, keep "
    "away from shaft and coupling, and see what drives it: liquid that runs through it, or a "
    "bypass."},
)  # fmt: skip
