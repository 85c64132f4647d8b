"""The page of a person's own tokens: listed, made, shown once, revoked."""

import re
from dataclasses import replace

import pytest
from django.test import Client
from psycopg import errors

from records import permissions
from records.models import AuditEntry
from tests.records import visits
from tests.records.cast import Person
from tests.records.client import Api, leave
from tests.records.devices import Device
from tests.records.enrolling import by_token
from tests.records.pages.entrance.walking import Walker

SECRET = re.compile(r"stb_[A-Za-z0-9_-]{43}")


@pytest.fixture
def browser(api, cast):
    """A browser for one of the cast."""
    return lambda name: Walker.of(getattr(cast, name))


def make(browser, **given):
    return browser.post(
        "/tokens", **{"name": "tablet", "scopes": ["read", "sign"], "days": "30"} | given
    )


def test_a_technician_makes_a_token_that_signs_and_its_text_is_shown_once(browser, cast):
    page = browser("teo")
    answer = make(page)
    assert answer.status == 201
    assert answer.headers["Cache-Control"].startswith("max-age=0, no-cache, no-store")
    [secret] = SECRET.findall(answer.html)
    me = Api(Person("tablet", "technician", cast.contractor, secret=secret)).get("/me").json
    assert (me["user"]["id"], me["role"]) == (str(cast.teo.id), "technician")
    assert me["scopes"] == ["read", "sign"]
    again = page.get("/tokens").html
    assert "tablet" in again
    assert not SECRET.findall(again)


def test_a_form_that_comes_twice_makes_one_token(browser):
    page = browser("teo")
    [identity] = re.findall(r'name="id" value="([0-9a-f-]{36})"', page.get("/tokens").html)
    [secret] = SECRET.findall(make(page, id=identity).html)
    again = make(page, id=identity)
    assert again.status == 409
    assert not SECRET.findall(again.html)
    assert "This form came before, and what it made was shown then" in again.html
    assert 'name="name" required value="tablet"' in again.html
    assert again.html.count(secret[:12]) == page.get("/tokens").html.count(secret[:12]) == 1
    assert SECRET.findall(make(page, id=visits.new_id()).html)


def test_the_id_of_another_houses_form_makes_none(browser):
    identity = visits.new_id()
    assert make(browser("otto"), id=identity).status == 201
    refused = make(browser("orla"), id=identity)
    assert refused.status == 409
    assert not SECRET.findall(refused.html)


def test_a_revoked_token_is_refused_at_its_next_request(browser, cast):
    page = browser("teo")
    [secret] = SECRET.findall(make(page).html)
    device = Api(Person("tablet", "technician", cast.contractor, secret=secret))
    assert device.get("/me").status == 200
    paths = re.findall(r'action="(/tokens/[0-9a-f-]{36}/revoke)"', page.get("/tokens").html)
    assert len(paths) == 2  # the tablet's, and the one that the tests call with
    assert page.post(paths[0]).status == 302
    assert device.get("/me").status == 401
    assert "revoked" in page.get("/tokens").html


def test_the_key_that_a_device_signs_with_is_told_to_its_person_and_the_office(browser, cast, teo):
    device = Device()
    assert device.register(teo).status == 201
    assert device.kid in browser("teo").get("/tokens").html
    assert device.kid in browser("orla").get(f"/people/{cast.teo.id}").html
    assert device.kid not in browser("orla").get("/tokens").html
    assert browser("cleo").get("/tokens").status == 200


def test_nobody_sees_or_revokes_anothers(browser):
    [path] = re.findall(
        r'action="(/tokens/[0-9a-f-]{36}/revoke)"', browser("teo").get("/tokens").html
    )
    for other in ("orla", "otto", "tilda"):
        page = browser(other)
        assert path not in page.get("/tokens").html
        assert page.post(path).status == 404


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"name": "  "}, "What it is for: expected text"),
        ({"scopes": []}, "It may: expected at least"),
        ({"scopes": ["everything"]}, "expected one of read, write"),
        ({"days": "0"}, "Days until it expires: expected at least 1"),
        ({"days": "many"}, "Days until it expires: expected a whole number"),
    ],
    ids=str,
)
def test_a_bad_wish_is_told_on_the_page(browser, given, words):
    answer = make(browser("teo"), **given)
    assert answer.status == 400
    assert words in answer.html
    assert not SECRET.findall(answer.html)


def test_what_was_typed_stays_when_it_is_refused(browser):
    html = make(browser("teo"), name='tablet "B"', days="900").html
    assert 'value="tablet &quot;B&quot;"' in html
    assert 'value="900"' in html
    chosen = re.findall(r'name="scopes" value="(\w+)" checked', html)
    assert chosen == ["read", "sign"]


def test_a_clients_archive_script_reads_its_own_and_does_nothing_else(browser, cast, station):
    page = browser("cleo")
    html = page.get("/tokens").html
    assert re.findall(r'name="scopes" value="(\w+)"', html) == ["read"]
    assert "Enrol a device" not in html
    answer = make(page, name="archive", scopes=["read"])
    assert answer.status == 201
    [secret] = SECRET.findall(answer.html)
    script = Api(Person("archive", "client", cast.client, secret=secret))
    me = script.get("/me").json
    assert (me["user"]["id"], me["role"]) == (str(cast.cleo.id), "client")
    assert me["scopes"] == ["read"]
    assert [site["id"] for site in script.get("/sites").json["items"]] == [station.site]
    assert script.get("/records").status == 200
    for path in ("/events", "/tokens", "/members", "/audit"):
        assert script.get(path).status == 403
    assert script.post("/tokens", {"name": "more", "scopes": ["read"]}).status == 403
    listed = page.get("/tokens").html
    paths = dict(re.findall(r'action="([^"]+/revoke)">.*?aria-label="Revoke ([^"]+)"', listed))
    [path] = [path for path, name in paths.items() if name == "archive"]
    assert browser("cato").post(path).status == 404
    assert page.post(path).status == 302
    assert script.get("/me").status == 401


@pytest.mark.parametrize("scopes", [["write"], ["read", "sign"], ["manage"]])
def test_a_clients_token_is_given_no_more(browser, scopes):
    answer = make(browser("cleo"), scopes=scopes)
    assert answer.status == 400
    assert "It may: expected read alone" in answer.html


def test_the_database_gives_it_no_more_either(stage, cast):
    widen = "UPDATE records_token SET scopes = '{read,write}' WHERE user_id = %s"
    with stage.as_owner() as owner, pytest.raises(errors.CheckViolation, match="client_reads"):
        owner.execute(widen, [cast.cleo.id])


def test_what_a_client_makes_is_written_down(browser, stage, cast):
    make(browser("cleo"), name="archive", scopes=["read"])
    leave()
    permissions.enter(by_token(cast.orla))
    assert not AuditEntry.objects.filter(name="archive").exists()  # the client's own
    leave()
    office = replace(by_token(cast.orla), organization_id=cast.client)
    permissions.enter(office)
    entry = AuditEntry.objects.get(name="archive")
    assert (entry.action, entry.person_id, entry.role) == ("token made", cast.cleo.id, "client")


def test_a_stranger_gets_no_further():
    assert Client().get("/tokens").headers["Location"].startswith("/sign-in")
