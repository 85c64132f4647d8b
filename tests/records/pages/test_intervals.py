"""How often a task is due, set by the office on a page, with its reason."""

import pytest

from tests.records import visits
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.sending import form


@pytest.fixture
def office(teo, orla, station, cast):
    visits.sealed(teo, orla, station)
    return Walker.of(cast.orla)


def link(office, task):
    """Where the list of what is due leads for a task."""
    page = office.get("/due?state=all")
    return next(to for to, _ in page.links if to.startswith("/intervals/") and f"/{task}?" in to)


def item(orla, task):
    return orla.get(f"/due-items?task={task}").json["items"][0]


def test_an_interval_is_set_for_a_piece_and_ended(office, orla):
    path = link(office, "vibration")
    page = office.get(path)
    assert page.faults == []
    sent = form(page, "/vibration")
    assert sent.fields["scope"] == [item(orla, "vibration")["piece"]]
    for _ in range(2):  # a form that is sent twice is one setting
        done = sent.send(office, months="5", reason="The base was grouted anew.")
        assert (done.status, done.headers["Location"]) == (302, f"{path}#set")
    held = item(orla, "vibration")
    assert held["months"] == 5
    after = office.get(path)
    assert after.words.count("counts now") == 1
    assert "The base was grouted anew." in after.words
    assert form(after, "/remove").send(office).status == 302
    assert item(orla, "vibration")["months"] == held["default_months"]


def test_for_all_of_a_client_it_counts_at_every_station(office, orla):
    sent = form(office.get(link(office, "vibration")), "/vibration")
    assert sent.send(office, scope="", months="7", reason="Agreed in the contract.").status == 302
    assert {each["months"] for each in orla.get("/due-items?task=vibration").json["items"]} == {7}


@pytest.mark.parametrize(
    ("months", "reason", "words"),
    [("", "x", "Months: "), ("twelve", "x", "Months: "), ("0", "x", "expected 1 to "),
     ("99999", "x", "expected 1 to "), ("6", " ", "Reason: ")],
)  # fmt: skip
def test_what_is_wrong_is_told_and_what_was_typed_stays(office, months, reason, words):
    path = link(office, "vibration")
    told = form(office.get(path), "/vibration").send(office, months=months, reason=reason)
    assert told.status == 400
    assert words in told.words
    assert form(told, "/vibration").fields["months"] == [months]


def test_a_protection_is_never_proven_less_often(office):
    path = link(office, "overload")
    assert "may be shortened, never lengthened" in office.get(path).words
    told = form(office.get(path), "/overload").send(office, months="59", reason="It never trips.")
    assert told.status == 400
    assert "never lengthened" in told.words


def test_what_is_done_once_or_unknown_has_no_page(office, cast):
    for task in ("rotation", "nothing"):
        assert office.get(f"/intervals/{cast.client}/{task}").status == 404


def test_an_interval_is_ended_at_its_own_client_alone(office, orla, cast):
    path = link(office, "vibration")
    form(office.get(path), "/vibration").send(office, months="5", reason="Grouted anew.")
    end = form(office.get(path), "/remove").path
    elsewhere = end.replace(str(cast.client), str(cast.contractor))
    assert elsewhere != end
    assert office.post(elsewhere).status == 404
    assert item(orla, "vibration")["months"] == 5
