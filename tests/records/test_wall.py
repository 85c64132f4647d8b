"""The second wall: the database's catalogue is what `records.wall` declares, no more, no less.

Each policy and each grant is taken away once, and added to once: the comparison notices.
"""

from concurrent.futures import ThreadPoolExecutor as Threads

import psycopg
import pytest
from django.db import connection

from records import roles, wall
from tests import database
from tests.records import catalogue
from tests.records.catalogue import GRANTS, POLICIES, declared_grants, differences

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def owner(django_db_setup, database_name):
    """The tables' owner; whatever it does is rolled back."""
    with psycopg.connect(database.dsn(roles.OWNER, database_name)) as made:
        yield made


@pytest.fixture
def breached(owner):
    """What differs after the owner has run a statement."""

    def run(statement):
        try:
            # Autovacuum that has a table waits for changed grants, and building for that table.
            owner.execute(f"LOCK TABLE {', '.join(wall.GUARDS)}")
            owner.execute(statement)
            return differences(owner)
        finally:
            owner.rollback()

    return run


def rows(statement):
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchall()


def test_the_catalogue_is_what_is_declared(owner):
    assert differences(owner) == []


def test_every_policy_is_for_all_commands_and_permits_only_its_rows():
    for table, name, role, command, permissive, using, check in rows(POLICIES):
        assert (name, command, permissive) == (wall.policy_name(table, role), "ALL", "PERMISSIVE")
        assert using == check or role in wall.GUARDS[table].checks
        everywhere = role == roles.WORKER or (table, role) == ("records_user", roles.LOGIN)
        assert ("app_org()" in check and "app_org()" in using) or everywhere


def test_the_client_has_no_privilege_on_work():
    work = {"event", "finding", "answer", "signature", "attachment", "trace", "enrolment"}
    granted = {table for table, role, *_ in rows(GRANTS) if role == roles.CLIENT}
    assert not granted & {f"records_{name}" for name in work}


def test_a_client_adds_to_its_own_audit_and_reads_none():
    granted = {p for table, role, p, _ in rows(GRANTS)
               if (table, role) == ("records_auditentry", roles.CLIENT)}  # fmt: skip
    assert granted == {"INSERT"}
    [words] = [check for table, _, role, _, _, _, check in rows(POLICIES)
               if (table, role) == ("records_auditentry", roles.CLIENT)]  # fmt: skip
    assert words == "(contractor_id = app_org())"


def test_what_lets_people_in_is_the_log_in_roles_alone():
    """Passwords, second factors, sessions: no role that a request takes sees any of it."""
    sign_in = {"mfa_authenticator", "django_session", "account_emailaddress",
               "account_emailconfirmation"}  # fmt: skip
    for table, role, _, column in rows(GRANTS):
        if table in sign_in or (table, column) == ("records_user", "password"):
            assert role == roles.LOGIN, (table, role)
        if table == "records_user" and role != roles.LOGIN:
            assert column is not None  # never the whole row
        if table == "records_guess":
            assert role in (roles.LOGIN, roles.WORKER)


def test_the_suite_is_the_log_in_role_and_owns_nothing():
    [(user, superuser, bypass)] = rows(
        "SELECT rolname, rolsuper, rolbypassrls FROM pg_roles WHERE rolname = current_user"
    )
    assert (user, superuser, bypass) == (roles.LOGIN, False, False)
    assert rows(f"SELECT relname FROM pg_class WHERE relowner = '{roles.LOGIN}'::regrole") == []


# -- one breach at a time -------------------------------------------------------------------------

DECLARED = [(table, role) for table, guard in wall.GUARDS.items() for role in guard.policies]
GRANTED = sorted(declared_grants(), key=str)
EVERYBODY = ("PUBLIC", roles.LOGIN, *roles.ASSUMED)


@pytest.mark.parametrize(("table", "role"), DECLARED)
def test_a_policy_that_is_dropped_is_missed(breached, table, role):
    name = wall.policy_name(table, role)
    assert breached(f"DROP POLICY {name} ON {table}")


