"""A pump station: supply, liquid, suction, system, pipeline, hazards."""

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator

from calculations.inputs.base import (
    HEIGHT,
    OVER_DATUM,
    REQUIRED,
    SHORT_LIST,
    START_UP,
    Day,
    Id,
    Part,
    Text,
    needed_when,
    optional,
    quantity,
)
from calculations.inputs.entered import NumberText, refusal
from calculations.units import Quantity, number_text

SiteKind = Literal[
    "booster", "well", "raw_water", "lift_station", "reservoir_fill", "irrigation", "other",
    "unknown",
]  # fmt: skip
ElectricalPractice = Literal["us_nec", "canadian", "iec", "other", "unknown"]
SupplySource = Literal["utility", "generator", "utility_and_generator", "other", "unknown"]
SupplyEarthing = Literal[
    "solid_star", "high_leg_delta", "corner_earthed_delta", "impedance_earthed", "unearthed",
    "unknown",
]  # fmt: skip
LiquidKind = Literal["potable", "raw_water", "sewage", "sludge", "reclaimed", "other", "unknown"]
SuctionKind = Literal[
    "flooded_tank", "pressurised_main", "wet_well", "well", "suction_lift", "unknown"
]
MinimumFlowPath = Literal[
    "none", "recirculation", "relief_to_suction", "flow_stop", "temperature_stop", "unknown"
]
PipeMaterial = Literal[
    "ductile_iron", "cast_iron", "steel", "pvc", "pe", "grp", "concrete", "other", "unknown"
]
SurgeProtection = Literal[
    "none", "air_vessel", "relief_valve", "surge_anticipator", "one_way_tank", "flywheel",
    "bypass", "other", "unknown",
]  # fmt: skip
CheckValveKind = Literal[
    "swing", "spring_nozzle", "tilting", "ball", "pump_control_valve", "none", "unknown"
]
HazardousArea = Literal[
    "none", "zone_0", "zone_1", "zone_2", "class1_div1", "class1_div2",
    "zone_20", "zone_21", "zone_22", "class2_div1", "class2_div2", "unknown",
]  # fmt: skip


def _counted(given: object) -> object:
    """A count as a JSON number or as text: `"3"` is 3."""
    return int(given) if isinstance(given, str) and given in ("1", "3") else given


Phases = Annotated[Literal[1, 3], BeforeValidator(_counted)]


def _degrees(given: object) -> object:
    """Decimal degrees as a JSON number or decimal text; the digits are kept."""
    try:
        return NumberText(number_text(given))
    except ValueError:
        raise refusal("degrees", "expected decimal degrees such as 51.5072") from None


def _within(limit: int) -> AfterValidator:
    def check(given: str) -> str:
        if abs(float(given)) > limit:
            raise refusal("out_of_range", f"expected degrees between -{limit} and {limit}")
        return given

    return AfterValidator(check)


Latitude = Annotated[str, BeforeValidator(_degrees), _within(90)]
Longitude = Annotated[str, BeforeValidator(_degrees), _within(180)]


class SystemPoint(Part):
    """One point of the system curve."""

    flow: Quantity | None = quantity("flow", low="0 m3/h", high="500000 m3/h")
    head: Quantity | None = quantity("head", low="-50 m", high="5000 m")


def _flows_rise(points: list[SystemPoint]) -> list[SystemPoint]:
    flows = [point.flow.si for point in points if point.flow]
    if len(points) < 2:
        raise refusal("too_short", "expected at least 2 points")
    if any(b <= a for a, b in pairwise(flows)):
        raise refusal("order", "expected flows that rise from point to point")
    return points


SystemPoints = Annotated[list[SystemPoint], SHORT_LIST, AfterValidator(_flows_rise)]


class Pipeline(Part):
    """The discharge main, as far as surge and velocity need it."""

    length: Quantity | None = quantity("length", above="0 m", high="1000 km")
    inside_diameter: Quantity | None = quantity("length", low="10 mm", high="5 m")
    wall_thickness: Quantity | None = quantity("length", above="0 mm", high="2.5 m")
    material: PipeMaterial | None = None
    pressure_rating: Quantity | None = quantity("pressure", above="0 bar", high="1000 bar")
    high_point_elevation: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)


def _wall_fits(pipeline: Pipeline) -> Pipeline:
    wall, bore = pipeline.wall_thickness, pipeline.inside_diameter
    if wall and bore and wall.si >= bore.si / 2:
        raise refusal(
            "out_of_range", "expected a wall thinner than half of the bore", "wall_thickness"
        )
    return pipeline


