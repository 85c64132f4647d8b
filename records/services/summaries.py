"""The one row per site that the stations page reads, kept in the transactions that change it."""

from django.db import connections

# A finding of a draft is open until an accepted answer to the same comparison exists.
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
       AND NOT EXISTS (
             SELECT FROM records_answer a
              WHERE a.finding_id = f.row AND a.accepted
                AND a.compared_digest = f.compared_digest)
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


def refresh(site: int, using: str = "default") -> None:
    """Count again what is open at a site, of the contractor's that looks after it."""
    with connections[using].cursor() as cursor:
        cursor.execute(_REFRESH, {"site": site})
