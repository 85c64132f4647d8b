"""Queues inside PostgreSQL: worker and relay make them at one time."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import psycopg
import pytest
from django.db import connection

from records import roles
from tests import database

TOGETHER = 6
DECLARED = """
SELECT pgmq.create(queue_name=>%(queue)s::text);
SELECT pgmq.enable_notify_insert(queue_name=>%(queue)s::text, throttle_interval_ms=>250::integer);
"""


@pytest.fixture
def queue_dsn(db) -> str:
    return database.dsn(roles.QUEUE, connection.settings_dict["NAME"])


def test_many_that_start_at_once_each_find_the_queue_made(queue_dsn):
    gate = Barrier(TOGETHER)

    def declare(queue: str) -> None:
        with psycopg.connect(queue_dsn, autocommit=True) as client:
            gate.wait(timeout=120)
            for statement in DECLARED.strip().splitlines():
                client.execute(statement, {"queue": queue})

    for number in range(10):
        with ThreadPoolExecutor(TOGETHER) as pool:
            list(pool.map(declare, [f"together_{number}"] * TOGETHER))
    made = "SELECT count(*) FROM pgmq.list_queues() WHERE queue_name LIKE 'together_%'"
    with psycopg.connect(queue_dsn, autocommit=True) as client:
        assert client.execute(made).fetchone() == (10,)


def test_a_queue_that_is_there_is_announced_and_not_made_anew(queue_dsn):
    made = "SELECT oid FROM pg_trigger WHERE tgrelid = 'pgmq.q_once'::regclass AND NOT tgisinternal"
    with psycopg.connect(queue_dsn, autocommit=True) as client:
        found = []
        for _ in range(2):
            for statement in DECLARED.strip().splitlines():
                client.execute(statement, {"queue": "once"})
            found.append(client.execute(made).fetchall())
        assert len(found[0]) == 1
        assert found[0] == found[1]
        client.execute('LISTEN "pgmq.q_once.INSERT"')
        client.execute("SELECT pgmq.send('once', '{}')")
        assert len(list(client.notifies(timeout=60, stop_after=1))) == 1


def test_after_a_crash_a_queue_is_announced_again(queue_dsn):
    """What the package remembers of it is lost in a crash (an unlogged table)."""
    with psycopg.connect(queue_dsn, autocommit=True) as client:
        for statement in DECLARED.strip().splitlines():
            client.execute(statement, {"queue": "crashed"})
        client.execute("TRUNCATE pgmq.notify_insert_throttle")
        for statement in DECLARED.strip().splitlines():
            client.execute(statement, {"queue": "crashed"})
        client.execute('LISTEN "pgmq.q_crashed.INSERT"')
        client.execute("SELECT pgmq.send('crashed', '{}')")
        assert len(list(client.notifies(timeout=60, stop_after=1))) == 1
