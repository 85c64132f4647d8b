"""Sensors, test instruments and vessels."""

from typing import Literal

from pydantic import model_validator
from pydantic_core import PydanticCustomError

from calculations.inputs.base import (
    HEIGHT,
    OVER_DATUM,
    REQUIRED,
    START_UP,
    Day,
    Id,
    Part,
    Text,
    needed_when,
    optional,
)
from calculations.inputs.base import (
    quantity as of,
)
from calculations.inputs.entered import refusal
from calculations.units import Quantity

SensorQuantity = Literal[
    "pressure", "differential_pressure", "level", "flow", "temperature", "unknown"
]
PressureReference = Literal["gauge", "sealed_gauge", "absolute", "differential", "unknown"]
SignalKind = Literal[
    "4-20 mA", "0-20 mA", "0-10 V", "2-10 V", "0-5 V", "1-5 V", "0.5-4.5 V", "digital", "pulse",
    "unknown",
]  # fmt: skip
Wiring = Literal["two_wire", "three_wire", "four_wire", "unknown"]
SensorLocation = Literal[
    "suction", "discharge", "header", "remote", "wet_well", "well", "tank", "unknown"
]
MeterKind = Literal[
    "electromagnetic", "ultrasonic", "turbine", "differential_pressure", "vortex", "mechanical",
    "other", "unknown",
]  # fmt: skip
InstrumentKind = Literal[
    "pressure_gauge", "pressure_calibrator", "multimeter_true_rms", "clamp_meter",
    "power_analyser", "insulation_tester", "low_resistance_ohmmeter", "loop_calibrator",
    "tachometer", "flow_strap_on", "sound_vibration", "thermometer", "stopwatch", "tape", "other",
    "unknown",
]  # fmt: skip
VesselKind = Literal["bladder", "diaphragm", "air_over_water", "surge_vessel", "unknown"]
VesselLocation = Literal["discharge_header", "pump", "remote", "suction", "unknown"]

# What a transmitter of each quantity may be ranged in: level often stands in pressure units.
RANGE_KINDS: dict[str, tuple[str, ...]] = {
    "pressure": ("pressure",),
    "differential_pressure": ("pressure",),
    "level": ("length", "pressure", "ratio"),
    "flow": ("flow",),
    "temperature": ("temperature",),
}
RANGE_LIMITS = ("range_limit_low", "range_limit_high")
MEASURED = ("pressure", "length", "flow", "temperature", "ratio")


def _of_another_kind(kind: str, whose: str, name: str) -> PydanticCustomError:
    return refusal("wrong_unit", f"expected a unit of {kind} as of {whose}", f"{name}/unit")


# `of`, because a sensor has a field named quantity.
class Sensor(Part):
    """A transmitter as configured, not as its label says."""

    id: Id | None = None
    site: Id | None = optional(REQUIRED)
    tag: Text | None = optional(REQUIRED)
    serial: Text | None = optional(START_UP)
    maker_text: Text | None = optional(about="As on the plate; no rule reads it.")
    model_text: Text | None = optional(about="As on the plate; no rule reads it.")
    quantity: SensorQuantity | None = optional(REQUIRED)
    reference: PressureReference | None = None
    lower_range_value: Quantity | None = of(*MEASURED, needed=REQUIRED)
    upper_range_value: Quantity | None = of(*MEASURED, needed=REQUIRED)
    range_limit_low: Quantity | None = of(*MEASURED, about="What the cell can do.")
    range_limit_high: Quantity | None = of(*MEASURED, about="What the cell can do.")
    overpressure_limit: Quantity | None = of("pressure", above="0 bar", high="2000 bar")
    output: SignalKind | None = optional(REQUIRED)
    volume_per_pulse: Quantity | None = of("volume", above="0 L", high="1000 m3")
    wiring: Wiring | None = optional(START_UP)
    power_source: Text | None = optional(START_UP)
    supply_voltage_minimum: Quantity | None = of("voltage", above="0 V", high="250 V")
    loop_supply_voltage: Quantity | None = of(
        "voltage", above="0 V", high="250 V", about="Of the supply that feeds a two-wire loop."
    )
    loop_load: Quantity | None = of("resistance", low="0 ohm", high="10 kohm")
    tolerance_percent_of_span: Quantity | None = of(
        "ratio",
        low="0.01 %",
        high="10 %",
        needed=REQUIRED,
        about="In service, not the data sheet's.",
    )
    damping_time: Quantity | None = of("time", low="0 s", high="100 s", needed=START_UP)
    location: SensorLocation | None = optional(REQUIRED)
    tapping_elevation: Quantity | None = of(
        "length", **HEIGHT, needed=needed_when("pressure"), about=OVER_DATUM
    )
    zero_elevation: Quantity | None = of(
        "length",
        **HEIGHT,
        needed=needed_when("level"),
        about="Where a level transmitter reads 0, over the site datum.",
    )
    process_isolation: bool | None = optional(about="Can be isolated and vented for a check.")
    meter_kind: MeterKind | None = None
    bore: Quantity | None = of("length", low="1 mm", high="5 m")
    straight_upstream_diameters: Quantity | None = of("count", "ratio", low="0 1")
    straight_downstream_diameters: Quantity | None = of("count", "ratio", low="0 1")
    low_flow_cutoff: Quantity | None = of("flow", "velocity", "ratio", low="0 L/s")
    in_service_from: Day | None = None
    out_of_service_on: Day | None = None

    @model_validator(mode="after")
    def _span_and_units(self) -> "Sensor":
        """The span is not zero, and the range is written in units of what is measured."""
        low, high = self.lower_range_value, self.upper_range_value
        if low and high and low.si == high.si:
            raise refusal("zero_span", "expected a value other than the lower", "upper_range_value")
        if low and high and low.kind != high.kind:
            raise _of_another_kind(low.kind, "the lower range value", "upper_range_value")
        kinds = RANGE_KINDS.get(self.quantity or "")
        for name in ("lower_range_value", "upper_range_value", *RANGE_LIMITS):
            value = getattr(self, name)
            if kinds and value and value.kind not in kinds:
                words = " or ".join(kinds)
                raise refusal("wrong_unit", f"expected {words} for {self.quantity}", f"{name}/unit")
        return self


