"""Posts events while processes are killed, and counts what became of what was acknowledged.

    python -m tests.faults.acknowledged --posts 10000 --kills 24 --documents 1000

Each client sends an event under its own id until it is acknowledged, however often what it talks to
is killed meanwhile: a web process, the whole web server, the whole database, a worker that makes
documents which were asked for before. When those are made, too, the book is read: each is counted
where it is done. Only processes that were started here are killed. --careless runs a database that
acknowledges before it has written: then something must be lost, or this could see no loss.
"""

import argparse
import json
import random
import socket
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path

import psycopg
from joserfc.jwk import OKPKey

from deploy.children import start_child, stop_child
from deploy.embedded_postgres import EmbeddedPostgres
from deploy.processes import RELAY, WORKER, web
from deploy.roles import DATABASE, prepare_server
from records import roles
from tests.benchmarks import servers
from tests.benchmarks.servers import HOST, PROJECT, RemoteApi, bearer
from tests.faults import done_once
from tests.faults.test_embedded_postgres import (
    descendants,
    kill_all,
    kill_and_start,
    kill_whole,
)
from tests.records import cast as casting
from tests.records import stations, visits
from tests.records.cast import Cast
from tests.records.stations import Station

CLIENTS, STATIONS = 4, 8
PATIENCE = 120.0  # s that one event may take to be acknowledged
SEED = 1147
MOST_TOLD = 3
KINDS = ("web process", "database", "web server", "worker")
WORKERS = (*WORKER, "--concurrency=1")
COMES_BACK = "8"  # s after which a task of a killed worker is another's


class Installation:
    """A database and a web server that may be killed and started again on what they left."""

    def __init__(self, folder: Path, *, careless: bool = False) -> None:
        self.folder, self.careless = folder, careless
        self.project = PROJECT
        self.database = EmbeddedPostgres(folder / "postgres", durable=not careless)
        self.listener = socket.create_server((HOST, 0), backlog=256)
        self.address = f"{HOST}:{self.listener.getsockname()[1]}"
        self.web: subprocess.Popen[bytes] | None = None
        self.behind: dict[str, subprocess.Popen[bytes]] = {}

    def prepare(self) -> None:
        """Make the book, and serve it."""
        self.database.start()
        if self.careless:  # acknowledged commits wait in memory for so long
            with psycopg.connect(self.database.dsn(), autocommit=True) as admin:
                admin.execute("ALTER SYSTEM SET wal_writer_delay = '10s'")
                admin.execute("SELECT pg_reload_conf()")
        prepare_server(self.database.dsn())
        self.environment = servers.environment(self.database) | {
            "QUEUE_VISIBILITY_SECONDS": COMES_BACK,
        }
        owner = self.database.url(user=roles.OWNER, database=DATABASE)
        servers.run(["manage.py", "migrate", "--database=owner", "--verbosity=0"],
                     self.environment | {"OWNER_DATABASE_URL": owner})  # fmt: skip
        self.start_web()

    def people(self) -> Cast:
        """The cast, and a key."""
        cast = casting.make()
        key = OKPKey.import_key(Path(self.environment["SIGNING_KEY_FILE"]).read_bytes())
        owner = self.database.dsn(user=roles.OWNER, database=DATABASE)
        with psycopg.connect(owner) as connection:
            casting.engage(connection, cast, key)
        return cast

    def start_web(self) -> None:
        door = self.listener.fileno()
        with (self.folder / "web.log").open("ab") as log:
            self.web = start_child(
                web(f"fd://{door}", workers=2, threads=4), cwd=self.project, env=self.environment,
                stdin=subprocess.DEVNULL, stdout=log, stderr=log, pass_fds=[door],
            )  # fmt: skip

    def start_behind(self, name: str) -> None:
        """A worker, or the relay."""
        command = RELAY if name == "relay" else WORKERS
        with (self.folder / "behind.log").open("ab") as log:
            self.behind[name] = start_child(
                command, cwd=PROJECT, env=self.environment, stdin=subprocess.DEVNULL,
                stdout=log, stderr=log,
            )  # fmt: skip

    def kill(self, kind: str, drawn: random.Random) -> None:
        """Kill, without a word before, and start again what does not start itself."""
        if kind == "database":
            kill_and_start(self.database)
            return
        if kind == "worker":
            name = drawn.choice(sorted(self.behind))
            kill_whole(self.behind[name])
            self.start_behind(name)
            return
        assert self.web is not None
        if kind == "web process":
            if children := descendants(self.web.pid):
                kill_all([drawn.choice(children)])
            return
        kill_whole(self.web)
        self.start_web()

    def stop(self) -> None:
        for process in (*self.behind.values(), *filter(None, [self.web])):
            stop_child(process, patience=15)
        self.database.stop()
        self.listener.close()


