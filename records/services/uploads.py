"""Files that come in parts: every byte that came is kept, and none is sent twice.

After the draft standard for resumable uploads (draft-ietf-httpbis-resumable-upload): an offset
that only grows, and at the end the same as if the file had come at once. Parts stand in the
database, a few hundred kilobytes a row, each in a transaction of its own: what came before a
connection, a process or a machine broke off is there for any other process.
"""

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db.models import F, Sum
from django.utils import timezone
from pydantic import Field

from calculations.inputs.base import Count, Id, Part, optional
from calculations.inputs.event import AttachmentPurpose
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import (
    Conflict,
    Invalid,
    NotFound,
    OffsetMismatch,
    SameIdOtherContent,
    TooLarge,
)
from records.models import Attachment, Event, Organization, Trace, Upload, UploadPart
from records.models.base import new_id
from records.models.upload import UploadKind
from records.permissions import Actor
from records.services import attachments, event_files, events, traces
from records.services.reading import read_input

PART = 256 * 1024
"""Bytes that are kept at once."""

MOST_PARTS = 4_000
"""Of one upload: of the longest trace every 64 kB may come alone, and 3,000 break off."""

MOST_UNDER_WAY, MOST_BYTES = 500, 2 * 1024**3
"""Uploads that one contractor may have begun and not completed, and the bytes announced of them."""

KEPT_FOR = timedelta(days=7)
"""After the last byte came, whether complete or not."""


class UploadInput(Part):
    """What is announced of a file that will come in parts."""

    id: Id | None = optional(about="An id of your own: it becomes the attachment's or trace's.")
    kind: UploadKind = Field(description="A trace comes as CSV, an attachment as any file.")
    purpose: AttachmentPurpose | None = optional(about="Of an attachment: needed there.")
    name: event_files.FileName | None = optional(
        about="The file's name, for people: an attachment needs one."
    )
    size: Count = Field(ge=1, description="Bytes of the whole file.")
    sha256: event_files.Sha256 = Field(
        description="Of the whole file, in hex: it is compared at the end."
    )


def largest(kind: str) -> int:
    """Bytes of the largest file of a kind, the same as where it comes at once."""
    return attachments.LARGEST if kind == "attachment" else traces.LARGEST


# -- what is under way ----------------------------------------------------------------------------


def begin(actor: Actor, event: Event, given: Mapping[str, Any]) -> tuple[Upload, bool]:
    """Announce a file; the same again changes nothing."""
    permissions.require(actor, "events.write")
    wanted = read_input(UploadInput, given)
    _refuse_half_described(wanted)
    values: dict[str, Any] = {
        "kind": wanted.kind,
        "purpose": wanted.purpose,
        "name": wanted.name or "",
        "size": wanted.size,
        "sha256": bytes.fromhex(wanted.sha256),
    }
    # Of many that begin at once, each sees those before it.
    Organization.objects.select_for_update(no_key=True).get(id=actor.organization_id)
    existing = Upload.objects.filter(event=event, id=wanted.id).first() if wanted.id else None
    if existing is not None:
        return _repeated(existing, values), False
    event.refuse_unless_draft()
    if wanted.size > largest(wanted.kind):
        most = largest(wanted.kind)
        words = f"at most {most} bytes are taken here, {wanted.size} were announced"
        raise TooLarge(words, max_size=most)
    _refuse_too_much(actor, wanted.size)
    created = Upload.objects.create(
        id=UUID(wanted.id) if wanted.id else new_id(),
        event=event,
        contractor_id=event.contractor_id,
        client_id=event.client_id,
        created_by_id=actor.user_id,
        **values,
    )
    return created, True


def _refuse_half_described(wanted: UploadInput) -> None:
    lacking = []
    if wanted.kind == "attachment":
        lacking = [name for name in ("purpose", "name") if getattr(wanted, name) is None]
    problems = [
        Problem(f"/{name}", "required", "this field is required of an attachment")
        for name in lacking
    ]
    if wanted.kind == "trace" and wanted.purpose is not None:
        problems.append(Problem("/purpose", "unknown_field", "a trace has no purpose"))
    if problems:
        raise Invalid(problems=problems)


def _repeated(existing: Upload, values: Mapping[str, Any]) -> Upload:
    held = {name: getattr(existing, name) for name in values}
    if held | {"sha256": bytes(existing.sha256)} != values:
        raise SameIdOtherContent()
    return existing


def _refuse_too_much(actor: Actor, size: int) -> None:
    under_way = permissions.visible(Upload.objects.filter(completed_at=None), actor)
    announced = under_way.aggregate(bytes=Sum("size"))["bytes"] or 0
    if under_way.count() >= MOST_UNDER_WAY or announced + size > MOST_BYTES:
        raise Conflict(
            f"your organization may have {MOST_UNDER_WAY} uploads of {MOST_BYTES} bytes together"
            " under way: complete some, or give them up with DELETE"
        )


def give_up(actor: Actor, event: Event, identity: UUID) -> None:
    """Drop an upload with all that came of it; what was made of a complete one stays."""
    permissions.require(actor, "events.write")
    if not Upload.objects.filter(event=event, id=identity).delete()[0]:
        raise NotFound()


def forget_expired() -> int:
    """Drop what nobody has sent anything of for `KEPT_FOR`; answers how many those were.

    In the place of the background tasks.
    """
    return Upload.objects.filter(changed_at__lt=timezone.now() - KEPT_FOR).delete()[0]


