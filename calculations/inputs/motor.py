"""A motor: every rating on its plate, construction, protection."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from calculations.inputs.base import (
    HEIGHT,
    REQUIRED,
    START_UP,
    Count,
    Day,
    Id,
    Part,
    Poles,
    Text,
    at_most,
    needed_when,
    optional,
    quantity,
)
from calculations.inputs.pump import StartsPerHour
from calculations.inputs.site import Phases
from calculations.units import Quantity

MotorKind = Literal[
    "induction", "permanent_magnet", "synchronous_reluctance", "pm_assisted_reluctance",
    "wound_rotor", "unknown",
]  # fmt: skip
Connection = Literal[
    "star", "delta", "parallel_star", "series_star", "parallel_delta", "series_delta", "other",
    "unknown",
]  # fmt: skip
EfficiencyClass = Literal["ie1", "ie2", "ie3", "ie4", "ie5", "epact", "premium", "none", "unknown"]
DesignLetter = Literal["A", "B", "C", "D", "N", "H", "other", "unknown"]
Duty = Literal["continuous", "S1", "S2", "S3", "S4", "S5", "S6", "S7", "S8", "S9", "S10", "unknown"]
InsulationClass = Literal["A", "E", "B", "F", "H", "N", "R", "other", "unknown"]
Enclosure = Literal[
    "open_drip_proof", "totally_enclosed", "submersible", "explosion_protected", "other", "unknown"
]
ExplosionProtection = Literal[
    "none", "epl_ga", "epl_gb", "epl_gc", "class1_div1", "class1_div2", "other", "unknown"
]
Cooling = Literal[
    "shaft_fan", "separate_fan", "jacket", "immersed", "non_ventilated", "other", "unknown"
]
InverterSuitability = Literal["yes_stated", "no", "unknown"]
BearingCurrentProtection = Literal["none", "insulated_bearing", "shaft_ring", "both", "unknown"]
ThermalSensor = Literal["none", "switch", "ptc", "pt100", "pt1000", "other", "unknown"]
FIRST_YEAR = 1900
Year = Annotated[Count, Field(ge=FIRST_YEAR, le=2200)]


class Rating(Part):
    """One line of ratings as plates have them."""

    voltage: Quantity | None = quantity("voltage", low="24 V", high="15000 V")
    voltage_upper: Quantity | None = quantity(
        "voltage", low="24 V", high="15000 V", about="Upper end where the plate states a range."
    )
    connection: Connection | None = None
    frequency: Quantity | None = quantity("frequency", low="10 Hz", high="600 Hz")
    power: Quantity | None = quantity("power", low="0.05 kW", high="20 MW")
    current: Quantity | None = quantity("current", low="0.1 A", high="3000 A")
    speed: Quantity | None = quantity("speed", low="50 rpm", high="20000 rpm")
    power_factor: Quantity | None = quantity("ratio", above="0.2 1", high="1 1")
    efficiency: Quantity | None = quantity("ratio", above="0.2 1", below="1 1")


Ratings = Annotated[list[Rating], Field(min_length=1), AfterValidator(at_most(6))]
RatingIndex = Annotated[Count, Field(ge=0, le=5)]
SensorCount = Annotated[Count, Field(ge=0, le=50)]


class Motor(Part):
    """A motor as its plate describes it."""

    id: Id | None = None
    site: Id | None = optional(REQUIRED)
    tag: Text | None = optional(REQUIRED)
    serial: Text | None = optional(START_UP)
    maker_text: Text | None = optional(about="As on the plate; no rule reads it.")
    model_text: Text | None = optional(about="As on the plate; no rule reads it.")
    kind: MotorKind | None = optional(REQUIRED)
    phases: Phases | None = optional(REQUIRED)
    poles: Poles | None = optional(START_UP)
    ratings: Ratings | None = optional(REQUIRED)
    rating_in_use: RatingIndex | None = optional(
        REQUIRED, about="Index into ratings: what the terminal box is linked for."
    )
    extended_constant_torque: bool | None = optional(
        about="Run on purpose along the same volts per hertz above the rated frequency."
    )
    service_factor: Quantity | None = quantity(
        "ratio", low="1 1", high="1.5 1", needed=needed_when("electrical practice us_nec")
    )
    service_factor_current: Quantity | None = quantity("current", low="0.1 A", high="3000 A")
    inverter_service_factor: Quantity | None = quantity("ratio", low="1 1", high="1.5 1")
    efficiency_class: EfficiencyClass | None = None
    year_built: Year | None = optional(START_UP)
    rewound_on: Day | None = optional(
        about="When its winding was last renewed, as the repairer's plate has it: what is measured "
        "of the winding is compared with no visit before.",
    )
    design_letter: DesignLetter | None = optional(needed_when("electrical practice us_nec"))
    duty: Duty | None = optional(START_UP)
    duty_minutes: Quantity | None = quantity("time", above="0 s", high="24 h")
    insulation_class: InsulationClass | None = optional(START_UP)
    temperature_rise_class: InsulationClass | None = optional(needed_when("not immersed in a well"))
    enclosure: Enclosure | None = optional(START_UP)
    explosion_protection: ExplosionProtection | None = optional(
        about="As the plate is marked: the equipment protection level for gas (IEC 60079-0; class "
        "I, zone 1 is Gb), or the division that it is listed for.",
    )
    cooling: Cooling | None = optional(START_UP)
    immersed: bool | None = optional(REQUIRED)
    close_coupled: bool | None = None
    vertical: bool | None = None
    outside_diameter: Quantity | None = quantity(
        "length", low="50 mm", high="2 m", needed=needed_when("immersed in a well"),
        about="Largest, for the liquid that flows past it.",
    )  # fmt: skip
    minimum_liquid_level: Quantity | None = quantity(
        "length", **HEIGHT, needed=needed_when("immersed without a jacket"),
        about="Elevation over site datum to which liquid must cover it.",
    )  # fmt: skip
    ambient_rated: Quantity | None = quantity("temperature", low="-60 degC", high="90 degC")
    altitude_rated: Quantity | None = quantity("length", low="0 m", high="6000 m")
    inverter_suitability: InverterSuitability | None = optional(START_UP)
    peak_voltage_limit: Quantity | None = quantity("voltage", low="100 V", high="50000 V")
    bearing_current_protection: BearingCurrentProtection | None = optional(
        needed_when("75 kW and more")
    )
    thermal_sensor: ThermalSensor | None = optional(START_UP)
    thermal_sensor_count: SensorCount | None = None
    leak_sensor: bool | None = optional(needed_when("immersed in sewage"))
    maximum_frequency: Quantity | None = quantity("frequency", low="10 Hz", high="650 Hz")
    maximum_starts_per_hour: StartsPerHour | None = None
    back_emf: Quantity | None = quantity("back_emf", above="0 V/krpm", high="500000 V/krpm")
    stator_resistance: Quantity | None = quantity("resistance", above="0 ohm", high="10 kohm")
    d_inductance: Quantity | None = quantity("inductance", above="0 mH", high="100000 mH")
    q_inductance: Quantity | None = quantity("inductance", above="0 mH", high="100000 mH")
    inertia: Quantity | None = quantity("inertia", above="0 kg.m2", high="1000000 kg.m2")
    in_service_from: Day | None = None
    out_of_service_on: Day | None = None