@dataclass
class Counted:
    """What clients saw."""

    acknowledged: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    """What the first answers said that a client should never get."""
    statuses: Counter[int] = field(default_factory=Counter)
    broken: int = 0
    given_up: int = 0


class Client(threading.Thread):
    """Sends events one after the other, each until it is acknowledged."""

    def __init__(self, address: str, headers: dict[str, str], bodies: Iterator[str]) -> None:
        super().__init__(daemon=True)
        self.address, self.headers, self.bodies = address, headers, bodies
        self.counted = Counted()

    def run(self) -> None:
        for body in self.bodies:
            self._send(body)

    def _send(self, body: str) -> None:
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            status = self._once(body)
            if status in (200, 201):
                self.counted.acknowledged.append(json.loads(body)["id"])
                return
            time.sleep(0.05)
        self.counted.given_up += 1

    def _once(self, body: str) -> int:
        connection = HTTPConnection(self.address, timeout=30)
        try:
            connection.request("POST", "/api/v1/events", body, self.headers)
            answer = connection.getresponse()
            said = answer.read()
        except (OSError, HTTPException):
            self.counted.broken += 1
            return 0
        finally:
            connection.close()
        self.counted.statuses[answer.status] += 1
        if answer.status not in (200, 201, 503) and len(self.counted.refused) < MOST_TOLD:
            self.counted.refused.append(said.decode(errors="replace")[:400])
        return answer.status


def bodies(known: list[Station], count: int, drawn: random.Random) -> Iterator[str]:
    """Events with ids of their own, at these stations in turn."""
    written = [json.dumps(station.event()) for station in known]
    for number in range(count):
        event = json.loads(written[number % len(written)])
        event["id"] = str(uuid.UUID(int=drawn.getrandbits(128), version=4))
        yield json.dumps(event)


WRONG = ("lost", "doubled", "effects_not_once", "given_up", "done_not_once", "not_kept")
ROWS = """
SELECT e.id::text, count(*), (SELECT count(*) FROM records_auditentry a
                               WHERE a.subject = e.id AND a.action = 'added')
  FROM records_event e GROUP BY e.id
"""


def judged(rows: list[tuple[str, int, int]], acknowledged: list[str]) -> dict[str, int]:
    """Lost, doubled, and with more or less than the one entry in the audit that goes with each.

    Every post is acknowledged in the end: a row that was not is a second one of some post.
    """
    there = {identity for identity, *_ in rows}
    return {
        "acknowledged": len(acknowledged),
        "lost": len(set(acknowledged) - there),
        "doubled": len(there - set(acknowledged)) + sum(count > 1 for _, count, _ in rows),
        "effects_not_once": sum(effects != 1 for *_, effects in rows),
    }


@contextmanager
def installed(*, careless: bool = False) -> Iterator[Installation]:
    """An installation of its own on a real disk, gone afterwards."""
    servers.DATA.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="faults-", dir=servers.DATA) as folder:
        made = Installation(Path(folder), careless=careless)
        try:
            made.prepare()
            yield made
        finally:
            made.stop()


