"""What the figures of a record or of an event need beside its text."""

import json
from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet

from records import permissions
from records.documents.charts.beside import Beside
from records.documents.charts.visits import MOST, Visit, visit_of
from records.models import Event, Record
from records.permissions import Actor
from records.selectors import traces

Content = Mapping[str, Any]

LARGEST_ON_A_PAGE = traces.KEPT_AT_HAND
"""Rows of a trace up to which a page draws it unasked: reading more takes seconds."""


def of_record(record: Record, content: Content) -> Beside:
    """For the record's document: what both of its parties may see."""
    rows = permissions.beside(_before(record), record)
    return Beside(traces.recordings_told(content), _visits(rows))


def of_record_on_page(
    actor: Actor, record: Record, content: Content, *, long: bool = False
) -> Beside:
    """The same for whoever looks at its page; with `long`, traces of any length."""
    rows = permissions.visible(permissions.beside(_before(record), record), actor)
    return _on_page(content, rows, long)


def of_event_on_page(actor: Actor, event: Event, content: Content, *, long: bool = False) -> Beside:
    """For a visit that is not sealed, or was: everything sealed before it."""
    rows = permissions.visible(_of_pump_set(event.pump_set_id), actor)
    rows = rows.exclude(event=event).filter(corrections=None)
    return _on_page(content, rows.filter(performed_at__lt=event.performed_at), long)


def _on_page(content: Content, rows: QuerySet[Record], long: bool) -> Beside:
    most = None if long else LARGEST_ON_A_PAGE
    return Beside(traces.recordings_told(content, most), _visits(rows), most)


def not_drawn_beyond(content: Content, beside: Beside) -> int:
    """The rows up to which traces are drawn, where one of a step is longer; else 0."""
    most = beside.most_rows or 0
    return most if any(each["rows"] > most for each in traces.of_steps(content)) else 0


def _before(record: Record) -> QuerySet[Record]:
    """Records of the same pump set that stood when this one was sealed; they stay the same."""
    rows = _of_pump_set(record.pump_set_id).filter(row__lt=record.row)
    return rows.exclude(corrections__row__lte=record.row)


def _of_pump_set(pump_set: int | None) -> QuerySet[Record]:
    return Record.objects.filter(pump_set=pump_set) if pump_set else Record.objects.none()


def _visits(rows: QuerySet[Record]) -> tuple[Visit, ...]:
    """The latest of them, in the order in which they were made."""
    texts = rows.order_by("-performed_at", "-row").values_list("canonical", flat=True)[:MOST]
    return tuple(reversed([visit_of(json.loads(bytes(text))) for text in texts]))
