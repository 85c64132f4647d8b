"""Lets days pass over real processes that are killed, and counts what became of each report.

    python -m tests.faults.year_of_reports --broker valkey --days 365 --kills 40 [--serve]

The book is a generated one of a few stations, whose work goes on to this day; --serve shows it
afterwards, so that the next month can be planned from it. Sign in as in `tests.generated_book`.

Two relays take the day out of a file; a worker makes and mails what they queue over the broker.
Meanwhile relays, the worker, a process of its pool, the broker and the whole database are killed,
and started again on what they left. Only processes that were started here are killed. --careless
runs relays that count a period before they ask for its report: then one must be missing, or this
could see no loss.
"""

import argparse
import functools
import hashlib
import json
import os
import random
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import psycopg

from deploy.children import start_child
from deploy.embedded_postgres import EmbeddedPostgres
from deploy.processes import PYTHON, WORKER
from deploy.roles import DATABASE, prepare_server
from records import roles
from tests.benchmarks import servers  # sets Django up
from tests.benchmarks.servers import PROJECT
from tests.faults import test_reports as told
from tests.faults.test_embedded_postgres import (
    descendants,
    kill_all,
    kill_and_start,
    kill_whole,
)
from tests.faults.ticking_relay import FORGETS, NOON
from tests.generated_book.filling import Size, fill
from tests.records import cast as casting

FIRST = date(2025, 1, 1)
BROKERS = ("postgresql", "valkey")
"""Started here; an address such as amqp://… is one that runs already."""

KINDS = ("relay", "pool process", "database", "worker", "broker")
CARELESS = ("both relays",)
WRONG = ("missing", "too_many", "not_made", "not_mailed", "of_nothing", "files_not_whole")
SEED = 366
YEARS = 4  # of work at the stations
PATIENCE = 900.0  # s, after the last day, until everything is made and mailed
LATER = 3.0  # s, that a kill comes at most after a period is over


class Installation:
    """Database, broker, two relays and a worker that may be killed and started again."""

    def __init__(self, folder: Path, broker: str, careless: bool, stations: int) -> None:
        self.folder, self.broker, self.careless = folder, broker, careless
        self.stations = stations
        self.database = EmbeddedPostgres(folder / "postgres", durable=True)
        self.clock = folder / "day"
        self.forgetting = self.clock.with_suffix(".forgetting")
        self.running: dict[str, subprocess.Popen[bytes]] = {}
        self.environment: dict[str, str] = {}

    def prepare(self) -> None:
        """A book with people, stations and two schedules."""
        self.database.start()
        prepare_server(self.database.dsn())
        self.environment = servers.environment(self.database) | {
            "MAIL_FOLDER": str(self.folder / "mail"), "QUEUE_VISIBILITY_SECONDS": "4",
            "DATABASE_POOL_SIZE": "0",
        }  # fmt: skip
        (self.folder / "mail").mkdir()
        if self.broker not in BROKERS:
            self.environment["QUEUE_URL"] = self.broker
        if self.broker == "valkey":
            with socket.create_server((servers.HOST, 0)) as door:
                self.port = door.getsockname()[1]
            self.environment["QUEUE_URL"] = f"redis://{servers.HOST}:{self.port}/0"
        owner = {"OWNER_DATABASE_URL": self.database.url(user=roles.OWNER, database=DATABASE)}
        servers.run(["manage.py", "migrate", "--database=owner", "--verbosity=0"],
                    self.environment | owner)  # fmt: skip
        key = casting.OKPKey.import_key(Path(self.environment["SIGNING_KEY_FILE"]).read_bytes())
        with self.book() as owned:
            people = casting.make()
            fill(owned, people, key, Size(self.stations, YEARS))
            told.schedule(owned, people, FIRST, f"{FIRST}T00:00:00Z")
            monday = FIRST - timedelta(days=FIRST.weekday())
            told.schedule(owned, people, monday, f"{FIRST}T00:00:00Z", "week", client=False)
            # Each is asked for when its first period is over in Berlin, and a quarter of an hour.
            owned.execute(
                "UPDATE records_reportschedule SET due_at = CASE period WHEN 'month'"
                " THEN '2025-01-31T23:15:00Z'::timestamptz ELSE '2025-01-05T23:15:00Z' END"
            )

    def book(self) -> psycopg.Connection:
        """The book, read past its walls."""
        return psycopg.connect(self.database.dsn(database=DATABASE))

    def start(self) -> None:
        """Everything that does not run."""
        relay = [PYTHON, "-m", "tests.faults.ticking_relay", str(self.clock)]
        commands = {
            "worker": [*WORKER, "--concurrency=1"],
            **{f"relay {n}": [*relay, *(["careless"] if self.careless else [])] for n in (1, 2)},
        }
        if self.broker == "valkey":
            words = ["--port", str(self.port), "--bind", servers.HOST, "--save", ""]
            commands["broker"] = [str(told.get_binary_path()), *words, "--dir", str(self.folder)]
        for name, command in commands.items():
            if name not in self.running:
                with (self.folder / f"{name}.log").open("ab") as log:
                    self.running[name] = start_child(
                        command, cwd=PROJECT, env=self.environment, stdin=subprocess.DEVNULL,
                        stdout=log, stderr=log,
                    )  # fmt: skip

    def kill(self, kind: str, drawn: random.Random) -> None:
        """Kill without a word before, and start again."""
        if kind == "database" or (kind == "broker" and self.broker != "valkey"):
            kill_and_start(self.database)
        elif kind == "both relays":
            for name in ("relay 1", "relay 2"):
                self._end(name)
        elif kind == "pool process":
            kill_all(descendants(self.running["worker"].pid)[-1:])
        else:
            self._end(drawn.choice([name for name in self.running if name.startswith(kind)]))
        time.sleep(drawn.uniform(0, 1))
        self.start()

    def refuse_dead(self) -> None:
        """Whatever ended by itself is a fault of the service."""
        ended = [name for name, each in self.running.items() if each.poll() is not None]
        assert not ended, f"{ended} ended by themselves; see {self.folder}"

    def _end(self, name: str) -> None:
        kill_whole(self.running.pop(name))

    def stop(self) -> None:
        for name in list(self.running):
            self._end(name)
        self.database.stop()


