"""Settings of a drive in a neutral vocabulary, as found or as left."""

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from calculations.inputs.base import (
    START_UP,
    Count,
    Part,
    Poles,
    Text,
    at_most,
    needed_when,
    optional,
    quantity,
)
from calculations.inputs.drive import OutputFilter
from calculations.inputs.motor import Connection, MotorKind
from calculations.inputs.sensor import SignalKind
from calculations.units import Quantity

ControlMode = Literal[
    "volts_per_hertz_linear", "volts_per_hertz_quadratic", "vector", "synchronous_vector",
    "unknown",
]  # fmt: skip
DutyClass = Literal["normal", "heavy", "unknown"]
OverloadBasis = Literal["absolute", "percent_of_motor_current", "unknown"]
RampReference = Literal["to_rated_frequency", "to_maximum_frequency", "unknown"]
StopMode = Literal["ramp", "coast", "dc_brake", "unknown"]
StartMode = Literal["normal", "catch_spinning", "magnetise", "unknown"]
FilterLinks = Literal["connected", "disconnected", "unknown"]
Identification = Literal["standstill", "rotating", "skipped", "not_available", "unknown"]
Regulation = Literal[
    "open_loop", "closed_loop_in_drive", "speed_from_external_controller", "hand_only", "unknown"
]
RegulatedQuantity = Literal[
    "discharge_pressure", "suction_pressure", "differential_pressure", "flow", "level_filling",
    "level_emptying", "temperature", "unknown",
]  # fmt: skip
SetPointSource = Literal["local", "remote", "unknown"]
SetPointDatum = Literal["transmitter", "pump_datum", "header", "remote", "unknown"]
InputSelector = Literal["current", "voltage", "not_selectable", "digital", "unknown"]
Action = Literal["rising_feedback_slows", "rising_feedback_speeds_up", "unknown"]
GainForm = Literal["parallel", "series", "unknown"]
SleepMethod = Literal[
    "frequency", "no_flow_switch", "flow", "power", "pressure_test", "none", "unknown"
]
WakeBasis = Literal["absolute", "below_set_point", "unknown"]
LimitResponse = Literal["alarm", "stop", "stop_and_retry", "none", "unknown"]
SignalLossResponse = Literal[
    "stop", "alarm", "hold_speed", "preset_speed", "minimum_speed", "maximum_speed",
    "other_sensor", "none", "unknown",
]  # fmt: skip
MeasuredBy = Literal[
    "regulating_sensor", "suction_sensor", "discharge_sensor", "pressure_switch", "level_sensor",
    "float", "flow_meter", "drive_estimate", "other", "unknown",
]  # fmt: skip
DryRunMethod = Literal[
    "none", "suction_pressure", "level", "float", "flow_switch", "underload", "unknown"
]
TripResponse = Literal["trip", "alarm", "none", "unknown"]
LevelReference = Literal["floor", "transmitter_zero", "site_datum", "unknown"]
Arrangement = Literal["single", "duty_standby", "lead_lag", "alternating", "staged", "unknown"]
Alternation = Literal["at_sleep", "hours", "daily", "none", "unknown"]
PowerLossResponse = Literal["stop", "ride_through", "unknown"]
PowerReturn = Literal["restart", "stay_stopped", "restart_after_delay", "unknown"]

# Written in the unit of what is regulated, or in % of the feedback's span.
PROCESS = ("pressure", "length", "flow", "temperature", "ratio")
PRESSURE_OR_SPAN = ("pressure", "ratio")

Attempts = Annotated[Count, Field(ge=0, le=20)]
PumpCount = Annotated[Count, Field(ge=1, le=12)]


def _overload_class(given: object) -> object:
    return str(given) if isinstance(given, int) and not isinstance(given, bool) else given


OverloadClass = Annotated[
    Literal["5", "10", "20", "30", "unknown"], BeforeValidator(_overload_class)
]


class SkipBand(Part):
    """A band of frequencies that the drive does not dwell in."""

    id: Text | None = None
    centre: Quantity | None = quantity("frequency", low="0 Hz", high="650 Hz")
    width: Quantity | None = quantity("frequency", above="0 Hz", high="100 Hz")


class SetPointAlternative(Part):
    """Another set point, and when it holds."""

    id: Text | None = None
    set_point: Quantity | None = quantity(*PROCESS)
    schedule: Text | None = None


class FlowCompensation(Part):
    """Set point raised with flow, to make up for friction."""

    at_zero_flow: Quantity | None = quantity(*PROCESS)
    at_design_flow: Quantity | None = quantity(*PROCESS)


class RemoteControl(Part):
    """What is started, reported and shown from afar."""

    start_source: Text | None = None
    status_signals: Text | None = None
    analogue_output_range: Text | None = None


