"""Recorded traces of an event: taken once, kept by digest, judged with the event."""

from collections.abc import Callable, Iterable, Mapping
from tempfile import SpooledTemporaryFile
from typing import IO, Any
from uuid import UUID

from django.db import IntegrityError, transaction

from calculations.inputs.base import Id, Part, Text
from calculations.inputs.reading import InvalidDocument, Problem, read
from records import permissions
from records.errors import Invalid, SameIdOtherContent, Unreadable
from records.models import Event, Trace
from records.models.base import new_id
from records.permissions import Actor
from records.services import files, judging, signatures, summaries, trace_text
from records.services.trace_text import Written

LARGEST = 64 * 1024 * 1024
"""Bytes that a trace may be sent in: a million rows of five columns."""

IN_MEMORY = 4 * 1024 * 1024

Write = Callable[[IO[bytes]], Written]


class TraceInput(Part):
    """What is said of a trace beside its rows."""

    id: Id | None = None
    name: Text | None = None


def add_csv(
    actor: Actor, event: Event, given: Mapping[str, Any], lines: Iterable[bytes]
) -> tuple[Trace, bool]:
    """Keep a trace that comes as CSV; the same id with the same rows again changes nothing."""

    def write(kept: IO[bytes]) -> Written:
        try:
            return trace_text.write_csv((line.decode("utf-8") for line in lines), kept)
        except UnicodeDecodeError:
            raise Unreadable("expected CSV in UTF-8") from None

    return _add(actor, event, given, write)


def add_columns(actor: Actor, event: Event, given: Mapping[str, Any]) -> tuple[Trace, bool]:
    """The same of a trace that comes as a JSON document with `columns`."""
    columns = given.get("columns")
    if not isinstance(columns, Mapping):
        words = 'expected {"time": {"unit": "s", "values": [...]}, "feedback": {...}}'
        raise Invalid(problems=[Problem("/columns", "required", words)])
    rest = {name: value for name, value in given.items() if name != "columns"}
    return _add(actor, event, rest, lambda kept: trace_text.write_columns(columns, kept))


def _add(actor: Actor, event: Event, given: Mapping[str, Any], write: Write) -> tuple[Trace, bool]:
    permissions.require(actor, "events.write")
    wanted = _read(given)
    with SpooledTemporaryFile(max_size=IN_MEMORY) as kept:
        written = write(kept)
        digest, size = files.store_file(kept)
    locked = Event.objects.select_for_update().get(row=event.row)
    existing = Trace.objects.filter(event=event, id=wanted.id).first() if wanted.id else None
    if existing is not None:
        return _repeated(existing, wanted, digest), False
    locked.refuse_unless_draft()
    with transaction.atomic():
        row = _row(locked, wanted, written, digest, size)
        judging.again(actor, locked)
        signatures.void_outdated(locked)
        locked.note_said()
        summaries.refresh(locked.site_id)
    return row, True


def _read(given: Mapping[str, Any]) -> TraceInput:
    try:
        return read(TraceInput, given)
    except InvalidDocument as error:
        raise Invalid(problems=error.problems) from None


def _repeated(existing: Trace, wanted: TraceInput, digest: bytes) -> Trace:
    if (bytes(existing.sha256), existing.name) != (digest, wanted.name or ""):
        raise SameIdOtherContent(problems=[Problem("/id", "taken", "the id is in use")])
    return existing


def _row(event: Event, wanted: TraceInput, written: Written, digest: bytes, size: int) -> Trace:
    try:
        return Trace.objects.create(
            id=UUID(wanted.id) if wanted.id else new_id(),
            event=event,
            contractor_id=event.contractor_id,
            client_id=event.client_id,
            name=wanted.name or "",
            columns=[{"name": each.name, "unit": each.unit} for each in written.headings],
            rows=written.rows,
            sample_interval=written.sample_interval,
            size=size,
            sha256=digest,
        )
    except IntegrityError:
        raise SameIdOtherContent(problems=[Problem("/id", "taken", "the id is in use")]) from None
