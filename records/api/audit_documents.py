"""What the API answers with about the audit, typed for the OpenAPI document."""

from typing import Any

from pydantic import BaseModel, Field

from records.api.documents import Instant, Uuid
from records.models.audit import Action, Subject


class AuditPerson(BaseModel):
    """Who did it; without an id somebody who runs the service."""

    id: Uuid | None
    name: str
    role: str | None


class AuditToken(BaseModel):
    """The token that spoke for the person, by what may be told of it."""

    id: Uuid
    name: str
    prefix: str


class AuditDevice(BaseModel):
    """From where: by a token or, without one, in a session; and the address where it is known."""

    token: AuditToken | None
    address: str | None


class AuditSubject(BaseModel):
    """What was done something to. What is answered, signed or sealed counts as the event's."""

    kind: Subject
    id: Uuid
    name: str


class AuditLine(BaseModel):
    """Who did what, when, from where, what changed from what to what, and why."""

    id: Uuid
    at: Instant
    person: AuditPerson
    device: AuditDevice
    action: Action
    subject: AuditSubject
    site: Uuid | None
    client: Uuid | None
    before: dict[str, Any] | None = Field(
        description="Merge patch (RFC 7396) that leads back: what changed alone, as entered."
    )
    after: dict[str, Any] | None = Field(description="Merge patch that leads to what it became.")
    reason: str
