"""What was tested and read on site, part by part."""

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field

from calculations.inputs.base import (
    HEIGHT,
    OVER_DATUM,
    Count,
    Id,
    Moment,
    Part,
    Text,
    at_most,
    element,
    optional,
    quantity,
)
from calculations.units import Quantity

MeasuredAt = Literal["incoming_terminals", "drive_input", "generator", "unknown"]
MotorPlace = Literal["motor_terminals", "drive_end_of_cable", "well_head", "unknown"]
Direction = Literal["correct", "reversed", "not_checked", "unknown"]
RotationMethod = Literal[
    "uncoupled_bump", "shaft_seen", "shut_off_head", "flow", "other", "unknown"
]
PhasesSwappedAt = Literal[
    "motor", "drive_output", "supply", "drive_setting", "not_swapped", "unknown"
]
CheckItem = Literal[
    "coupling_aligned", "guard_fitted", "lubricated", "turned_by_hand", "primed_and_vented",
    "suction_valve_open", "discharge_valve_position", "strainer_clean", "packing_or_seal",
    "anchor_bolts", "cooling_path_clear",
]  # fmt: skip
CheckResult = Literal["ok", "not_ok", "not_applicable", "unknown"]
PointPurpose = Literal["design", "normal", "minimum", "maximum", "shut_off", "unknown"]
FlowMethod = Literal["installed_meter", "strap_on", "drawdown", "volumetric", "none", "unknown"]
IndicatedAt = Literal["transmitter", "drive", "remote_display", "unknown"]
Adjusted = Literal["none", "zero", "span", "replaced", "scaling", "unknown"]
InflowMethod = Literal["fill_before", "fill_after", "both", "none", "unknown"]
ProtectionFunction = Literal[
    "low_suction", "dry_run", "high_pressure", "low_pressure_burst", "loss_of_feedback",
    "motor_overtemperature", "seal_leak", "overload", "phase_loss", "high_level", "low_level",
    "float_backup", "emergency_stop", "local_isolator", "power_loss_restart",
    "generator_transfer", "lag_takeover", "sensor_failover", "communication_loss", "bypass",
    "no_flow", "reverse_rotation",
]  # fmt: skip
Reset = Literal["automatic", "manual", "unknown"]
StepKind = Literal["set_point", "demand", "unknown"]
LevelName = Literal[
    "start", "stop", "lag_start", "high_alarm", "low_cutoff", "overflow", "float", "unknown"
]

# Over or under the site datum.
PROCESS = ("pressure", "length", "flow", "temperature", "ratio")
SIGNAL = ("current", "voltage")


def three(of: list[Quantity]) -> list[Quantity]:
    """One value or three, for one or three phases."""
    return at_most(3)(of)


# Insulation testers end far below; a circuit that is open reads as much as the ohmmeter shows.
INSULATION: dict[str, Any] = {"low": "0 ohm", "high": "100000 Gohm"}
_VOLTS = element("voltage", low="0 V", high="50000 V")
_AMPS = element("current", low="0 A", high="10000 A")
_OHMS = element("resistance", low="0 ohm", high="1 Mohm")
_PROCESS = quantity(*PROCESS).metadata[0]
_CELSIUS = element("temperature", low="-60 degC", high="300 degC")
Voltages = Annotated[list[Annotated[Quantity, _VOLTS]], Field(min_length=1), AfterValidator(three)]
Currents = Annotated[list[Annotated[Quantity, _AMPS]], Field(min_length=1), AfterValidator(three)]
Resistances = Annotated[
    list[Annotated[Quantity, _OHMS]], Field(min_length=1), AfterValidator(three)
]
Temperatures = Annotated[list[Annotated[Quantity, _CELSIUS]], AfterValidator(at_most(20))]


class Supply(Part):
    """The supply as measured."""

    measured_at: MeasuredAt | None = None
    under_load: bool | None = None
    line_voltages: Voltages | None = None
    line_to_earth_voltages: Voltages | None = None
    frequency: Quantity | None = quantity("frequency", low="0 Hz", high="100 Hz")
    dc_bus_voltage: Quantity | None = quantity("voltage", low="0 V", high="50000 V")
    currents: Currents | None = None


