"""The audit is read as fast when it is long."""

import os
from datetime import UTC, datetime, timedelta

import psycopg
import pytest
from psycopg.conninfo import make_conninfo

from records import cursors, permissions, roles
from records.models import AuditEntry
from records.selectors import audit
from tests import database

ENTRIES = 20_000
_MANY = """
INSERT INTO records_auditentry (id, at, contractor_id, person_name, role, action, kind, subject,
                                name, reason)
SELECT gen_random_uuid(), now() - number * interval '1 hour', %s, 'Orla', 'office', 'token made',
       'token', gen_random_uuid(), 'archive', ''
  FROM generate_series(%s, 1, -1) AS number
"""


@pytest.fixture
def long_audit(cast, database_name):
    """A connection inside the office's wall, with an audit of years that is rolled back."""
    admin = make_conninfo(os.environ[database.ADMIN], dbname=database_name)
    with psycopg.connect(admin) as connection:
        connection.execute(_MANY, [cast.orla.organization, ENTRIES])
        connection.execute("ANALYZE records_auditentry")
        connection.execute(
            "SELECT set_config('role', %s, true), set_config('app.org', %s, true)",
            [roles.OFFICE, str(cast.orla.organization)],
        )
        yield connection
        connection.rollback()


def actor_of(office):
    return permissions.Actor(
        office.id, "", office.organization, "", office.role, frozenset({"manage"})
    )


def days_ago(number):
    return (datetime.now(UTC) - timedelta(days=number)).date()


@pytest.mark.django_db
@pytest.mark.parametrize(("since", "until", "found"), [
    (500, 500, 24), (530, 500, 51), (None, 500, 51), (500, None, 51), (None, 820, 51),
], ids=["day", "month", "until", "since", "first"])  # fmt: skip
def test_days_of_a_long_audit_are_read_in_an_index_behind_the_wall(
    cast, long_audit, since, until, found
):
    """No more of it than is shown: neither what came later nor the rest of those days."""
    days = {"since": since, "until": until}
    wanted = {name: days_ago(shift) for name, shift in days.items() if shift is not None}
    assert audit.is_by_time(wanted)
    asked = audit.latest_first(audit.rows(actor_of(cast.orla), **wanted), None)[:51]
    text, values = asked.query.sql_with_params()
    [(plan,)] = long_audit.execute(f"EXPLAIN (ANALYZE, FORMAT JSON) {text}", values).fetchall()
    [read] = [each for each in parts(plan[0]["Plan"]) if each.get("Alias") == TABLE]
    assert read["Index Name"] == "audit_by_time"
    assert read["Actual Rows"] <= 120
    assert "Filter" not in read
    assert len(long_audit.execute(text, values).fetchall()) == found


TABLE = AuditEntry._meta.db_table


def parts(plan):
    yield plan
    for each in plan.get("Plans", ()):
        yield from parts(each)


@pytest.mark.django_db
def test_by_time_each_entry_is_read_once_whatever_their_numbers(cast, long_audit):
    """Several of one time, and older ones that were written later, as those of a book that came."""
    actor, since = actor_of(cast.orla), days_ago(8)
    long_audit.execute("RESET ROLE")
    long_audit.execute(
        "INSERT INTO records_auditentry (id, at, contractor_id, person_name, role, action, kind,"
        " subject, name, reason) SELECT gen_random_uuid(), at, contractor_id, person_name, role,"
        " action, kind, subject, name, reason FROM records_auditentry WHERE at >= %s", [since],
    )  # fmt: skip
    rows = "SELECT at, row FROM records_auditentry WHERE at >= %s ORDER BY at DESC, row DESC"
    expected, walked, after = long_audit.execute(rows, [since]).fetchall(), [], None
    while True:
        part = audit.latest_first(audit.rows(actor, since=since), after).values_list("at", "row")
        found = long_audit.execute(*part[:7].query.sql_with_params()).fetchall()
        if not found:
            break
        walked += found
        after = cursors.read_at(cursors.written_at(*found[-1], "list"), "list")
    assert walked == expected
    assert len(walked) > 300


@pytest.mark.parametrize("wanted", [(), ("site",), ("person", "since"), ("subject", "until")])
def test_of_one_thing_entries_go_by_their_number(wanted):
    assert not audit.is_by_time(wanted)
