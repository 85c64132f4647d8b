"""One visit's work on one pump set, or on some sensors: head, settings, tests, readings."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from calculations.inputs.base import (
    START_UP,
    Count,
    Id,
    Moment,
    Part,
    Text,
    Words,
    at_most,
    optional,
    quantity,
)
from calculations.inputs.readings import (
    DrawdownTest,
    DutyPoint,
    EarthTest,
    IdentificationRun,
    LevelTest,
    MechanicalCheck,
    MotorTests,
    ProtectionTest,
    Rotation,
    SensorVerification,
    StepTest,
    Supply,
    VesselCheck,
)
from calculations.inputs.settings import Settings
from calculations.units import Quantity

EventKind = Literal[
    "start_up", "re_verification", "after_repair", "settings_change", "replacement",
    "investigation",
]  # fmt: skip
AttachmentPurpose = Literal[
    "motor_plate", "drive_plate", "terminal_links", "sensor_plate", "gauge", "wiring",
    "settings_file", "certificate", "other",
]  # fmt: skip
UnitSystem = Literal["us", "si", "mixed", "unknown"]
Starts = Annotated[Count, Field(ge=0)]
MANY = AfterValidator(at_most(200))


class SettingsPair(Part):
    """Settings before and after the technician's adjustment."""

    as_found: Settings | None = None
    as_left: Settings | None = optional(START_UP)


class Parties(Part):
    """Who was there."""

    performed_by: Text | None = optional(
        START_UP,
        about="Who did the work, as they write it. A signature says the name of its account: "
        "documents print both where they differ.",
    )
    witnessed_by: Text | None = None
    client_present: Text | None = None


class Replaced(Part):
    """A piece that was exchanged at its tag."""

    id: Text | None = None
    resource: Literal["pump", "motor", "drive", "sensor", "vessel", "other"] | None = None
    tag: Text | None = None
    old_serial: Text | None = None
    new_serial: Text | None = None


class NotInRegister(Part):
    """A piece that stands on site and that the register does not have."""

    id: Text | None = None
    resource: Literal["pump", "motor", "drive", "sensor", "vessel", "other"] | None = None
    tag: Text | None = None
    plate: Words = Field(
        description="What it is, and what its plate says, with units. Photograph the plate as well."
    )


class NotPossible(Part):
    """Work that could not be done today: neither done nor missing.

    `task` names it in the words of the finding that misses it, as "restart after power loss" or
    "insulation"; a plate as "motor plate", one value of it as "motor plate, insulation class". Of
    several pieces of a kind the one is named: "sensor PT-100 plate, damping time", "sensor
    verification 1 of PT-100, instrument". A value's name alone, "damping time", counts where one
    part alone lacks it. Upper case and plurals make no difference.
    """

    id: Text | None = None
    task: Words
    reason: Words


class AttachmentReference(Part):
    """A photograph or document that belongs to the event, by the digest of its bytes."""

    id: Id | None = None
    purpose: AttachmentPurpose | None = None
    name: Text | None = None
    sha256: Text | None = None


class NotReceived(AttachmentReference):
    """A file that an event names and of which no bytes have come; the document never says so."""


class TraceReference(Part):
    """A time series that belongs to the event."""

    id: Id | None = None
    name: Text | None = None
    sha256: Text | None = None


class Event(Part):
    """A commissioning event as it is posted; every part may come later."""

    id: Id | None = None
    kind: EventKind | None = None
    site: Id | None = None
    pump_set: Id | None = None
    sensors: Annotated[list[Text], MANY] | None = optional(
        about="Sensors that the visit was for, where it was for sensors only: by id or by tag."
    )
    performed_at: Moment | None = None
    performed_until: Moment | None = None
    device_time: Moment | None = optional(about="The device's own clock when it sent this.")
    replaced: Annotated[list[Replaced], MANY] | None = None
    not_in_register: Annotated[list[NotInRegister], MANY] | None = None
    parties: Parties | None = None
    isolation_confirmed: bool | None = optional(START_UP)
    permit_reference: Text | None = None
    ambient_temperature: Quantity | None = quantity("temperature", low="-60 degC", high="70 degC")
    liquid_temperature: Quantity | None = quantity("temperature", low="-5 degC", high="95 degC")
    weather: Text | None = None
    reading_unit_system: UnitSystem | None = None
    instruments: Annotated[list[Text], MANY] | None = optional(
        START_UP, "Instruments used: by id or by serial number."
    )
    hours_run: Quantity | None = quantity("time", low="0 h", high="1000000 h")
    start_count: Starts | None = None
    energy_counter: Quantity | None = quantity("energy", low="0 kWh", high="10000000000 kWh")
    settings_file: AttachmentReference | None = optional(START_UP)
    settings: SettingsPair | None = optional(START_UP)
    supply: Supply | None = optional(START_UP)
    motor_tests: MotorTests | None = optional(START_UP)
    earth_tests: Annotated[list[EarthTest], MANY] | None = optional(START_UP)
    mechanical_checks: Annotated[list[MechanicalCheck], MANY] | None = optional(START_UP)
    rotation: Rotation | None = optional(START_UP)
    identification_run: IdentificationRun | None = None
    vessel_checks: Annotated[list[VesselCheck], MANY] | None = None
    duty_points: Annotated[list[DutyPoint], MANY] | None = optional(START_UP)
    sensor_verifications: Annotated[list[SensorVerification], MANY] | None = None
    drawdown_tests: Annotated[list[DrawdownTest], MANY] | None = None
    protection_tests: Annotated[list[ProtectionTest], MANY] | None = optional(START_UP)
    level_tests: Annotated[list[LevelTest], MANY] | None = None
    step_tests: Annotated[list[StepTest], MANY] | None = None
    traces: Annotated[list[TraceReference], MANY] | None = None
    attachments: Annotated[list[AttachmentReference], MANY] | None = None
    not_possible: Annotated[list[NotPossible], MANY] | None = None
    remarks: Text | None = None
    corrects: Id | None = optional(about="The sealed record that this one replaces.")
    correction_reason: Words | None = None
