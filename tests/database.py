"""The suite's databases: one server, one migrated template, one copy of it per test worker.

The controller (the process that hands out tests, or the only one) starts a PostgreSQL of its own,
or takes the one whose superuser TEST_DATABASE_ADMIN_URL names. It makes the roles once, since
concurrent changes of roles fail, and migrates the template as the owner. Each worker copies the
template and connects as the log-in role, like the running service.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from urllib.parse import quote, urlencode

import psycopg
from psycopg.conninfo import conninfo_to_dict, make_conninfo
from psycopg.sql import SQL, Identifier

from deploy.embedded_postgres import EmbeddedPostgres
from deploy.roles import make_database, prepare_server
from records import roles

PROJECT = Path(__file__).resolve().parent.parent
ADMIN = "TEST_DATABASE_ADMIN_URL"
PASSWORD = "TEST_DATABASE_PASSWORD"  # of the roles, where that server asks for one
TEMPLATE = "TEST_DATABASE_TEMPLATE"  # the controller tells its workers the name


@contextmanager
def server() -> Iterator[None]:
    """The controller's part; the workers learn of it through the environment."""
    with ExitStack() as stack:
        if not os.environ.get(ADMIN):
            stack.enter_context(_embedded_server())
        os.environ[TEMPLATE] = f"stationbook_test_{os.getpid()}"
        stack.callback(drop, template())
        prepare_server(os.environ[ADMIN], database=template(), passwords=_passwords())
        _migrate(template())
        yield


@contextmanager
def _embedded_server() -> Iterator[None]:
    directory = tempfile.mkdtemp(prefix="stationbook-test-")
    try:
        with EmbeddedPostgres(Path(directory) / "postgres", durable=False) as embedded:
            os.environ[ADMIN] = embedded.dsn()
            yield
    finally:
        os.environ.pop(ADMIN, None)
        shutil.rmtree(directory, ignore_errors=True)


def _passwords() -> dict[str, str]:
    password = os.environ.get(PASSWORD)
    return dict.fromkeys(roles.WITH_PASSWORD, password) if password else {}


def _migrate(database: str) -> None:
    """Run the migrations as a deployment runs them: by the owner, in a process of their own."""
    ran = subprocess.run(
        [sys.executable, PROJECT / "manage.py", "migrate", "--database=owner", "--verbosity=0"],
        env={**os.environ, "OWNER_DATABASE_URL": url(roles.OWNER, database)},
        capture_output=True,
        text=True,
        check=False,
    )
    if ran.returncode != 0:
        raise RuntimeError(f"The test database could not be migrated.\n{ran.stdout}{ran.stderr}")


def dsn(user: str, database: str) -> str:
    """Answer the connection of one of the roles."""
    keys = {**conninfo_to_dict(os.environ[ADMIN]), "user": user, "dbname": database}
    keys["password"] = os.environ.get(PASSWORD)
    return make_conninfo(**{name: value for name, value in keys.items() if value})


def url(user: str, database: str) -> str:
    """Answer the same as a URL, as the settings want it."""
    keys = {name: str(value) for name, value in conninfo_to_dict(dsn(user, database)).items()}
    login = quote(keys.pop("user"), safe="")
    if password := keys.pop("password", ""):
        login += ":" + quote(password, safe="")
    return f"postgresql://{login}@/{quote(keys.pop('dbname'), safe='')}?{urlencode(keys)}"


def template() -> str:
    """Answer the name of the migrated template."""
    return os.environ[TEMPLATE]


def copy_template(name: str) -> None:
    """Make a worker's own database."""
    with psycopg.connect(os.environ[ADMIN], autocommit=True) as admin:
        make_database(admin, name, template=template())


def drop(name: str) -> None:
    """Remove a database, whoever is still connected to it."""
    with psycopg.connect(os.environ[ADMIN], autocommit=True) as admin:
        admin.execute(SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(Identifier(name)))


TABLES = """
SELECT relname FROM pg_class
WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' ORDER BY relname
"""
QUEUES = """
SELECT relname FROM pg_class
WHERE relnamespace = 'pgmq'::regnamespace AND relkind = 'r' AND relname ~ '^q_'
"""


class Cleaner:
    """Empties a database's tables again, but for what the migrations had put there.

    The log-in role may not do that, and the book's own guards refuse even its owner. The
    administrator's session replays as a replica would: triggers and foreign keys stay silent.
    """

    def __init__(self, database: str) -> None:
        self._dsn = make_conninfo(os.environ[ADMIN], dbname=database)
        with psycopg.connect(self._dsn, autocommit=True) as admin:
            tables = [Identifier("public", name) for (name,) in admin.execute(TABLES)]
            self._filled_by_tests = [table for table in tables if _is_empty(admin, table)]

    def clear(self) -> None:
        """Delete every row that tests have committed; waits for no forgotten transaction."""
        with psycopg.connect(self._dsn) as admin:
            admin.execute("SET LOCAL session_replication_role = replica")
            admin.execute("SET LOCAL lock_timeout = '10s'")
            queues = [Identifier("pgmq", name) for (name,) in admin.execute(QUEUES)]
            for table in (*self._filled_by_tests, *queues):
                admin.execute(SQL("DELETE FROM {}").format(table))


def _is_empty(admin: psycopg.Connection, table: Identifier) -> bool:
    return admin.execute(SQL("SELECT FROM {} LIMIT 1").format(table)).fetchone() is None
