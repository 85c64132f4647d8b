"""What a browser with a session can be made to do, and what is left of a session that is over.

The fuzzer and the table of the API's routes come with tokens alone; here is the same by session.
"""

import re
from collections import defaultdict
from contextlib import contextmanager

import pytest
from django.db import connection
from django.test import Client

from records.services import files
from tests.records import world as worlds
from tests.records.client import leave
from tests.records.pages.entrance.walking import PASSWORD, Walker, give_quick_password, totp
from tests.records.pages.test_page_routes import ROUTES as PAGES
from tests.records.sessions import sign_in
from tests.records.test_isolation import FOR_NOBODY_KNOWN, OWN, PEOPLE, ROUTES, Places, places

READS = ("GET", "HEAD")
NOWHERE = "0" * 32
NOBODYS_ID = "00000000-0000-0000-0000-000000000000"
NEW = {"password1": "seven grey herons", "password2": "seven grey herons"}
# What a page elsewhere can bring a browser to send: the cookies come along, no token of ours does.
FORGERIES = {
    "no token": {},
    "another browser's token": {"X-CSRFToken": "a" * 32},
    "a token that is none": {"X-CSRFToken": "x"},
    "a good token from elsewhere": {"Origin": "https://elsewhere.example"},
    "a good token from nowhere": {"Origin": "null"},
}
PAGES_READ = sorted({route for method, route in PAGES if method == "GET"})


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    made = worlds.of(stage)
    for content in (worlds.NOTE, worlds.ROWS):
        files.store(content)  # where this test keeps its files
    return made


@pytest.fixture
def quick(world, api, cast, settings):
    """Everybody's password is compared in no time."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    for person in cast.people:
        give_quick_password(person)
    return cast


class Browser:
    """One that checks like a real request, with the cookie that forms and scripts read."""

    def __init__(self, person, *methods, ago=0):
        self.client = Client(enforce_csrf_checks=True, raise_request_exception=False)
        sign_in(self.client, person, *methods, ago=ago)
        self.call("GET", "/password")  # a form: the cookie of its token

    @property
    def token(self):
        return self.client.cookies["csrftoken"].value

    def call(self, method, path, headers=None, body=b"{}"):
        leave()
        given = b"" if method in READS else body
        return self.client.generic(
            method, path, given, content_type="application/json", headers=headers
        )

    def forged(self, method, path, forgery, body=b"{}"):
        told = FORGERIES[forgery]
        if "Origin" in told:
            told = {**told, "X-CSRFToken": self.token}
        return self.call(method, path, told, body)


def api_calls(side, which):
    """Those of the API, at one side's things."""
    for (method, route), (own, other) in ROUTES.items():
        if which(method):
            yield method, route, "/api/v1" + places(side).path(route), own, other


def page_at(route):
    """Some address of a page; of things that nobody has."""
    return "/" + route.format_map(defaultdict(lambda: NOWHERE))


@contextmanager
def nothing_done():
    """Nothing is written but sessions, and nobody's place in the database is taken."""
    done = []

    def watch(execute, sql, parameters, *rest):
        text = f"{sql} {parameters}"
        if "django_session" not in text and (
            re.match(r"\s*(INSERT|UPDATE|DELETE)\b", text) or "stationbook_" in text
        ):
            done.append(text)
        return execute(sql, parameters, *rest)

    with connection.execute_wrapper(watch):
        yield
    assert done == []


def test_what_is_watched_for_is_seen(world, api, cast):
    with pytest.raises(AssertionError), nothing_done():
        Browser(cast.teo).call("GET", "/api/v1/sites")


@pytest.mark.parametrize("forgery", FORGERIES)
@pytest.mark.parametrize("name", OWN)
def test_a_page_elsewhere_calls_nothing_of_the_api(world, api, cast, name, forgery):
    browser = Browser(getattr(cast, name))
    with nothing_done():
        for method, route, path, *_ in api_calls(world.own, lambda method: method not in READS):
            if (method, route) in FOR_NOBODY_KNOWN:
                continue  # no session counts there
            answer = browser.forged(method, path, forgery)
            assert (answer.status_code, answer.headers["Content-Type"]) == (
                403, "application/problem+json",
            ), path  # fmt: skip
            assert "CSRF" in answer.json()["detail"], path


