"""Keeps the dates of each site's due items in its summary: what the stations page counts from.

They follow from the statement of due items, and hold until something is marked or a day comes that
the register names. Any process may die here, and the next look finds the same to do.
"""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db import connection, transaction
from django.utils import timezone

from records import permissions
from records.selectors import due_dates
from records.selectors.board_sql import array

AT_ONCE = 100
_LATEST = timedelta(hours=12)  # where a day begins last
_LOCK = 7_202_611  # one at a time: an older look would write over a newer one

_MARKED = """
SELECT site_id FROM records_duemark
 UNION
SELECT site_id FROM records_sitesummary WHERE due_dates IS NULL
 UNION
SELECT site_id FROM records_sitesummary WHERE due_changes_on <= %(day)s
"""
_OLDER = "SELECT site_id FROM records_sitesummary WHERE due_edition <> %(edition)s"
_SITES = """
SELECT row, contractor_id, client_id, time_zone,
       EXISTS (SELECT FROM records_performedtask x
                WHERE x.site_id = s.row AND x.contractor_id <> s.contractor_id)
       OR EXISTS (SELECT FROM records_piecestanding p
                   WHERE p.site_id = s.row AND p.contractor_id <> s.contractor_id)
  FROM records_site s WHERE row = ANY (%(sites)s)
"""
_CHANGES = """
SELECT here.site_id, min(named.day)
  FROM unnest(%(sites)s::bigint[], %(todays)s::date[]) AS here (site_id, today)
 CROSS JOIN LATERAL (
       SELECT unnest(ARRAY[p.in_service_from, p.out_of_service_on]) AS day
         FROM records_piecestanding p WHERE p.site_id = here.site_id AND p.known_until IS NULL
        UNION ALL SELECT a.from_day FROM records_appointment a WHERE a.site_id = here.site_id
        UNION ALL SELECT x.performed_on FROM records_performedtask x
                   WHERE x.site_id = here.site_id AND x.performed_on > here.today) named
 WHERE named.day > here.today GROUP BY here.site_id
"""
# In the order in which everybody holds counts: an UPDATE of many takes them as it finds them.
_HOLD = """
SELECT FROM records_sitesummary WHERE site_id = ANY (%(sites)s) ORDER BY site_id FOR NO KEY UPDATE
"""
_KEEP = """
UPDATE records_sitesummary m
   SET due_dates = kept.dates::date[], client_due_dates = kept.client_dates::date[],
       due_changes_on = kept.changes_on, due_edition = %(edition)s
  FROM unnest(%(sites)s::bigint[], %(dates)s::text[], %(client_dates)s::text[],
              %(changes)s::date[]) AS kept (site_id, dates, client_dates, changes_on)
 WHERE m.site_id = kept.site_id
"""


def keep_waiting(*, older: bool = False, limit: int = AT_ONCE) -> int:
    """Make anew the dates of sites where they hold no more; returns of how many.

    `older` looks besides for what an earlier release kept: it reads every summary.
    """
    with transaction.atomic(), connection.cursor() as cursor:
        permissions.enter_as_worker()
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [_LOCK])
        if not cursor.fetchone()[0]:
            return 0
        statement = f"{_MARKED} UNION {_OLDER}" if older else _MARKED
        day = (timezone.now() - _LATEST).date()
        cursor.execute(
            f"{statement} LIMIT {int(limit)}", {"day": day, "edition": due_dates.edition()}
        )
        sites = sorted(site for (site,) in cursor)
        if sites:
            _keep(cursor, sites)
        return len(sites)


def _keep(cursor: Any, sites: list[int]) -> None:
    """Marks are seen first: whoever adds one later is not in what is read after it."""
    cursor.execute("SELECT row FROM records_duemark WHERE site_id = ANY (%s)", [sites])
    seen = [row for (row,) in cursor]
    cursor.execute(_SITES, {"sites": sites})
    rows = cursor.fetchall()
    now = timezone.now()
    days = due_dates.days((zone for *_, zone, _ in rows), now)
    today = dict(zip(days["zones"], days["days"], strict=True))
    dates = _dates(days, ((contractor, "contractor_id", row) for row, contractor, *_ in rows))
    others = [(client, "client_id", row) for row, _, client, _, other in rows if other]
    client_dates = dates | _dates(days, others)
    todays = {row: today[zone] for row, *_, zone, _ in rows}
    cursor.execute(_CHANGES, {"sites": list(todays), "todays": list(todays.values())})
    changes: dict[int, date] = dict(cursor.fetchall())
    kept = {
        "sites": list(todays),
        "dates": [array(dates[site]) for site in todays],
        "client_dates": [array(client_dates[site]) for site in todays],
        "changes": [changes.get(site) for site in todays],
        "edition": due_dates.edition(),
    }
    cursor.execute(_HOLD, kept)
    cursor.execute(_KEEP, kept)
    cursor.execute("DELETE FROM records_duemark WHERE row = ANY (%s)", [seen])


def _dates(days: due_dates.Days, wanted: Iterable[tuple[UUID, str, int]]) -> dict[int, list[date]]:
    """By site; of each organization at once."""
    sites: dict[tuple[UUID, str], list[int]] = {}
    for organization, party, site in wanted:
        sites.setdefault((organization, party), []).append(site)
    found: dict[int, list[date]] = {}
    for (organization, party), rows in sites.items():
        found |= due_dates.of_sites(organization, party, rows, days)
    return found
