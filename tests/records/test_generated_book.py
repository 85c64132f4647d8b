"""The generated book: whole, as the service itself would have kept it, and open to look at."""

import json
from datetime import UTC, date, datetime, timedelta

import pytest

from records import permissions
from records.models import PerformedTask, Record
from records.selectors import due_items, sealed
from records.selectors.due_items import Wanted
from records.services import performed_tasks
from tests.generated_book.exported import Exported, compared
from tests.generated_book.filling import Size, fill
from tests.records.client import leave
from tests.records.pages.reading import open_page
from tests.records.verifying import verify

STATIONS, YEARS = 12, 8
TABLES = ("site", "pump", "motor", "drive", "sensor", "vessel", "pumpset")

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def filled(stage, cleared_afterwards):
    size = Size(STATIONS, YEARS, seed=5)
    stage.fill(lambda owner, people, key: fill(owner, people, key, size))


@pytest.fixture
def book(filled, cast, request):
    """Who is in it; what a test does to it is undone."""
    request.getfixturevalue("db")
    return cast


def enter(person):
    actor = permissions.Actor(person.id, "", person.organization, "", person.role,
                              frozenset(["read"]))  # fmt: skip
    leave()
    permissions.enter(actor)
    return actor


def test_it_holds_what_was_asked_for(book):
    enter(book.orla)
    assert Record.objects.values("site").distinct().count() == STATIONS
    tasks = PerformedTask.objects.count()
    assert 8 * STATIONS * YEARS < tasks < 14 * STATIONS * YEARS
    assert {row["result"] for row in PerformedTask.objects.values("result")} >= {
        "inside", "outside", "not_possible", "begun"}  # fmt: skip


def test_what_stood_is_what_the_registers_triggers_would_write(filled, stage):
    """Touched, a piece gets a new row where what stands of it says otherwise."""
    with stage.as_owner(autocommit=False) as owner:
        [(before,)] = owner.execute("SELECT count(*) FROM records_piecestanding").fetchall()
        for table in TABLES:
            owner.execute(f"UPDATE records_{table} SET id = id")
        [(after,)] = owner.execute("SELECT count(*) FROM records_piecestanding").fetchall()
        owner.rollback()
    assert before == after > 10 * STATIONS


def test_every_record_is_genuine(book):
    actor = enter(book.cleo)
    rows = list(sealed.rows(actor))
    assert len(rows) >= YEARS - 2
    for row in rows:
        assert verify(sealed.data(row))["number"] == row.number


def test_what_was_performed_follows_from_the_texts(book):
    enter(book.orla)
    names = ("task", "tag", "serial", "piece", "drive", "performed_on", "result", "as_found")

    def told(row):
        return tuple(str(getattr(row, name)) for name in names)

    for record in Record.objects.order_by("row")[:40]:
        derived = performed_tasks.rows(record, json.loads(bytes(record.canonical)))
        kept = PerformedTask.objects.filter(record=record)
        assert sorted(map(told, kept)) == sorted(map(told, derived))


def test_pages_open_on_it(book):
    actor = enter(book.teo)
    record = sealed.rows(actor).order_by("-row").first()
    sensor = record.pump_set.regulating_sensor
    paths = ["/", "/due", f"/stations/{record.site.id}", f"/records/{record.id}",
             f"/pump-sets/{record.pump_set.id}/trends", f"/sensors/{sensor.id}/trends"]  # fmt: skip
    for path in paths:
        seen = open_page(book.teo, path)
        assert (seen.status, seen.faults) == (200, []), path


@pytest.mark.parametrize("days_ago", [None, 400, 2500])
def test_every_due_item_is_that_of_the_reference(book, stage, days_ago):
    """By plain loops over the rows; `python -m tests.benchmarks.due_items` compares them all."""
    now = datetime.now(UTC)
    as_of: date | None = days_ago and now.date() - timedelta(days=days_ago)
    with stage.as_owner() as owner:
        exported = Exported(owner)
        for person in (book.orla, book.cleo, book.otto):
            actor = enter(person)
            party = permissions.party(actor)
            expected = list(exported.items(party, actor.organization_id, as_of, now))
            found = due_items.items(actor, Wanted(as_of=as_of, now=now))
            assert list(map(compared, found)) == expected
            assert bool(expected) is (person is not book.otto)
