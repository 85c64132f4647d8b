"""Guessing at the entrance: how often, from where, and that nobody is locked out for ever."""

import pytest

from records.services import guessing
from records.services.guessing import Limit
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.pages.entrance.walking import PASSWORD, Walker, totp, wrong

PAIR, ADDRESS = guessing.SIGN_IN_BY_PAIR.most, guessing.SIGN_IN_BY_ADDRESS.most


def refused(browser):
    """The last answer is a page that says how long to wait."""
    assert browser.answer.status_code == 429
    assert 0 < int(browser.answer.headers["Retry-After"]) <= 86_400
    return True


def test_guesses_at_one_account_from_one_address(browser):
    for _ in range(PAIR):
        assert browser.sign_in("cleo", "wrong").status == 200
    page = browser.sign_in("cleo", PASSWORD)  # the right one is not looked at any more
    assert refused(browser)
    assert "Try again in" in page.words
    assert page.faults == []
    assert Walker("192.0.2.99").sign_in("cleo").status == 302  # from elsewhere she comes in
    assert browser.sign_in("teo").status == 302  # and others from here


def test_either_name_is_the_same_account(browser):
    names = ("cleo", "CLEO", "cleo@people.example", " Cleo ")
    for number in range(PAIR):
        browser.sign_in(names[number % len(names)], "wrong")
    browser.sign_in("cleo@people.example")
    assert refused(browser)


def test_guesses_at_many_accounts_from_one_address(browser, monkeypatch):
    monkeypatch.setattr(guessing, "SIGN_IN_BY_ADDRESS", Limit("sign-in by address", 8, 600))
    for number in range(8):
        assert browser.sign_in(f"person-{number}", "wrong").status == 200
    browser.sign_in("cleo")
    assert refused(browser)


def test_guesses_at_one_account_from_everywhere(entrance, monkeypatch):
    monkeypatch.setattr(guessing, "SIGN_IN_BY_ACCOUNT", Limit("sign-in by account", 8, 600))
    for number in range(8):
        assert Walker(f"198.51.100.{number}").sign_in("cleo", "wrong").status == 200
    stranger = Walker("198.51.100.77")
    stranger.sign_in("cleo")
    assert refused(stranger)


def test_a_person_is_not_locked_out_of_a_browser_that_knows_them(entrance, monkeypatch):
    """Strangers from everywhere use up the account's limit; her own browser has its own."""
    monkeypatch.setattr(guessing, "SIGN_IN_BY_ACCOUNT", Limit("sign-in by account", 3, 600))
    own = Walker("192.0.2.10")
    own.sign_in("cleo")
    own.post("/sign-out")
    for number in range(4):
        Walker(f"198.51.100.{number}").sign_in("cleo", "wrong")
    assert own.sign_in("cleo").status == 302
    assert own.sign_in("teo", "wrong").status == 302  # already in
    own.post("/sign-out")
    for _ in range(guessing.SIGN_IN_BY_BROWSER.most):
        own.sign_in("cleo", "wrong")
    own.sign_in("cleo")
    assert refused(own)  # stolen, such a browser guesses no more than others


def test_the_mark_of_a_browser_cannot_be_made_or_used_for_another(entrance, monkeypatch):
    monkeypatch.setattr(guessing, "SIGN_IN_BY_ACCOUNT", Limit("sign-in by account", 3, 600))
    own = Walker("192.0.2.10")
    own.sign_in("cleo")
    mark = own.client.cookies["known_browser"].value
    for number in range(3):
        Walker(f"198.51.100.{number}").sign_in("teo", "wrong")
    for value in (mark, mark[:-1] + ("A" if mark[-1] != "A" else "B"), "x", ""):
        stranger = Walker("198.51.100.8")
        stranger.client.cookies["known_browser"] = value
        stranger.sign_in("teo")
        assert refused(stranger)


