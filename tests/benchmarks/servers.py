"""The embedded PostgreSQL, and over it the service and the generic build, as the demo runs them."""

import json
import os
import re
import secrets
import socket
import subprocess
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import django
import psycopg
from joserfc.jwk import OKPKey

from deploy.children import start_child, stop_child
from deploy.embedded_postgres import SUPERUSER, EmbeddedPostgres
from deploy.keys import DOCUMENT_KEY, MFA_KEY, SECRET_KEY, SIGNING_KEY, make_missing_keys
from deploy.processes import PYTHON, web
from deploy.roles import DATABASE, prepare_server
from records import roles
from tests.benchmarks.clients import PATIENCE
from tests.faults.test_embedded_postgres import descendants

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
django.setup()

from tests.records import cast as casting  # noqa: E402  # Django has to be set up first
from tests.records import stations  # noqa: E402
from tests.records.cast import Cast, Person  # noqa: E402
from tests.records.client import Answer, Api  # noqa: E402
from tests.records.stations import Station  # noqa: E402

PROJECT = Path(__file__).resolve().parents[2]
DATA = PROJECT / ".data" / "benchmarks"  # on a real disk, where /tmp may be memory
HOST = "127.0.0.1"
GENERIC = "tests.benchmarks.generic"
GENERIC_DATABASE = "generic"
JSON = {"Content-Type": "application/json"}
STATIONS = 10  # that a client visits in turn: nobody leaves hundreds of drafts at one
WORKERS, THREADS = 2, 4  # of each web server, as in the demo


@dataclass(frozen=True)
class Book:
    """The running service, with people and each client's stations in its book."""

    address: str
    cast: Cast
    stations: list[list[Station]]
    dsn: str  # as web and worker log in


@dataclass(frozen=True)
class Generic:
    """The running generic build, how to post to it, and its database."""

    address: str
    headers: dict[str, str]
    dsn: str


class RemoteApi(Api):
    """The API as one person, over a socket."""

    def __init__(self, address: str, person: Person) -> None:
        super().__init__(person)
        self.address = address

    def call(
        self, method: str, path: str, body: Any = None, *, media: str = "", **headers: str
    ) -> Answer:
        """One request."""
        sent = bearer(self.person) | {name.replace("_", "-"): v for name, v in headers.items()}
        content = None if body is None else json.dumps(body)
        with closing(HTTPConnection(self.address, timeout=PATIENCE)) as connection:
            connection.request(method, self.base + path, content, sent)
            answer = connection.getresponse()
            told = {"status_code": answer.status, "headers": answer.headers}
            return Answer(SimpleNamespace(**told, content=answer.read()))


def bearer(person: Person) -> dict[str, str]:
    """The headers of somebody's requests."""
    return {"Authorization": f"Bearer {person.secret}", **JSON}


@contextmanager
def postgres() -> Iterator[EmbeddedPostgres]:
    """A database of its own that writes everything down, gone afterwards."""
    DATA.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory(prefix="run-", dir=DATA) as folder,
        EmbeddedPostgres(Path(folder) / "postgres", durable=True) as running,
    ):
        yield running


@contextmanager
def service(
    running: EmbeddedPostgres, clients: int, *, stations_of_each: int = STATIONS
) -> Iterator[Book]:
    """The service as the demo starts it, with stations in its book for every client."""
    prepare_server(running.dsn())
    own = environment(running)
    owner = running.url(user=roles.OWNER, database=DATABASE)
    run(["manage.py", "migrate", "--database=owner", "--verbosity=0"],
         own | {"OWNER_DATABASE_URL": owner})  # fmt: skip
    people = casting.make()
    key = OKPKey.import_key(Path(own["SIGNING_KEY_FILE"]).read_bytes())
    with psycopg.connect(running.dsn(user=roles.OWNER, database=DATABASE)) as connection:
        casting.engage(connection, people, key)
    with serving("deploy.wsgi", own, running) as address:
        office = RemoteApi(address, people.orla)
        known = [
            [
                stations.register(office, people.client, code=f"B-{client:02}-{number}")
                for number in range(stations_of_each)
            ]
            for client in range(clients)
        ]
        yield Book(address, people, known, running.dsn(user=roles.LOGIN, database=DATABASE))


