"""What is due as a file for a spreadsheet."""

import csv

import pytest
from django.test import Client

from records.pages import due
from tests.records import visits
from tests.records.client import Answer, leave
from tests.records.sessions import sign_in


@pytest.fixture
def started(teo, orla, station):
    return visits.sealed(teo, orla, station)


@pytest.fixture
def taken(cast):
    """`taken("orla", "?state=all")`: the rows of the file that this person gets."""

    def rows(name, asked):
        browser = Client()
        sign_in(browser, getattr(cast, name))
        leave()
        answer = Answer(browser.get(f"/due/list.csv{asked}"))
        assert (answer.status, answer.type.partition(";")[0]) == (200, "text/csv")
        assert answer.headers["Content-Disposition"].startswith('attachment; filename="due-')
        return list(csv.DictReader(answer.rows().decode().splitlines()))

    return rows


def told(items):
    """The same of due items as the API tells them."""
    return [
        (each["station"], each["tag"], each["title"], each["due_on"] or "", each["why"])
        for each in items
    ]


def test_each_item_is_in_it_once_however_few_are_held_at_a_time(orla, started, taken, monkeypatch):
    expected = orla.get("/due-items?limit=200").json["items"]
    assert len(expected) > 9
    monkeypatch.setattr(due, "IN_A_FILE", 3)
    rows = taken("orla", "?state=all")
    names = ("Station", "Tag", "Task", "Due on", "Why")
    assert [tuple(row[name] for name in names) for row in rows] == told(expected)
    assert {row["Client"] for row in rows} == {"Tresk Water District"}


def test_it_is_the_list_that_its_page_shows(page, started, taken):
    [address] = page("orla", "/due?due_by=2026-06-14").to("This whole list for a spreadsheet (CSV)")
    [row] = taken("orla", address.partition("list.csv")[2])
    assert (row["Task"], row["State"]) == ("First follow-up after the start-up", "Overdue")
    assert (row["Due on"], row["Record"]) == ("2026-06-14", "1")
    assert taken("orla", "?due_by=2026-06-13") == []


def test_a_text_that_looks_like_a_formula_is_none_in_it(orla, station, taken):
    pump = orla.get(f"/pumps/{station.ids['P-101']}")
    change = {"tag": "=1+1"}
    assert orla.patch(f"/pumps/{station.ids['P-101']}", change, pump.etag).status == 200
    tags = {row["Tag"] for row in taken("orla", "?state=all")}
    assert "'=1+1" in tags
    assert "=1+1" not in tags


def test_a_client_has_its_own_and_nobody_else_anything(started, taken):
    assert {row["Client"] for row in taken("cleo", "?state=all")} == {"Tresk Water District"}
    assert taken("otto", "?state=all") == []


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("due_by=2026-02-30", "Due by: expected a day such as 2026-11-25"),
        ("client=Tresk", "Client: expected an id"),
        ("state=over", "State: expected one of overdue, due_soon, never_verified"),
    ],
)
def test_what_cannot_be_read_gives_no_file(page, started, asked, words):
    shown = page("orla", f"/due/list.csv?{asked}")
    assert shown.status == 400
    assert words in shown.words
