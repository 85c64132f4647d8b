"""A book with many records: rows made like the one that was sealed as always."""

import psycopg

RECORDS = """
INSERT INTO records_record SELECT (jsonb_populate_record(first, jsonb_build_object(
  'row', first.row + n, 'id', gen_random_uuid(), 'number', n + 1,
  'event_id', first.event_id + n, 'previous_digest', first.digest))).*
FROM records_record AS first, generate_series(1, %s) AS n
"""
READINGS = """
INSERT INTO records_recordreadings SELECT (jsonb_populate_record(first, jsonb_build_object(
  'record_id', record.row))).*
FROM records_recordreadings AS first, records_record AS record
WHERE record.row <> first.record_id
"""


def like_the_first(admin: psycopg.Connection, more: int) -> None:
    """Add so many records, with their readings, to a book that holds one.

    Only the server's owner can leave triggers and foreign keys aside: events are not copied.
    """
    admin.execute("SET session_replication_role = replica")
    admin.execute(RECORDS, [more])
    admin.execute(READINGS)
