"""The dates of sites' due items, and which of those that are kept hold still."""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from functools import cache
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.db import connections

from records.documents import shown
from records.selectors import due_sql

# Day and end of the day for each zone, as the statement of due items asks for them.
Days = Mapping[str, list[Any]]

OF_SITES = "AND s.site_id = ANY (%(sites)s)"
PARTIES = ("contractor_id", "client_id")


@cache
def edition() -> str:
    """Names the statement that dates are made by: it changes with it, and with the catalogue."""
    texts = [_statement(party) for party in PARTIES]
    return sha256("".join(texts).encode()).hexdigest()[:16]


def _statement(party: str) -> str:
    return due_sql.statement(party=party, handed=party == "contractor_id", stations=OF_SITES)


def days(zones: Iterable[str], now: datetime) -> Days:
    """Today in each zone, which ends now; in one that is not known here, that of UTC."""
    names = sorted(set(zones))
    return {
        "zones": names,
        "days": [now.astimezone(shown.zone(zone) or UTC).date() for zone in names],
        "cuts": [now] * len(names),
    }


_DATES = """
SELECT site_id, array_agg(due_on ORDER BY due_on) FILTER (WHERE due_on IS NOT NULL)
  FROM ({items}) dated GROUP BY site_id
"""


def of_sites(
    organization: UUID, party: str, sites: list[int], days: Days, using: str = "default"
) -> dict[int, list[date]]:
    """The dates of every due item of each of those sites of an organization, in order."""
    if not sites:
        return {}
    given: dict[str, Any] = {"organization": organization, "sites": sites, **days}
    with connections[using].cursor() as cursor:
        cursor.execute(_DATES.format(items=_statement(party)), given)
        found = {site: dates or [] for site, dates in cursor}
    return {site: found.get(site, []) for site in sites}


def held(dates: str) -> str:
    """Condition on a summary `m` and its day `zone.today`: what is kept of `dates` holds."""
    return f"""
m.{dates} IS NOT NULL AND m.due_edition = %(edition)s
AND (m.due_changes_on IS NULL OR m.due_changes_on > zone.today)
AND NOT EXISTS (SELECT FROM records_duemark d WHERE d.site_id = m.site_id)
"""