@contextmanager
def installed(broker: str, careless: bool, stations: int) -> Iterator[Installation]:
    """An installation of its own on a real disk, gone afterwards."""
    servers.DATA.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="year-", dir=servers.DATA) as folder:
        made = Installation(Path(folder), broker, careless, stations)
        try:
            made.prepare()
            yield made
        finally:
            made.stop()


def periods(days: int) -> set[tuple[str, date]]:
    """What is over by then, counted by hand: months, and weeks from Monday on."""
    passed = [FIRST + timedelta(days=n) for n in range(days)]
    months = {("month", day.replace(day=1)) for day in passed if (day + timedelta(1)).day == 1}
    weeks = {("week", day - timedelta(days=6)) for day in passed if day.weekday() == 6}
    return months | weeks


def run(
    days: int, kills: int, *, broker: str = "postgresql", careless: bool = False,
    kinds: tuple[str, ...] = KINDS, stations: int = 2, serve: bool = False,
) -> dict[str, object]:  # fmt: skip
    """Let so many days pass while so many kills happen; what became of the reports."""
    drawn = random.Random(SEED)
    begun = time.monotonic()
    with installed(broker, careless, stations) as made:
        made.clock.write_text(str(FIRST))
        made.start()
        _wait(made, functools.partial(_has_documents, made))  # else reports would queue behind them
        done = _pass(made, days, [kinds[n % len(kinds)] for n in range(kills)], drawn)
        _wait(made, lambda: _is_counted(made, days) if careless else _is_done(made, days))
        time.sleep(4 * FORGETS * careless)
        with made.book() as owner:
            found = judged(owner, made.environment, days)
        seconds = round(time.monotonic() - begun, 1)
        if serve:
            _serve(made)
    return {**found, "kills": dict(done), "seconds": seconds}


def _serve(made: Installation) -> None:
    environment = made.environment | {"SECOND_FACTOR": "offered"}
    with servers.serving("deploy.wsgi", environment, made.database) as address:
        print(f"http://{address}/ until Enter is pressed", flush=True)
        input()


