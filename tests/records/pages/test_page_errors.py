"""What goes wrong is told in the look of the pages, with a way to go on."""

import re

import pytest
from django.db import OperationalError
from django.test import Client

from records.pages import stations
from tests.records.client import leave
from tests.records.pages.reading import Page, open_page, read


def test_an_address_that_leads_nowhere_has_a_page(page):
    for name in ("orla", "cleo", None):
        seen = page(name, "/nope")
        assert seen.status == 404
        assert seen.headings == [(1, "There is no such page here")]
        assert ("/", "To the stations") in seen.links
        assert seen.faults == []
        assert "Sign out" in seen.words if name else "Sign out" not in seen.words


def test_what_is_no_id_is_nothing_here(page):
    for path in ("/stations/x", "/events/x", "/records/x", "/records/%00"):
        assert page("orla", path).headings == [(1, "There is no such page here")]


def test_what_a_role_may_not_do_is_told_in_a_whole_sentence(page):
    seen = page("teo", "/people")
    assert seen.status == 403
    assert "This needs the role office; yours is technician." in seen.words


def test_the_plural_of_a_station_is_the_list(page):
    assert page("orla", "/stations").headers["Location"] == "/"


def test_whoever_is_not_signed_in_is_asked_to(page, station):
    seen = page(None, f"/stations/{station.site}")
    assert (seen.status, seen.headers["Location"]) == (
        302,
        f"/sign-in?next=/stations/{station.site}",
    )
    form = page(None, "/sign-in")
    assert form.faults == []
    assert "User name or e-mail address" in form.words


def test_a_wrong_password_is_told_beside_the_fields(cast, api):
    answer = Client().post("/sign-in", {"login": "orla", "password": "wrong"})
    seen = read(Page(answer.status_code, {}, answer.content.decode()))
    assert "Name and password do not belong together." in seen.words
    assert 'aria-describedby="told"' in seen.html
    assert seen.faults == []


def test_a_form_from_elsewhere_is_told_what_to_do(cast, api):
    leave()
    answer = Client(enforce_csrf_checks=True).post("/sign-in", {"username": "orla"})
    seen = read(Page(answer.status_code, {}, answer.content.decode()))
    assert seen.status == 403
    assert "load the page again" in seen.words
    assert seen.faults == []


@pytest.mark.parametrize(
    ("error", "status", "title"),
    [
        (RuntimeError("secret detail"), 500, "Something went wrong on our side"),
        (OperationalError("secret detail"), 503, "The book cannot be reached at the moment"),
    ],
)
def test_a_fault_of_ours_tells_nothing_but_that(cast, api, monkeypatch, error, status, title):
    def fail(actor, wanted):
        raise error

    monkeypatch.setattr(stations.board, "board", fail)
    seen = open_page(cast.orla, "/")
    assert (seen.status, seen.headings) == (status, [(1, title)])
    assert "secret detail" not in seen.html
    assert ("Retry-After" in seen.headers) is (status == 503)
    assert seen.faults == []


def test_every_page_has_no_script_but_one_and_nothing_from_elsewhere(page, station):
    """The one keeps forms where the connection is gone; no page needs it."""
    for path in ("/", f"/stations/{station.site}", "/rules", "/sign-in", "/nope"):
        html = page(None if path == "/sign-in" else "orla", path).html
        assert html.count("<script") == html.count('connection.js" defer></script>') == 1
        assert re.findall(r'(?:src|href|action)="(?:\w+:)?//', html) == []
        assert '<html lang="en">' in html
