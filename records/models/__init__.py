"""What the book keeps."""

from records.models.audit import AuditEntry
from records.models.equipment import Drive, Motor, Pump, Sensor, Vessel
from records.models.event import Answer, Attachment, Event, Finding, Signature, Trace
from records.models.guess import Guess
from records.models.importing import Import, ImportLine
from records.models.people import (
    Admission,
    Appointment,
    Clientele,
    DeviceKey,
    Enrolment,
    Membership,
    Organization,
    Token,
    User,
)
from records.models.pump_set import Instrument, PumpSet
from records.models.record import (
    Record,
    RecordDocument,
    RecordedValue,
    RecordReadings,
    SigningKey,
)
from records.models.report import Calendar, Report, ReportMail, ReportSchedule
from records.models.rule_setting import RuleSetting
from records.models.site import DueMark, Site, SiteSummary
from records.models.upload import Upload, UploadPart
from records.models.verification import (
    IntervalSetting,
    PerformedTask,
    PieceStanding,
)

__all__ = [
    "Admission",
    "Answer",
    "Appointment",
    "Attachment",
    "AuditEntry",
    "Calendar",
    "Clientele",
    "DeviceKey",
    "Drive",
    "DueMark",
    "Enrolment",
    "Event",
    "Finding",
    "Guess",
    "Import",
    "ImportLine",
    "Instrument",
    "IntervalSetting",
    "Membership",
    "Motor",
    "Organization",
    "PerformedTask",
    "PieceStanding",
    "Pump",
    "PumpSet",
    "Record",
    "RecordDocument",
    "RecordReadings",
    "RecordedValue",
    "Report",
    "ReportMail",
    "ReportSchedule",
    "RuleSetting",
    "Sensor",
    "Signature",
    "SigningKey",
    "Site",
    "SiteSummary",
    "Token",
    "Trace",
    "Upload",
    "UploadPart",
    "User",
    "Vessel",
]