class WindingResistance(Part):
    """Resistance from phase to phase."""

    values: Resistances | None = None
    method: Literal["two_wire", "four_wire", "unknown"] | None = None
    resolution: Quantity | None = quantity("resistance", above="0 ohm", high="1 Mohm")
    winding_temperature: Quantity | None = quantity("temperature", low="-60 degC", high="250 degC")
    at: MotorPlace | None = None


class Insulation(Part):
    """Insulation resistance of the winding to earth."""

    test_voltage: Quantity | None = quantity("voltage", above="0 V", high="15000 V")
    resistance_30_s: Quantity | None = quantity("resistance", **INSULATION)
    resistance_1_min: Quantity | None = quantity("resistance", **INSULATION)
    resistance_10_min: Quantity | None = quantity("resistance", **INSULATION)
    winding_temperature: Quantity | None = quantity("temperature", low="-60 degC", high="250 degC")
    humidity: Quantity | None = quantity("ratio", low="0 %", high="100 %")
    drive_disconnected: bool | None = None
    includes_cable: bool | None = None
    discharged: bool | None = None
    at: MotorPlace | None = None


class MotorTests(Part):
    """Tests of the winding, before it is connected."""

    winding_resistance: WindingResistance | None = None
    insulation: Insulation | None = None


class EarthTest(Part):
    """Continuity of the protective earth between two points."""

    id: Text | None = None
    from_point: Text | None = Field(default=None, alias="from")
    to: Text | None = None
    resistance: Quantity | None = quantity("resistance", low="0 ohm", high="100 Mohm")
    open_circuit: bool | None = None
    test_current: Quantity | None = quantity("current", above="0 A", high="1000 A")


class MechanicalCheck(Part):
    """One thing looked at before the first start."""

    id: Text | None = None
    item: CheckItem
    result: CheckResult | None = None
    value: Text | None = None


class Rotation(Part):
    """Which way it turns, and how that was found."""

    drive_direction: Direction | None = None
    method: RotationMethod | None = None
    bypass_direction: Direction | None = None
    phases_swapped_at: PhasesSwappedAt | None = None


class IdentificationRun(Part):
    """The drive's measurement of the motor."""

    kind: Literal["standstill", "rotating", "none", "unknown"] | None = None
    result_resistance: Quantity | None = quantity("resistance", low="0 ohm", high="10 kohm")


class VesselCheck(Part):
    """Pre-charge of a vessel."""

    id: Text | None = None
    vessel: Text | None = optional(about="By id or by tag.")
    pre_charge_as_found: Quantity | None = quantity("pressure", low="0 bar", high="1000 bar")
    pre_charge_as_left: Quantity | None = quantity("pressure", low="0 bar", high="1000 bar")
    system_drained: bool | None = optional(about="Else the figure means nothing.")


class Vibration(Part):
    """Vibration velocity at one place."""

    id: Text | None = None
    location: Text | None = None
    direction: Literal["horizontal", "vertical", "axial", "unknown"] | None = None
    velocity_rms: Quantity | None = quantity("velocity", low="0 mm/s", high="1000 mm/s")


class DutyPoint(Part):
    """Readings of one steady operating point; electrical values say where they were taken."""

    id: Text | None = None
    purpose: PointPurpose | None = None
    frequency: Quantity | None = quantity("frequency", low="0 Hz", high="650 Hz")
    speed: Quantity | None = quantity("speed", low="0 rpm", high="20000 rpm")
    speed_measured: bool | None = None
    flow: Quantity | None = quantity("flow", low="0 m3/h", high="500000 m3/h")
    flow_method: FlowMethod | None = None
    suction_pressure: Quantity | None = quantity("pressure", low="-1.1 bar", high="1000 bar")
    suction_gauge_elevation: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)
    discharge_pressure: Quantity | None = quantity("pressure", low="-1.1 bar", high="1000 bar")
    discharge_gauge_elevation: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)
    suction_level: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)
    suction_level_depth: Quantity | None = quantity(
        "length", **HEIGHT, about="Depth below the well head."
    )
    bore_suction: Quantity | None = quantity("length", low="10 mm", high="3 m")
    bore_discharge: Quantity | None = quantity("length", low="10 mm", high="3 m")
    voltages_drive_input: Voltages | None = None
    voltages_drive_output: Voltages | None = None
    voltages_drive_display: Voltages | None = None
    currents_drive_input: Currents | None = None
    currents_drive_output: Currents | None = None
    currents_drive_display: Currents | None = None
    power_drive_input: Quantity | None = quantity("power", low="0 kW", high="100 MW")
    power_drive_output: Quantity | None = quantity("power", low="0 kW", high="100 MW")
    power_drive_display: Quantity | None = quantity("power", low="0 kW", high="100 MW")
    motor_temperature: Quantity | None = quantity("temperature", low="-60 degC", high="300 degC")
    bearing_temperatures: Temperatures | None = None
    vibration: Annotated[list[Vibration], AfterValidator(at_most(40))] | None = None
    other_pumps_running: Annotated[Count, Field(ge=0, le=12)] | None = None
    steady_for: Quantity | None = quantity("time", low="0 s", high="24 h")
    instruments: Annotated[list[Text], AfterValidator(at_most(40))] | None = optional(
        about="By id or by serial number."
    )