@pytest.mark.parametrize(("table", "role"), DECLARED)
@pytest.mark.parametrize("rows", ["true OR app_org() IS NULL", "app_org() IS NOT NULL"])
def test_a_policy_with_other_words_is_noticed(breached, table, role, rows):
    name = wall.policy_name(table, role)
    for side in ("USING", "WITH CHECK"):
        assert breached(f"ALTER POLICY {name} ON {table} {side} ({rows})")


@pytest.mark.parametrize(("table", "role"), DECLARED)
def test_a_policy_for_another_role_is_noticed(breached, table, role):
    name = wall.policy_name(table, role)
    assert breached(f"ALTER POLICY {name} ON {table} TO PUBLIC")


@pytest.mark.parametrize("table", sorted({table for table, _ in DECLARED}))
def test_one_more_policy_or_none_at_all_is_noticed(breached, table):
    assert breached(f"CREATE POLICY besides ON {table} TO {roles.OFFICE} USING (true)")
    assert breached(f"ALTER TABLE {table} DISABLE ROW LEVEL SECURITY")


@pytest.mark.parametrize(("table", "role", "privilege", "column"), GRANTED)
def test_a_grant_that_is_taken_away_is_missed(breached, table, role, privilege, column):
    what = f"{privilege} ({column})" if column else privilege
    assert breached(f"REVOKE {what} ON {table} FROM {role}")


@pytest.mark.parametrize("table", wall.GUARDS)
def test_a_grant_too_many_is_noticed(breached, table):
    for role in EVERYBODY:
        for privilege in ("SELECT", "INSERT", "UPDATE", "DELETE", "TRUNCATE", "REFERENCES"):
            if (table, role, privilege, None) not in GRANTED:
                assert breached(f"GRANT {privilege} ON {table} TO {role}"), (role, privilege)


@pytest.mark.parametrize("function", wall.FUNCTIONS)
def test_whoever_may_call_a_function_is_declared(breached, function):
    for role in EVERYBODY:
        if role in wall.FUNCTIONS[function]:
            assert breached(f"REVOKE EXECUTE ON FUNCTION {function} FROM {role}")
        else:
            assert breached(f"GRANT EXECUTE ON FUNCTION {function} TO {role}")


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TABLE records_besides (id int)",
        "CREATE VIEW records_seen AS SELECT * FROM records_site",
        "CREATE FUNCTION besides() RETURNS int LANGUAGE sql AS 'SELECT 1'",
        "ALTER FUNCTION find_token(bytea) RESET search_path",
        f"GRANT USAGE ON SEQUENCE records_auditentry_row_seq TO {roles.OFFICE}",
    ],
)
def test_what_nobody_declared_is_noticed(breached, statement):
    assert breached(statement)


def test_the_wall_is_built_again_over_whatever_was_done(owner):
    try:
        catalogue.open_up(owner)
        owner.execute(f"GRANT ALL ON records_event TO {roles.CLIENT}, {roles.WORKER}")
        assert differences(owner)
        catalogue.build(owner)
        assert differences(owner) == []
    finally:
        owner.rollback()


WAITING_FOR_PUMPS = """
SELECT FROM pg_locks l JOIN pg_database d ON d.oid = l.database
WHERE d.datname = current_database() AND l.relation = 'records_pump'::regclass AND NOT l.granted
"""


def test_building_waits_for_whatever_analyzes_a_table(owner, database_name):
    """Not the one for the other: an upgrade would end with a deadlock."""
    pump = wall.of_table("records_pump", wall.GUARDS["records_pump"])

    def build():
        for statement in pump:
            owner.execute(statement)

    with psycopg.connect(database.dsn(roles.OWNER, database_name)) as other, Threads(1) as threads:
        other.execute("LOCK TABLE records_pump IN SHARE UPDATE EXCLUSIVE MODE")
        built = threads.submit(build)
        try:
            while not rows(WAITING_FOR_PUMPS):
                assert not built.done()
            other.execute("ANALYZE records_pump")
            other.rollback()
            built.result()
        finally:
            other.cancel()
            owner.rollback()
