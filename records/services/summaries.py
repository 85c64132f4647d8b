"""The one row per site that the stations page reads, kept in the transactions that change it."""

from django.db import connection

# A finding of a draft is open until an accepted answer to the same comparison exists.
_REFRESH = """
UPDATE records_sitesummary AS summary
   SET open_stop = found.stops, open_review = found.reviews, open_note = found.notes,
       drafts = found.drafts, last_event_at = found.last_event_at
  FROM (
    SELECT count(DISTINCT e.row) FILTER (WHERE e.state = 'draft') AS drafts,
           max(e.performed_at) AS last_event_at,
           count(f.row) FILTER (WHERE f.severity = 'stop') AS stops,
           count(f.row) FILTER (WHERE f.severity = 'review') AS reviews,
           count(f.row) FILTER (WHERE f.severity = 'note') AS notes
      FROM records_event e
      LEFT JOIN records_finding f
        ON f.event_id = e.row AND e.state = 'draft' AND f.present
       AND NOT EXISTS (
             SELECT FROM records_answer a
              WHERE a.finding_id = f.row AND a.accepted
                AND a.compared_digest = f.compared_digest)
     WHERE e.site_id = %(site)s
  ) AS found
 WHERE summary.site_id = %(site)s
"""


def refresh(site: int) -> None:
    """Count again what is open at a site."""
    with connection.cursor() as cursor:
        cursor.execute(_REFRESH, {"site": site})
