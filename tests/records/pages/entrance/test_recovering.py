"""Recovering access by mail: nothing tells who has an account, and a link is good once, in time."""

import re
import time

import pytest
from django.contrib.auth import tokens
from django.core import mail

from records.services import links
from tests.records.pages.entrance.walking import PASSWORD, Walker, totp

NEW = {"password1": "seven grey herons", "password2": "seven grey herons"}
LINK = re.compile(r"http://testserver(/password/choose/[0-9a-f]{32}-[0-9a-z-]+)")


def asked(browser, email):
    browser.post("/password/forgotten", email=email)
    assert browser.at == "/password/forgotten/sent"
    return browser.get(browser.at)


def mailed():
    [found] = LINK.findall(mail.outbox[-1].body)
    return found


def test_a_forgotten_password_is_replaced_through_a_mailed_link(browser, entrance):
    elsewhere = Walker()
    elsewhere.sign_in("cleo")
    page = browser.get("/sign-in")
    assert page.to("Password forgotten") == ["/password/forgotten"]
    assert asked(browser, "Cleo@people.example").faults == []
    assert mail.outbox[-1].to == ["cleo@people.example"]
    link = mailed()
    browser.get(link)
    assert browser.at.endswith("-set-password")  # the address that stays in the browser's history
    page = browser.get(browser.at)
    assert page.faults == []
    assert "For cleo" in page.words
    form = re.findall(r'action="(/password/choose/[^"]+)"', page.html)[0]
    browser.post(form, **NEW)
    assert browser.at == "/password/chosen"
    assert "signed out" in browser.get(browser.at).words
    assert elsewhere.get("/").status == 302
    assert Walker().sign_in("cleo").status == 200
    assert Walker().sign_in("cleo", NEW["password1"]).status == 302
    assert mail.outbox[-1].subject == "Stationbook: another password was chosen"
    again = Walker()
    page = again.get(link)
    assert (page.status, page.headings[0][1]) == (404, "This link is no longer good")
    assert page.faults == []


def choose(browser, link, **given):
    browser.get(link)
    path = browser.at
    browser.get(path)
    return browser.post(path, **given or NEW)


def test_the_second_factor_is_still_asked_for(office, monkeypatch):
    now = time.time()
    browser = Walker()
    asked(browser, "orla@people.example")
    choose(browser, mailed())
    monkeypatch.setattr(time, "time", lambda: now + 90)
    browser.sign_in("orla", NEW["password1"])
    assert browser.at == "/sign-in/code"
    browser.post("/sign-in/code", code=totp(office.secret))
    assert browser.at == "/"


def test_what_is_answered_tells_nothing_of_who_has_an_account(browser):
    """Text, status and number of mails are the same, known or not."""
    pages, counts = [], []
    for email in ("cleo@people.example", "zoe@people.example", "CLEO@PEOPLE.EXAMPLE"):
        mail.outbox = []
        pages.append((asked(browser, email).html, browser.answer.status_code))
        counts.append(len(mail.outbox))
    assert pages[0] == pages[1] == pages[2]
    assert counts == [1, 1, 1]


def test_an_address_that_nobody_has_is_told_so_there_alone(browser):
    asked(browser, "zoe@people.example")
    [sent] = mail.outbox
    assert sent.to == ["zoe@people.example"]
    assert "Nobody has it here" in sent.body
    assert not LINK.findall(sent.body)


def test_a_mail_server_that_is_away_changes_no_answer(browser, settings, caplog):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", 9, 1
    pages = [asked(browser, email).html for email in ("cleo@people.example", "zoe@p.example")]
    assert pages[0] == pages[1]
    assert "cleo" not in caplog.text
    assert "a mail was not sent: ConnectionRefusedError" in caplog.text


def test_an_address_that_no_mail_reaches_changes_no_answer(browser, caplog):
    """A label of a domain has 63 octets at most (RFC 1035, 2.3.4), in the form that is sent."""
    pages = [asked(browser, f"zoe@{label}.example").html for label in ("people", "ä" * 58)]
    assert pages[0] == pages[1]
    assert [sent.to for sent in mail.outbox] == [["zoe@people.example"]]
    assert "a mail was not sent: UnicodeError" in caplog.text


def test_where_no_mail_is_set_up_the_page_says_so(browser, settings):
    settings.EMAIL_BACKEND = settings.NO_MAIL
    assert "sends no mail" in browser.get("/password/forgotten").words


@pytest.mark.parametrize(
    ("seconds", "status"), [(links.RECOVERY_SECONDS - 5, 302), (links.RECOVERY_SECONDS + 5, 404)]
)
def test_a_link_is_good_for_an_hour(browser, monkeypatch, seconds, status):
    asked(browser, "cleo@people.example")
    link = mailed()
    now = tokens.PasswordResetTokenGenerator()._now()
    from datetime import timedelta

    later = now + timedelta(seconds=seconds)
    monkeypatch.setattr(tokens.PasswordResetTokenGenerator, "_now", lambda self: later)
    assert Walker().get(link).status == status


def test_a_link_opens_nobody_elses_account(browser, entrance):
    asked(browser, "cleo@people.example")
    link = mailed()
    _, _, token = link.partition("-")
    other = f"/password/choose/{entrance.orla.id.hex}-{token}"
    assert Walker().get(other).status == 404
    assert Walker().get("/password/choose/xyz").status == 404
    assert Walker().get(link[:-1] + ("a" if link[-1] != "a" else "b")).status == 404


def test_signing_in_ends_a_link(browser):
    asked(browser, "cleo@people.example")
    link = mailed()
    Walker().sign_in("cleo")
    assert Walker().get(link).status == 404


def test_without_the_session_that_opened_it_the_form_is_not_there(browser):
    asked(browser, "cleo@people.example")
    browser.get(mailed())
    assert Walker().get(browser.at).status == 404
    assert Walker().post(browser.at, **NEW).status == 404


def test_a_weak_password_is_refused_and_the_link_stays_good(browser):
    asked(browser, "cleo@people.example")
    link = mailed()
    page = choose(browser, link, password1="cleo", password2="cleo")
    assert page.status == 200
    assert "at least 12 characters" in page.words
    assert page.faults == []
    assert choose(Walker(), link).status == 302


def test_no_secret_is_logged(browser, office, caplog):
    """Passwords, codes, secrets and links leave no trace in any log."""
    with caplog.at_level("DEBUG"):
        asked(browser, "cleo@people.example")
        link = mailed()
        choose(browser, link)
        canary = "canary-password-93471"
        Walker().sign_in("cleo", canary)
        Walker().post("/sign-in", login=canary, password="x")
        other = Walker()
        other.sign_in("orla")
        code = totp(office.secret, time.time() + 3600)
        other.post("/sign-in/code", code=code)
    token = link.partition("-")[2]
    for secret in (NEW["password1"], canary, PASSWORD, token, code, office.secret):
        said = [each for each in caplog.records if each.name != "django.db.backends"]
        assert not [each.getMessage() for each in said if secret in each.getMessage()], secret
