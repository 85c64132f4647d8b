"""Loading the demo: events go as far as the index says; a second time changes nothing."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.test import Client

from deploy.commands import BETWEEN
from records import roles
from tests import database
from tests.fixtures.subjects import event, index

STATES = {"seal": "sealed", "draft": "draft", "withdraw": "withdrawn"}

Rows = list[tuple[Any, ...]]


@pytest.fixture
def load(
    service_environment: dict[str, str], database_name: str, tmp_path: Path
) -> Callable[[], dict[str, Any]]:
    """Runs the command as the demo does."""
    file = str(tmp_path / "people.json")
    owner = {"OWNER_DATABASE_URL": database.url(roles.OWNER, database_name)}
    words = ["register_signing_key", BETWEEN, "load_demo", "--json", file]

    def run() -> dict[str, Any]:
        subprocess.run(
            [sys.executable, "-m", "deploy.commands", *words],
            cwd=database.PROJECT,
            env={**os.environ, **service_environment, **owner},
            check=True,
            capture_output=True,
        )
        told: dict[str, Any] = json.loads(Path(file).read_text())
        return told

    return run


def _all(owner: psycopg.Connection, query: str) -> Rows:
    return owner.execute(query).fetchall()


def _events(owner: psycopg.Connection) -> dict[str, tuple[Any, ...]]:
    found = _all(owner, "select id, state, withdrawal_reason from records_event")
    return {str(row[0]): row[1:] for row in found}


def _findings(owner: psycopg.Connection) -> dict[str, set[tuple[str, str]]]:
    rows = _all(
        owner,
        "select e.id, f.severity, f.rule from records_finding f join records_event e "
        "on e.row = f.event_id where f.severity <> 'note' and f.present",
    )
    found: dict[str, set[tuple[str, str]]] = {}
    for identity, severity, rule in rows:
        found.setdefault(str(identity), set()).add((severity, rule))
    return found


def test_every_event_goes_as_far_as_the_index_says_with_its_files(
    as_owner: psycopg.Connection, load: Callable[[], dict[str, Any]]
) -> None:
    told = load()
    events = _events(as_owner)
    found = _findings(as_owner)
    assert set(events) == {entry["event"] for entry in index()}
    for entry in index():
        assert events[entry["event"]] == (STATES[entry["carry"]], entry["withdrawal"] or "")
        expected = {(s, rule) for s in ("stop", "review") for rule in entry[s]}
        answered = {("review", each["rule"]) for each in entry["answers"]}
        assert found.get(entry["event"], set()) == expected | answered, entry["file"]
    _assert_files(as_owner)
    _assert_corrections(as_owner)
    _assert_proposals(told["tokens"]["office"])
    before = _counts(as_owner)
    again = load()
    assert _counts(as_owner) == before
    assert told["tokens"].keys() == again["tokens"].keys()
    assert not set(told["tokens"].values()) & set(again["tokens"].values())


def _assert_files(owner: psycopg.Connection) -> None:
    documents = [event(entry["file"]) for entry in index()]
    traces = {(d["id"], t["sha256"]) for d in documents for t in d.get("traces", [])}
    saved = {(d["id"], d["settings_file"]["sha256"]) for d in documents if "settings_file" in d}
    for table, column, expected in (
        ("records_trace", "sha256", traces),
        ("records_attachment", "sent_sha256", saved),
    ):
        query = f"select e.id, t.{column} from {table} t join records_event e on e.row = t.event_id"
        rows = _all(owner, query)
        assert {(str(row[0]), bytes(row[1]).hex()) for row in rows} == expected


def _assert_corrections(owner: psycopg.Connection) -> None:
    rows = _all(
        owner,
        "select e.id, f.id from records_record r join records_record c on c.row = r.corrects_id "
        "join records_event e on e.row = r.event_id join records_event f on f.row = c.event_id",
    )
    expected = {(entry["event"], entry["corrects"]) for entry in index() if entry["corrects"]}
    assert {(str(one), str(other)) for one, other in rows} == expected


def _assert_proposals(token: str) -> None:
    """What the stories of a drive and of a transmitter propose, for somebody to accept."""
    bearer = {"Authorization": f"Bearer {token}"}
    audit, proposed = Client().get("/api/v1/interval-proposals", headers=bearer).json()["items"]
    assert (proposed["tag"], proposed["months"], proposed["proposed_months"]) == ("PT-710", 12, 6)
    assert "12 months × 0.5 = 6 months" in proposed["arithmetic"]
    assert (audit["tag"], audit["task"], audit["proposed_months"]) == (
        "D-701",
        "settings-audit",
        12,
    )


def _counts(owner: psycopg.Connection) -> list[int]:
    tables = ("event", "record", "finding", "answer", "signature", "trace", "attachment", "sensor")
    return [_all(owner, f"select count(*) from records_{table}")[0][0] for table in tables]
