"""What is judged: the resources of one pump set and one event, inline."""

from typing import Annotated

from pydantic import AfterValidator

from calculations.inputs.base import Part, at_most
from calculations.inputs.drive import Drive
from calculations.inputs.event import MANY, Event
from calculations.inputs.motor import Motor
from calculations.inputs.pump import Pump
from calculations.inputs.pump_set import PumpSet
from calculations.inputs.readings import DutyPoint
from calculations.inputs.sensor import Instrument, Sensor, Vessel
from calculations.inputs.settings import Settings
from calculations.inputs.site import Site


class Neighbour(Part):
    """Another pump set on the same header, with its settings and the points of that visit."""

    pump_set: PumpSet | None = None
    pump: Pump | None = None
    motor: Motor | None = None
    drive: Drive | None = None
    settings: Settings | None = None
    duty_points: Annotated[list[DutyPoint], MANY] | None = None


class Subject(Part):
    """Everything known of one pump set; every part and every field is optional."""

    site: Site | None = None
    pump_set: PumpSet | None = None
    pump: Pump | None = None
    motor: Motor | None = None
    drive: Drive | None = None
    sensors: Annotated[list[Sensor], AfterValidator(at_most(100))] | None = None
    vessels: Annotated[list[Vessel], AfterValidator(at_most(50))] | None = None
    instruments: Annotated[list[Instrument], AfterValidator(at_most(100))] | None = None
    neighbours: Annotated[list[Neighbour], AfterValidator(at_most(12))] | None = None
    event: Event | None = None
