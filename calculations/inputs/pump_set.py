"""A pump set: a pump joined with its motor, its drive and the sensors it is regulated on."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, WithJsonSchema

from calculations.inputs.base import (
    HEIGHT,
    LONGEST_TEXT,
    REQUIRED,
    START_UP,
    Count,
    Day,
    Id,
    Part,
    Text,
    at_most,
    needed_when,
    optional,
    quantity,
)
from calculations.units import Quantity

Bypass = Literal["none", "manual", "automatic", "unknown"]
Transmission = Literal["direct", "belt", "gear", "shaft", "unknown"]
Position = Annotated[Count, Field(ge=1, le=12)]
Reference = Annotated[
    Text,
    WithJsonSchema(
        {
            "type": "string",
            "maxLength": LONGEST_TEXT,
            "description": "An id; where ids are not known, a tag.",
        }
    ),
]
"""How a pump set names its pieces. In the register they are ids."""


class PumpSet(Part):
    """What belongs together, from a day on; a drive of null means fixed speed."""

    id: Id | None = None
    site: Id | None = optional(REQUIRED)
    tag: Text | None = optional(REQUIRED)
    pump: Reference | None = optional(REQUIRED)
    motor: Reference | None = optional(REQUIRED)
    drive: Reference | None = optional(
        about="Null: fixed speed; left out of the register, too. Left out of what is only "
        "evaluated: not known, judged as with a drive."
    )
    drive_shared_with: Annotated[list[Reference], AfterValidator(at_most(12))] | None = None
    regulating_sensor: Reference | None = None
    suction_sensor: Reference | None = None
    flow_meter: Reference | None = None
    level_sensor: Reference | None = None
    discharge_switch: Reference | None = None
    group: Text | None = None
    position_in_group: Position | None = None
    discharge_header: Text | None = None
    bypass: Bypass | None = optional(START_UP)
    bypass_own_overload: bool | None = optional(
        needed_when("a bypass is fitted"), "The bypass has an overload device of its own."
    )
    transmission: Transmission | None = None
    transmission_ratio: Quantity | None = quantity(
        "ratio", "count", above="0 1", high="20 1",
        needed=needed_when("belt or gear"), about="Motor speed over pump speed.",
    )  # fmt: skip
    eye_elevation: Quantity | None = quantity(
        "length", **HEIGHT,
        about="Of the impeller's eye (of several stages the first) over the site's datum. Left "
        "out: a dry pump's eye is the datum.",
    )  # fmt: skip
    in_service_from: Day | None = None
    out_of_service_on: Day | None = None
