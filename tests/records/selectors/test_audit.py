"""The audit is read as fast when it is long."""

import os
from datetime import UTC, datetime, timedelta

import psycopg
import pytest
from psycopg.conninfo import make_conninfo

from records import permissions, roles
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


@pytest.mark.django_db
def test_a_day_of_a_long_audit_is_found_in_an_index_behind_the_wall(cast, long_audit):
    office = cast.orla
    actor = permissions.Actor(
        office.id, "", office.organization, "", office.role, frozenset({"manage"})
    )
    day = (datetime.now(UTC) - timedelta(days=500)).date()
    asked = audit.rows(actor, since=day, until=day).order_by("-row")[:51]
    text, values = asked.query.sql_with_params()
    plan = "\n".join(line for (line,) in long_audit.execute(f"EXPLAIN {text}", values))
    assert f"on {AuditEntry._meta.db_table}" in plan
    assert "audit_by_time" in plan, plan
    assert len(long_audit.execute(text, values).fetchall()) == 24
