"""A drive: ratings, place, filter, cable, switches."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from calculations.inputs.base import (
    REQUIRED,
    START_UP,
    Count,
    Day,
    Id,
    Part,
    Text,
    needed_when,
    optional,
    quantity,
)
from calculations.units import Quantity


def _phases(given: object) -> object:
    return str(given) if isinstance(given, int) and not isinstance(given, bool) else given


InputPhases = Annotated[Literal["1", "3", "1_or_3", "unknown"], BeforeValidator(_phases)]
OutputFilter = Literal["none", "reactor", "dv_dt", "sine_wave", "common_mode", "unknown"]
InParallel = Annotated[Count, Field(ge=1, le=12)]
DriveEnclosure = Literal["open", "indoor", "dust_tight", "outdoor", "in_cabinet", "unknown"]
EnclosureCooling = Literal[
    "natural", "fan", "filter_fan", "air_conditioner", "heat_exchanger", "liquid", "unknown"
]
SafetyStop = Literal["none", "fitted_wired", "fitted_linked_out", "unknown"]


class Drive(Part):
    """A variable-speed drive as its plate and its installation describe it."""

    id: Id | None = None
    site: Id | None = optional(REQUIRED)
    tag: Text | None = optional(REQUIRED)
    serial: Text | None = optional(START_UP)
    firmware: Text | None = optional(START_UP)
    maker_text: Text | None = optional(about="As on the plate; no rule reads it.")
    model_text: Text | None = optional(about="As on the plate; no rule reads it.")
    input_phases: InputPhases | None = optional(REQUIRED)
    input_voltage_min: Quantity | None = quantity(
        "voltage", low="24 V", high="15000 V", needed=REQUIRED
    )
    input_voltage_max: Quantity | None = quantity(
        "voltage", low="24 V", high="15000 V", needed=REQUIRED
    )
    input_voltage_tolerance: Quantity | None = quantity(
        "ratio", low="0 1", high="0.2 1", about="Allowed beyond the range, as the plate states it."
    )
    rated_current_normal_duty: Quantity | None = quantity("current", above="0 A", high="20 kA")
    rated_current_heavy_duty: Quantity | None = quantity("current", above="0 A", high="20 kA")
    rated_current_single_phase_supply: Quantity | None = quantity(
        "current", above="0 A", high="20 kA"
    )
    rated_input_current: Quantity | None = quantity(
        "current", above="0 A", high="20 kA", needed=START_UP
    )
    rated_power: Quantity | None = quantity("power", above="0 kW", high="100 MW")
    overload_percent: Quantity | None = quantity("ratio", low="100 %", high="300 %")
    overload_seconds: Quantity | None = quantity("time", above="0 s", high="3600 s")
    carrier_at_rating: Quantity | None = quantity("frequency", low="0.5 kHz", high="20 kHz")
    carrier_derating_per_khz: Quantity | None = quantity("ratio", low="0 1", high="1 1")
    altitude_limit: Quantity | None = quantity("length", low="0 m", high="6000 m")
    derating_start_altitude: Quantity | None = quantity("length", low="0 m", high="6000 m")
    derating_per_100m: Quantity | None = quantity("ratio", low="0 1", high="1 1")
    ambient_rated: Quantity | None = quantity("temperature", low="-60 degC", high="90 degC")
    ambient_max: Quantity | None = quantity("temperature", low="-60 degC", high="90 degC")
    derating_per_K: Quantity | None = quantity("ratio", low="0 1", high="1 1")
    short_circuit_rating: Quantity | None = quantity(
        "current", above="0 A", high="300 kA", needed=needed_when("electrical practice us_nec")
    )
    enclosure: DriveEnclosure | None = optional(START_UP)
    enclosure_cooling: EnclosureCooling | None = optional(START_UP)
    ambient_at_drive: Quantity | None = quantity(
        "temperature", low="-30 degC", high="70 degC", needed=START_UP,
        about="Inside the cabinet, not outdoors.",
    )  # fmt: skip
    input_reactor: bool | None = None
    dc_choke: bool | None = None
    harmonic_filter: bool | None = None
    output_filter_fitted: OutputFilter | None = optional(
        START_UP, "The hardware; the setting is separate."
    )
    filter_carrier_min: Quantity | None = quantity("frequency", above="0 kHz", high="50 kHz")
    filter_carrier_max: Quantity | None = quantity("frequency", above="0 kHz", high="50 kHz")
    filter_maximum_frequency: Quantity | None = quantity("frequency", above="0 Hz", high="650 Hz")
    filter_voltage_drop: Quantity | None = quantity("ratio", "voltage", low="0 1")
    motor_cable_length: Quantity | None = quantity(
        "length", low="0 m", high="3000 m", needed=START_UP
    )
    motor_cable_conductor: Quantity | None = quantity("conductor", needed=START_UP)
    motor_cable_conductors_in_parallel: InParallel | None = optional(
        about="Conductors of this size that share the current of a phase, in one cable or several."
    )
    motor_cable_shielded: bool | None = optional(START_UP)
    maximum_motor_cable_length: Quantity | None = quantity("length", above="0 m", high="5000 m")
    output_capacitors: bool | None = None
    output_switch: bool | None = optional(START_UP)
    output_switch_interlocked: bool | None = optional(needed_when("an output switch is fitted"))
    functional_safety_stop: SafetyStop | None = optional(
        START_UP,
        "The input that takes the torque off the motor when a safety circuit opens (safe torque"
        " off): wired to such a circuit, or linked out so that the drive runs without one.",
    )
    in_service_from: Day | None = None
    out_of_service_on: Day | None = None
