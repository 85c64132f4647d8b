"""A task whose worker is killed comes back and is done, over the queue in PostgreSQL."""

import os
import signal
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
import pytest
from kombu import Connection

from deploy.broker import broker_settings
from deploy.processes import WORKER
from tests.database import PROJECT
from tests.faults.killed_task import note_start, note_start_and_die
from tests.faults.test_embedded_postgres import descendants, kill_all, wait_for

pytestmark = [pytest.mark.fault, pytest.mark.django_db]

VISIBILITY = 4  # seconds until an unanswered message comes back


@contextmanager
def worker(environment: dict[str, str]) -> Iterator[subprocess.Popen]:
    process = subprocess.Popen(
        [*WORKER, "--concurrency=1", "--include=tests.faults.killed_task"],
        cwd=PROJECT,
        env={**environment, "QUEUE_VISIBILITY_SECONDS": str(VISIBILITY)},
    )
    try:
        yield process
    finally:
        kill_all([*descendants(process.pid), process.pid])
        process.wait()


@pytest.fixture
def environment(service_environment: dict[str, str]) -> dict[str, str]:
    return {**service_environment, "PATH": os.environ["PATH"]}


def queue(file: Path, environment: dict[str, str], task: Any = note_start) -> None:
    broker = broker_settings(environment["QUEUE_URL"], visibility_timeout=VISIBILITY)
    with Connection(
        broker["broker_url"], transport_options=broker["broker_transport_options"]
    ) as connection:
        task.apply_async([str(file)], connection=connection)


def is_answered(environment: dict[str, str]) -> bool:
    """Whether the queue holds nothing any more: a task is done a moment before it is answered."""
    with psycopg.connect(environment["QUEUE_URL"]) as client:
        [(left,)] = client.execute(
            "SELECT queue_length FROM pgmq.metrics_all() WHERE queue_name = 'stationbook'"
        ).fetchall()
    return not left


def runs(file: Path) -> list[int]:
    return [int(line) for line in file.read_text().split()] if file.exists() else []


def test_the_task_of_a_killed_pool_process_is_done_by_the_next(tmp_path, environment):
    file = tmp_path / "runs"
    with worker(environment):
        queue(file, environment)
        wait_for(lambda: len(runs(file)) == 1)
        os.kill(runs(file)[0], signal.SIGKILL)
        wait_for(file.with_suffix(".done").exists)
    assert len(set(runs(file))) == 2


def test_the_task_of_a_killed_worker_is_done_by_another(tmp_path, environment):
    file = tmp_path / "runs"
    with worker(environment) as first:
        queue(file, environment)
        wait_for(lambda: len(runs(file)) == 1)
        kill_all([first.pid, *runs(file)])
        first.wait()
    with worker(environment):
        wait_for(file.with_suffix(".done").exists)
    assert len(set(runs(file))) == 2


def test_a_task_that_is_done_does_not_come_back(tmp_path, environment):
    file, later = tmp_path / "runs", tmp_path / "later"
    file.touch()
    later.touch()
    with worker(environment):
        queue(file, environment)
        wait_for(file.with_suffix(".done").exists)
        wait_for(lambda: is_answered(environment))
    with worker(environment):
        queue(later, environment)
        wait_for(later.with_suffix(".done").exists)
    assert len(runs(file)) == 1


def test_a_task_that_kills_its_process_each_time_keeps_no_other_waiting(tmp_path, environment):
    """As a document that needs more memory than there is: the relay asks for it again, later."""
    deadly, other = tmp_path / "deadly", tmp_path / "other"
    other.touch()
    with worker(environment):
        queue(deadly, environment, note_start_and_die)
        queue(other, environment)
        wait_for(other.with_suffix(".done").exists)
        wait_for(lambda: is_answered(environment))
    assert 1 <= len(runs(deadly)) <= 2
