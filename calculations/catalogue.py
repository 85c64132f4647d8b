"""Every rule and every derived value, listed one by one, in the order of trust.

A rule further down rests on those above it: units and impossible values first, then the plate
against itself, volts per hertz, the drive against the plate, the drive's rating, signal and
scaling, set point and limits, rotation, measured points, and what is computed from them.
"""

from functools import cache

from calculations.derived import drive as drive_values
from calculations.derived import duty as duty_values
from calculations.derived import insulation as insulation_values
from calculations.derived import load as load_values
from calculations.derived import motor as motor_values
from calculations.derived import sensors as sensors_values
from calculations.derived import speeds as speeds_values
from calculations.derived import supply as supply_values
from calculations.derived import winding as winding_values
from calculations.rule import Rule, Value
from calculations.rules import (
    drive_cable,
    drive_filter,
    drive_flux,
    drive_motor_data,
    drive_overload,
    drive_rating,
    drive_switching,
    earth,
    efficiencies,
    incoming_supply,
    insulation,
    load,
    loop_limits,
    loop_response,
    loop_set_point,
    loop_signal,
    loop_sleep,
    measured_points,
    motor_class,
    motor_cooling,
    motor_plate,
    motor_power,
    protections,
    pump_curve,
    record_content,
    records,
    rotation,
    sensor_errors,
    sensor_readings,
    sensor_reference,
    site,
    speed_and_system,
    speed_limits,
    suction_head,
    winding,
)

VERSION = "2026.11"

VALUES: tuple[Value, ...] = (
    *motor_values.VALUES,
    *load_values.VALUES,
    *supply_values.VALUES,
    *speeds_values.VALUES,
    *insulation_values.VALUES,
    *winding_values.VALUES,
    *sensors_values.VALUES,
    *duty_values.VALUES,
    *drive_values.VALUES,
)

RULES: tuple[Rule, ...] = (
    site.ELEVATION,
    incoming_supply.PHASES,
    incoming_supply.UNBALANCE,
    incoming_supply.VOLTAGE_RANGE,
    incoming_supply.FREQUENCY,
    site.EARTHING,
    site.FAULT_RATING,
    motor_class.SINGLE_PHASE,
    motor_plate.SLIP,
    motor_plate.POLES,
    motor_power.POWER_BALANCE,
    motor_power.RATINGS_AGREE,
    motor_power.FULL_LOAD_CURRENT,
    motor_class.EFFICIENCY_CLASS,
    pump_curve.SHAPE,
    pump_curve.SPEED,
    drive_flux.MOTOR_KIND,
    drive_flux.VOLTS_PER_HERTZ,
    drive_flux.MOTOR_FREQUENCY,
    drive_flux.MOTOR_VOLTAGE,
    drive_motor_data.MOTOR_POWER,
    drive_motor_data.MOTOR_CURRENT,
    drive_motor_data.MOTOR_SPEED,
    drive_overload.OVERLOAD,
    motor_class.SERVICE_FACTOR,
    motor_cooling.THERMAL_SENSOR,
    motor_cooling.BEARING_CURRENTS,
    motor_cooling.COOLING,
    drive_rating.ENVIRONMENT,
    drive_rating.RATED_CURRENT,
    drive_rating.SINGLE_PHASE_INPUT,
    drive_rating.CARRIER_DERATING,
    drive_filter.FILTER_SETTING,
    drive_filter.CARRIER,
    drive_cable.CABLE_LENGTH,
    drive_cable.REFLECTED_WAVE,
    drive_cable.VOLTAGE_DROP,
    drive_switching.OUTPUT_CAPACITORS,
    drive_switching.OUTPUT_SWITCH,
    drive_switching.BYPASS,
    drive_switching.IDENTIFICATION,
    insulation.DRIVE_CONNECTED,
    insulation.TEMPERATURE,
    insulation.TEST_VOLTAGE,
    insulation.MINIMUM,
    insulation.POLARIZATION,
    winding.RESISTANCE_UNBALANCE,
    winding.CURRENT_UNBALANCE,
    earth.CONTINUITY,
    speed_limits.ORDER,
    speed_limits.MINIMUM_PERMITTED,
    speed_limits.MAXIMUM_SPEED,
    speed_limits.MAXIMUM_POWER,
    loop_signal.SIGNAL_TYPE,
    loop_signal.INPUT_SELECTOR,
    loop_signal.SCALING,
    loop_set_point.SET_POINT_UNIT,
    loop_limits.LIMITS_ORDER,
    loop_set_point.IN_SPAN,
    speed_and_system.ZERO_FLOW,
    speed_and_system.DEAD_HEAD,
    speed_and_system.MAXIMUM_PRESSURE,
    speed_and_system.MINIMUM_PRESSURE,
    loop_set_point.MEASURABLE,
    loop_set_point.REACHABLE,
    loop_response.ACTION,
    loop_response.SIGNAL_LOSS,
    loop_response.BROKEN_WIRE,
    loop_response.INTEGRAL_OFF,
    loop_response.DERIVATIVE,
    loop_response.TWO_CONTROLLERS,
    loop_sleep.SLEEP_ORDER,
    loop_sleep.SLEEP_WINDOW,
    loop_sleep.WAKE_RULE,
    sensor_readings.SIGNAL_BAND,
    sensor_readings.OUTLIER,
    sensor_errors.OFFSET,
    sensor_errors.ERROR_AS_FOUND,
    sensor_errors.ERROR_AS_LEFT,
    sensor_errors.HYSTERESIS,
    sensor_errors.LINEARITY,
    sensor_reference.CHAIN,
    sensor_reference.REFERENCE_UNCERTAINTY,
    sensor_reference.REFERENCE_CALIBRATION,
    sensor_reference.RANGE,
    rotation.REVERSED,
    rotation.OVER_BYPASS,
    measured_points.POINT,
    measured_points.OPERATING,
    measured_points.MINIMUM_FLOW,
    suction_head.MARGIN,
    efficiencies.SUM_OF_PARTS,
    efficiencies.WIRE_TO_WATER,
    load.NAMEPLATE,
    load.EXPECTED,
    motor_cooling.AMBIENT_ALTITUDE,
    protections.FAILED,
    protections.TRIP_VALUE,
    protections.MISSING,
    record_content.MISSING,
    records.DATES,
    records.SERIAL,
    records.UNADJUSTED,
    records.TOO_PERFECT,
)


@cache
def _by_id() -> dict[str, Rule]:
    return {each.id: each for each in RULES}


def rule(identity: str) -> Rule:
    """The rule of this id; `KeyError` if there is none."""
    return _by_id()[identity]
