"""Rules of the drive's motor data against the plate: power, current, speed, power factor."""

from collections.abc import Iterator

from calculations import motors
from calculations.aspects.load import highest_plate_current
from calculations.aspects.rating import run_rating
from calculations.case import Case, Waits
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, entered, percent, rpm, show
from calculations.rules import mix_ups
from calculations.rules.closeness import Apart, apart, apart_from, rounding, signed_percent
from calculations.rules.drive_flux import (
    is_contradicted,
    lowered,
    other_column,
    require_rating,
    trust_frequency,
)
from calculations.rules.drive_motor_links import poles_of_speed, severity_of_poles
from calculations.rules.drive_switching import VECTOR
from calculations.rules.motor_plate import other_mains
from calculations.rules.scope import has_drive, has_slip, is_synchronous
from calculations.units import Quantity

OF_MAINS = 0.02
"""How near a speed is to that at the other mains frequency [1], slips differing; no source."""

# -- power --------------------------------------------------------------------------------------


def _motor_power(case: Case, place: str) -> Iterator[Finding]:
    require_rating(case)
    given, plate = case.require("/settings/motor_power", "/rating/power")
    limit = case.limit("drive.motor-power.difference")
    run = run_rating(case)
    expected = [plate.si, (run.power or plate.si) * (lowered(case) or 1)]
    found = [apart_from(given, each, rounding(plate)) for each in expected]
    nearest = min(found, key=lambda each: abs(each.deviation))
    if not nearest.beyond(limit):
        return
    if run.stretch > 1:
        trust_frequency(case)
    unit = mix_ups.other_power_unit(given, mix_ups.of(plate.si))
    other = mix_ups.other_digits(given, mix_ups.of(plate.si))
    read = unit or other
    yield MOTOR_POWER.finding(
        "unit" if unit else "digits" if other else "plain", "review", place,
        compared={"set": given, "plate": plate},
        limit=percent(limit), deviation=signed_percent(nearest.deviation),
        read=entered(read) if read else "",
    )  # fmt: skip


_POWER = "Motor power is set to {set}, the plate has {plate} ({deviation})."

MOTOR_POWER = Rule(
    id="drive.motor-power",
    title="Motor power as set against the plate",
    severities=("review",),
    condition="Motor power as set is within 5 % of the rating in use, of its extension on "
    "purpose, or of its share at a lowered base frequency; judged where volts per hertz are right.",
    source="common practice, no source",
    subject="/settings/motor_power",
    needs=("/settings/motor_power", "/rating/power", "/rating/voltage", "/rating/frequency"),
    waits_for=("motor.power-balance", "drive.motor-frequency"),
    applies=has_drive,
    check=_motor_power,
    limits={"difference": Limit(5, "%", "set against plate", "lower", "common practice")},
    sentences={
        "unit": "Probably {read}, not {set}. " + _POWER,
        "digits": "Probably {read} was meant. " + _POWER,
        "plain": _POWER,
    },
    remedies=dict.fromkeys(("unit", "digits", "plain"), "Set motor power {plate}."),
)


# -- current ------------------------------------------------------------------------------------


def set_current(case: Case) -> Apart:
    """Motor current as set over that of the plate; 1 between the two of an immersed motor."""
    given, plate = case.require("/settings/motor_current", "/rating/current")
    highest = highest_plate_current(case)
    nearest = min(max(given.si, plate.si), highest.si)
    return apart_from(given, nearest, rounding(plate))


def severity_of_current(case: Case) -> Severity | None:
    """What `drive.motor-current` says, so that other rules can tell the same cause."""
    found = set_current(case)
    if found.over(case.limit("drive.motor-current.stop")):
        return "stop"
    return "review" if found.beyond(case.limit("drive.motor-current.review")) else None


def _motor_current(case: Case, place: str) -> Iterator[Finding]:
    require_rating(case)
    given, plate = case.require("/settings/motor_current", "/rating/current")
    severity = severity_of_current(case)
    if severity is None:
        return
    column = other_column(case, given)
    read = mix_ups.other_digits(given, mix_ups.of(plate.si))
    limits = map(case.limit, ("drive.motor-current.review", "drive.motor-current.stop"))
    review, stop = (percent(each) for each in limits)
    yield MOTOR_CURRENT.finding(
        "column" if column else "digits" if read else "plain", severity, place,
        compared={"set": given, "plate": plate},
        limit=f"{review} either way review, {stop} above the plate stop",
        deviation=signed_percent(apart(given, plate).deviation),
        column=column, read=entered(read) if read else "",
    )  # fmt: skip


