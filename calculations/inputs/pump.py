"""A pump: nameplate, curve, limits."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from calculations.inputs.base import (
    REQUIRED,
    SHORT_LIST,
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
from calculations.inputs.entered import refusal
from calculations.units import Quantity

PumpType = Literal[
    "end_suction", "split_case", "multistage_vertical", "multistage_horizontal",
    "vertical_turbine", "submersible_well", "submersible_sewage", "self_priming",
    "axial_or_mixed_flow", "progressive_cavity", "other", "unknown",
]  # fmt: skip
CurveOrigin = Literal["test_certificate", "catalogue", "digitised", "estimated", "unknown"]
AcceptanceGrade = Literal["1U", "1E", "1B", "2B", "2U", "3B", "none", "unknown"]

Stages = Annotated[Count, Field(ge=1, le=400)]
SuctionSides = Annotated[Count, Field(ge=1, le=2)]
StartsPerHour = Annotated[Count, Field(ge=1, le=60)]


class CurvePoint(Part):
    """One point of the pump's curve at rated speed."""

    flow: Quantity | None = quantity("flow", low="0 m3/h", high="500000 m3/h")
    head: Quantity | None = quantity("head", above="0 m", high="5000 m")
    efficiency: Quantity | None = quantity("ratio", above="0 1", below="0.95 1")
    shaft_power: Quantity | None = quantity("power", above="0 kW", high="100 MW")
    npsh_required: Quantity | None = quantity("head", above="0 m", high="5000 m")


def _curve(points: list[CurvePoint]) -> list[CurvePoint]:
    if len(points) < 3:
        raise refusal("too_short", "expected at least 3 points")
    if any(point.flow is None or point.head is None for point in points):
        raise refusal("incomplete", "expected flow and head in every point")
    return points


CurvePoints = Annotated[list[CurvePoint], SHORT_LIST, AfterValidator(_curve)]


class Pump(Part):
    """A pump as its plate, curve and manual describe it."""

    id: Id | None = None
    site: Id | None = optional(REQUIRED)
    tag: Text | None = optional(REQUIRED)
    serial: Text | None = optional(START_UP)
    maker_text: Text | None = optional(about="As on the plate; no rule reads it.")
    model_text: Text | None = optional(about="As on the plate; no rule reads it.")
    type: PumpType | None = optional(REQUIRED)
    rated_speed: Quantity | None = quantity(
        "speed",
        low="100 rpm",
        high="8000 rpm",
        needed=REQUIRED,
        about="The speed the curve is for.",
    )
    rated_flow: Quantity | None = quantity(
        "flow", above="0 m3/h", high="500000 m3/h", needed=REQUIRED
    )
    rated_head: Quantity | None = quantity("head", above="0 m", high="5000 m", needed=REQUIRED)
    stages: Stages | None = None
    suction_sides: SuctionSides | None = None
    impeller_diameter: Quantity | None = quantity("length", above="0 mm", high="5 m")
    impeller_diameter_max: Quantity | None = quantity("length", above="0 mm", high="5 m")
    curve_points: CurvePoints | None = optional(needed_when("centrifugal"))
    curve_origin: CurveOrigin | None = optional(needed_when("centrifugal"))
    best_efficiency_flow: Quantity | None = quantity("flow", above="0 m3/h", high="500000 m3/h")
    minimum_continuous_flow: Quantity | None = quantity(
        "flow", low="0 m3/h", high="500000 m3/h", needed=needed_when("centrifugal")
    )
    minimum_frequency_permitted: Quantity | None = quantity(
        "frequency", above="0 Hz", high="650 Hz", needed=START_UP
    )
    maximum_speed_permitted: Quantity | None = quantity(
        "speed", low="100 rpm", high="8000 rpm", needed=START_UP
    )
    bearing_frequency: Quantity | None = quantity(
        "frequency", low="5 Hz", high="50 Hz", needed=needed_when("submersible well pump"),
        about="Lowest frequency at which the bearing film carries.",
    )  # fmt: skip
    bearing_time_limit: Quantity | None = quantity(
        "time", low="0.1 s", high="10 s", needed=needed_when("submersible well pump"),
        about="Longest time allowed to reach the bearing frequency.",
    )  # fmt: skip
    maximum_working_pressure: Quantity | None = quantity(
        "pressure", above="0 bar", high="1000 bar", needed=START_UP
    )
    maximum_starts_per_hour: StartsPerHour | None = None
    inertia: Quantity | None = quantity(
        "inertia", above="0 kg.m2", high="1000000 kg.m2", about="With coupling and water."
    )
    acceptance_grade: AcceptanceGrade | None = None
    bore_suction: Quantity | None = quantity(
        "length", low="10 mm", high="3 m", about="At the tapping, not the flange size."
    )
    bore_discharge: Quantity | None = quantity(
        "length", low="10 mm", high="3 m", about="At the tapping, not the flange size."
    )
    in_service_from: Day | None = None
    out_of_service_on: Day | None = None
