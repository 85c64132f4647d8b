"""A book with many records: rows made like the one that was sealed as always."""

from collections.abc import Mapping

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
COLUMNS = """
SELECT column_name FROM information_schema.columns
 WHERE table_schema = 'public' AND table_name = %s AND column_name <> 'row'
   AND is_generated = 'NEVER' AND is_identity = 'NO' ORDER BY ordinal_position
"""


def like_the_first(admin: psycopg.Connection, more: int) -> None:
    """Add so many records, with their readings, to a book that holds one.

    Only the server's owner can leave triggers and foreign keys aside: events are not copied.
    """
    admin.execute("SET session_replication_role = replica")
    admin.execute(RECORDS, [more])
    admin.execute(READINGS)


def events_like_the_first(admin: psycopg.Connection, count: int, at_a_station: int) -> None:
    """Until there are so many events, each with what was posted and with nothing that was judged.

    Stations are copied as well, until each has `at_a_station` of them.
    """
    admin.execute("SET session_replication_role = replica")
    _like_the_first(
        admin, "records_site", -(-count // at_a_station),
        {"id": "gen_random_uuid()", "code": "'C-' || n"},
    )  # fmt: skip
    _like_the_first(
        admin, "records_event", count,
        {"id": "gen_random_uuid()", "snapshot": "'{}'", "judgement": "'{}'",
         "site_id": "(SELECT min(row) FROM records_site)"
                    " + n %% (SELECT count(*) FROM records_site)"},
    )  # fmt: skip


def _like_the_first(
    admin: psycopg.Connection, table: str, count: int, other: Mapping[str, str]
) -> None:
    """Rows that are numbered on, until there are so many; what is `other` is an expression of n."""
    columns = [name for (name,) in admin.execute(COLUMNS, [table]).fetchall()]
    made = [other.get(name, f"first.{name}") for name in columns]
    admin.execute(
        f"INSERT INTO {table} ({', '.join(columns)}) SELECT {', '.join(made)}"
        f" FROM (SELECT * FROM {table} ORDER BY row LIMIT 1) AS first,"
        f" generate_series(1, %s - (SELECT count(*) FROM {table})) AS n".encode(),
        [count],
    )
