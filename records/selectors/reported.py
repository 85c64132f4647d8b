"""What a report tells, read a few rows at a time: due items as a day ended, changes until then.

Whatever is read has a moment, so that a report says the same whenever it is made. Changes are
those that the contractor itself wrote down; what was handed on later is none.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import connection

from calculations.tasks.catalogue import BY_ID
from records import natural, permissions
from records.models import Organization, PerformedTask
from records.permissions import Actor
from records.selectors import due_documents, due_items, resting
from records.selectors.due_items import Item, Wanted
from records.services.times import instant

Document = dict[str, Any]
_AT_ONCE = 2000
A_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Window:
    """Of whom a report is, from when to when; `first` and `last` are days."""

    actor: Actor
    client: UUID | None
    since: datetime
    until: datetime
    first: date
    last: date

    def given(self) -> Mapping[str, Any]:
        """The same for a statement."""
        return {
            "contractor": self.actor.organization_id,
            "client": self.client,
            "since": self.since,
            "until": self.until,
            "first": self.first,
            "last": self.last,
        }


def as_office(contractor: UUID) -> Actor:
    """Whom a background task reads for: the office of a contractor, by its literal."""
    return Actor(UUID(int=0), "", contractor, "", permissions.OFFICE, frozenset(("read",)))


def names(window: Window) -> dict[str, str]:
    """What the contractor and its clients are called, by their ids."""
    known = permissions.acquainted(Organization.objects.all(), window.actor)
    return {str(identity): name for identity, name in known.values_list("id", "name")}


# Every station that the contractor looked after when the time was over.
_STATIONS = """
SELECT s.site_id, s.piece AS site, s.tag AS station, s.client_id AS client, s.traits,
       s.time_zone
  FROM records_piecestanding s
 WHERE s.kind = 'site' AND s.contractor_id = %(contractor)s
   AND (%(client)s::uuid IS NULL OR s.client_id = %(client)s)
   AND s.known_from <= %(until)s AND (s.known_until IS NULL OR s.known_until > %(until)s)
"""


def stations(window: Window) -> int:
    """How many stations there are."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT count(*) FROM ({_STATIONS}) s", window.given())  # noqa: S608
        return int(cursor.fetchone()[0])


def items(window: Window) -> Iterator[tuple[str, Document]]:
    """Every due item with its station, and whether it became overdue within the time.

    It did where it was not overdue since the same day as the day before ended: its day came, or
    something was learnt of it, as a test that it did not pass.
    """
    before = _overdue_before(window)
    for item in due_items.each(
        window.actor, Wanted(as_of=window.last, client=window.client, now=window.until)
    ):
        became = item.state == "overdue" and _what_and_when(item) not in before
        yield item.site, due_documents.document(item) | {"new": became}


def _overdue_before(window: Window) -> set[tuple[str, str, date | None]]:
    """What was overdue as the day before the time ended, by what was known then."""
    wanted = Wanted(
        as_of=window.first - A_DAY, client=window.client, now=window.since, state="overdue"
    )
    return {_what_and_when(item) for item in due_items.each(window.actor, wanted)}


def _what_and_when(item: Item) -> tuple[str, str, date | None]:
    return item.piece, item.task, item.due_on


_HEADS = f"""
SELECT s.station, s.site, s.client, head.number, head.digest, head.sealed_at
  FROM ({_STATIONS}) s
  LEFT JOIN LATERAL (
       SELECT r.number, r.digest, r.sealed_at FROM records_record r
        WHERE r.site_id = s.site_id AND r.sealed_at <= %(until)s
          AND (r.contractor_id = %(contractor)s OR r.handed_to @> ARRAY[%(contractor)s]::uuid[])
        ORDER BY r.number DESC LIMIT 1) head ON true
 ORDER BY s.client, {natural.in_order("s.station")}, s.site
"""  # noqa: S608


def heads(window: Window) -> Iterator[Document]:
    """The head of each station's records: whoever keeps it can show that none was dropped."""
    for row in _rows(_HEADS, window):
        sealed = row["number"] is not None
        yield {
            "client": str(row["client"]),
            "station": row["station"],
            "site": str(row["site"]),
            "number": row["number"],
            "digest": bytes(row["digest"]).hex() if sealed else None,
            "sealed_at": instant(row["sealed_at"]) if sealed else None,
        }


_DONE = f"""
SELECT s.station, s.client, x.tag, x.task, x.performed_on, x.result, x.as_found, x.reason,
       r.number, r.id AS record
  FROM records_performedtask x
  JOIN records_record r ON r.row = x.record_id
  JOIN ({_STATIONS}) s ON s.site_id = x.site_id
 WHERE x.contractor_id = %(contractor)s AND x.sealed_at > %(since)s AND x.sealed_at <= %(until)s
 ORDER BY x.performed_on, x.row
"""  # noqa: S608


def done(window: Window) -> Iterator[Document]:
    """What records that were sealed within the time did of verification tasks."""
    for row in _rows(_DONE, window):
        yield _of_a_task(row) | {
            "record": str(row["record"]),
            "number": row["number"],
            "performed_on": str(row["performed_on"]),
            "result": row["result"],
            "as_found": row["as_found"],
            "reason": row["reason"] or None,
        }


