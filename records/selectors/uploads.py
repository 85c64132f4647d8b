"""Files that come in parts, as they are told."""

from typing import Any
from uuid import UUID

from django.utils import timezone

from records.errors import NotFound
from records.models import Event, Upload
from records.services import uploads
from records.services.times import instant


def of(event: Event) -> list[Upload]:
    """The uploads of an event that are not complete, in the order they were begun."""
    return list(Upload.objects.filter(event=event, completed_at=None).order_by("row"))


def get(event: Event, identity: UUID) -> Upload:
    """One upload of an event, complete or not."""
    found = Upload.objects.filter(event=event, id=identity).first()
    if found is None:
        raise NotFound()
    return found


def document(upload: Upload) -> dict[str, Any]:
    """An upload, and how much of it has come."""
    return {
        "id": str(upload.id),
        "kind": upload.kind,
        "purpose": upload.purpose,
        "name": upload.name,
        "size": upload.size,
        "sha256": bytes(upload.sha256).hex(),
        "received": upload.received,
        "complete": upload.completed_at is not None,
        "expires_at": instant(upload.changed_at + uploads.KEPT_FOR),
    }


def headers(upload: Upload) -> dict[str, str]:
    """The same in the headers of the draft standard."""
    remaining = upload.changed_at + uploads.KEPT_FOR - timezone.now()
    return {
        "Upload-Offset": str(upload.received),
        "Upload-Complete": "?1" if upload.completed_at else "?0",
        "Upload-Length": str(upload.size),
        "Upload-Limit": f"max-size={uploads.largest(upload.kind)},"
        f" max-age={max(0, int(remaining.total_seconds()))}",
        "Cache-Control": "no-store",
    }
