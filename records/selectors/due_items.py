"""What is due to be verified again, when and why, on any day that has come.

A day is asked as it ended: what was registered, sealed and set later says nothing on it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import connection
from django.utils import timezone
from psycopg.types.string import TextLoader

from calculations.inputs.reading import Problem
from records import natural, permissions
from records.errors import Invalid
from records.permissions import Actor
from records.selectors import due_sql


class Item(NamedTuple):
    """A due item: what is to be done of which piece, until when, and what that rests on.

    `good` is the record that it counts from, `tried` a later one that did not fulfil the task,
    `outside` the first of those that left it outside; ids are texts, intervals months.
    """

    site_id: int
    site: str
    code: str
    client_id: str
    today: date
    taken_over: date
    kind: str
    piece: str
    tag: str
    serial: str
    pump_set: str | None
    number: int
    task: str
    default_months: int
    shortest: int
    longest: int
    setting: str | None
    setting_reason: str | None
    set_by_name: str | None
    base_months: int
    halved: bool
    months: int
    tried_result: str | None
    tried_on: date | None
    tried_reason: str | None
    tried_record: str | None
    tried_number: int | None
    good_id: str | None
    good_on: date | None
    good_record: str | None
    good_number: int | None
    as_found: str | None
    ratio: float | None
    outside_on: date | None
    outside_number: int | None
    since: date
    earlier_on: date | None
    replaced: bool
    due_on: date | None
    state: str


_AT_ONCE = 500
AHEAD = timedelta(hours=14)
"""Where a day begins first."""


@dataclass(frozen=True)
class Wanted:
    """Which due items, and of which day; all where nothing is said, and today."""

    as_of: date | None = None
    client: UUID | None = None
    site: UUID | None = None
    piece: UUID | None = None
    task: str | None = None
    state: str | None = None
    due_by: date | None = None
    not_possible: bool | None = None
    proposed: bool = False
    after: tuple[int, str, int] | None = None
    limit: int | None = None
    now: datetime = field(default_factory=timezone.now)


def items(actor: Actor, wanted: Wanted) -> list[Item]:
    """Those due items, by station, tag and task."""
    text, given = _statement(actor, wanted)
    with connection.cursor() as cursor:
        _take_ids_as_text(cursor)
        cursor.execute(_told(text, wanted), given)
        return list(_rows(cursor))


def each(actor: Actor, wanted: Wanted) -> Iterator[Item]:
    """The same, however many, a few at a time: inside of one transaction."""
    text, given = _statement(actor, wanted)
    with connection.chunked_cursor() as cursor:
        _take_ids_as_text(cursor)
        cursor.execute(_told(text, wanted), given)
        yield from _rows(cursor)


def counts(actor: Actor, wanted: Wanted) -> dict[str, int]:
    """How many there are of each state; those of which the last try was not possible besides."""
    text, given = _statement(actor, wanted)
    with connection.cursor() as cursor:
        cursor.execute(_COUNTED.format(items=text), given)
        rows = cursor.fetchall()
    found = dict.fromkeys(STATES, 0) | {state: count for state, count, _ in rows}
    return found | {"not_possible": sum(impossible for *_, impossible in rows)}


_COUNTED = """
SELECT state, count(*), count(*) FILTER (WHERE tried_result = 'not_possible')
  FROM ({items}) counted GROUP BY state
"""

STATES = ("current", "due_soon", "overdue", "never_verified")


def _statement(actor: Actor, wanted: Wanted) -> tuple[str, dict[str, Any]]:
    permissions.require(actor, "due.read")
    party = permissions.party(actor)
    given = {"organization": actor.organization_id, **_days(actor, wanted)}
    narrowed = {
        place: " ".join(text for name, text in conditions.items() if getattr(wanted, name))
        for place, conditions in _NARROWER.items()
    }
    given |= {name: getattr(wanted, name) for name in ("client", "site", "piece", "task")}
    if wanted.after is not None:
        narrowed["stations"] += " AND s.site_id >= %(after_site)s"
        names = ("after_site", "after_tag", "after_number")
        given |= dict(zip(names, wanted.after, strict=True))
    text = due_sql.statement(party=party, handed=party == "contractor_id", **narrowed)
    return _CHOSEN.format(items=text, chosen=_chosen(wanted, given)), given


_CHOSEN = "SELECT * FROM ({items}) dated WHERE {chosen}"


_NARROWER = {
    "stations": {
        "client": "AND s.client_id = %(client)s",
        "site": "AND s.piece = %(site)s",
    },
    "pieces": {"piece": "AND p.piece = %(piece)s"},
    "tasks": {"task": "AND task.id = %(task)s"},
}

# What may move an interval: found at its end, not set anew and not left outside since.
_PROPOSED = """
as_found IS NOT NULL AND outside_on IS NULL AND NOT once AND NOT follows
AND (set_at IS NULL OR set_at <= good_sealed_at)
AND (as_found = 'outside' AND base_months > shortest
     OR as_found = 'inside' AND ratio <= 0.8 AND NOT safety AND base_months < longest
        AND base_months > 1)
