"""Who they are is confirmed before people sign, seal, or make a token that signs."""

import json
import re
import uuid

import pytest
from django.test import Client

from records.errors import ConfirmationNeeded, SecondFactorNeeded
from tests.records import visits
from tests.records.client import Answer, leave
from tests.records.pages.entrance.walking import PASSWORD, Walker, totp
from tests.records.problems import assert_problem
from tests.records.sessions import sign_in

LONG_AGO = 16 * 60  # s; confirmed for 15 minutes
TOKEN = {"name": "tablet", "scopes": ["read", "sign"], "days": "30"}


def over_api(browser, method, path, body):
    """A call of the API with the pages' session, and its CSRF token."""
    leave()
    browser.client.get("/rules")
    leave()
    return browser.client.generic(
        method, f"/api/v1{path}", json.dumps(body).encode(), content_type="application/json"
    )


@pytest.mark.parametrize(
    "media",
    ["application/json", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data"],
)
@pytest.mark.parametrize("what", ["attachments", "traces", "uploads"])
def test_no_file_comes_from_a_page_elsewhere(cast, what, media):
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    sign_in(client, cast.teo)
    leave()
    client.get("/tokens")  # sets the cookie, which the browser sends from elsewhere as well
    leave()
    at = f"/api/v1/events/{uuid.uuid4()}/{what}"
    assert_problem(Answer(client.generic("POST", at, b"a=1", content_type=media)), 403)


@pytest.fixture
def signing(teo, station):
    """A visit that Teo may sign, and what he would send."""
    event = visits.post(teo, station)
    at = f"/events/{event['id']}/signatures"
    return at, {"meaning": "performed", "digest": teo.get(at).json["to_sign"]["performed"]}


@pytest.mark.parametrize(
    ("methods", "ago", "expected"),
    [
        (("password", "mfa"), 0, 201),
        (("password", "mfa"), LONG_AGO, "/problems/confirmation-needed"),
        (("password",), 0, "/problems/second-factor-needed"),
        (("password",), LONG_AGO, "/problems/second-factor-needed"),
    ],
    ids=str,
)
def test_signing_in_a_session_needs_both(entrance, signing, methods, ago, expected):
    path, wanted = signing
    answer = over_api(Walker.of(entrance.teo, *methods, ago=ago), "POST", path, wanted)
    if expected == 201:
        assert answer.status_code == 201
    else:
        assert answer.status_code == 403
        assert answer.headers["Content-Type"] == "application/problem+json"
        assert json.loads(answer.content)["type"] == expected


def test_sealing_needs_it_too(entrance, teo, orla, station):
    event = visits.signed(teo, orla, station)
    path = f"/events/{event['id']}/seal"
    answer = over_api(Walker.of(entrance.orla, ago=LONG_AGO), "POST", path, None)
    assert (answer.status_code, json.loads(answer.content)["type"]) == (
        403, "/problems/confirmation-needed",
    )  # fmt: skip
    assert orla.get(f"/events/{event['id']}").json["state"] == "draft"
    answer = over_api(Walker.of(entrance.orla), "POST", path, None)
    assert answer.status_code == 201


def test_a_token_that_signs_over_the_api_needs_it_too(entrance):
    wanted = {"name": "tablet", "scopes": ["read", "sign"]}
    answer = over_api(Walker.of(entrance.orla, ago=LONG_AGO), "POST", "/tokens", wanted)
    assert json.loads(answer.content)["type"] == "/problems/confirmation-needed"
    answer = over_api(
        Walker.of(entrance.orla, ago=LONG_AGO), "POST", "/tokens", wanted | {"scopes": ["read"]}
    )
    assert answer.status_code == 201
    answer = over_api(Walker.of(entrance.orla), "POST", "/tokens", wanted)
    assert answer.status_code == 201


def test_where_it_is_offered_confirming_is_still_asked(entrance, signing, settings):
    settings.SECOND_FACTOR = "offered"
    path, wanted = signing
    for ago, status in ((LONG_AGO, 403), (0, 201)):
        browser = Walker.of(entrance.teo, "password", ago=ago)
        assert over_api(browser, "POST", path, wanted).status_code == status


def test_how_long_it_lasts_is_a_setting(entrance, signing, settings):
    settings.CONFIRMED_MINUTES = 20
    path, wanted = signing
    assert over_api(Walker.of(entrance.teo, ago=LONG_AGO), "POST", path, wanted).status_code == 201


@pytest.mark.parametrize("error", [ConfirmationNeeded, SecondFactorNeeded])
def test_each_problem_has_its_page(browser, error):
    page = browser.get(f"/problems/{error.code}")
    assert page.status == 200
    assert error.title in page.words


def test_on_the_page_one_confirms_and_finds_what_one_had_typed(entrance):
    browser = Walker.of(entrance.teo, ago=LONG_AGO)
    browser.post("/tokens", **TOKEN)
    assert browser.at.startswith("/confirm?next=")
    page = browser.get(browser.at)
    assert page.faults == []
    assert "Password of teo" in page.words
    back = re.findall(r'name="next" value="([^"]+)"', page.html)[0].replace("&amp;", "&")
    refused = browser.post("/confirm", password="wrong", next=back)
    assert "This is not your password." in refused.words
    browser.post("/confirm", password=PASSWORD, next=back)
    assert browser.at == back
    html = browser.get(back).html
    assert 'value="tablet"' in html
    assert re.findall(r'name="scopes" value="(\w+)" checked', html) == ["read", "sign"]
    assert browser.post("/tokens", **TOKEN).status == 201


def test_making_a_token_that_reads_asks_for_nothing(entrance):
    browser = Walker.of(entrance.teo, "password", ago=LONG_AGO)
    assert browser.post("/tokens", **TOKEN | {"scopes": ["read"]}).status == 201


def test_who_has_no_second_factor_is_led_to_set_one_up_before_a_token_that_signs(browser):
    browser.sign_in("teo")
    browser.post("/tokens", **TOKEN)
    assert browser.at.startswith("/second-factor?next=%2Ftokens%3Fname%3Dtablet")
    browser.get(browser.at)
    browser.set_up()
    back = browser.get("/second-factor/recovery-codes").to("Go on")
    assert back == ["/tokens?name=tablet&scopes=read&scopes=sign&days=30"]
    assert browser.post("/tokens", **TOKEN).status == 201


def test_the_code_confirms_as_well(office, monkeypatch):
    import time

    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + LONG_AGO)
    office.post("/tokens", **TOKEN)
    page = office.get(office.at)
    [other] = page.to("Use the second factor instead")
    assert other.startswith("/confirm/code?next=")
    page = office.get(other)
    assert page.faults == []
    assert page.to("Use the password instead")
    office.post("/confirm/code", code=totp(office.secret), next="/tokens")
    assert office.at == "/tokens"
    assert office.post("/tokens", **TOKEN).status == 201


def test_what_changes_access_asks_again_after_a_while(office, monkeypatch):
    import time

    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + LONG_AGO)
    for path in ("/second-factor/app/remove", "/second-factor/recovery-codes/new",
                 "/second-factor/recovery-codes"):  # fmt: skip
        office.get(path)
        assert office.at.startswith("/confirm?next="), path


def test_nobody_is_sent_elsewhere_by_confirming(entrance):
    browser = Walker.of(entrance.teo)
    browser.post("/confirm", password=PASSWORD, next="https://elsewhere.example/")
    assert browser.at == "/"
