"""The SI numbers of an event, taken out of its document before any clock runs."""

from types import SimpleNamespace
from typing import Any

from calculations.inputs.readings import DutyPoint, SensorVerification
from calculations.inputs.sensor import Sensor
from calculations.inputs.subject import Subject

Numbers = SimpleNamespace

# Names that `bare_formulas` uses, and where their quantities stand.
PLACES = {
    "motor.ratings.1": {
        "power": "power", "voltage": "voltage", "current": "current", "frequency": "frequency",
        "speed": "speed", "efficiency": "efficiency", "power_factor": "power_factor",
    },
    "motor.ratings.0": {"low_voltage": "voltage", "low_current": "current"},
    "motor": {"motor_maximum_frequency": "maximum_frequency"},
    "site": {
        "elevation": "elevation", "supply_voltage": "supply_nominal_voltage",
        "nominal_frequency": "supply_frequency", "suction_low": "suction_pressure_low",
        "suction_high": "suction_pressure_high", "suction_loss": "suction_loss",
        "suction_loss_flow": "suction_loss_at_flow", "lift_low": "static_lift_low",
        "lift_high": "static_lift_high", "design_flow": "system_design_flow",
        "design_head": "system_design_head", "warmest": "liquid_temperature_max",
    },
    "pump": {
        "curve_speed": "rated_speed", "rated_flow": "rated_flow",
        "rated_head": "rated_head",
        "best_flow": "best_efficiency_flow", "minimum_flow": "minimum_continuous_flow",
        "minimum_permitted": "minimum_frequency_permitted",
        "pump_maximum_speed": "maximum_speed_permitted", "bore_suction": "bore_suction",
        "bore_discharge": "bore_discharge",
    },
    "drive": {
        "drive_current": "rated_current_normal_duty", "ambient": "ambient_at_drive",
        "cable": "motor_cable_length", "conductor": "motor_cable_conductor",
    },
    "sensors.0": {
        "range_low": "lower_range_value", "range_high": "upper_range_value",
        "discharge_tapping": "tapping_elevation",
    },
    "sensors.1": {
        "suction_tapping": "tapping_elevation", "suction_range_low": "lower_range_value",
        "suction_range_high": "upper_range_value",
    },
    "vessels.0": {"vessel_volume": "volume", "pre_charge": "pre_charge_pressure_design"},
    "event": {"liquid_temperature": "liquid_temperature"},
    "event.supply": {"supply_frequency": "frequency"},
    "event.motor_tests.insulation": {
        "insulation_30_s": "resistance_30_s", "insulation_1_min": "resistance_1_min",
        "winding_temperature": "winding_temperature",
    },
    "event.settings.as_left": {
        "set_power": "motor_power", "set_voltage": "motor_voltage", "set_current": "motor_current",
        "set_frequency": "motor_frequency", "set_speed": "motor_speed",
        "set_overload": "overload_current", "minimum_frequency": "minimum_frequency",
        "maximum_frequency": "maximum_frequency", "ramp_up": "ramp_up_time",
        "set_point": "set_point", "wake": "wake_value", "sleep_frequency": "sleep_frequency",
        "low_limit": "low_discharge_limit", "high_limit": "high_discharge_limit",
        "boost": "sleep_boost", "low_suction": "low_suction_limit",
        "shown_low": "feedback_at_lower_signal", "shown_high": "feedback_at_upper_signal",
    },
}  # fmt: skip


def numbers(subject: Subject) -> Numbers:
    """The bare numbers of the booster's start-up."""
    found = {
        name: getattr(_part(subject, part), field).si
        for part, fields in PLACES.items()
        for name, field in fields.items()
    }
    event, pump, meter = subject.event, subject.pump, subject.sensors[2]
    tests, points = event.motor_tests, pump.curve_points
    calibrator = subject.instruments[0]
    return Numbers(
        **found,
        poles=subject.motor.poles,
        line_voltages=_si(event.supply.line_voltages),
        resistances=_si(tests.winding_resistance.values),
        curve_flows=_si(each.flow for each in points),
        curve_heads=_si(each.head for each in points),
        curve_efficiencies=_si(each.efficiency for each in points[1:]),
        curve_npsh=_si(each.npsh_required for each in points[1:]),
        meter_uncertainty=meter.tolerance_percent_of_span.si * meter.upper_range_value.si,
        gauge_uncertainty=calibrator.percent_of_range.si * calibrator.range_high.si,
        points=[
            _point(each, f"/event/duty_points/{i}") for i, each in enumerate(event.duty_points)
        ],
        verifications=[
            _verification(each, subject.sensors[i], calibrator, f"/event/sensor_verifications/{i}")
            for i, each in enumerate(event.sensor_verifications)
        ],
    )


def _part(subject: Any, names: str) -> Any:
    for name in names.split("."):
        subject = subject[int(name)] if name.isdigit() else getattr(subject, name)
    return subject


def _si(quantities: Any) -> tuple[float, ...]:
    return tuple(each.si for each in quantities)


def _point(read: DutyPoint, place: str) -> Numbers:
    return Numbers(
        place=place,
        frequency=read.frequency.si,
        speed=read.speed.si,
        flow=read.flow.si,
        flow_rounding=read.flow.resolution,
        suction=read.suction_pressure.si,
        suction_height=read.suction_gauge_elevation.si,
        discharge=read.discharge_pressure.si,
        discharge_height=read.discharge_gauge_elevation.si,
        roundings=(read.suction_pressure.resolution, read.discharge_pressure.resolution),
        voltages=_si(read.voltages_drive_output),
        currents=_si(read.currents_drive_output),
        power_output=read.power_drive_output.si,
        power_input=read.power_drive_input.si,
        power_rounding=read.power_drive_input.resolution,
    )


def _verification(read: SensorVerification, sensor: Sensor, instrument: Any, place: str) -> Numbers:
    return Numbers(
        place=place,
        low=sensor.lower_range_value.si,
        span=sensor.upper_range_value.si - sensor.lower_range_value.si,
        tolerance=sensor.tolerance_percent_of_span.si,
        applied=_si(each.applied for each in read.as_found),
        signals=_si(each.signal for each in read.as_found),
        rising=[each.direction == "up" for each in read.as_found],
        share_of_range=instrument.percent_of_range.si,
        instrument_range=instrument.range_high.si - instrument.range_low.si,
    )