@pytest.mark.parametrize("name", OWN)
def test_a_token_in_the_body_is_none_for_the_api(world, api, cast, name):
    """A form can be made to send one; its header cannot be set from elsewhere."""
    browser = Browser(getattr(cast, name))
    body = f"csrfmiddlewaretoken={browser.token}".encode()
    with nothing_done():
        for method, _, path, *_ in api_calls(world.own, lambda method: method == "POST"):
            leave()
            media = "application/x-www-form-urlencoded"
            answer = browser.client.generic(method, path, body, content_type=media)
            assert answer.status_code in (400, 403, 415), path


@pytest.mark.parametrize("forgery", FORGERIES)
@pytest.mark.parametrize("name", OWN)
def test_a_page_elsewhere_sends_no_form(world, api, cast, name, forgery):
    browser = Browser(getattr(cast, name))
    with nothing_done():
        for method, route in PAGES:
            if method == "POST":
                answer = browser.forged(method, page_at(route), forgery)
                assert answer.status_code == 403, route


def test_a_page_elsewhere_signs_nobody_in(quick):
    """As the attacker, so that what is entered then is the attacker's."""
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    client.get("/sign-in")
    form = {"login": "cleo", "password": PASSWORD}
    assert client.post("/sign-in", form).status_code == 403
    form["csrfmiddlewaretoken"] = client.cookies["csrftoken"].value
    elsewhere = {"Origin": "https://elsewhere.example"}
    assert client.post("/sign-in", form, headers=elsewhere).status_code == 403
    leave()
    assert client.get("/").status_code == 302


@pytest.mark.parametrize("header", ["X-HTTP-Method-Override", "X-HTTP-Method", "X-Method-Override"])
def test_no_header_makes_a_read_a_change(world, api, cast, header):
    """A link from elsewhere is a GET, and asks for no token."""
    browser = Browser(cast.orla)
    for method, _, path, *_ in api_calls(world.own, lambda method: method not in READS):
        usual = browser.call("GET", path)
        answer = browser.call("GET", path, {header: method})
        assert (answer.status_code, answer.headers.get("ETag")) == (
            usual.status_code, usual.headers.get("ETag"),
        ), path  # fmt: skip
    still = {f"{path}" for method, _, path, *_ in api_calls(world.own, lambda m: m == "DELETE")}
    for path in still:
        assert browser.call("GET", path).status_code in (200, 405), path


@pytest.mark.parametrize("name", [name for name in PEOPLE if name not in OWN])
def test_a_session_gets_nothing_of_the_other_side(world, api, cast, name):
    """The same by session as by token, for every operation; like what is not there."""
    browser = Browser(getattr(cast, name))
    absent = Places(dict.fromkeys(places(world.own).ids, NOBODYS_ID))
    at = PEOPLE.index(name) - len(OWN)
    for method, route, path, _, other in api_calls(world.own, lambda _: True):
        if "{" not in route or "{member}" in route:
            continue
        headers = {"X-CSRFToken": browser.token}
        answer = browser.call(method, path, headers)
        assert answer.status_code == other[at], (method, route)
        nowhere = browser.call(method, "/api/v1" + absent.path(route), headers)
        assert (answer.status_code, answer.content) == (nowhere.status_code, nowhere.content), route


# -- a session that is not whole, or is over -----------------------------------------------------


def like_nobody(browser, world):
    """What tells a session from none: addresses that answer otherwise than to a stranger."""
    stranger = Client(raise_request_exception=False)
    paths = [page_at(route) for route in PAGES_READ if not route.startswith("sign-in")]
    paths += [path for _, _, path, *_ in api_calls(world.own, lambda method: method == "GET")]
    found = []
    for path in paths:
        seen = []
        for client in (browser, stranger):
            leave()
            answer = client.get(path)
            seen.append((answer.status_code, answer.headers.get("Location")))
        found += [path] if seen[0] != seen[1] else []
    return found


def test_a_session_makes_a_difference(world, quick):
    """Else the next ones would see none."""
    browser = Walker()
    browser.sign_in("cleo")
    assert len(like_nobody(browser.client, world)) > 60