def run(
    posts: int, kills: int, *, documents: int = 0, careless: bool = False,
    kinds: tuple[str, ...] = KINDS,
) -> dict[str, object]:  # fmt: skip
    """Post so many events while so many kills happen; what became of them."""
    drawn = random.Random(SEED)
    with installed(careless=careless) as made:
        cast = made.people()
        office = RemoteApi(made.address, cast.orla)
        known = [stations.register(office, cast.client, code=f"K-{n}") for n in range(STATIONS)]
        clients = [
            Client(made.address, bearer(cast.teo),
                   bodies(known[n::CLIENTS], posts // CLIENTS, random.Random(SEED + n)))
            for n in range(CLIENTS)
        ]  # fmt: skip
        if documents:
            visits.sealed(RemoteApi(made.address, cast.teo), office, known[0])
            ask_for(documents, made)
        with psycopg.connect(made.database.dsn(database=DATABASE)) as admin:
            before = {identity for identity, *_ in admin.execute(ROWS).fetchall()}
        begun = time.monotonic()
        for client in clients:
            client.start()
        killed = kill_in_between(
            made, clients, posts, [kinds[n % len(kinds)] for n in range(kills)], drawn
        )
        for client in clients:
            client.join()
        seconds = time.monotonic() - begun
        with psycopg.connect(made.database.dsn(database=DATABASE), autocommit=True) as admin:
            things = done(made, admin, documents) if documents else {}
            rows = [row for row in admin.execute(ROWS).fetchall() if row[0] not in before]
    counted = [client.counted for client in clients]
    statuses = sum((each.statuses for each in counted), Counter[int]())
    return {
        **judged(rows, [i for each in counted for i in each.acknowledged]), **things,
        "kills": dict(killed), "seconds": round(seconds, 1),
        "statuses": {str(status): count for status, count in sorted(statuses.items())},
        "broken_off": sum(each.broken for each in counted),
        "given_up": sum(each.given_up for each in counted),
        "refused": [said for each in counted for said in each.refused],
    }  # fmt: skip


def ask_for(documents: int, made: Installation) -> None:
    """Have so many wanted of a book with one record, and start what makes them."""
    with psycopg.connect(made.database.dsn(database=DATABASE)) as admin:
        done_once.ask(admin, documents)
    for name in ("relay", "worker 1", "worker 2"):
        made.start_behind(name)


def done(made: Installation, admin: psycopg.Connection, documents: int) -> dict[str, int]:
    """Wait for what is still to be made, as long as something is; what became of all."""
    left, end = documents, time.monotonic() + PATIENCE
    while left and time.monotonic() < end:
        time.sleep(1)
        if (now := done_once.waiting(admin)) < left:
            left, end = now, time.monotonic() + PATIENCE
    return done_once.told(admin, Path(made.environment["FILES_ROOT"]))


def kill_in_between(
    made: Installation, clients: list[Client], posts: int, kinds: list[str], drawn: random.Random
) -> Counter[str]:
    """Spread the kills over the run, by what has been acknowledged so far."""
    done: Counter[str] = Counter()
    for number, kind in enumerate(kinds, 1):
        until = posts * number // (len(kinds) + 1)
        while sum(len(c.counted.acknowledged) for c in clients) < until:
            if not any(client.is_alive() for client in clients):
                return done
            time.sleep(0.01)
        made.kill(kind, drawn)
        done[kind] += 1
    return done


def main() -> int:
    """Print what became of them; 1 where a promise is broken, or a careless run loses nothing."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults.acknowledged")
    parser.add_argument("--posts", type=int, default=10_000)
    parser.add_argument("--kills", type=int, default=24)
    parser.add_argument("--documents", type=int, default=1000)
    parser.add_argument("--careless", action="store_true")
    options = parser.parse_args()
    kinds = ("database",) if options.careless else KINDS
    documents = 0 if options.careless else options.documents
    told = run(options.posts, options.kills, documents=documents, careless=options.careless,
               kinds=kinds)  # fmt: skip
    print(json.dumps(told, indent=2))
    if options.careless:
        return int(told["lost"] == 0)
    statuses = told["statuses"]
    assert isinstance(statuses, dict)
    wrong = [told.get(name, 0) for name in WRONG]
    return int(any(wrong) or "500" in statuses)


if __name__ == "__main__":
    sys.exit(main())
