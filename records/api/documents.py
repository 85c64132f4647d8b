"""What the API answers with, typed for the OpenAPI document."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, RootModel

from calculations.inputs.event import Event as EventInput
from records.document_style import Paper, Units
from records.services.device_signatures import Statement

Uuid = Annotated[str, Field(json_schema_extra={"format": "uuid"})]
Instant = Annotated[str, Field(json_schema_extra={"format": "date-time"})]
Deference = Annotated[
    str, Field(description="What computed agreement is not, and what comes first.")
]


class Compared(BaseModel):
    """One of the values that a finding compares."""

    name: str
    value: str
    unit: str


class Answer(BaseModel):
    """What a responsible person wrote about a finding."""

    id: Uuid
    finding: Uuid
    text: str
    accepted: bool
    by: str
    role: Literal["office", "technician", "client"]
    at: Instant


class EvaluatedFinding(BaseModel):
    """What a rule says."""

    id: Uuid
    rule: str
    severity: Literal["stop", "review", "note"]
    subject: str = Field(description="JSON Pointer into what was judged.")
    sentence: str
    compared: list[Compared]
    limit: str
    source: str
    remedy: str | None
    correct_only: bool = Field(description="Can only be corrected, not accepted by signature.")


class AttachmentAnswer(BaseModel):
    """A photograph or document of an event."""

    id: Uuid
    purpose: str
    name: str
    content_type: str = Field(description="By its content.")
    size: int = Field(description="Bytes that are kept.")
    sha256: str = Field(description="Of the bytes that are kept.")
    sent_sha256: str = Field(description="Of the bytes that came: photographs are drawn anew.")
    received_at: Instant


class UploadAnswer(BaseModel):
    """A file that comes in parts, and how much of it has come."""

    id: Uuid
    kind: Literal["attachment", "trace"]
    purpose: str | None
    name: str
    size: int = Field(description="Bytes that were announced.")
    sha256: str = Field(description="As announced.")
    received: int = Field(description="Bytes that have come: where to go on.")
    complete: bool
    expires_at: Instant = Field(description="When it is dropped, where nothing more comes.")


class TraceColumn(BaseModel):
    """A column of a trace."""

    name: str
    unit: str


class TraceAnswer(BaseModel):
    """A recorded trace, without its rows."""

    id: Uuid
    name: str
    columns: list[TraceColumn]
    rows: int
    sample_interval: dict[str, str] | None = Field(description="Where it is constant.")
    size: int = Field(description="Bytes, in the form that is kept.")
    sha256: str = Field(description="Of the bytes that are kept.")
    received_at: Instant


class FileAnswer(RootModel[AttachmentAnswer | TraceAnswer]):
    """What a file that came in parts has become."""


class TraceValues(BaseModel):
    """Values of a column: numbers, decimal text, or null where there is none."""

    unit: str
    values: list[float | str | None]


class TraceRows(BaseModel):
    """A trace with its rows, column by column."""

    id: str | None = None
    name: str | None = None
    columns: dict[str, TraceValues]


class FindingAnswer(EvaluatedFinding):
    """What a rule says of an event, and what was answered."""

    open: bool
    answer: Answer | None


class Derived(BaseModel):
    """A value that follows from what is known."""

    id: str
    subject: str
    value: str
    unit: str
    formula: str
    source: str


class NotEvaluated(BaseModel):
    """A rule that could not judge: what it needs, or which rule it waits for."""

    rule: str
    subject: str
    needs: list[str] | None = None
    waits_for: str | None = None
    because: str | None = None


class Amount(BaseModel):
    """Decimal digits and their unit."""

    value: str
    unit: str


class LimitChanged(BaseModel):
    """A limit that differs from the catalogue's own, as it was judged by."""

    rule: str
    limit: str
    value: str
    unit: str
    catalogue: Amount
    looser: bool
    reason: str
    set_by: str
    set_at: Instant


class Caution(BaseModel):
    """A caution as documents print it: to be shown before any value that is to be set."""

    title: str
    text: str


class Evaluation(BaseModel):
    """What the catalogue says of a pump set."""

    catalogue: str
    cautions: list[Caution] = Field(description="Those that hold for what was judged.")
    deference: Deference
    derived: list[Derived]
    findings: list[EvaluatedFinding]
    not_evaluated: list[NotEvaluated]
    limits_changed: list[LimitChanged]


