"""Readings of sealed records as CSV: of one, or of as many as there are, without holding them."""

import hashlib
import json
from collections.abc import Iterator
from typing import Any

from django.db.models import BinaryField, Case, Count, F, Max, Value, When

from records import permissions
from records.documents import readings_csv
from records.models import Record
from records.permissions import Actor
from records.selectors.copying import copied

AT_ONCE = 32
"""Records that are held at a time."""


def of(record: Record) -> bytes:
    """The readings of one record, with their head."""
    return readings_csv.head() + readings_csv.lines(_content(record.canonical))


def stream(actor: Actor, rows: Any) -> Iterator[bytes]:
    """The readings of `rows`, records that the actor may see, in the order of sealing.

    A few records at a time, each time in a transaction of its own and in the actor's place, since
    the request's is over by then: whoever reads slowly holds neither a connection nor old rows.
    """
    yield readings_csv.head()
    after = 0
    while found := _few(actor, rows.filter(row__gt=after)):
        for after, lines, canonical in found:  # noqa: B007
            yield readings_csv.lines(_content(canonical)) if lines is None else lines


def _few(actor: Actor, rows: Any) -> list[tuple[int, bytes | None, bytes | None]]:
    """What is kept as it stands, and the text where nothing is kept."""
    kept = Case(When(readings__edition=readings_csv.EDITION, then=F("readings__lines")))
    text = Case(
        When(readings__edition=readings_csv.EDITION, then=Value(None)),
        default=F("canonical"),
        output_field=BinaryField(),
    )
    listed = rows.order_by("row").values_list("row", kept, text)[:AT_ONCE]
    with permissions.while_streaming(actor):
        return copied(listed, ("int8", "bytea", "bytea"))


def _content(canonical: Any) -> Any:
    return json.loads(bytes(canonical))


def tag(rows: Any) -> str:
    """A strong tag of what `stream` sends of `rows`: records come, and never change or go."""
    counted = rows.order_by().aggregate(count=Count("row"), last=Max("row"))
    told = f"{readings_csv.EDITION} {counted['count']} {counted['last']} {rows.query}"
    return f'"{hashlib.sha256(told.encode()).hexdigest()}"'


def until(rows: Any) -> Any:
    """Of `rows` those that are there now, so that a stream holds what its tag was made of."""
    last = rows.order_by().aggregate(last=Max("row"))["last"]
    return rows.filter(row__lte=last or 0)
