"""Every rule and every derived value, listed one by one, in the order of trust.

A rule further down rests on those above it: units and impossible values first, then the plate
against itself, volts per hertz, the drive against the plate, the drive's rating, signal and
scaling, set point and limits, rotation, measured points, and what is computed from them.
"""

from functools import cache

from calculations.derived import load as load_values
from calculations.derived import motor as motor_values
from calculations.derived import supply as supply_values
from calculations.rule import Rule, Value
from calculations.rules import (
    drive_flux,
    drive_motor_data,
    drive_overload,
    incoming_supply,
    motor_plate,
    motor_power,
    site,
)

VERSION = "2026.11"

VALUES: tuple[Value, ...] = (
    *motor_values.VALUES,
    *load_values.VALUES,
    *supply_values.VALUES,
)

RULES: tuple[Rule, ...] = (
    site.ELEVATION,
    incoming_supply.PHASES,
    incoming_supply.UNBALANCE,
    incoming_supply.VOLTAGE_RANGE,
    incoming_supply.FREQUENCY,
    site.EARTHING,
    site.FAULT_RATING,
    motor_plate.SLIP,
    motor_plate.POLES,
    motor_power.POWER_BALANCE,
    motor_power.RATINGS_AGREE,
    motor_power.FULL_LOAD_CURRENT,
    drive_flux.MOTOR_KIND,
    drive_flux.VOLTS_PER_HERTZ,
    drive_flux.MOTOR_FREQUENCY,
    drive_flux.MOTOR_VOLTAGE,
    drive_motor_data.MOTOR_POWER,
    drive_motor_data.MOTOR_CURRENT,
    drive_motor_data.MOTOR_SPEED,
    drive_overload.OVERLOAD,
)


@cache
def _by_id() -> dict[str, Rule]:
    return {each.id: each for each in RULES}


def rule(identity: str) -> Rule:
    """The rule of this id; `KeyError` if there is none."""
    return _by_id()[identity]