class Site(Part):
    """A pump station."""

    id: Id | None = None
    client: Id | None = optional(REQUIRED)
    contractor: Id | None = None
    code: Text | None = optional(REQUIRED)
    name: Text | None = optional(REQUIRED)
    kind: SiteKind | None = optional(REQUIRED)
    latitude: Latitude | None = None
    longitude: Longitude | None = None
    elevation: Quantity | None = quantity(
        "length", low="-500 m", high="6000 m", needed=START_UP,
        about="Over the sea, for the air's pressure; every other height counts from the datum.",
    )  # fmt: skip
    time_zone: Text | None = optional(REQUIRED)
    electrical_practice: ElectricalPractice | None = optional(REQUIRED)
    supply_source: SupplySource | None = None
    supply_nominal_voltage: Quantity | None = quantity(
        "voltage", low="50 V", high="36000 V", needed=START_UP, about="Line to line."
    )
    supply_frequency: Quantity | None = quantity(
        "frequency", low="45 Hz", high="65 Hz", needed=REQUIRED
    )
    supply_phases: Phases | None = optional(REQUIRED)
    supply_earthing: SupplyEarthing | None = optional(START_UP)
    available_fault_current: Quantity | None = quantity(
        "current", low="0.1 kA", high="200 kA", needed=needed_when("electrical practice us_nec")
    )
    datum_description: Text | None = optional(
        START_UP,
        "What heights count from: a dry pump's eye (or another mark, if the pump set tells the "
        "height of its eye over it), or rim or floor of the pump's well.",
    )
    liquid_kind: LiquidKind | None = optional(REQUIRED)
    liquid_temperature_min: Quantity | None = quantity(
        "temperature", low="-5 degC", high="95 degC", needed=START_UP
    )
    liquid_temperature_max: Quantity | None = quantity(
        "temperature", low="-5 degC", high="95 degC", needed=START_UP
    )
    liquid_density: Quantity | None = quantity(
        "density", low="500 kg/m3", high="2000 kg/m3",
        needed=needed_when("the liquid is not water"),
        about="At its usual temperature. Left out: that of clean water at the temperature of the "
        "day; of another liquid nothing is taken for granted.",
    )  # fmt: skip
    liquid_vapour_pressure_absolute: Quantity | None = quantity(
        "pressure",
        low="0 kPa",
        high="200 kPa",
        needed=needed_when("the liquid is not water"),
        about="At the highest temperature, absolute. Left out: that of water.",
    )
    suction_kind: SuctionKind | None = optional(REQUIRED)
    suction_level_low: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)
    suction_level_high: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)
    suction_pressure_low: Quantity | None = quantity("pressure", low="-1 bar", high="40 bar")
    suction_pressure_high: Quantity | None = quantity("pressure", low="-1 bar", high="40 bar")
    suction_loss: Quantity | None = quantity("head", low="0 m", high="5000 m")
    suction_loss_at_flow: Quantity | None = quantity("flow", low="0 m3/h", high="500000 m3/h")
    wet_well_area: Quantity | None = quantity(
        "area", low="0.2 m2", high="5000 m2", about="Net of benching."
    )
    wet_well_floor: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)
    inlet_invert: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)
    overflow_level: Quantity | None = quantity("length", **HEIGHT, about=OVER_DATUM)
    inflow_minimum: Quantity | None = quantity("flow", low="0 m3/h", high="500000 m3/h")
    inflow_average: Quantity | None = quantity("flow", low="0 m3/h", high="500000 m3/h")
    inflow_peak: Quantity | None = quantity("flow", low="0 m3/h", high="500000 m3/h")
    static_water_depth: Quantity | None = quantity("length", low="0 m", high="1500 m")
    pumping_water_depth: Quantity | None = quantity("length", low="0 m", high="1500 m")
    pumping_water_depth_at_flow: Quantity | None = quantity(
        "flow", low="0 m3/h", high="500000 m3/h"
    )
    well_depth: Quantity | None = quantity("length", low="0 m", high="1500 m")
    pump_setting_depth: Quantity | None = quantity(
        "length", low="0 m", high="1500 m", about="Of the impellers, below the site datum."
    )
    casing_inside_diameter: Quantity | None = quantity("length", above="0 mm", high="5 m")
    cooling_shroud: bool | None = None
    tested_yield: Quantity | None = quantity("flow", above="0 m3/h", high="500000 m3/h")
    static_lift_low: Quantity | None = quantity("head", low="-50 m", high="1000 m", needed=START_UP)
    static_lift_high: Quantity | None = quantity(
        "head", low="-50 m", high="1000 m", needed=START_UP
    )
    system_design_flow: Quantity | None = quantity(
        "flow", above="0 m3/h", high="500000 m3/h", needed=START_UP
    )
    system_design_head: Quantity | None = quantity(
        "head", above="0 m", high="5000 m", needed=START_UP
    )
    system_curve_points: SystemPoints | None = None
    zero_demand_possible: bool | None = optional(START_UP)
    minimum_flow_path: MinimumFlowPath | None = optional(START_UP)
    discharge_pressure_limit: Quantity | None = quantity(
        "pressure", above="0 bar", high="1000 bar", needed=START_UP,
        about="Of the weakest part downstream.",
    )  # fmt: skip
    relief_valve_setting: Quantity | None = quantity("pressure", above="0 bar", high="1000 bar")
    minimum_service_pressure: Quantity | None = quantity("pressure", low="0 bar", high="1000 bar")
    pipeline: Annotated[Pipeline, AfterValidator(_wall_fits)] | None = None
    wave_speed_override: Quantity | None = quantity("velocity", low="100 m/s", high="1480 m/s")
    surge_protection: SurgeProtection | None = optional(needed_when("a pipeline is recorded"))
    check_valve_kind: CheckValveKind | None = optional(START_UP)
    hazardous_area: HazardousArea | None = optional(needed_when("lift station"))
    confined_space: bool | None = optional(START_UP)
    in_service_from: Day | None = None
    out_of_service_on: Day | None = None
