"""Due items of a drawn book against plain loops over it; one statement whatever it holds."""

import os
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import psycopg
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from psycopg.conninfo import make_conninfo

from records import permissions
from records.models import PieceStanding
from records.selectors import due_items
from records.selectors.due_items import Wanted
from tests import database
from tests.records.due_book import NOW, Draw
from tests.records.due_reference import Reference

DAYS = (None, date(2026, 6, 14), date(2025, 3, 1), date(2024, 2, 29), date(2022, 12, 31))


@pytest.fixture(scope="module")
def keep(stage, cleared_afterwards):
    def write(cast):
        pairs = [(cast.contractor, cast.client), (cast.other_contractor, cast.other_client)]
        book = Draw(11, pairs).book_of(24)
        dsn = make_conninfo(os.environ[database.ADMIN], dbname=stage.database)
        with psycopg.connect(dsn) as admin:
            book.write(admin)
        return book

    return lambda: stage.keep("due book", write)


@pytest.fixture
def book(cast, keep, request):
    made = keep()
    request.getfixturevalue("db")
    return made


@pytest.fixture
def enter(book, cast):
    """Take a person's place in the database."""

    def take(name):
        person = getattr(cast, name)
        scopes = frozenset(["read"])
        actor = permissions.Actor(person.id, "", person.organization, "", person.role, scopes)
        permissions.leave()
        permissions.enter(actor)
        return actor

    return take


def told(item):
    return (
        item.site_id, item.tag, item.number, item.state, item.due_on,
        item.months, item.halved, item.tried_result == "not_possible",
    )  # fmt: skip


def found(actor, **wanted):
    return due_items.items(actor, Wanted(now=NOW, **wanted))


def expected(book, actor, as_of):
    party = "client_id" if actor.role == "client" else "contractor_id"
    return Reference(book, party, actor.organization_id, as_of).items()


@pytest.mark.parametrize("as_of", DAYS, ids=str)
@pytest.mark.parametrize("name", ["orla", "cleo", "otto"])
def test_every_item_is_that_of_the_reference(enter, book, name, as_of):
    actor = enter(name)
    wanted = expected(book, actor, as_of)
    assert [told(item) for item in found(actor, as_of=as_of)] == wanted
    assert len(wanted) > 50


def test_the_drawn_book_holds_every_state_and_every_task(enter, book):
    """Else the comparison would say nothing of those that it lacks."""
    items = [item for as_of in DAYS for item in found(enter("orla"), as_of=as_of)]
    assert {item.state for item in items} == set(due_items.STATES)
    assert len({item.task for item in items}) == len({item.number for item in items}) > 25
    assert {item.halved for item in items} == {True, False}
    assert {item.replaced for item in items} == {True, False}
    assert any(item.setting for item in items)
    rewound = {each.tag for each in book.stands if each.rewound_on}
    anew = [each for each in items if each.tag in rewound and each.since is not None]
    assert {each.task for each in anew} >= {"rotation", "insulation"}


def test_a_whole_list_is_read_a_few_at_a_time(enter, book, monkeypatch):
    monkeypatch.setattr(due_items, "_AT_ONCE", 7)
    actor = enter("orla")
    assert list(due_items.each(actor, Wanted(now=NOW))) == found(actor)


def test_pages_hold_each_item_once(enter, book):
    actor, after, pages = enter("orla"), None, []
    while page := found(actor, after=after, limit=13):
        pages += page
        after = tuple(getattr(page[-1], name) for name in ("site_id", "tag", "number"))
    assert pages == found(actor)


def test_counts_are_those_of_the_items(enter, book):
    actor = enter("orla")
    items = found(actor)
    counted = due_items.counts(actor, Wanted(now=NOW))
    assert counted.pop("not_possible") == sum(told(item)[-1] for item in items)
    states = [item.state for item in items]
    assert counted == {state: states.count(state) for state in due_items.STATES}


@pytest.mark.parametrize(
    ("wanted", "holds"),
    [
        ({"state": "overdue"}, lambda item: item.state == "overdue"),
        ({"task": "insulation"}, lambda item: item.task == "insulation"),
        ({"due_by": date(2026, 7, 1)}, lambda i: i.due_on and i.due_on <= date(2026, 7, 1)),
        ({"not_possible": True}, lambda item: item.tried_result == "not_possible"),
        ({"not_possible": False}, lambda item: item.tried_result != "not_possible"),
    ],
    ids=["overdue", "one task", "by a day", "not possible", "possible"],
)
def test_what_is_asked_for(enter, book, wanted, holds):
    actor = enter("orla")
    chosen = [item for item in found(actor) if holds(item)]
    assert found(actor, **wanted) == chosen
    assert chosen


def test_of_one_station_and_of_one_piece(enter, book):
    actor = enter("orla")
    [*_, last] = found(actor)
    for name, value in (("site", last.site), ("piece", last.piece)):
        of_it = [item for item in found(actor) if getattr(item, name) == value]
        assert found(actor, **{name: value}) == of_it


def test_the_number_of_queries_does_not_grow(enter, book):
    actor = enter("orla")
    [first, *_] = found(actor)
    counts = []
    for wanted in ({}, {"site": first.site}, {"limit": 1}):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            found(actor, **wanted)
        counts.append(len(asked))
    assert counts == [2, 2, 2]


def test_due_soon_begins_a_month_before_and_ends_with_the_day(enter, book):
    """By the clock of the station: noon there, whatever day it is elsewhere."""
    actor = enter("orla")
    item = next(
        each for each in found(actor)
        if each.state == "current" and each.due_on and each.due_on.day <= 28
        and each.due_on.month > 1 and each.due_on > date(2026, 8, 1)
    )  # fmt: skip
    due = item.due_on
    month_before = due.replace(month=due.month - 1)
    days = (month_before - timedelta(1), month_before, due, due + timedelta(1))
    states = [state_on(actor, item, day) for day in days]
    assert states == ["current", "due_soon", "due_soon", "overdue"]


def state_on(actor, item, day):
    [zone] = {row.time_zone for row in PieceStanding.objects.filter(piece=item.site)}
    now = datetime.combine(day, time(12), ZoneInfo(zone))
    wanted = Wanted(now=now, piece=item.piece, task=item.task)
    [found] = due_items.items(actor, wanted)
    return found.state