def _pass(made: Installation, days: int, kinds: list[str], drawn: random.Random) -> Counter[str]:
    """Days go by. As a period is over there may be kills, and then its report has to be asked for.

    So each kill hits processes that ask, make and mail.
    """
    done: Counter[str] = Counter()
    ends = len(periods(days))
    for day in range(1, days + 1):
        made.refuse_dead()
        (made.folder / "next").write_text(str(FIRST + timedelta(days=day)))
        os.replace(made.folder / "next", made.clock)
        over = len(periods(day))
        if over == len(periods(day - 1)):
            continue
        while sum(done.values()) < len(kinds) * over // ends:
            if made.careless:
                _wait(made, made.forgetting.exists)
            else:
                time.sleep(drawn.uniform(0, LATER))
            kind = kinds[sum(done.values())]
            made.kill(kind, drawn)
            made.forgetting.unlink(missing_ok=True)
            done[kind] += 1
        _wait(made, functools.partial(_is_counted if made.careless else _is_asked, made, day))
    return done


def _has_documents(made: Installation) -> bool:
    with made.book() as owner:
        [(left,)] = owner.execute(
            "SELECT count(*) FROM records_recorddocument WHERE sha256 IS NULL"
        ).fetchall()
    return not left


def _is_asked(made: Installation, days: int) -> bool:
    with made.book() as owner:
        [(asked,)] = owner.execute("SELECT count(*) FROM records_report").fetchall()
    return bool(asked >= len(periods(days)))


def _is_done(made: Installation, days: int) -> bool:
    with made.book() as owner:
        [(done, left)] = owner.execute(
            "SELECT count(made_at), (SELECT count(*) FROM records_reportmail WHERE sent_at IS NULL)"
            "  FROM records_report"
        ).fetchall()
    return not left and done >= len(periods(days))


def _is_counted(made: Installation, days: int) -> bool:
    moment = datetime.combine(FIRST + timedelta(days=days), NOON, UTC)
    with made.book() as owner:
        [(left,)] = owner.execute(
            "SELECT count(*) FROM records_reportschedule WHERE due_at <= %s", [moment]
        ).fetchall()
    return not left


def _wait(made: Installation, condition: Callable[[], bool]) -> None:
    deadline = time.monotonic() + PATIENCE
    while not condition():
        made.refuse_dead()
        assert time.monotonic() < deadline, f"waited in vain; see {made.folder}"
        time.sleep(0.2)


def judged(owner: psycopg.Connection, environment: dict[str, str], days: int) -> dict[str, int]:
    """Reports that are missing, doubled, not made, not mailed; files that are not whole."""
    rows = owner.execute(
        "SELECT period, period_begins, made_at, id, summary FROM records_report"
    ).fetchall()
    asked = Counter((period, begins) for period, begins, *_ in rows)
    sent = Counter(mail["Message-ID"] for mail in told.mails(environment))
    names = [f"<report-{row[3]}@stationbook.invalid>" for row in rows]
    digests = {
        bytes(digest).hex()
        for row in owner.execute("SELECT pdf_sha256, xlsx_sha256, json_sha256 FROM records_report")
        for digest in row if digest
    }  # fmt: skip
    seen = {file.name: file for file in told.files(environment)}
    return {
        "reports": len(rows),
        "missing": len(periods(days) - set(asked)),
        "too_many": sum(asked.values()) - len(set(asked) & periods(days)),
        "not_made": sum(made is None for _, _, made, *_ in rows),
        "not_mailed": sum(sent[name] < len(told.ADDRESSES) for name in names),
        "mails": sum(sent.values()),
        "items": sum(sum(summary["counts"].values()) for *_, summary in rows if summary),
        "of_nothing": len(set(sent) - set(names)),
        "files_not_whole": sum(
            name not in seen or hashlib.sha256(seen[name].read_bytes()).hexdigest() != name
            for name in digests
        ),
    }


def main() -> int:
    """Print what became of them; 1 where a promise is broken, or a careless run loses nothing."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults.year_of_reports")
    parser.add_argument("--broker", default=BROKERS[0], help="postgresql, valkey, or an address")
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--kills", type=int, default=40)
    parser.add_argument("--stations", type=int, default=20)
    parser.add_argument("--careless", action="store_true")
    parser.add_argument("--serve", action="store_true", help="afterwards, until Enter is pressed")
    options = parser.parse_args()
    kinds = CARELESS if options.careless else KINDS
    found = run(options.days, options.kills, broker=options.broker, careless=options.careless,
                kinds=kinds, stations=options.stations, serve=options.serve)  # fmt: skip
    print(json.dumps(found, indent=2))
    if options.careless:
        return int(found["missing"] == 0)
    return int(any(found[name] for name in WRONG))


if __name__ == "__main__":
    sys.exit(main())
