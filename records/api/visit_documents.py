"""What is taken along to a visit, typed for the OpenAPI document."""

from typing import Literal

from pydantic import BaseModel, Field

from calculations.inputs.drive import Drive as DriveInput
from calculations.inputs.motor import Motor as MotorInput
from calculations.inputs.pump import Pump as PumpInput
from calculations.inputs.pump_set import PumpSet as PumpSetInput
from calculations.inputs.readings import DutyPoint
from calculations.inputs.sensor import Instrument as InstrumentInput
from calculations.inputs.sensor import Sensor as SensorInput
from calculations.inputs.sensor import Vessel as VesselInput
from calculations.inputs.settings import Settings
from calculations.inputs.site import Site as SiteInput
from records.api.documents import Amount, Caution, Deference, Derived, LimitChanged
from records.api.rule_documents import PackedRule


class LastSettings(BaseModel):
    """What a drive was last left with, and at which visit that was written down."""

    event: str
    kind: str
    state: Literal["draft", "sealed"]
    performed_at: str
    as_left: Settings
    duty_points: list[DutyPoint] = Field(
        description="What of its points says where the pump stands on its curve."
    )


class FirstRecord(BaseModel):
    """The first record of a pump set that still stands: what changes are judged against."""

    record_id: str
    number: int
    performed_at: str


class ExpectedValue(BaseModel):
    """A value at one point."""

    id: str
    value: str
    unit: str
    formula: str
    source: str


class ExpectedPoint(BaseModel):
    """What to expect at one frequency, of this pump alone at the highest lift."""

    frequency: Amount
    flow: Amount | None
    shut_off_pressure: Amount | None = Field(
        description="What the closed-valve check reads at the highest suction: at the regulating "
        "sensor, or at the datum where that measures no pressure or its height is not known. Null "
        "where the pump must not run at a closed valve."
    )
    values: list[ExpectedValue]


class LackingValue(BaseModel):
    """A value that cannot be given yet: what it needs, waits for, or why."""

    id: str
    subject: str
    needs: list[str]
    waits_for: str | None
    because: str | None


class Beside(BaseModel):
    """What a setting is held against, and where that is from."""

    value: Amount | str | int
    which: str


class Expected(BaseModel):
    """What to expect of a pump set before anything is measured."""

    derived: list[Derived]
    points: list[ExpectedPoint]
    lacking: list[LackingValue]
    beside: dict[str, Beside] = Field(description="By the name of the setting.")


class PackedPumpSet(BaseModel):
    """A pump set in service with its parts, and what to expect of it."""

    pump_set: PumpSetInput
    pump: PumpInput
    motor: MotorInput
    drive: DriveInput | None
    cautions: list[Caution] = Field(description="Those that hold for this pump set.")
    sensors: list[str] = Field(description="Ids of the sensors that concern it.")
    neighbours: list[str] = Field(description="Ids of the sets on its header or in its group.")
    last_settings: LastSettings | None
    first_record: FirstRecord | None
    units: dict[str, str] = Field(
        description="The unit that the station is written down in, by kind of quantity."
    )
    expected: Expected


class VisitPack(BaseModel):
    """Everything that a technician takes along to a station."""

    catalogue: str
    cautions: list[Caution] = Field(description="Those that hold for the station and all in it.")
    deference: Deference
    site: SiteInput
    pump_sets: list[PackedPumpSet]
    sensors: list[SensorInput]
    vessels: list[VesselInput]
    instruments: list[InstrumentInput] = Field(description="The contractor's own, in service.")
    rules: list[PackedRule]
    limits_changed: list[LimitChanged]
