"""The one row per site that the stations page reads, kept in the transactions that change it."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

from django.db import connections

from records.models import Event, Finding

# Before a station's count the station itself, as every foreign key to it asks: whoever has the
# station (a change of its contractor, or of its code) waits for the count, and would wait for ever
# for one who had the count and then wrote a row of the station's.
_HOLD = """
SELECT FROM (SELECT row FROM records_site WHERE row = %(site)s FOR KEY SHARE) AS site
  JOIN records_sitesummary ON site_id = site.row
   FOR UPDATE OF records_sitesummary
"""

# A finding of a draft is open unless the latest answer to the same comparison accepts it.
_REFRESH = """
WITH event AS (
    SELECT row, state, performed_at FROM records_event
     WHERE site_id = %(site)s AND contractor_id = (
           SELECT contractor_id FROM records_sitesummary WHERE site_id = %(site)s)
), draft AS (
    SELECT row FROM event WHERE state = 'draft'
), open AS (
    SELECT f.severity FROM draft JOIN records_finding f ON f.event_id = draft.row
     WHERE f.present
       AND (SELECT a.accepted FROM records_answer a
             WHERE a.finding_id = f.row AND a.compared_digest = f.compared_digest
             ORDER BY a.row DESC LIMIT 1) IS NOT TRUE
)
UPDATE records_sitesummary
   SET drafts = (SELECT count(*) FROM draft),
       last_event_at = (SELECT max(performed_at) FROM event WHERE state <> 'withdrawn'),
       (open_stop, open_review, open_note) = (
           SELECT count(*) FILTER (WHERE severity = 'stop'),
                  count(*) FILTER (WHERE severity = 'review'),
                  count(*) FILTER (WHERE severity = 'note')
             FROM open)
 WHERE site_id = %(site)s
"""


def hold(site: int, using: str = "default") -> None:
    """Let nobody else count at a site, nor seal there, until the end of the transaction.

    Nothing is held where another looks after the station by then.
    """
    with connections[using].cursor() as cursor:
        cursor.execute(_HOLD, {"site": site})


def refresh(site: int, using: str = "default") -> None:
    """Count again what is open at a site, of the contractor's that looks after it.

    By a statement of its own once the count is held: one that had to wait for it would count what
    it saw before it waited, without what another has added meanwhile.
    """
    hold(site, using)
    with connections[using].cursor() as cursor:
        cursor.execute(_REFRESH, {"site": site})


# A new draft is added to what is counted already: to count its station anew takes longer with every
# draft there. A row that somebody holds is waited for, and added to as it is then; the station is
# held before it, as in `_HOLD`, by the part of the statement that `done` comes from.
_ADDED = """
    UPDATE records_sitesummary
       SET drafts = drafts + 1, last_event_at = greatest(last_event_at, %s),
           open_stop = open_stop + %s, open_review = open_review + %s, open_note = open_note + %s
      FROM {done}
     WHERE records_sitesummary.site_id = {done}.site_id
       AND records_sitesummary.contractor_id = {done}.contractor_id
"""


def addition_beside(done: str) -> str:
    """The UPDATE that counts a new event, in a statement whose part `done` has its row."""
    return _ADDED.format(done=done)


def addition(event: Event, found: Sequence[Finding]) -> list[Any]:
    """The values of that UPDATE. Nobody has answered what was found: all of it is open."""
    counted = Counter(finding.severity for finding in found)
    of_each = [counted[severity] for severity in ("stop", "review", "note")]
    return [event.performed_at, *of_each]
