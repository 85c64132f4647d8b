"""What the prepared roles may and may not do, and that preparing again changes nothing."""

import os

import psycopg
import pytest

from deploy.roles import prepare_server
from records import roles
from tests import database

ROLES = """
SELECT rolname, rolcanlogin, rolinherit, rolsuper, rolcreatedb, rolcreaterole, rolbypassrls
FROM pg_roles WHERE rolname LIKE 'stationbook\\_%' AND rolname NOT LIKE 'stationbook\\_test%'
"""


@pytest.fixture
def connect(db, database_name):
    """Connections as one of the roles, each rolled back and closed."""
    opened = []

    def connect(role: str) -> psycopg.Connection:
        opened.append(psycopg.connect(database.dsn(role, database_name)))
        return opened[-1]

    yield connect
    for connection in opened:
        connection.close()


def refused(connection: psycopg.Connection, sql: str) -> bool:
    """Answer whether the statement is refused for want of a privilege."""
    try:
        with connection.transaction(force_rollback=True):
            connection.execute(sql)
    except psycopg.errors.InsufficientPrivilege:
        return True
    return False


def test_only_backups_have_a_power_and_only_three_more_log_in(connect):
    found = {row[0]: row[1:] for row in connect(roles.LOGIN).execute(ROLES)}
    powers = (False, False, False, False)
    assert found.pop(roles.BACKUP) == (True, True, False, False, False, True)
    assert found == {
        roles.OWNER: (True, True, *powers),
        roles.QUEUE: (True, True, *powers),
        roles.LOGIN: (True, False, *powers),
        roles.OFFICE: (False, True, *powers),
        roles.CLIENT: (False, True, *powers),
        roles.WORKER: (False, True, *powers),
    }


@pytest.mark.parametrize("role", roles.ASSUMED)
def test_the_log_in_role_may_become_each_assumed_role(connect, role):
    assert not refused(connect(roles.LOGIN), f"SET ROLE {role}")


@pytest.mark.parametrize("role", [roles.OWNER, roles.QUEUE, roles.BACKUP, "pg_read_all_data"])
def test_the_log_in_role_may_become_no_other(connect, role):
    assert refused(connect(roles.LOGIN), f"SET ROLE {role}")


@pytest.mark.parametrize("role", [roles.LOGIN, roles.QUEUE])
@pytest.mark.parametrize(
    "sql",
    [
        "CREATE TABLE public.mine (number int)",
        "CREATE TEMPORARY TABLE mine (number int)",
        "CREATE SCHEMA mine",
    ],
)
def test_who_logs_in_makes_nothing(connect, role, sql):
    assert refused(connect(role), sql)


def test_the_owner_makes_tables(connect):
    assert not refused(connect(roles.OWNER), "CREATE TABLE public.mine (number int)")


def test_the_queue_reaches_no_table_of_the_book(connect):
    assert refused(connect(roles.QUEUE), "SELECT FROM public.django_session")


def test_the_queue_has_its_own_tables_and_nobody_else_has_them(connect):
    assert not refused(connect(roles.QUEUE), "SELECT pgmq.create('a_queue')")
    for role in (roles.LOGIN, roles.OWNER):
        assert refused(connect(role), "SELECT FROM pgmq.meta")


def test_backups_read_every_row_and_write_none(connect):
    connection = connect(roles.BACKUP)
    for table in ("records_event", "records_token", "records_auditentry"):
        assert not refused(connection, f"SELECT FROM public.{table}")
    connection.execute("SET TRANSACTION READ WRITE")
    assert refused(connection, "DELETE FROM public.records_event")


def test_preparing_again_changes_nothing(connect, database_name):
    before = set(connect(roles.LOGIN).execute(ROLES))
    prepare_server(os.environ[database.ADMIN], database=database_name)
    assert set(connect(roles.LOGIN).execute(ROLES)) == before