def test_what_one_address_is_refused_does_not_count_for_the_account(entrance, monkeypatch):
    """A stranger at one address uses up no more than that address is allowed."""
    limit = Limit("sign-in by account", PAIR + 1, 600)
    monkeypatch.setattr(guessing, "SIGN_IN_BY_ACCOUNT", limit)
    stranger = Walker("198.51.100.8")
    for _ in range(3 * PAIR):
        stranger.sign_in("cleo", "wrong")
    assert Walker("192.0.2.10").sign_in("cleo").status == 302


def test_signing_in_rightly_counts_for_nothing(entrance):
    for _ in range(2 * PAIR):
        assert Walker().sign_in("cleo").status == 302


def test_codes_of_the_second_factor(office, monkeypatch):
    import time

    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + 90)
    most = guessing.SECOND_FACTOR.most
    for number in range(most):
        other = Walker(f"198.51.100.{number}")  # from everywhere: the account counts
        other.sign_in("orla")
        assert other.post("/sign-in/code", code=wrong(office.secret)).status == 200
    last = Walker("198.51.100.200")
    last.sign_in("orla")
    page = last.post("/sign-in/code", code=totp(office.secret))
    assert refused(last)
    assert page.faults == []
    office.post("/confirm/code", code=totp(office.secret))
    assert refused(office)  # the same limit, wherever codes are asked for


def test_the_password_that_confirms(browser):
    browser.sign_in("cleo")
    most = guessing.SIGN_IN_BY_BROWSER.most
    for number in range(most):
        path = "/confirm" if number % 2 else "/password"
        page = browser.post(path, password="wrong", oldpassword="wrong", password1="x" * 12,
                            password2="x" * 12)  # fmt: skip
        assert page.status == 200
    browser.post("/confirm", password=PASSWORD)
    assert refused(browser)


def test_links_to_choose_another_password(browser):
    most = guessing.RESET_BY_ACCOUNT.most
    for email in ("cleo@people.example", "zoe@people.example"):  # known or not
        for number in range(most):
            other = Walker(f"198.51.100.{number}")
            assert other.post("/password/forgotten", email=email).status == 302
        other = Walker("198.51.100.200")
        page = other.post("/password/forgotten", email=email.upper())
        assert refused(other)
        assert page.faults == []


def test_many_addresses_asked_for_from_one(browser):
    for number in range(guessing.RESET_BY_ADDRESS.most):
        browser.post("/password/forgotten", email=f"person-{number}@people.example")
    browser.post("/password/forgotten", email="cleo@people.example")
    assert refused(browser)


def test_links_themselves(browser, entrance):
    path = f"/password/choose/{entrance.cleo.id.hex}-abc123-{'0' * 32}"
    for _ in range(guessing.LINK_BY_ADDRESS.most):
        assert browser.get(path).status == 404
    browser.get(path)
    assert refused(browser)


def stranger(number):
    return Person("nobody", "office", None, secret=f"stb_{number}")


def test_tokens_by_address(api, cast, monkeypatch):
    monkeypatch.setattr(guessing, "TOKEN_BY_ADDRESS", Limit("token by address", 5, 600))
    for number in range(5):
        answer = Api(stranger(number)).get("/me")
        assert answer.status == 401
    answer = Api(stranger(6)).get("/me")
    assert answer.status == 429
    assert answer.type == "application/problem+json"
    assert answer.json["type"] == "/problems/too-many-guesses"
    assert 0 < int(answer.headers["Retry-After"]) <= 600
    assert Api(None).get("/me").status == 401  # nothing was guessed
    # A good token is not kept from its work by a script that has an old one at the same address.
    assert api(cast.teo).get("/me").status == 200
    elsewhere = Api(stranger(7)).raw("GET", "/api/v1/me", REMOTE_ADDR="203.0.113.9")
    assert elsewhere.status == 401


@pytest.mark.parametrize("path", ["/sign-in", "/password/forgotten"])
def test_looking_at_a_form_is_no_guess(browser, path):
    for _ in range(ADDRESS + 5):
        assert browser.get(path).status == 200


def test_the_problem_has_its_page(browser):
    assert browser.get("/problems/too-many-guesses").status == 200