_OUTSIDE = f"""
SELECT s.station, s.client, x.row, x.kind, x.tag, x.task, x.serial, x.performed_on, x.result,
       x.as_found, r.number, r.id AS record
  FROM records_performedtask x
  JOIN records_record r ON r.row = x.record_id
  JOIN ({_STATIONS}) s ON s.site_id = x.site_id
 WHERE x.contractor_id = %(contractor)s AND x.sealed_at > %(since)s AND x.sealed_at <= %(until)s
   AND 'outside' IN (x.as_found, x.result)
 ORDER BY x.performed_on, x.row
"""  # noqa: S608


def outside(window: Window) -> Iterator[Document]:
    """Of those what was out of tolerance; of sensors the records that rested on them besides."""
    for row in _rows(_OUTSIDE, window):
        good, rests = _resting(window, row["row"]) if row["kind"] == "sensor" else (None, [])
        yield _of_a_task(row) | {
            "serial": row["serial"] or None,
            "record": str(row["record"]),
            "number": row["number"],
            "performed_on": str(row["performed_on"]),
            "result": row["result"],
            "as_found": row["as_found"],
            "last_good_on": good,
            "rests": rests,
        }


def _resting(window: Window, row: int) -> tuple[str | None, list[Document]]:
    found = PerformedTask.objects.select_related("site", "record").get(row=row)
    told = resting.told(window.actor, found, window.until)
    return told["last_good_on"], told["records"]


_SEALED = f"""
SELECT s.station, s.client, s.time_zone, r.id, r.number, r.kind, r.performed_at, r.sealed_at,
       r.digest
  FROM records_record r JOIN ({_STATIONS}) s ON s.site_id = r.site_id
 WHERE r.contractor_id = %(contractor)s AND r.sealed_at > %(since)s AND r.sealed_at <= %(until)s
 ORDER BY r.sealed_at, r.row
"""  # noqa: S608


def sealed(window: Window) -> Iterator[Document]:
    """Records that were sealed within the time."""
    for row in _rows(_SEALED, window):
        yield {
            "client": str(row["client"]),
            "station": row["station"],
            "record": str(row["id"]),
            "number": row["number"],
            "kind": row["kind"],
            "time_zone": row["time_zone"],
            "performed_at": instant(row["performed_at"]),
            "sealed_at": instant(row["sealed_at"]),
            "digest": bytes(row["digest"]).hex(),
        }


_INTERVALS = """
SELECT i.client_id AS client, i.task, i.station_kind, i.tag, i.months, told.*
  FROM records_intervalsetting i
 CROSS JOIN LATERAL (VALUES ('set', i.set_at, i.set_by_name, i.reason),
                            ('ended', i.ended_at, i.ended_by_name, ''))
       AS told (what, at, by, reason)
 WHERE i.contractor_id = %(contractor)s
   AND (%(client)s::uuid IS NULL OR i.client_id = %(client)s)
   AND told.at > %(since)s AND told.at <= %(until)s
 ORDER BY told.at, i.row
"""


def intervals(window: Window) -> Iterator[Document]:
    """Intervals that were set or ended within the time."""
    for row in _rows(_INTERVALS, window):
        yield {
            "client": str(row["client"]),
            "task": row["task"],
            "title": BY_ID[row["task"]].title,
            "station_kind": row["station_kind"],
            "tag": row["tag"] or None,
            "what": row["what"],
            "months": row["months"],
            "at": instant(row["at"]),
            "by": row["by"],
            "reason": row["reason"] or None,
        }


_PIECES = f"""
SELECT s.station, s.client, p.kind, p.tag, p.serial, came.what, came.day
  FROM ({_STATIONS}) s
  JOIN records_piecestanding p ON p.site_id = s.site_id AND p.contractor_id = %(contractor)s
   AND p.known_from <= %(until)s AND (p.known_until IS NULL OR p.known_until > %(until)s)
 CROSS JOIN LATERAL (VALUES ('in service', p.in_service_from),
                            ('out of service', p.out_of_service_on)) AS came (what, day)
 WHERE came.day BETWEEN %(first)s AND %(last)s
 ORDER BY came.day, {natural.in_order("s.station")}, p.kind, {natural.in_order("p.tag")}, p.row
"""  # noqa: S608


def pieces(window: Window) -> Iterator[Document]:
    """What went into service, and out of it, on one of the days."""
    for row in _rows(_PIECES, window):
        yield {
            "client": str(row["client"]),
            "station": row["station"],
            "kind": row["kind"],
            "tag": row["tag"],
            "serial": row["serial"] or None,
            "what": row["what"],
            "on": str(row["day"]),
        }


def _of_a_task(row: Mapping[str, Any]) -> Document:
    return {
        "client": str(row["client"]),
        "station": row["station"],
        "tag": row["tag"],
        "task": row["task"],
        "title": BY_ID[row["task"]].title,
    }


def _rows(statement: str, window: Window) -> Iterator[Mapping[str, Any]]:
    with connection.chunked_cursor() as cursor:
        cursor.itersize = _AT_ONCE  # type: ignore[attr-defined]
        cursor.execute(statement, window.given())
        heads = None
        for row in cursor:
            heads = heads or [column[0] for column in cursor.description]
            yield dict(zip(heads, row, strict=True))