class VerificationPoint(Part):
    """One applied value of a sensor's check."""

    id: Text | None = None
    direction: Literal["up", "down", "unknown"] | None = None
    applied: Quantity | None = quantity(*PROCESS)
    signal: Quantity | None = quantity(*SIGNAL)
    indicated: Quantity | None = quantity(*PROCESS)
    indicated_at: IndicatedAt | None = None


Points = Annotated[list[VerificationPoint], AfterValidator(at_most(100))]


class SensorVerification(Part):
    """A sensor against a reference, as found and, where adjusted, as left."""

    id: Text | None = None
    sensor: Text | None = optional(about="By id or by tag.")
    instrument: Text | None = optional(about="By id or by serial number.")
    as_found: Points | None = None
    as_left: Points | None = None
    adjusted: Adjusted | None = None
    applied_head_difference: Quantity | None = quantity(
        "length", low="-1000 m", high="1000 m", about="Height of the reference over the sensor."
    )
    isolated_and_vented: bool | None = None
    damping: Quantity | None = quantity("time", low="0 s", high="100 s")


class DrawdownTest(Part):
    """Flow out of a wet well by its falling level."""

    id: Text | None = None
    plan_area: Quantity | None = quantity("area", above="0 m2", high="100000 m2")
    diameter: Quantity | None = quantity("length", above="0 m", high="300 m")
    level_start: Quantity | None = quantity("length", **HEIGHT)
    level_end: Quantity | None = quantity("length", **HEIGHT)
    time: Quantity | None = quantity("time", above="0 s", high="7 d")
    inflow_method: InflowMethod | None = None
    fill_rise: Quantity | None = quantity("length", low="0 m", high="100 m")
    fill_time: Quantity | None = quantity("time", above="0 s", high="7 d")
    pumps_running: Annotated[Count, Field(ge=1, le=12)] | None = None
    frequency: Quantity | None = quantity("frequency", low="0 Hz", high="650 Hz")


class ProtectionTest(Part):
    """A protection that was provoked, and what it did."""

    id: Text | None = None
    function: ProtectionFunction
    how_provoked: Text | None = None
    expected: Text | None = None
    observed: Text | None = None
    limit_at_trip: Quantity | None = quantity(*PROCESS, "current", "power", "frequency")
    delay_measured: Quantity | None = quantity("time", low="0 s", high="24 h")
    reset: Reset | None = None
    passed: bool | None = None


class LevelTest(Part):
    """A level threshold by tape."""

    id: Text | None = None
    name: LevelName
    level_measured: Quantity | None = quantity(
        "length", **HEIGHT,
        about="By tape, counted upwards as the levels in the settings are (level_reference: floor, "
        "transmitter's zero or site datum); not the depth below a cover.",
    )  # fmt: skip
    level_indicated: Quantity | None = quantity(
        "length", "ratio",
        about="As the drive or controller shows it at that moment, counted alike; or in % of span.",
    )  # fmt: skip


class StepTest(Part):
    """A step of set point or demand, recorded in a trace."""

    id: Text | None = None
    trace: Id | None = optional(about="Id of a trace that was sent to the event.")
    step_kind: StepKind | None = None
    time: Moment | None = optional(
        about="When the step was made, by the clock; rows of a trace count from their own first."
    )
    step_after: Quantity | None = quantity(
        "time", low="0 s", high="10 d",
        about="From the first row of the trace to the step: a settling time counts from there. "
        "Needed where the trace has no column of the set point, which shows it by itself.",
    )  # fmt: skip
    from_value: Annotated[Quantity | None, _PROCESS] = Field(default=None, alias="from")
    to: Quantity | None = quantity(*PROCESS)