class Person(BaseModel):
    """Who signed."""

    id: Uuid
    name: str


class DeviceSigned(BaseModel):
    """How a device signed, where there was no signal."""

    statement: Statement
    digest: str = Field(description="Hex SHA-256 of the statement's canonical text (RFC 8785).")
    signature: str = Field(description="Detached JWS over that text (RFC 7797).")
    public_key: dict[str, str] = Field(description="The device's key: Ed25519, or P-256 (ES256).")
    key_since: Instant = Field(description="When the key was registered.")


class Signature(BaseModel):
    """A person's signature."""

    id: Uuid
    meaning: Literal["performed", "reviewed", "witnessed"]
    digest: str
    by: Person
    role: Literal["office", "technician", "client"]
    organization: str
    at: Instant
    device: DeviceSigned | None = Field(
        default=None, description="Only where it came from a device; `at` is when it came."
    )


class ToSign(BaseModel):
    """Hex SHA-256 of what a signature of each meaning would cover now."""

    performed: str
    reviewed: str
    witnessed: str


class Signatures(BaseModel):
    """What there is to sign, and who has signed."""

    to_sign: ToSign | None = Field(description="Null once the event is sealed or withdrawn.")
    signatures: list[Signature]


class EarlierRecord(BaseModel):
    """The first record of the pump set, which the visit is compared with."""

    record_id: Uuid
    number: int
    performed_at: Instant


class RecordsBeside(BaseModel):
    """Records of the pump set around the visit, which counters and settings are held against."""

    last: EarlierRecord | None = Field(description="The newest that was performed before it.")
    next: EarlierRecord | None = Field(description="The oldest that was performed after it.")
    left: EarlierRecord | None = Field(
        default=None,
        description="The newest before it that has settings as left, where the visit found "
        "settings and the last has none.",
    )
    anew: dict[str, EarlierRecord] = Field(
        description="By what is compared: the first since a piece was exchanged, where the first "
        "record is of other pieces; by `sensor` with tag and serial number: the last of the "
        "station in which that one was adjusted, or else the first in which it was read, where "
        "that is not the first record of the pump set."
    )


class Withdrawal(BaseModel):
    """Who withdrew a draft, when and why."""

    reason: str
    by: str
    at: Instant


class EventAnswer(EventInput):
    """An event as posted, with everything the service says of it."""

    state: Literal["draft", "sealed", "withdrawn"]
    revision: int
    received_at: Instant
    changed_at: Instant
    catalogue: str
    cautions: list[Caution] = Field(description="Those that hold for what it was judged against.")
    deference: Deference
    derived: list[Derived]
    findings: list[FindingAnswer]
    not_evaluated: list[NotEvaluated]
    limits_changed: list[LimitChanged]
    earlier_record: EarlierRecord | None
    records_beside: RecordsBeside
    signatures: list[Signature]
    snapshot: dict[str, Any] = Field(description="The nameplates it was judged against.")
    withdrawal: Withdrawal | None
    record: Uuid | None


class EventLine(BaseModel):
    """An event in a list."""

    id: Uuid
    kind: str
    site: Uuid
    pump_set: Uuid | None
    performed_at: Instant
    corrects: Uuid | None = Field(description="The record that it replaces, sealed itself.")
    state: Literal["draft", "sealed", "withdrawn"]
    revision: int
    received_at: Instant


class Batch(BaseModel):
    """Up to 100 events."""

    events: list[EventInput]


class BatchResult(BaseModel):
    """What became of one of them."""

    status: int
    event: EventAnswer | None = None
    problem: dict[str, Any] | None = None


class BatchAnswer(BaseModel):
    """A result for each, in their order."""

    results: list[BatchResult]


class OrganizationAnswer(BaseModel):
    """An organization, and what it is to the caller's own."""

    id: Uuid
    name: str
    relation: Literal["own", "client", "contractor"]
    units: Units | None = Field(description="Of a client's documents; null for all others.")
    paper: Paper | None = Field(description="Of a client's documents; null for all others.")


class ProblemPlace(BaseModel):
    """One bad value."""

    pointer: str
    code: str
    detail: str


class ProblemDocument(BaseModel):
    """RFC 9457."""

    type: str
    title: str
    status: int
    detail: str
    errors: list[ProblemPlace] | None = None
