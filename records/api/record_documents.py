"""What the API answers with about sealed records, typed for the OpenAPI document."""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from calculations.inputs.event import Event
from calculations.inputs.subject import Subject
from records.api.documents import (
    Amount,
    Answer,
    Derived,
    EarlierRecord,
    EvaluatedFinding,
    Instant,
    LimitChanged,
    NotEvaluated,
    Person,
    RecordsBeside,
    Signature,
    TraceColumn,
    Uuid,
)


class SealDocument(BaseModel):
    """What makes a change of the record detectable."""

    digest: str = Field(description="Hex SHA-256 of the canonical text (RFC 8785).")
    signature: str = Field(description="Detached JWS over the canonical text (RFC 7797).")
    key: str = Field(description="Thumbprint of the key (RFC 7638).")
    public_key: dict[str, Any]


def _without_event(schema: dict[str, Any]) -> None:
    del schema["properties"]["event"]


class RecordSnapshot(Subject):
    """Station, pump set and nameplates as the event was judged by them."""

    model_config = ConfigDict(json_schema_extra=_without_event)


class RecordJudgement(BaseModel):
    """What the catalogue said, and the limits that applied."""

    catalogue: str = Field(description="Its version.")
    derived: list[Derived]
    findings: list[EvaluatedFinding]
    not_evaluated: list[NotEvaluated]
    limits_changed: list[LimitChanged]
    limits: dict[str, Amount] = Field(description="By rule and name of the limit.")
    earlier_record: EarlierRecord | None
    records_beside: RecordsBeside = Field(
        default=RecordsBeside(last=None, next=None, anew={}),
        description="Not in records that were sealed before it was told.",
    )


class RecordAttachment(BaseModel):
    """A photograph or document that was kept with the record."""

    id: Uuid
    purpose: str
    name: str
    content_type: str
    size: int = Field(description="Bytes.")
    sha256: str
    sent_sha256: str = Field(description="Of the bytes that came: photographs are drawn anew.")


class RecordTrace(BaseModel):
    """A time series that was kept with the record, as a file of CSV."""

    id: Uuid
    name: str
    columns: list[TraceColumn]
    rows: int
    sample_interval: Amount | None = Field(description="Where it is constant.")
    size: int = Field(description="Bytes.")
    sha256: str


class Corrected(BaseModel):
    """The record that this one replaces, and why."""

    record_id: Uuid
    number: int
    reason: str


class RecordText(BaseModel):
    """What was sealed: the canonical text (RFC 8785), whose digest the seal covers."""

    format: Literal[1]
    record_id: Uuid
    number: int = Field(description="At the site, without gaps.", ge=1)
    previous: str | None = Field(description="Hex digest of the record before it at the site.")
    sealed_at: Instant
    algorithms: dict[str, str]
    contractor: Person
    client: Person
    corrects: Corrected | None
    event: Event
    snapshot: RecordSnapshot
    judgement: RecordJudgement
    attachments: list[RecordAttachment] = Field([], description="With the SHA-256 of each file.")
    traces: list[RecordTrace] = Field(description="With the SHA-256 of each file.")
    answers: list[Answer]
    signatures: list[Signature]


class RecordData(BaseModel):
    """A record for programs: the text as it was sealed, byte by byte, and its seal beside it."""

    record: RecordText
    seal: SealDocument


class RecordAnswer(BaseModel):
    """A sealed record, and where its forms are."""

    id: Uuid
    number: int
    site: Uuid
    pump_set: Uuid | None
    event: Uuid
    kind: str
    performed_at: Instant
    sealed_at: Instant
    format: int
    seal: SealDocument
    previous_digest: str | None
    corrects: Uuid | None
    corrected_by: list[Uuid]
    documents: dict[str, str]
    links: dict[str, str]


class Operation(BaseModel):
    """Long work."""

    id: Uuid
    state: Literal["waiting", "done", "failed"]
    result: str | None
    detail: str


class KeyAnswer(BaseModel):
    """A public key that seals are checked with."""

    kid: str = Field(description="Thumbprint (RFC 7638): the fingerprint that is printed.")
    algorithm: str
    public_key: dict[str, Any]
    valid_from: Instant = Field(description="First second that it seals in.")
    valid_until: Instant | None = Field(description="Last second; null while it seals.")
    endorsed_by: str | None = Field(description="The key before; null of the first.")
    endorsement: str = Field(
        description="Detached JWS (RFC 7797) by the key before, over the canonical text (RFC 8785)"
        " of `endorsed_by`, `public_key` and `valid_from`."
    )
    origin: str | None = Field(
        description="The service that it sealed for, before a client's book was taken in; null:"
        " this one."
    )
