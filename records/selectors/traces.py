"""Recorded traces as they are told, and their rows as they are judged."""

from collections.abc import Mapping
from functools import lru_cache
from io import TextIOWrapper
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage

from calculations.inputs.event import Event as EventInput
from calculations.recordings import Recording
from records.errors import NotFound
from records.models import Event, Trace
from records.services import trace_text
from records.services.files import stored_name
from records.services.times import instant

KEPT_AT_HAND = 20_000
"""Rows up to which a trace stays in memory between two judgements."""


def of(event: Event) -> list[Trace]:
    """The traces of an event, in the order they came."""
    return list(Trace.objects.filter(event=event).order_by("row"))


def get(event: Event, identity: UUID) -> Trace:
    """One trace of an event."""
    found = Trace.objects.filter(event=event, id=identity).first()
    if found is None:
        raise NotFound()
    return found


def document(trace: Trace) -> dict[str, Any]:
    """A trace as it is told, without its rows."""
    return {**line(trace), "received_at": instant(trace.created_at)}


def line(trace: Trace) -> dict[str, Any]:
    """A trace as it stands in a record: enough to know its rows again."""
    interval = trace.sample_interval
    return {
        "id": str(trace.id),
        "name": trace.name,
        "columns": trace.columns,
        "rows": trace.rows,
        "sample_interval": None if interval is None else {"value": f"{interval:g}", "unit": "s"},
        "size": trace.size,
        "sha256": bytes(trace.sha256).hex(),
    }


def as_file(told: Mapping[str, Any]) -> dict[str, Any]:
    """What is told of a trace, as a file to be saved."""
    name = f"trace-{told['id']}.csv"
    return {**told, "name": name, "content_type": "text/csv; charset=utf-8"}


def recordings(event: Event, parsed: EventInput) -> dict[str, Recording]:
    """Rows of the traces that the event's step tests name, by the trace's id."""
    named = {test.trace for test in parsed.step_tests or () if test.trace}
    if not named or event.row is None:
        return {}
    rows = Trace.objects.filter(event=event, id__in=named)
    return {str(row.id): _recording(bytes(row.sha256), row.rows) for row in rows}


def recordings_told(content: Mapping[str, Any], most: int | None = None) -> dict[str, Recording]:
    """Rows of the traces that an event's step tests name, by what its record tells of them.

    Nothing is asked of the database. Traces of more than `most` rows, and files that are not at
    hand, are left out.
    """
    found = {}
    for told in of_steps(content):
        if most is not None and told["rows"] > most:
            continue
        try:
            found[told["id"]] = _recording(bytes.fromhex(told["sha256"]), told["rows"])
        except FileNotFoundError:
            continue
    return found


def of_steps(content: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """What a record tells of the traces that its step tests name."""
    named = {test.get("trace") for test in content["event"].get("step_tests") or ()}
    return [told for told in content.get("traces") or () if told["id"] in named]


def _recording(digest: bytes, rows: int) -> Recording:
    return _at_hand(digest) if rows <= KEPT_AT_HAND else _parsed(digest)


def _parsed(digest: bytes) -> Recording:
    with (
        default_storage.open(stored_name(digest)) as file,
        TextIOWrapper(file, encoding="utf-8", newline="") as text,
    ):
        return trace_text.recording(text)


_at_hand = lru_cache(maxsize=32)(_parsed)