INSTRUMENT_KINDS = (
    "pressure", "length", "flow", "temperature", "ratio", "current", "voltage", "resistance",
    "power", "speed", "time", "velocity", "frequency", "sound_level",
)  # fmt: skip


class Instrument(Part):
    """Test equipment, with what is known of its accuracy."""

    id: Id | None = None
    organization: Id | None = None
    kind: InstrumentKind | None = optional(REQUIRED)
    serial: Text | None = optional(REQUIRED)
    maker_text: Text | None = None
    model_text: Text | None = None
    range_low: Quantity | None = of(*INSTRUMENT_KINDS, needed=REQUIRED)
    range_high: Quantity | None = of(*INSTRUMENT_KINDS, needed=REQUIRED)
    percent_of_range: Quantity | None = of("ratio", low="0 %", high="100 %")
    percent_of_reading: Quantity | None = of("ratio", low="0 %", high="100 %")
    digits: Quantity | None = of(
        "count", low="0 1", high="1000 1", about="Counts of the last digit."
    )
    resolution: Quantity | None = of(*INSTRUMENT_KINDS)
    uncertainty: Quantity | None = of(*INSTRUMENT_KINDS)
    coverage_factor: Quantity | None = of("count", low="1 1", high="3 1")
    calibrated_on: Day | None = None
    due_on: Day | None = None
    certificate: Text | None = None
    out_of_service_on: Day | None = None

    @model_validator(mode="after")
    def _one_kind(self) -> "Instrument":
        """Range, resolution and uncertainty are of one kind; shares have fields of their own."""
        names = ("range_high", "range_low", "resolution", "uncertainty")
        stated = [(name, value) for name in names if (value := getattr(self, name))]
        for name, value in stated[1:]:
            first, known = stated[0]
            if value.kind != known.kind:
                whose = "the range" if first in names[:2] else f"the {first}"
                raise _of_another_kind(known.kind, whose, name)
        return self


class Vessel(Part):
    """A hydropneumatic or surge vessel."""

    id: Id | None = None
    site: Id | None = optional(REQUIRED)
    tag: Text | None = optional(REQUIRED)
    serial: Text | None = None
    maker_text: Text | None = None
    model_text: Text | None = None
    kind: VesselKind | None = optional(REQUIRED)
    location: VesselLocation | None = optional(REQUIRED)
    volume: Quantity | None = of("volume", low="1 L", high="500 m3", needed=REQUIRED)
    maximum_pressure: Quantity | None = of(
        "pressure", above="0 bar", high="1000 bar", needed=REQUIRED
    )
    pre_charge_pressure_design: Quantity | None = of(
        "pressure", low="0 bar", high="1000 bar", needed=START_UP
    )
    in_service_from: Day | None = None
    out_of_service_on: Day | None = None