_CURRENT = "Motor current is set to {set}, the rating in use has {plate} ({deviation})."

MOTOR_CURRENT = Rule(
    id="drive.motor-current",
    title="Motor current as set against the plate",
    severities=("stop", "review"),
    condition="Motor current as set is within 5 % of the rating in use (stop above 125 %); an "
    "immersed motor may be set up to its service-factor current.",
    source="common practice, no source; 125 % after NFPA 70 430.32",
    subject="/settings/motor_current",
    needs=("/settings/motor_current", "/rating/current"),
    waits_for=("motor.power-balance", "drive.motor-frequency"),
    applies=has_drive,
    check=_motor_current,
    limits={
        "review": Limit(5, "%", "set against plate, either way", "lower", "common practice"),
        "stop": Limit(25, "%", "set above plate", "lower", "retrieved", "NFPA 70 430.32"),
    },
    sentences={
        "column": "Probably the plate's other rating ({column}) was entered. " + _CURRENT,
        "digits": "Probably {read} was meant. " + _CURRENT,
        "plain": _CURRENT,
    },
    remedies=dict.fromkeys(("column", "digits", "plain"), "Set motor current {plate}."),
)


# -- speed --------------------------------------------------------------------------------------


def _motor_speed(case: Case, place: str) -> Iterator[Finding]:
    require_rating(case)
    given, plate = case.require("/settings/motor_speed", "/rating/speed")
    name = "synchronous" if is_synchronous(case) else "difference"
    limit = case.limit(f"drive.motor-speed.{name}")
    run = run_rating(case)
    expected = plate.si if run.speed is None else run.speed
    nearby = (plate.si, expected, expected - _slower_by(case))
    found = min(
        (apart_from(given, each, rounding(plate)) for each in nearby),
        key=lambda each: abs(each.deviation),
    )
    if not found.beyond(limit):
        return
    read = _with_other_digits(given, plate)
    fitting = poles_of_speed(case, given) if has_slip(case) else None
    variant = "synchronous" if _is_synchronous_speed(case, given) else "digits" if read else "plain"
    if fitting is not None and variant != "synchronous":
        variant = "poles"
    elif variant == "plain" and _is_of_the_other_mains(case, given):
        variant = "mains"
    if variant == "mains" and is_contradicted(case):
        raise Waits("drive.volts-per-hertz")  # the same cause
    yield MOTOR_SPEED.finding(
        variant, severity_of_poles(case) if variant == "poles" else "review", place,
        compared={"set": given, "plate": plate, "expected": rpm(expected)},
        limit=percent(limit), deviation=signed_percent(found.deviation),
        read=entered(read) if read else "", fitting=fitting, poles=_poles(case),
        mains=show(other_mains(case.si("/rating/frequency")), "Hz"),
    )  # fmt: skip


def _with_other_digits(given: Quantity, plate: Quantity) -> Quantity | None:
    """The speed of the plate, where it was set with other digits: many others come near it."""
    read = mix_ups.other_digits(given, mix_ups.of(plate.si))
    return None if read is None or apart(read, plate).beyond(0.0) else read


def _slower_by(case: Case) -> float:
    """What a base frequency that was lowered with the voltage takes from the speed [1/s]: slip at
    rated torque is as many hertz at any."""
    ratio, poles = lowered(case), case.known("motor.poles")
    if ratio is None or poles is None:
        return 0.0
    frequency = run_rating(case).frequency
    return (1 - ratio) * motors.synchronous_speed(frequency=frequency, poles=int(poles))


def _poles(case: Case) -> str:
    known = case.known("motor.poles")
    return "" if known is None else str(int(known))


def _is_of_the_other_mains(case: Case, given: Quantity) -> bool:
    """Whether the speed is the motor's at 60 Hz instead of 50 Hz, or the other way round."""
    frequency = case.si("/rating/frequency")
    expected = case.si("/rating/speed") * other_mains(frequency) / frequency
    return apart_from(given, expected).near(1, OF_MAINS)


def _is_synchronous_speed(case: Case, given: Quantity) -> bool:
    poles = case.known("motor.poles")
    if poles is None or not has_slip(case):
        return False
    frequency = run_rating(case).frequency
    synchronous = motors.synchronous_speed(frequency=frequency, poles=int(poles))
    return apart_from(given, synchronous).near(1, 0.001)


