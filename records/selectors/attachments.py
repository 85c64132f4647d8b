"""Photographs and documents of an event, as they are told."""

from typing import Any
from uuid import UUID

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


def references(event: Event) -> tuple[AttachmentReference, ...]:
    """What was attached, as an event's document names it."""
    return tuple(
        AttachmentReference(
            id=str(each.id), purpose=each.purpose, name=each.name,
            sha256=bytes(each.sha256).hex(),
        )
        for each in of(event)
    )  # fmt: skip


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
