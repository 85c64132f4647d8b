"""What the API answers with about sealed records, typed for the OpenAPI document."""

from typing import Any, Literal

from pydantic import BaseModel, Field

from records.api.documents import Answer, Instant, Person, Signature, Uuid


class SealDocument(BaseModel):
    """What makes a change of the record detectable."""

    digest: str = Field(description="Hex SHA-256 of the canonical text (RFC 8785).")
    signature: str = Field(description="Detached JWS over the canonical text (RFC 7797).")
    key: str = Field(description="Thumbprint of the key (RFC 7638).")
    public_key: dict[str, Any]


class RecordText(BaseModel):
    """What was sealed: the canonical text (RFC 8785), whose digest the seal covers."""

    format: int
    record_id: Uuid
    number: int = Field(description="At the site, without gaps.")
    previous: str | None = Field(description="Hex digest of the record before it at the site.")
    sealed_at: Instant
    algorithms: dict[str, str]
    contractor: Person
    client: Person
    corrects: dict[str, Any] | None
    event: dict[str, Any]
    snapshot: dict[str, Any]
    judgement: dict[str, Any]
    attachments: list[dict[str, Any]] = Field(description="With the SHA-256 of each file.")
    traces: list[dict[str, Any]] = Field(description="With the SHA-256 of each file.")
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
