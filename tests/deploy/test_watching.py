"""What whoever watches the service is told: that it lives, is ready, and its numbers."""

import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

import psycopg
import pytest
from django.db import OperationalError, connection
from django.test import Client

from deploy import login_role, numbers, watching
from tests import database
from tests.database import PROJECT

TOKEN = "of-the-numbers-" + "x" * 30
LINE = re.compile(r"^([a-z_]+)(?:\{(.*)\})? (\S+)$", re.MULTILINE)


@pytest.fixture(autouse=True)
def nothing_remembered(monkeypatch):
    for name in ("waiting", "due", "last_report"):
        monkeypatch.setattr(getattr(numbers, name), "_until", 0.0)
    monkeypatch.setattr(watching, "_complete", set())


def told(settings) -> dict[str, float]:
    """The service's numbers, by name and labels."""
    settings.METRICS_TOKEN = TOKEN
    answer = Client().get("/metrics", headers={"Authorization": f"Bearer {TOKEN}"})
    assert answer.status_code == 200
    found = LINE.findall(answer.content.decode())
    return {f"{name}{{{labels}}}" if labels else name: float(n) for name, labels, n in found}


@pytest.mark.parametrize("given", ["", "Bearer wrong", f"Basic {TOKEN}", f"Bearer {TOKEN}x"])
def test_the_numbers_are_nobodys_without_their_token(settings, given, db):
    settings.METRICS_TOKEN = TOKEN
    assert Client().get("/metrics", headers={"Authorization": given}).status_code == 404


def test_without_a_token_of_the_installation_an_empty_one_opens_nothing(settings, db):
    settings.METRICS_TOKEN = ""
    assert Client().get("/metrics", headers={"Authorization": "Bearer "}).status_code == 404


def test_it_lives_without_a_database(monkeypatch):
    def away(*_, **__):
        raise OperationalError("away")

    monkeypatch.setattr(connection, "ensure_connection", away)
    monkeypatch.setattr(connection, "cursor", away)
    assert Client().get("/livez").status_code == 200
    answer = Client().get("/readyz")
    assert (answer.status_code, answer.content) == (503, b"The database does not answer.\n")


def test_it_is_not_ready_while_migrations_are_missing(monkeypatch, db):
    assert Client().get("/readyz").status_code == 200
    monkeypatch.setattr(watching, "_complete", set())
    monkeypatch.setattr(watching.MigrationExecutor, "migration_plan", lambda *_: [1, 2])
    answer = Client().get("/readyz")
    assert answer.status_code == 503
    assert b"lacks 2 migrations" in answer.content


@contextmanager
def restoring(name: str) -> Iterator[None]:
    """The mark of a restore stands at the database meanwhile."""
    mark = f"COMMENT ON DATABASE {name} IS "
    with psycopg.connect(os.environ[database.ADMIN], autocommit=True) as admin:
        admin.execute(f"{mark}'{login_role.RESTORING} one'")
        try:
            yield
        finally:
            admin.execute(f"{mark}NULL")


@pytest.mark.commits
@pytest.mark.django_db(transaction=True)
def test_nothing_is_served_of_a_book_that_a_restore_has_not_finished(monkeypatch, database_name):
    monkeypatch.setattr(login_role, "_found_harmless", set())
    connection.close()
    with restoring(database_name):
        ready, asked = Client().get("/readyz"), Client().get("/api/v1/events")
    assert (ready.status_code, asked.status_code) == (503, 503)
    assert ready.content.startswith(b"A restore has not finished: run python -m deploy.restore")
    assert "Retry-After" in asked.headers
    assert Client().get("/readyz").status_code == 200


@pytest.mark.commits
@pytest.mark.django_db(transaction=True)
def test_a_process_that_served_before_is_not_ready_while_a_restore_runs(database_name):
    assert Client().get("/readyz").status_code == 200
    with restoring(database_name):
        assert Client().get("/readyz").status_code == 503
    assert Client().get("/readyz").status_code == 200


def test_the_last_backup_is_told_where_it_is_noted(settings, tmp_path, db):
    name = "stationbook_last_backup_timestamp_seconds"
    settings.BACKUP_STATE_FILE = tmp_path / "last"
    assert name not in told(settings)
    when = datetime.now(UTC) - timedelta(hours=3)
    settings.BACKUP_STATE_FILE.write_text(json.dumps({"finished_at": when.isoformat()}))
    assert told(settings)[name] == pytest.approx(when.timestamp(), abs=1)


def test_what_was_asked_lately_is_not_asked_again():
    asked = []
    remembered = numbers.Remembered(lambda: asked.append(1) or len(asked), 60)
    assert [remembered() for _ in range(5)] == [1] * 5
    remembered._until = time.monotonic() - 1
    assert remembered() == 2


@pytest.mark.parametrize(
    ("behind", "given", "kept"),
    [(True, "abcdef0123456789", True), (False, "abcdef0123456789", False),
     (True, "a\nb: c", False), (True, "x" * 65, False)],
)  # fmt: skip
def test_the_id_of_a_request_is_a_proxys_or_our_own(settings, behind, given, kept):
    settings.BEHIND_PROXY = behind
    answer = Client().get("/livez", headers={"X-Request-Id": given})
    assert (answer["X-Request-Id"] == given) is kept
    assert watching.OF_A_PROXY.fullmatch(answer["X-Request-Id"])


@pytest.mark.slow
def test_numbers_of_several_processes_are_added_up(tmp_path):
    count = "from deploy.numbers import SECONDS; SECONDS.labels('r', 'GET', '2xx').observe(0.2)"
    begin = "import django, os; django.setup(); "
    said = {"PROMETHEUS_MULTIPROC_DIR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "deploy.settings",
            "DATABASE_URL": "postgresql://nobody@%2Fnonexistent/none"}  # fmt: skip
    words = [count, count, "from deploy.numbers import written; print(written().decode())"]
    ran = [
        subprocess.run([sys.executable, "-c", begin + each], cwd=PROJECT, env=said,
                       capture_output=True, text=True, check=True)
        for each in words
    ]  # fmt: skip
    line = 'stationbook_request_seconds_count{method="GET",route="r",status="2xx"} 2.0'
    assert line in ran[-1].stdout