# -- what comes -----------------------------------------------------------------------------------


def refuse_unless_next(
    actor: Actor, event: Event, upload: Upload, offset: int, length: int
) -> None:
    """Before a byte is read: whether these `length` bytes from `offset` are what comes next."""
    permissions.require(actor, "events.write")
    event.refuse_unless_draft()
    if upload.completed_at is not None:
        raise Conflict("the upload is complete: nothing is added to it")
    if offset != upload.received:
        raise _mismatch(upload.received, offset)
    if offset + length > upload.size:
        raise TooLarge(
            f"{upload.size} bytes were announced: {upload.size - offset} are still to come,"
            f" {length} were sent"
        )


def keep(actor: Actor, upload: Upload, offset: int, pieces: Iterable[bytes]) -> int:
    """Keep what comes from `offset` on, part by part; answers where it ends.

    `OffsetMismatch` where another request sends the same upload, and was first.
    """
    for part in _in_parts(pieces):
        with permissions.inside(actor):
            _keep_part(upload, offset, part)
        offset += len(part)
    return offset


def _in_parts(pieces: Iterable[bytes]) -> Iterator[bytes]:
    waiting = bytearray()
    for piece in pieces:
        waiting += piece
        if len(waiting) >= PART:
            yield bytes(waiting)
            waiting.clear()
    if waiting:
        yield bytes(waiting)


def _keep_part(upload: Upload, offset: int, part: bytes) -> None:
    """The database compares and sets the offset: of two that send at once, one goes on."""
    rows = Upload.objects.filter(row=upload.row)
    grown = rows.filter(received=offset, completed_at=None, parts__lt=MOST_PARTS).update(
        received=F("received") + len(part), parts=F("parts") + 1, changed_at=timezone.now()
    )
    if not grown:
        raise _why_not(rows.first(), offset)
    UploadPart.objects.create(
        upload_id=upload.row,
        contractor_id=upload.contractor_id,
        client_id=upload.client_id,
        starts_at=offset,
        content=part,
    )


def _why_not(now: Upload | None, offset: int) -> NotFound | Conflict:
    if now is None:
        return NotFound("the upload was given up")
    if now.parts >= MOST_PARTS and now.received == offset:
        return Conflict(f"the upload came in {MOST_PARTS} parts: begin again, with longer ones")
    return _mismatch(now.received, offset)


def _mismatch(received: int, offset: int) -> OffsetMismatch:
    words = f"bytes from {received} on are expected next, these begin at {offset}"
    return OffsetMismatch(words, expected_offset=received, provided_offset=offset)


# -- when all has come ----------------------------------------------------------------------------


def complete(actor: Actor, event_id: UUID, identity: UUID) -> tuple[Attachment | Trace, bool]:
    """Make the attachment or trace of all that came, as if it had come at once.

    What is refused here stays as it came: asked again, it is refused again, until it is given up.
    """
    with permissions.inside(actor):
        event = events.get(actor, event_id)
        rows = Upload.objects.select_for_update().filter(event=event, id=identity)
        upload = rows.first()
        if upload is None:
            raise NotFound()
        if upload.completed_at is not None:
            return made_of(upload), False
        if upload.received != upload.size:
            raise _mismatch(upload.received, upload.size)
        event.refuse_unless_draft()
        event_files.refuse_other_bytes(bytes(upload.sha256).hex(), _digest(upload))
        made = _make(actor, event, upload)
        UploadPart.objects.filter(upload=upload).delete()
        upload.completed_at = upload.changed_at = timezone.now()
        upload.save(update_fields=["completed_at", "changed_at"])
        return made


def made_of(upload: Upload) -> Attachment | Trace:
    """What a complete upload has become."""
    model: type[Attachment] | type[Trace] = Attachment if upload.kind == "attachment" else Trace
    made = model.objects.filter(event=upload.event_id, id=upload.id).first()
    if made is None:
        raise Conflict("the upload was complete, and what was made of it has been removed since")
    return made


def _make(actor: Actor, event: Event, upload: Upload) -> tuple[Attachment | Trace, bool]:
    given = {"id": str(upload.id)} | ({"name": upload.name} if upload.name else {})
    if upload.kind == "attachment":
        return attachments.add(actor, event, given | {"purpose": upload.purpose}, _kept(upload))
    return traces.add_csv(actor, event, given, _lines(_kept(upload)))


def _kept(upload: Upload) -> Iterator[bytes]:
    """What came, from the beginning, part by part."""
    parts = UploadPart.objects.filter(upload=upload).values_list("content", flat=True)
    at = 0
    while at < upload.size:
        content = bytes(parts.get(starts_at=at))
        yield content
        at += len(content)


def _digest(upload: Upload) -> bytes:
    """SHA-256 of all that came."""
    digest = hashlib.sha256()
    for content in _kept(upload):
        digest.update(content)
    return digest.digest()


def _lines(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """Lines, each with its end, of what comes in pieces of any length."""
    begun: list[bytes] = []
    for piece in pieces:
        first, *others = piece.split(b"\n")
        begun.append(first)
        if others:
            yield b"".join((*begun, b"\n"))
            yield from (line + b"\n" for line in others[:-1])
            begun = others[-1:]
    if any(begun):
        yield b"".join(begun)