RAMP: dict[str, Any] = {"low": "0.01 s", "high": "3600 s"}
DELAY: dict[str, Any] = {"low": "0 s", "high": "3600 s"}
HERTZ: dict[str, Any] = {"low": "0 Hz", "high": "650 Hz"}


class Settings(Part):
    """Everything a drive may be set to that bears on the pump set; all optional singly."""

    # motor data
    motor_kind: MotorKind | None = optional(needed_when("not an induction motor"))
    motor_connection: Connection | None = None
    motor_power: Quantity | None = quantity("power", above="0 kW", high="100 MW", needed=START_UP)
    motor_voltage: Quantity | None = quantity(
        "voltage", above="0 V", high="15000 V", needed=START_UP
    )
    motor_frequency: Quantity | None = quantity(
        "frequency", above="0 Hz", high="650 Hz", needed=START_UP
    )
    motor_current: Quantity | None = quantity("current", above="0 A", high="20 kA", needed=START_UP)
    motor_speed: Quantity | None = quantity(
        "speed", above="0 rpm", high="20000 rpm", needed=START_UP
    )
    motor_power_factor: Quantity | None = quantity("ratio", above="0.2 1", high="1 1")
    motor_poles: Poles | None = None
    motor_identification: Identification | None = optional(START_UP)
    control_mode: ControlMode | None = optional(START_UP)
    duty_class: DutyClass | None = optional(START_UP)
    # protection of the motor
    overload_current: Quantity | None = quantity("current", "ratio", above="0 A", needed=START_UP)
    overload_class: OverloadClass | None = None
    overload_basis: OverloadBasis | None = None
    current_limit: Quantity | None = quantity("current", "ratio", above="0 A")
    # frequency and ramps
    minimum_frequency: Quantity | None = quantity("frequency", **HERTZ, needed=START_UP)
    maximum_frequency: Quantity | None = quantity("frequency", **HERTZ, needed=START_UP)
    ramp_reference: RampReference | None = optional(START_UP)
    ramp_up_time: Quantity | None = quantity("time", **RAMP, needed=START_UP)
    ramp_down_time: Quantity | None = quantity("time", **RAMP, needed=START_UP)
    first_ramp_time: Quantity | None = quantity("time", low="0 s", high="600 s")
    first_ramp_to_frequency: Quantity | None = quantity("frequency", **HERTZ)
    last_ramp_time: Quantity | None = quantity("time", low="0 s", high="600 s")
    last_ramp_from_frequency: Quantity | None = quantity("frequency", **HERTZ)
    skip_bands: Annotated[list[SkipBand], AfterValidator(at_most(20))] | None = None
    stop_mode: StopMode | None = None
    start_mode: StartMode | None = None
    restart_delay: Quantity | None = quantity("time", **DELAY, needed=START_UP)
    restart_attempts: Attempts | None = optional(START_UP)
    automatic_reset_count: Attempts | None = optional(START_UP)
    automatic_reset_delay: Quantity | None = quantity("time", **DELAY, needed=START_UP)
    restart_after_power_loss: PowerReturn | None = optional(START_UP)
    power_loss_response: PowerLossResponse | None = None
    reverse_inhibited: bool | None = optional(START_UP)
    # output
    carrier_frequency: Quantity | None = quantity(
        "frequency", low="0.5 kHz", high="20 kHz", needed=START_UP
    )
    output_filter: OutputFilter | None = optional(START_UP)
    emc_filter_earthed: FilterLinks | None = optional(
        needed_when("supply is not solidly earthed star")
    )
    # regulation
    regulation: Regulation | None = optional(START_UP)
    regulated_quantity: RegulatedQuantity | None = optional(needed_when("closed loop"))
    speed_reference_signal: SignalKind | None = optional(needed_when("external controller"))
    frequency_at_lower_reference: Quantity | None = quantity("frequency", **HERTZ)
    frequency_at_upper_reference: Quantity | None = quantity("frequency", **HERTZ)
    set_point: Quantity | None = quantity(*PROCESS, needed=needed_when("closed loop"))
    set_point_alternatives: (
        Annotated[list[SetPointAlternative], AfterValidator(at_most(20))] | None
    ) = None
    set_point_source: SetPointSource | None = None
    set_point_datum: SetPointDatum | None = optional(needed_when("closed loop on pressure"))
    flow_compensation: FlowCompensation | None = None
    feedback_signal: SignalKind | None = optional(needed_when("closed loop"))
    feedback_terminal: Text | None = None
    input_selector: InputSelector | None = None
    feedback_at_lower_signal: Quantity | None = quantity(
        *PROCESS, needed=needed_when("closed loop")
    )
    feedback_at_upper_signal: Quantity | None = quantity(
        *PROCESS, needed=needed_when("closed loop")
    )
    feedback_filter_time: Quantity | None = quantity(
        "time", low="0 s", high="100 s", needed=needed_when("closed loop")
    )
    action: Action | None = optional(
        needed_when("closed loop"), "What a rising feedback does to the speed."
    )
    proportional_gain: Quantity | None = quantity(
        "count", "ratio", low="0 1", high="1000 1", about="% of output per % of span."
    )
    gain_form: GainForm | None = None
    integral_time: Quantity | Literal["off"] | None = quantity(
        "time", low="0 s", high="3600 s", also=("off",)
    )
    derivative_time: Quantity | None = quantity("time", low="0 s", high="3600 s")
    # sleep and wake
    sleep_method: SleepMethod | None = optional(needed_when("closed loop"))
    sleep_frequency: Quantity | None = quantity("frequency", **HERTZ)
    sleep_delay: Quantity | None = quantity("time", **DELAY)
    sleep_boost: Quantity | None = quantity(*PRESSURE_OR_SPAN, "length", about="A difference.")
    sleep_boost_time_limit: Quantity | None = quantity("time", **DELAY)
    wake_value: Quantity | None = quantity(*PROCESS)
    wake_basis: WakeBasis | None = None
    wake_delay: Quantity | None = quantity("time", **DELAY)
    # loss of signal, limits, dry run
    signal_loss_response: SignalLossResponse | None = optional(needed_when("closed loop"))
    signal_loss_delay: Quantity | None = quantity("time", **DELAY)
    signal_loss_frequency: Quantity | None = quantity("frequency", **HERTZ)
    signal_loss_threshold: Quantity | None = quantity("current", "voltage", "ratio")
    low_suction_limit: Quantity | None = quantity(*PRESSURE_OR_SPAN, "length")
    low_suction_limit_delay: Quantity | None = quantity("time", **DELAY)
    low_suction_limit_response: LimitResponse | None = None
    low_suction_limit_measured_by: MeasuredBy | None = None
    low_discharge_limit: Quantity | None = quantity(*PRESSURE_OR_SPAN)
    low_discharge_limit_delay: Quantity | None = quantity("time", **DELAY)
    low_discharge_limit_response: LimitResponse | None = None
    low_discharge_limit_measured_by: MeasuredBy | None = None
    high_discharge_limit: Quantity | None = quantity(*PRESSURE_OR_SPAN)
    high_discharge_limit_delay: Quantity | None = quantity("time", **DELAY)
    high_discharge_limit_response: LimitResponse | None = None
    high_discharge_limit_measured_by: MeasuredBy | None = None
    dry_run_method: DryRunMethod | None = optional(START_UP)
    dry_run_threshold: Quantity | None = quantity(*PROCESS, "power", "current", "torque")
    dry_run_delay: Quantity | None = quantity("time", **DELAY)
    dry_run_response: LimitResponse | None = None
    dry_run_retry_delay: Quantity | None = quantity("time", low="0 s", high="86400 s")
    no_flow_response: LimitResponse | None = None
    no_flow_delay: Quantity | None = quantity("time", **DELAY)
    motor_thermal_sensor_response: TripResponse | None = None
    leak_sensor_response: TripResponse | None = None
    input_phase_loss_response: TripResponse | None = None
    output_phase_loss_response: TripResponse | None = None
    earth_fault_response: TripResponse | None = None
    # levels
    level_reference: LevelReference | None = optional(needed_when("level"))
    start_level: Quantity | None = quantity("length", "ratio")
    stop_level: Quantity | None = quantity("length", "ratio")
    lag_start_level: Quantity | None = quantity("length", "ratio")
    high_level_alarm: Quantity | None = quantity("length", "ratio")
    low_level_cutoff: Quantity | None = quantity("length", "ratio")
    cleaning_cycle: Text | None = None
    flush_interval: Quantity | None = quantity("time", low="0 s", high="365 d")
    # several pumps
    pump_arrangement: Arrangement | None = optional(START_UP)
    pumps_in_group: PumpCount | None = None
    pumps_maximum_running: PumpCount | None = None
    stage_on_frequency: Quantity | None = quantity("frequency", **HERTZ)
    stage_on_delay: Quantity | None = quantity("time", **DELAY)
    stage_off_frequency: Quantity | None = quantity("frequency", **HERTZ)
    stage_off_delay: Quantity | None = quantity("time", **DELAY)
    stage_set_point_offset: Quantity | None = quantity(*PRESSURE_OR_SPAN, "length", "flow")
    alternation: Alternation | None = None
    failover: Text | None = None
    # in hand, from afar
    hand_speed: Quantity | None = quantity("frequency", **HERTZ)
    hand_protections_active: bool | None = None
    remote_control: RemoteControl | None = None

    @property
    def reads_level(self) -> bool:
        """Whether a drive that regulates nothing starts or stops its pump on a level it reads."""
        starts = self.start_level is not None or self.stop_level is not None
        scaled = (
            self.feedback_signal,
            self.feedback_at_lower_signal,
            self.feedback_at_upper_signal,
        )
        return self.regulation == "open_loop" and starts and any(scaled)
