"""The kinds of resources in the register: their rows, documents and relations."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import cast

from django.db import models

from calculations.inputs.base import Part
from calculations.inputs.drive import Drive as DriveInput
from calculations.inputs.motor import Motor as MotorInput
from calculations.inputs.pump import Pump as PumpInput
from calculations.inputs.pump_set import PumpSet as PumpSetInput
from calculations.inputs.sensor import Instrument as InstrumentInput
from calculations.inputs.sensor import Sensor as SensorInput
from calculations.inputs.sensor import Vessel as VesselInput
from calculations.inputs.site import Site as SiteInput
from records.models import (
    Drive,
    Instrument,
    Motor,
    Organization,
    Pump,
    PumpSet,
    Sensor,
    Site,
    Vessel,
)
from records.models.audit import Subject
from records.models.base import Registered


@dataclass(frozen=True)
class Kind:
    """One kind of resource: its rows, its document, and how the two hang together."""

    name: str
    model: type[Registered]
    document: type[Part]
    write: str = "equipment.write"
    read: str = "register.read"
    relations: Mapping[str, type[models.Model]] = field(default_factory=dict)
    fixed: tuple[str, ...] = ("id", "site")

    @property
    def word(self) -> Subject:
        """One of them, in words."""
        return cast(Subject, self.name.removesuffix("s").replace("-", " "))


# What the sensors are called that a pump set joins.
SENSOR_ROLES = (
    "regulating_sensor", "suction_sensor", "flow_meter", "level_sensor", "discharge_switch",
)  # fmt: skip

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            "sites", Site, SiteInput,
            write="sites.write", relations={"client": Organization},
            fixed=("id", "client", "contractor"),
        ),
        Kind("pumps", Pump, PumpInput, relations={"site": Site}),
        Kind("motors", Motor, MotorInput, relations={"site": Site}),
        Kind("drives", Drive, DriveInput, relations={"site": Site}),
        Kind("sensors", Sensor, SensorInput, relations={"site": Site}),
        Kind("vessels", Vessel, VesselInput, relations={"site": Site}),
        Kind(
            "pump-sets", PumpSet, PumpSetInput,
            relations={
                "site": Site, "pump": Pump, "motor": Motor, "drive": Drive,
                **dict.fromkeys(SENSOR_ROLES, Sensor),
            },
        ),
        Kind(
            "instruments", Instrument, InstrumentInput,
            read="instruments.read", write="instruments.write", fixed=("id", "organization"),
        ),
    )
}  # fmt: skip