@contextmanager
def generic(running: EmbeddedPostgres) -> Iterator[Generic]:
    """The generic build under the same web server, in a database beside the service's."""
    with psycopg.connect(running.dsn(), autocommit=True) as admin:
        admin.execute(f"CREATE DATABASE {GENERIC_DATABASE}")
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": f"{GENERIC}.settings",
        "DATABASE_URL": running.url(user=SUPERUSER, database=GENERIC_DATABASE),
        "SECRET_KEY": secrets.token_urlsafe(48),
    }
    token = run(["-m", f"{GENERIC}.prepare"], environment).strip()
    with serving(f"{GENERIC}.wsgi", environment, running) as address:
        headers = {"Authorization": f"Token {token}", **JSON}
        yield Generic(address, headers, running.dsn(database=GENERIC_DATABASE))


def most_memory() -> float:
    """The most that a process of the web server has had in memory so far [MB]."""
    found = [0]
    for pid in descendants(os.getpid()):
        with suppress(FileNotFoundError):  # one that ends at this moment
            if b"gunicorn" in Path(f"/proc/{pid}/cmdline").read_bytes():
                status = Path(f"/proc/{pid}/status").read_text()
                found += [int(each) for each in re.findall(r"VmHWM:\s+(\d+) kB", status)]
    return max(found) / 1024


def environment(running: EmbeddedPostgres) -> dict[str, str]:
    """What the service needs to run over that database."""
    return environment_of(running, running.data.parent)


def environment_of(running: EmbeddedPostgres, folder: Path) -> dict[str, str]:
    """The same, with keys and files in a folder of their own."""
    make_missing_keys(folder)
    return {
        **os.environ,
        "DATABASE_URL": running.url(user=roles.LOGIN, database=DATABASE),
        "QUEUE_URL": running.url(user=roles.QUEUE, database=DATABASE),
        "SECRET_KEY_FILE": str(folder / SECRET_KEY),
        "SIGNING_KEY_FILE": str(folder / SIGNING_KEY),
        "DOCUMENT_KEY_FILE": str(folder / DOCUMENT_KEY),
        "MFA_KEY_FILE": str(folder / MFA_KEY),
        "FILES_ROOT": str(folder / "files"),
        "ALLOWED_HOSTS": HOST,
        "PLAIN_HTTP": "1",
        "DEBUG": "0",
    }


def run(words: list[str], environment: Mapping[str, str]) -> str:
    """Run a program that prepares something, and answer what it printed."""
    ran = subprocess.run(
        [PYTHON, *words], cwd=PROJECT, env=environment, capture_output=True, text=True, check=False
    )
    if ran.returncode != 0:
        raise RuntimeError(f"{' '.join(words)} failed.\n{ran.stdout}{ran.stderr}")
    return ran.stdout


@contextmanager
def serving(
    application: str, environment: Mapping[str, str], running: EmbeddedPostgres
) -> Iterator[str]:
    """Serve an application as the demo serves the service's, at a free port of loopback."""
    with socket.create_server((HOST, 0), backlog=128) as listener:
        command = web(f"fd://{listener.fileno()}", workers=WORKERS, threads=THREADS)
        address = f"{HOST}:{listener.getsockname()[1]}"
        with (running.data.parent / f"{application}.log").open("wb") as log:
            server = start_child(
                [application if word == "deploy.wsgi" else word for word in command],
                cwd=PROJECT,
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                pass_fds=[listener.fileno()],
            )
    try:
        yield address
    finally:
        stop_child(server, patience=15)