def test_before_the_second_factor_is_shown_a_session_is_nobodys(world, quick):
    office = Walker()
    office.sign_in("orla")
    office.set_up()
    browser = Walker()
    browser.sign_in("orla")
    assert browser.at == "/sign-in/code"
    assert like_nobody(browser.client, world) == []
    leave()
    answer = browser.client.post("/api/v1/rule-settings", b"{}", content_type="application/json")
    assert answer.status_code == 401


def test_after_signing_out_the_cookie_is_nobodys(world, quick):
    """Also with what the browser still has of a page, and its tag."""
    browser = Walker()
    browser.sign_in("cleo")
    leave()
    read = browser.client.get("/api/v1/records")
    before = browser.client.cookies["sessionid"].value
    browser.post("/sign-out")
    thief = Client(raise_request_exception=False)
    thief.cookies["sessionid"] = before
    assert like_nobody(thief, world) == []
    leave()
    again = thief.get("/api/v1/records", headers={"If-None-Match": read.headers["ETag"]})
    assert again.status_code == 401


@pytest.mark.parametrize("by", ["changed", "recovered"])
def test_another_password_ends_other_sessions_everywhere(world, quick, settings, by):
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    elsewhere = Walker()
    elsewhere.sign_in("cleo")
    browser = Walker()
    if by == "changed":
        browser.sign_in("cleo")
        browser.post("/password", oldpassword=PASSWORD, **NEW)
    else:
        recover(browser, "cleo@people.example")
    assert like_nobody(elsewhere.client, world) == []


def recover(browser, email):
    from django.core import mail

    browser.post("/password/forgotten", email=email)
    [link] = re.findall(r"/password/choose/[0-9a-f]{32}-[0-9a-z-]+", mail.outbox[-1].body)
    browser.get(link)
    path = browser.at
    browser.get(path)
    browser.post(path, **NEW)
    assert browser.at == "/password/chosen"


def of_the_book(world):
    """Words that only people of the own side read."""
    return (world.own.station.site, world.own.record, "Tresk", "Halvorn")


@pytest.fixture
def ended(world, api, cast, stage):
    """A session of Teo, who was let go after it began; done before the test's transaction."""
    with stage.as_owner() as owner:
        statement = "UPDATE records_membership SET ended_at = {} WHERE user_id = %s"
        owner.execute(statement.format("now()"), [cast.teo.id])
        yield Browser(cast.teo)
        owner.execute(statement.format("NULL"), [cast.teo.id])


def test_who_was_let_go_reads_nothing_with_a_session_that_goes_on(ended, world):
    for _, _, path, *_ in api_calls(world.own, lambda method: method == "GET"):
        assert ended.call("GET", path).status_code == 401, path
    for route in PAGES_READ:
        told = ended.call("GET", page_at(route)).content.decode()
        assert not any(word in told for word in of_the_book(world)), route


def test_who_was_let_go_changes_nothing_with_a_session_that_goes_on(ended, world):
    headers = {"X-CSRFToken": ended.token}
    with nothing_done():
        for method, route, path, *_ in api_calls(world.own, lambda method: method not in READS):
            if (method, route) not in FOR_NOBODY_KNOWN:
                assert ended.call(method, path, headers).status_code == 401, path
        for method, route in PAGES:
            if method == "POST" and not route.startswith(("sign-", "password", "second-", "conf")):
                assert ended.call(method, page_at(route), headers).status_code in (403, 405), route


def test_an_office_without_a_second_factor_gets_as_far_as_setting_one_up(world, quick):
    browser = Browser(quick.orla, "password")
    headers = {"X-CSRFToken": browser.token}
    for method, route, path, *_ in api_calls(world.own, lambda _: True):
        if (method, route) not in FOR_NOBODY_KNOWN:
            answer = browser.call(method, path, headers)
            assert answer.status_code == 403, path
            if method != "HEAD":
                assert answer.json()["type"] == "/problems/second-factor-needed", path
    for route in PAGES_READ:
        answer = browser.call("GET", page_at(route))
        assert not any(word in answer.content.decode() for word in of_the_book(world)[:2]), route


def test_a_second_factor_of_a_former_session_does_not_count_in_the_next(quick):
    office = Walker()
    office.sign_in("orla")
    secret = office.set_up()
    office.post("/sign-out")
    office.sign_in("orla")
    assert office.get("/").status == 302
    office.post("/sign-in/code", code=totp(secret))  # the code that set it up: used once
    assert office.get("/").status == 302
