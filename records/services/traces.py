"""Recorded traces of an event: taken once, kept by digest, judged with the event."""

from collections.abc import Callable, Iterable, Mapping
from tempfile import SpooledTemporaryFile
from typing import IO, Any
from zoneinfo import ZoneInfo

from calculations.inputs.base import Id, Part
from calculations.inputs.reading import InvalidDocument, Problem, read
from records import permissions
from records.errors import Invalid, Unreadable
from records.limits import IN_MEMORY
from records.models import Event, Trace
from records.permissions import Actor
from records.services import event_files, files, trace_text
from records.services.reading import read_input
from records.services.trace_text import Written

LARGEST = 64 * 1024 * 1024
"""Bytes that a trace may be sent in: a million rows of five columns."""

Write = Callable[[IO[bytes]], Written]


class TraceInput(Part):
    """What is said of a trace beside its rows."""

    id: Id | None = None
    name: event_files.Title | None = None


def add_csv(
    actor: Actor, event: Event, given: Mapping[str, Any], lines: Iterable[bytes]
) -> tuple[Trace, bool]:
    """Keep a trace that comes as CSV; the same id with the same rows again changes nothing."""

    zone = ZoneInfo(event.site.time_zone)

    def write(kept: IO[bytes]) -> Written:
        try:
            return trace_text.write_csv((line.decode("utf-8") for line in lines), kept, zone)
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
    zone = ZoneInfo(event.site.time_zone)
    return _add(actor, event, rest, lambda kept: trace_text.write_columns(columns, kept, zone))


def problems_of(row: Trace) -> list[Problem]:
    """What is said of a trace beside its rows and could not have been."""
    try:
        read(TraceInput, {"id": str(row.id), "name": row.name})
    except InvalidDocument as error:
        return list(error.problems)
    return []


def _add(actor: Actor, event: Event, given: Mapping[str, Any], write: Write) -> tuple[Trace, bool]:
    permissions.require(actor, "events.write")
    wanted = read_input(TraceInput, given)
    event_files.refuse_one_more(event, Trace, wanted.id)
    with SpooledTemporaryFile(IN_MEMORY) as kept:
        written = write(kept)
        digest, size = files.store_file(kept)
    values = {
        "name": wanted.name or "",
        "columns": [{"name": each.name, "unit": each.unit} for each in written.headings],
        "rows": written.rows,
        "sample_interval": written.sample_interval,
        "size": size,
        "sha256": digest,
    }
    return event_files.add(actor, event, Trace, wanted.id, values, same=("sha256", "name"))
