"""Fixtures of the whole suite; tests/database.py says how its databases come about.

- `db`: every row is rolled back after the test.
- `transactional_db`: rows are committed, and deleted after the test.
- `as_owner`: besides, a connection of the tables' owner, committing at once.
- `service_environment`: what a process of the service needs to run against this database.
"""

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import dj_database_url
import psycopg
import pytest
from django.conf import settings
from django.db import connection
from django.test import TransactionTestCase
from hypothesis import HealthCheck
from hypothesis import settings as examples
from pytest_django import DjangoDbBlocker

from deploy.keys import DOCUMENT_KEY, MFA_KEY, SIGNING_KEY, make_missing_keys
from records import roles
from tests import database

# The same examples each time, however busy the machine is; `--hypothesis-profile=any` draws others.
examples.register_profile("any", deadline=None, suppress_health_check=[HealthCheck.too_slow])
examples.register_profile("same", examples.get_profile("any"), derandomize=True)
examples.load_profile("same")

WITHOUT_DATABASE = tuple(Path(__file__).parent / name for name in ("calculations", "fault_bench"))


def pytest_configure(config: pytest.Config) -> None:
    """Start the server in the controller, unless nothing asked for can need one."""
    if hasattr(config, "workerinput") or config.option.collectonly or _only_calculations(config):
        return
    server = ExitStack()
    config.add_cleanup(server.close)
    server.enter_context(database.server())


def _only_calculations(config: pytest.Config) -> bool:
    paths = [(config.invocation_params.dir / arg.split("::")[0]).resolve() for arg in config.args]
    return all(any(path.is_relative_to(each) for each in WITHOUT_DATABASE) for path in paths)


@pytest.fixture(scope="session")
def database_name(worker_id: str) -> Iterator[str]:
    """This worker's own copy of the migrated template."""
    name = f"{database.template()}_{worker_id}"
    database.copy_template(name)
    yield name
    database.drop(name)


@pytest.fixture(scope="session")
def django_db_setup(database_name: str, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Point Django at this worker's copy, as the log-in role, in place of pytest-django's own."""
    login = dj_database_url.parse(database.url(roles.LOGIN, database_name))
    settings.DATABASES["default"].update({"OPTIONS": {}, **login})
    cleaner = database.Cleaner(database_name)
    with django_db_blocker.unblock(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lambda _: cleaner.clear())
        assert _session_user() == roles.LOGIN
        yield
        connection.close()


def _session_user() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT session_user")
        return str(cursor.fetchone()[0])


@pytest.fixture
def as_owner(transactional_db: None, database_name: str) -> Iterator[psycopg.Connection]:
    """A connection of the tables' owner; what it commits is deleted after the test."""
    with psycopg.connect(database.dsn(roles.OWNER, database_name), autocommit=True) as owner:
        yield owner


@pytest.fixture
def service_environment(database_name: str, tmp_path: Path) -> dict[str, str]:
    """Variables with which a web process, a worker or a command serves this database."""
    return service_variables(database_name, tmp_path)


def service_variables(database_name: str, tmp_path: Path) -> dict[str, str]:
    """The same for whoever has a folder of another scope."""
    make_missing_keys(tmp_path)
    return {
        "DATABASE_URL": database.url(roles.LOGIN, database_name),
        "QUEUE_URL": database.url(roles.QUEUE, database_name),
        "SECRET_KEY": "of-the-tests-only-" + "x" * 32,
        "SIGNING_KEY_FILE": str(tmp_path / SIGNING_KEY),
        "DOCUMENT_KEY_FILE": str(tmp_path / DOCUMENT_KEY),
        "MFA_KEY_FILE": str(tmp_path / MFA_KEY),
        "FILES_ROOT": str(tmp_path / "files"),
        "ALLOWED_HOSTS": "127.0.0.1",
        "PLAIN_HTTP": "1",
    }
