"""The one row per site that the stations page reads, kept in the transactions that change it."""

from django.db import connections

# Counted by a statement of its own once the row is held: one that had to wait for the row would
# count what it saw before it waited, without what another has added meanwhile.
_HOLD = "SELECT FROM records_sitesummary WHERE site_id = %(site)s FOR UPDATE"

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


def refresh(site: int, using: str = "default") -> None:
    """Count again what is open at a site, of the contractor's that looks after it."""
    with connections[using].cursor() as cursor:
        for statement in (_HOLD, _REFRESH):
            cursor.execute(statement, {"site": site})
