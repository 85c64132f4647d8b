"""Derived values of the drive: what it should be set to, and what it can give at its place."""

from calculations.aspects import drive_current
from calculations.aspects.rating import run_rating
from calculations.case import Case, Missing
from calculations.rule import Value, fixed, like
from calculations.rules.drive_cable import (
    LENGTH,
    critical_length,
    is_unfiltered,
    terminal_peak,
    voltage_drop,
)
from calculations.rules.drive_overload import recommended
from calculations.rules.scope import has_drive, has_motor


def _volts_per_hertz(case: Case) -> float:
    return run_rating(case).volts_per_hertz


def _volts_per_hertz_set(case: Case) -> float:
    voltage, frequency = case.require("/settings/motor_voltage", "/settings/motor_frequency")
    return float(voltage.si / frequency.si)


def _available_current(case: Case) -> float:
    return drive_current.available(case).current


def _overload_setting(case: Case) -> float:
    return recommended(case).setting


def _overload_refused_above(case: Case) -> float:
    case.require("/site/electrical_practice")
    return recommended(case).stop_above


def _voltage_drop(case: Case) -> float:
    drop = voltage_drop(case)
    if drop.filter is None:
        raise Missing("/drive/filter_voltage_drop")
    return drop.cable + drop.filter


VALUES = (
    Value(
        id="drive.volts-per-hertz",
        title="Volts per hertz of the motor as it is run",
        formula="U_n / f_n, the same along an extension above the rated frequency",
        source="definition",
        unit=fixed("V/Hz"),
        compute=_volts_per_hertz,
        subject="/rating",
        applies=lambda case: has_motor(case) and not case.fixed_speed,
        read_on_site=True,
    ),
    Value(
        id="drive.volts-per-hertz-set",
        title="Volts per hertz as set",
        formula="U / f as set",
        source="definition",
        unit=fixed("V/Hz"),
        compute=_volts_per_hertz_set,
        subject="/settings/motor_voltage",
        applies=has_drive,
        read_on_site=True,
    ),
    Value(
        id="drive.available-current",
        title="Current that the drive can give at its place",
        formula="I = I_n k_single-phase k_altitude k_ambient k_carrier",
        source="the drive's plate; where it states none, 1 % per 100 m above 1000 m and 1 % per K "
        "above 40 degC, half on a single phase: common practice",
        unit=like("/drive/rated_current_normal_duty", "A"),
        compute=_available_current,
        subject="/drive/rated_current_normal_duty",
        applies=has_drive,
    ),
    Value(
        id="drive.overload-setting",
        title="Overload to set in the drive",
        formula="I = I_n of the plate; an immersed motor's service-factor current where printed",
        source="common practice: the margin is in the drive's curve",
        unit=like("/rating/current", "A"),
        compute=_overload_setting,
        subject="/settings/overload_current",
        applies=has_drive,
    ),
    Value(
        id="drive.overload-refused-above",
        title="Practice limit: highest overload that is accepted, not a value to set",
        formula="United States 1.25 or 1.15 I_n, elsewhere 1.10 I_n",
        source="NFPA 70 430.32 (a separate overload device), 430.124; else common practice",
        unit=like("/rating/current", "A"),
        compute=_overload_refused_above,
        subject="/settings/overload_current",
        applies=has_drive,
    ),
    Value(
        id="drive.critical-cable-length",
        title="Cable length from which pulses are fully reflected",
        formula="l = v t / 2, v = 150 m/us, t = 0.1 us",
        source="travelling-wave theory; figures from memory",
        unit=like(LENGTH, "m"),
        compute=critical_length,
        subject=LENGTH,
        applies=is_unfiltered,
    ),
    Value(
        id="drive.terminal-peak",
        title="Peak voltage at the motor behind a long cable without filter",
        formula="U = 1.9 sqrt(2) U_supply; twice U_supply where the drive doubles a single phase",
        source="travelling-wave theory, from memory",
        unit=fixed("V"),
        compute=terminal_peak,
        subject="/motor/peak_voltage_limit",
        applies=is_unfiltered,
    ),
    Value(
        id="drive.cable-voltage-drop",
        title="Voltage lost between drive and motor at the plate's current",
        formula="sqrt(3) I l (R cos(phi) + X sin(phi)) / U, and the filter's; copper at 75 degC",
        source="definition; resistivity IEC 60028, reactance 0.08 mohm/m, from memory",
        unit=fixed("%"),
        compute=_voltage_drop,
        subject="/drive/motor_cable_conductor",
        applies=has_drive,
    ),
)
