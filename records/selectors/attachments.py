"""Photographs and documents of an event, as they are told."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from calculations import offline
from calculations.inputs.event import AttachmentReference
from records.errors import NotFound
from records.models import Attachment, Event
from records.services.times import instant


def of(event: Event) -> list[Attachment]:
    """The attachments of an event, in the order they came."""
    return list(Attachment.objects.filter(event=event).order_by("row"))


def get(event: Event, identity: UUID) -> Attachment:
    """One attachment of an event."""
    found = Attachment.objects.filter(event=event, id=identity).first()
    if found is None:
        raise NotFound()
    return found


@dataclass(frozen=True, slots=True)
class KeptFile:
    """An attachment as an event's document names it, and the digest of the bytes that came."""

    reference: AttachmentReference
    sent: str

    def is_named_by(self, named: AttachmentReference) -> bool:
        """Whether this is the file that is named: by id, by digest, else by name or purpose."""
        return offline.is_named_by(self.reference, named, self.sent)


def kept(event: Event) -> tuple[KeptFile, ...]:
    """What was attached."""
    return tuple(as_kept(each) for each in of(event))


def as_kept(row: Attachment) -> KeptFile:
    """One of them."""
    reference = AttachmentReference(
        id=str(row.id), purpose=row.purpose, name=row.name, sha256=bytes(row.sha256).hex()
    )
    return KeptFile(reference, bytes(row.sent_sha256).hex())


def document(attachment: Attachment) -> dict[str, Any]:
    """An attachment as it is told."""
    return {**line(attachment), "received_at": instant(attachment.created_at)}


def line(attachment: Attachment) -> dict[str, Any]:
    """An attachment as it stands in a record: enough to know its bytes again."""
    return {
        "id": str(attachment.id),
        "purpose": attachment.purpose,
        "name": attachment.name,
        "content_type": attachment.content_type,
        "size": attachment.size,
        "sha256": bytes(attachment.sha256).hex(),
        "sent_sha256": bytes(attachment.sent_sha256).hex(),
    }
