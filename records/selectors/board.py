"""Every station in one line, with totals over all: counted by one statement from kept summaries.

Due dates that are kept no more are worked out here for as many stations as a page has time for;
the others are told to be on their way.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection
from django.utils import timezone

from records import permissions
from records.permissions import Actor
from records.selectors import board_sql, due_dates

Row = dict[str, Any]
AT_ONCE = 200
LIVE = 100
"""Stations whose due dates are worked out while a page waits."""


@dataclass(frozen=True)
class Wanted:
    """Which stations, in which order, from where on; all where nothing is said."""

    text: str = ""
    client: UUID | None = None
    show: str = "all"
    sort: str = "attention"
    area: tuple[float, float, float, float] | None = None
    after: tuple[str, str, int] | None = None
    limit: int | None = AT_ONCE
    now: datetime = field(default_factory=timezone.now)


@dataclass(frozen=True)
class Board:
    """A part of the stations, and what is counted over all of them."""

    rows: list[Row]
    totals: Mapping[str, int]
    matched: int
    waiting: int
    """Stations whose due dates are still being worked out."""
    after: tuple[str, str, int] | None
    """Where the next part begins."""


def board(actor: Actor, wanted: Wanted) -> Board:
    """The stations that the actor's organization is a party to."""
    permissions.require(actor, "register.read")
    party = permissions.party(actor)
    works = permissions.may(actor, "events.read")
    given: dict[str, Any] = {
        "organization": actor.organization_id,
        "edition": due_dates.edition(),
        **due_dates.days(_zones(actor), wanted.now),
    }
    stale = _stale(party, given)
    live = _live(actor, stale[:LIVE], given)
    given |= {"live": list(live), "dates": [board_sql.array(dates) for dates in live.values()]}
    given |= board_sql.given(wanted)
    with connection.cursor() as cursor:
        cursor.execute(board_sql.statement(party, wanted, works=works), given)
        names = [column.name for column in cursor.description]
        found = [dict(zip(names, row, strict=True)) for row in cursor]
    rows = [row for row in found if row["row"] is not None]
    more = wanted.limit is not None and len(rows) > wanted.limit
    rows = rows[: wanted.limit]
    after = (rows[-1]["key"], rows[-1]["code"], rows[-1]["row"]) if more else None
    return Board(rows, found[0]["totals"], found[0]["matched"], len(stale) - len(live), after)


_ZONES = "SELECT DISTINCT time_zone FROM records_site WHERE {party} = %s"
_STALE = """
SELECT m.site_id FROM records_sitesummary m
  JOIN records_site s ON s.row = m.site_id AND s.{party} = %(organization)s
  JOIN unnest(%(zones)s::text[], %(days)s::date[]) AS zone (time_zone, today) USING (time_zone)
 WHERE m.{party} = %(organization)s AND NOT ({held}) ORDER BY m.site_id
"""


def _zones(actor: Actor) -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(_ZONES.format(party=permissions.party(actor)), [actor.organization_id])
        return [zone for (zone,) in cursor]


def _stale(party: str, given: Mapping[str, Any]) -> list[int]:
    held = due_dates.held(board_sql.DATES[party])
    with connection.cursor() as cursor:
        cursor.execute(_STALE.format(party=party, held=held), given)
        return [site for (site,) in cursor]


def _live(actor: Actor, sites: list[int], given: Mapping[str, Any]) -> dict[int, Any]:
    days = {name: given[name] for name in ("zones", "days", "cuts")}
    return due_dates.of_sites(actor.organization_id, permissions.party(actor), sites, days)
