"""Photographs and documents of an event: known by their content, kept by digest, never active."""

import hashlib
import re
from collections.abc import Iterable, Mapping
from tempfile import SpooledTemporaryFile
from typing import IO, Any

from calculations.inputs.base import Id, Part
from calculations.inputs.event import AttachmentPurpose
from calculations.inputs.reading import InvalidDocument, Problem, read
from records import permissions
from records.errors import Invalid
from records.limits import IN_MEMORY
from records.models import Attachment, Event
from records.permissions import Actor
from records.services import event_files, files, pdf_files, pictures
from records.services.reading import read_input

LARGEST = 25 * 1024 * 1024
OPAQUE, PDF, PLAIN = "application/octet-stream", "application/pdf", "text/plain; charset=utf-8"
_TYPES = (OPAQUE, PDF, PLAIN, *pictures.TYPES)
_PICTURE = re.compile(rb"\xff\xd8\xff|\x89PNG\r\n\x1a\n|RIFF.{4}WEBP", re.DOTALL)
TAKEN = "photographs as JPEG, PNG or WebP, documents as PDF, plain text in UTF-8"


class AttachmentInput(Part):
    """What is said of an attachment beside its bytes."""

    id: Id | None = None
    purpose: AttachmentPurpose
    name: event_files.FileName
    sha256: event_files.Sha256 | None = None


def add(
    actor: Actor, event: Event, given: Mapping[str, Any], pieces: Iterable[bytes]
) -> tuple[Attachment, bool]:
    """Keep an attachment; the same id with the same bytes again changes nothing.

    What it is follows from its content: a name or a media type can say anything.
    """
    permissions.require(actor, "events.write")
    wanted = read_input(AttachmentInput, given)
    event_files.refuse_one_more(event, Attachment, wanted.id)
    with SpooledTemporaryFile(IN_MEMORY) as sent, SpooledTemporaryFile(IN_MEMORY) as redrawn:
        sent_digest = _receive(pieces, sent)
        if wanted.sha256:
            event_files.refuse_other_bytes(wanted.sha256, sent_digest)
        kept, content_type = _as_kept(wanted, sent, redrawn)
        digest, size = files.store_file(kept)
    values = {
        "purpose": wanted.purpose,
        "name": wanted.name,
        "content_type": content_type,
        "size": size,
        "sha256": digest,
        "sent_sha256": sent_digest,
    }
    same = ("sent_sha256", "name", "purpose")
    return event_files.add(actor, event, Attachment, wanted.id, values, same)


def problems_of(row: Attachment) -> list[Problem]:
    """What is told of a file and could not have been said of one here."""
    told = {"id": str(row.id), "purpose": row.purpose, "name": row.name}
    try:
        read(AttachmentInput, told)
    except InvalidDocument as error:
        return list(error.problems)
    if row.content_type not in _TYPES:
        return [Problem("/content_type", "choice", f"expected one of {', '.join(_TYPES)}")]
    if len(row.sent_sha256) != hashlib.sha256().digest_size:
        return [Problem("/sent_sha256", "digest", "expected a SHA-256: 32 bytes")]
    return []


def _receive(pieces: Iterable[bytes], sent: IO[bytes]) -> bytes:
    digest = hashlib.sha256()
    for piece in pieces:
        digest.update(piece)
        sent.write(piece)
    return digest.digest()


# -- what it is -----------------------------------------------------------------------------------


def _as_kept(wanted: AttachmentInput, sent: IO[bytes], redrawn: IO[bytes]) -> tuple[IO[bytes], str]:
    """The file that is kept, open at its end, and its media type."""
    sent.seek(0)
    beginning = sent.read(16)
    if _PICTURE.match(beginning):
        sent.seek(0)
        return redrawn, pictures.redraw(sent, redrawn)
    if wanted.purpose == "settings_file":
        content_type = OPAQUE  # a drive's own backup: nobody here opens it
    elif beginning.startswith(b"%PDF-"):
        pdf_files.refuse_broken(sent)
        content_type = PDF
    else:
        _refuse_unless_text(sent)
        content_type = PLAIN
    sent.seek(0, 2)
    return sent, content_type


def _refuse_unless_text(sent: IO[bytes]) -> None:
    sent.seek(0)
    try:
        text = sent.read().decode("utf-8")
    except UnicodeDecodeError:
        text = ""
    if not text.strip() or "\0" in text or text.lstrip("\ufeff \t\r\n").startswith("<"):
        raise Invalid(problems=[Problem("", "content", f"expected {TAKEN}")])
