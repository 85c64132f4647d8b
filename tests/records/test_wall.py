"""The second wall: the database's catalogue is what `records.wall` declares, no more, no less."""

import pytest
from django.db import connection

from records import roles, wall

pytestmark = pytest.mark.django_db

TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = 'public'"
POLICIES = (
    "SELECT tablename, policyname, roles[1], cmd, permissive, qual, with_check"
    " FROM pg_policies WHERE schemaname = 'public'"
)
ENABLED = (
    "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace"
    " AND relkind = 'r' AND relrowsecurity"
)
GRANTS = """
SELECT relname, grantee::regrole::text, privilege_type, NULL
  FROM pg_class, aclexplode(relacl) WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'
   AND grantee <> relowner
UNION ALL
SELECT relname, grantee::regrole::text, privilege_type, attname
  FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid, aclexplode(attacl)
 WHERE relnamespace = 'public'::regnamespace AND grantee <> relowner
"""


def rows(statement):
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchall()


def declared_grants():
    for table, guard in wall.GUARDS.items():
        for role, grants in guard.grants.items():
            depth_of_columns = grants.replace("(", "|").replace(")", "|").split("|")
            words = iter(depth_of_columns)
            for plain in words:
                columns = next(words, "")
                privileges = [p.strip() for p in plain.split(",") if p.strip()]
                on_columns = [privileges.pop()] if columns else []
                yield from ((table, role, p, None) for p in privileges)
                for column in columns.split(","):
                    yield from ((table, role, p, column.strip()) for p in on_columns)


def test_every_table_is_declared():
    assert {name for (name,) in rows(TABLES)} == set(wall.GUARDS)


def test_policies_are_those_declared():
    found = {(table, role) for table, _, role, *_ in rows(POLICIES)}
    declared = {(t, role) for t, guard in wall.GUARDS.items() for role in guard.policies}
    assert found == declared


def test_every_policy_is_for_all_commands_and_permits_only_its_rows():
    for table, name, role, command, permissive, using, check in rows(POLICIES):
        assert (name, command, permissive) == (wall.policy_name(table, role), "ALL", "PERMISSIVE")
        assert using == check
        if role != roles.WORKER:
            assert "app_org()" in using


def test_row_security_is_enabled_where_there_are_policies():
    declared = {table for table, guard in wall.GUARDS.items() if guard.policies}
    assert {name for (name,) in rows(ENABLED)} == declared


def test_grants_are_those_declared():
    assert set(rows(GRANTS)) == set(declared_grants())


def test_the_client_has_no_privilege_on_work():
    work = {"event", "finding", "answer", "signature", "attachment", "trace", "token"}
    granted = {table for table, role, *_ in rows(GRANTS) if role == roles.CLIENT}
    assert not granted & {f"records_{name}" for name in work}


def test_the_suite_is_the_log_in_role_and_owns_nothing():
    [(user, superuser, bypass)] = rows(
        "SELECT rolname, rolsuper, rolbypassrls FROM pg_roles WHERE rolname = current_user"
    )
    assert (user, superuser, bypass) == (roles.LOGIN, False, False)
    assert rows(f"SELECT relname FROM pg_class WHERE relowner = '{roles.LOGIN}'::regrole") == []
