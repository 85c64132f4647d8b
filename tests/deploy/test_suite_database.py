"""The suite's own databases do what tests/conftest.py promises."""

import subprocess
import sys

import pytest
from django.db import connection

from records import roles
from tests import database

INSERT_SESSION = "INSERT INTO django_session VALUES ('a key', 'data', '2026-01-01T00:00Z')"


def _query(sql: str) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall()


@pytest.mark.django_db
def test_the_suite_is_the_log_in_role_and_owns_nothing():
    assert _query("SELECT session_user, current_user") == [(roles.LOGIN, roles.LOGIN)]
    assert (
        _query("SELECT relname FROM pg_class WHERE pg_get_userbyid(relowner) = session_user") == []
    )


@pytest.mark.django_db
def test_the_log_in_role_may_not_truncate():
    with pytest.raises(Exception, match="permission denied"):
        _query("TRUNCATE django_session")


def test_the_owner_commits_and_the_cleaner_deletes(as_owner, database_name):
    cleaner = database.Cleaner(database_name)
    as_owner.execute(INSERT_SESSION)
    assert as_owner.execute("SELECT count(*) FROM django_session").fetchone() == (1,)

    cleaner.clear()

    assert as_owner.execute("SELECT count(*) FROM django_session").fetchone() == (0,)


def test_the_cleaner_keeps_what_migrations_put_there(as_owner, database_name):
    before = as_owner.execute("SELECT count(*) FROM django_migrations").fetchone()
    database.Cleaner(database_name).clear()
    assert as_owner.execute("SELECT count(*) FROM django_migrations").fetchone() == before
    assert before > (0,)


@pytest.mark.parametrize("attempt", [1, 2])
def test_committed_rows_are_gone_in_the_next_test(transactional_db, as_owner, attempt):
    assert as_owner.execute("SELECT count(*) FROM django_session").fetchone() == (0,)
    as_owner.execute(INSERT_SESSION)


def test_a_process_of_the_service_can_use_the_database(db, service_environment):
    code = (
        "import django; django.setup(); from django.db import connection as c;"
        "c.ensure_connection(); print(c.settings_dict['NAME'], c.connection.info.user)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code],
        env={**service_environment, "DJANGO_SETTINGS_MODULE": "deploy.settings"},
        cwd=database.PROJECT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout.split() == [connection.settings_dict["NAME"], roles.LOGIN]