_SPEED = "Motor speed is set to {set}, the rating in use has {expected} ({deviation})."

MOTOR_SPEED = Rule(
    id="drive.motor-speed",
    title="Motor speed as set against the plate",
    severities=("stop", "review"),
    condition="Motor speed as set is within 1 % of the rating in use (0.2 % of a synchronous "
    "motor), of its extension on purpose, or of that at a lowered base frequency. Stop where it is "
    "the speed of another pole count and the drive regulates by a model of the motor.",
    source="common practice, no source",
    subject="/settings/motor_speed",
    needs=("/settings/motor_speed", "/rating/speed", "/rating/voltage", "/rating/frequency"),
    waits_for=("motor.slip", "motor.poles", "drive.motor-frequency", "drive.motor-poles"),
    applies=has_drive,
    check=_motor_speed,
    limits={
        "difference": Limit(1, "%", "set against plate", "lower", "common practice"),
        "synchronous": Limit(0.2, "%", "the same, synchronous motor", "lower", "common practice"),
    },
    sentences={
        "synchronous": "Probably the synchronous speed was entered instead of the rated speed. "
        + _SPEED,
        "digits": "Probably {read} was meant. " + _SPEED,
        "poles": "{set} is the speed of a motor of {fitting} poles, this one has {poles} poles. "
        + _SPEED,
        "mains": "{set} belongs to this motor at {mains}, rated or synchronous. " + _SPEED,
        "plain": _SPEED,
    },
    remedies=dict.fromkeys(
        ("synchronous", "digits", "poles", "mains", "plain"), "Set motor speed {expected}."
    ),
)  # fmt: skip


# -- power factor -------------------------------------------------------------------------------


def _motor_power_factor(case: Case, place: str) -> Iterator[Finding]:
    given, plate = case.require("/settings/motor_power_factor", "/rating/power_factor")
    found, limit = apart(given, plate), case.limit("drive.motor-power-factor.difference")
    efficiency = case.find("/rating/efficiency")
    taken = efficiency is not None and _is_entered_for(given, efficiency, found)
    if not taken and not found.beyond(limit):
        return
    require_rating(case)
    severity: Severity = "review" if case.is_("/settings/control_mode", *VECTOR) else "note"
    yield MOTOR_POWER_FACTOR.finding(
        "efficiency" if taken else "plain", severity, place,
        compared={"set": given, "plate": plate}, limit=percent(limit),
        deviation=signed_percent(found.deviation),
        efficiency=entered(efficiency) if efficiency is not None else "",
    )  # fmt: skip


def _is_entered_for(given: Quantity, efficiency: Quantity, found: Apart) -> bool:
    """Whether the efficiency of the plate stands as the power factor, to the digit."""
    return found.beyond(0.0) and abs(given.si - efficiency.si) < DIGITS


DIGITS = 1e-6
"""How near two entered figures are that are one [1]: what conversion leaves."""

_FACTOR = "Motor power factor is set to {set}, the rating in use has {plate} ({deviation})."

MOTOR_POWER_FACTOR = Rule(
    id="drive.motor-power-factor",
    title="Motor power factor as set against the plate",
    severities=("review", "note"),
    condition="The power factor as set is within 5 % of the rating in use, and is not the plate's "
    "efficiency. Review where the drive regulates by a model of the motor (vector control), which "
    "takes the magnetizing current from it; note where it goes by volts per hertz.",
    source="common practice, no source",
    subject="/settings/motor_power_factor",
    needs=("/settings/motor_power_factor", "/rating/power_factor"),
    waits_for=("motor.power-balance", "drive.motor-frequency"),
    applies=lambda case: (
        has_drive(case) and has_slip(case) and case.find("/settings/motor_power_factor") is not None
    ),
    check=_motor_power_factor,
    limits={"difference": Limit(5, "%", "set against plate", "lower", "common practice")},
    sentences={
        "efficiency": "Probably the plate's efficiency ({efficiency}) was entered, or both stand "
        "exchanged in the register. " + _FACTOR,
        "plain": _FACTOR,
    },
    remedies={
        "efficiency": "Read both from the plate again; set its power factor, and run the motor "
        "identification again, or correct the register.",
        "plain": "Set motor power factor {plate}, and run the motor identification again.",
    },
)