"""


_TAG = "%(after_tag)s::text"


def _chosen(wanted: Wanted, given: dict[str, Any]) -> str:
    """Conditions on what was computed."""
    chosen = ["true"]
    if wanted.after is not None:
        chosen.append(
            "(site_id, tag_key, tag, number) >"
            f" (%(after_site)s, {natural.sql(_TAG)}, {_TAG}, %(after_number)s)"
        )
    for name, condition in (("state", "state = %(state)s"), ("due_by", "due_on <= %(due_by)s")):
        if getattr(wanted, name) is not None:
            given[name] = getattr(wanted, name)
            chosen.append(condition)
    if wanted.not_possible is not None:
        sign = "IS NOT DISTINCT FROM" if wanted.not_possible else "IS DISTINCT FROM"
        chosen.append(f"tried_result {sign} 'not_possible'")
    if wanted.proposed:
        chosen.append(_PROPOSED)
    return " AND ".join(chosen)


# What an item tells, and nothing else: at a million tasks each column is time.
_OF_RECORDS = {
    "good_record": "good.id", "good_number": "good.number", "tried_record": "tried.id",
    "tried_number": "tried.number", "outside_number": "outside.number",
}  # fmt: skip
_COLUMNS = ", ".join(_OF_RECORDS.get(name, f"found.{name}") for name in Item._fields)

# With the ids and numbers of the records that it names.
_TOLD = """
SELECT {columns}
  FROM ({items}) found
  LEFT JOIN records_record good ON good.row = found.good_record_id
  LEFT JOIN records_record tried ON tried.row = found.tried_record_id
  LEFT JOIN records_record outside ON outside.row = found.outside_record_id
 ORDER BY found.site_id, found.tag_key, found.tag, found.number {limit}
"""


def _told(text: str, wanted: Wanted) -> str:
    limit = "" if wanted.limit is None else f"LIMIT {int(wanted.limit)}"
    return _TOLD.format(columns=_COLUMNS, items=text, limit=limit)


def _take_ids_as_text(cursor: Any) -> None:
    """An item has seven: to make each a UUID and a text again took a third of Python's time."""
    cursor.adapters.register_loader("uuid", TextLoader)


def _rows(cursor: Any) -> Iterator[Item]:
    while rows := cursor.fetchmany(_AT_ONCE):
        yield from map(Item._make, rows)


def _days(actor: Actor, wanted: Wanted) -> Mapping[str, list[Any]]:
    """For each time zone the day that is asked, and when it ended there; today ends now."""
    zones = _zones(actor, wanted)
    days, cuts = [], []
    for zone in map(ZoneInfo, zones):
        today = wanted.now.astimezone(zone).date()
        day = today if wanted.as_of is None else min(wanted.as_of, today)
        ended = datetime.combine(day + timedelta(days=1), time(), zone)
        days.append(day)
        cuts.append(min(ended, wanted.now))
    return {"zones": zones, "days": days, "cuts": cuts}


def _zones(actor: Actor, wanted: Wanted) -> list[str]:
    text = "SELECT DISTINCT time_zone FROM records_piecestanding WHERE kind = 'site' AND {} = %s"
    given = [actor.organization_id]
    if wanted.client is not None:
        text, given = f"{text} AND client_id = %s", [*given, wanted.client]
    with connection.cursor() as cursor:
        cursor.execute(text.format(permissions.party(actor)), given)
        return [zone for (zone,) in cursor]


def written(item: Item) -> bytes:
    """Where a list goes on after an item, as cursors hide it."""
    return item.site_id.to_bytes(8) + item.number.to_bytes(2) + item.tag.encode()


def place(written: bytes) -> tuple[int, str, int]:
    """The same, read."""
    return int.from_bytes(written[:8]), written[10:].decode(), int.from_bytes(written[8:10])


def refuse_day_to_come(day: date, place: str = "/as_of") -> None:
    """A day that has begun nowhere yet says nothing."""
    if day > (datetime.now(UTC) + AHEAD).date():
        words = "expected a day that has come; `due_by` asks what will be due by a day"
        raise Invalid(problems=[Problem(place, "in_the_future", words)])
