"""Due dates as a calendar (RFC 5545): an all-day entry for each date of each station.

What falls due on one day at one station is one entry, so that a calendar shows work and not a
list. Nothing rings: there are no alarms. An entry keeps its UID while station and date stay.
"""

import hashlib
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby
from typing import Any
from uuid import UUID

import icalendar
from django.utils import timezone

from calculations.due_dates import after_months
from records.permissions import Actor
from records.selectors import due_documents, due_items
from records.selectors.due_items import Item, Wanted

AHEAD = 24
"""Months of dates that a calendar holds from today on; what is overdue is in it as well."""
_STATES = {
    "overdue": "overdue", "due_soon": "due soon", "never_verified": "never verified",
    "current": "due",
}  # fmt: skip
MOST_LINES = 100


def feed(actor: Actor, client: UUID | None, name: str) -> bytes:
    """The calendar; the same dates, the same bytes."""
    made = icalendar.Calendar()
    made.add("prodid", "-//Stationbook//Due dates//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("method", "PUBLISH")
    made.add("x-wr-calname", f"Verification due: {name}")
    made.add("refresh-interval", timedelta(hours=12), parameters={"value": "DURATION"})  # RFC 7986
    for event in _events(actor, client):
        made.add_component(event)
    return bytes(made.to_ical())


def _events(actor: Actor, client: UUID | None) -> Iterator[icalendar.Event]:
    until = after_months(timezone.now().date(), AHEAD)
    items = due_items.each(actor, Wanted(client=client, due_by=until))
    for site, found in groupby(items, key=lambda item: item.site):
        listed = sorted(found, key=_day)  # stable: by tag and task
        for day, together in groupby(listed, key=_day):
            yield _event(site, day, list(together))


def _day(item: Item) -> date:
    """When it is due."""
    assert item.due_on is not None  # noqa: S101 - asked for by a day
    return item.due_on


def _event(site: str, day: date, items: list[Item]) -> icalendar.Event:
    event = icalendar.Event()
    event.add("uid", f"{site}-{day:%Y%m%d}@stationbook.invalid")
    event.add("summary", _summary(items))
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))  # RFC 5545, 3.6.1: the day after the last
    event.add("dtstamp", _stamp(items))
    event.add("transp", "TRANSPARENT")
    event.add("description", "\n".join(_lines(items)))
    event.add("location", items[0].code)
    return event


def _summary(items: list[Item]) -> str:
    station, count = items[0].code, len(items)
    if count == 1:
        known = due_documents.document(items[0])
        return f"{station}: {known['title']}, {known['tag']} ({_STATES[items[0].state]})"
    overdue = any(item.state == "overdue" for item in items)
    return f"{station}: {count} verifications {'overdue' if overdue else 'due'}"


def _lines(items: list[Item]) -> Iterator[str]:
    for item in items[:MOST_LINES]:
        known: dict[str, Any] = due_documents.document(item)
        yield f"{known['tag']}, {known['title']}: {_STATES[item.state]}. {known['why']}"
    if len(items) > MOST_LINES:
        yield f"And {len(items) - MOST_LINES} more, on the page of what is due."
    yield "A computed agreement is arithmetic and not a safety approval."


def _stamp(items: list[Item]) -> datetime:
    """When what it says came about, as far as is known: it must not change by being read."""
    days = [day for item in items for day in (item.good_on, item.tried_on, item.since)]
    latest = max((day for day in days if day is not None), default=date(1970, 1, 2))
    return datetime.combine(latest, time(), UTC)


def tag(content: bytes) -> str:
    """A strong tag of the calendar."""
    return f'"{hashlib.sha256(content).hexdigest()}"'
