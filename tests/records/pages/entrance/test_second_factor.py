"""The second factor: set up, asked for, encrypted at rest, good once, replaced when it is lost."""

import json
import time

import pytest
from allauth.mfa.models import Authenticator
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import connection

from records.services import second_factor
from tests.records.client import leave
from tests.records.pages.entrance.walking import Walker, totp, wrong


def later(monkeypatch, seconds):
    """The clock of everything that computes codes here, so many seconds on."""
    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + seconds)


def test_codes_are_those_of_the_standard():
    """RFC 6238, appendix B, SHA-1: the secret is the ASCII text 12345678901234567890."""
    secret = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
    for at, code in ((59, "94287082"), (1111111109, "07081804"), (20000000000, "65353130")):
        assert totp(secret, at, digits=8) == code


def test_the_office_is_led_to_set_one_up_before_anything_else(browser, station):
    browser.sign_in("orla")
    assert browser.at == "/"
    browser.get(f"/stations/{station.site}")
    assert browser.at == f"/second-factor?next=%2Fstations%2F{station.site}"
    page = browser.get(browser.at)
    assert page.headings[0] == (1, "Your access: a second factor is needed")
    assert page.to("Set up an authenticator app") == ["/second-factor/app"]
    refused = browser.get("/api/v1/sites")
    assert refused.status == 403
    assert json.loads(browser.answer.content)["type"] == "/problems/second-factor-needed"
    browser.set_up()
    codes = browser.get("/second-factor/recovery-codes")
    assert codes.to("Go on") == [f"/stations/{station.site}"]
    assert browser.get(f"/stations/{station.site}").status == 200
    assert browser.get("/api/v1/sites").status == 200


def test_technician_and_client_go_in_without_one(browser):
    for name in ("teo", "cleo"):
        other = Walker()
        other.sign_in(name)
        assert other.get("/").status == 200


def test_where_it_is_offered_nobody_is_led_anywhere(browser, settings):
    settings.SECOND_FACTOR = "offered"
    browser.sign_in("orla")
    assert browser.get("/").status == 200


def test_it_is_asked_for_at_sign_in(office, monkeypatch):
    later(monkeypatch, 90)  # the code of the set-up is used up
    other = Walker()
    other.sign_in("orla")
    assert other.at == "/sign-in/code"
    assert other.get("/").status == 302  # the password alone opens nothing
    page = other.post("/sign-in/code", code=wrong(office.secret))
    assert "This code is not right" in page.words
    assert page.faults == []
    assert other.get("/").status == 302
    other.post("/sign-in/code", code=totp(office.secret))
    assert other.at == "/"
    assert other.get("/").status == 200


def test_a_code_is_good_once(office, monkeypatch):
    later(monkeypatch, 90)
    code = totp(office.secret)
    for number, lets_in in ((1, True), (2, False)):
        other = Walker(f"192.0.2.{number}")
        other.sign_in("orla")
        page = other.post("/sign-in/code", code=code)
        assert (other.at == "/") is lets_in
        assert ("used already" in page.html) is not lets_in


def test_the_code_of_the_set_up_is_used_up_too(office):
    other = Walker()
    other.sign_in("orla")
    assert "used already" in other.post("/sign-in/code", code=totp(office.secret)).words


def test_clocks_may_be_one_step_away(office, monkeypatch):
    later(monkeypatch, 300)
    for number, step, lets_in in ((1, -2, False), (2, -1, True), (3, 1, True), (4, 2, False)):
        other = Walker(f"192.0.2.{number}")
        other.sign_in("orla")
        other.post("/sign-in/code", code=totp(office.secret, time.time() + 30 * step))
        assert (other.at == "/") is lets_in, step


def test_a_wrong_first_code_sets_nothing_up(browser):
    browser.sign_in("teo")
    page = browser.get("/second-factor/app")
    assert page.faults == []
    secret = page.html.partition("Text: <code>")[2].partition("<")[0]
    page = browser.post("/second-factor/app", code=wrong(secret))
    assert "not the code that the app should show" in page.words
    assert f"Text: <code>{secret}</code>" in page.html  # the same: the app has it already
    assert not Authenticator.objects.exists()
    browser.post("/second-factor/app", code=totp(secret))
    assert Authenticator.objects.filter(type="totp").count() == 1


def test_recovery_codes_are_shown_once_and_good_once(office):
    page = office.get("/second-factor/recovery-codes")
    codes = page.html.split("<li><code>")[1:]
    codes = [each.partition("<")[0] for each in codes]
    assert len(set(codes)) == 10
    assert all(len(each) == 10 and each.isdigit() for each in codes)
    again = office.get("/second-factor/recovery-codes")
    assert not [each for each in codes if each in again.html]
    assert "10 of 10 have not been used" in again.words
    for number, lets_in in ((1, True), (2, False)):
        other = Walker(f"192.0.2.{number}")
        other.sign_in("orla")
        other.post("/sign-in/code", code=codes[3])
        assert (other.at == "/") is lets_in
    assert "9 of 10" in office.get("/second-factor/recovery-codes").words


def test_new_recovery_codes_end_the_former(office):
    before = office.get("/second-factor/recovery-codes").html
    office.post("/second-factor/recovery-codes/new")
    after = office.get(office.at).html
    old = before.split("<li><code>")[1].partition("<")[0]
    assert old not in after
    other = Walker()
    other.sign_in("orla")
    other.post("/sign-in/code", code=old)
    assert other.at == ""


def test_another_telephone_takes_the_place_of_the_first(office):
    assert office.get("/second-factor/app/remove").faults == []
    office.post("/second-factor/app/remove")
    assert not Authenticator.objects.exists()
    office.get("/")
    assert office.at.startswith("/second-factor")  # closed until there is one again
    secret = office.set_up()
    assert secret != office.secret
    assert office.get("/").status == 200
    told = [each.subject for each in mail.outbox]
    assert told.count("Stationbook: the second factor was taken away") == 1


def held():
    leave()
    with connection.cursor() as cursor:
        cursor.execute("SELECT data::text FROM mfa_authenticator")
        return "\n".join(text for (text,) in cursor.fetchall())


def test_nothing_of_it_is_kept_in_plain_text(office):
    codes = office.get("/second-factor/recovery-codes").html.split("<li><code>")[1:]
    text = held()
    assert office.secret not in text
    assert not [each for each in codes if each.partition("<")[0] in text]
    stored = Authenticator.objects.get(type="totp").data["secret"]
    assert second_factor.decrypt(stored) == office.secret


def test_while_it_is_set_up_its_secret_is_encrypted_in_the_session_too(browser):
    browser.sign_in("teo")
    html = browser.get("/second-factor/app").html
    secret = html.partition("Text: <code>")[2].partition("<")[0]
    assert secret not in str(dict(browser.client.session.items()))
    assert "mfa.totp.secret" in browser.client.session


def test_keys_are_exchanged_without_anybody_setting_up_anew(office, settings, monkeypatch):
    later(monkeypatch, 90)
    from cryptography.fernet import Fernet, InvalidToken

    old, new = settings.MFA_KEYS[0], Fernet.generate_key().decode()
    settings.MFA_KEYS = [new, old]
    other = Walker()
    other.sign_in("orla")
    other.post("/sign-in/code", code=totp(office.secret))
    assert other.at == "/"
    stored = Authenticator.objects.get(type="totp").data["secret"]
    settings.MFA_KEYS = [new]
    with pytest.raises(InvalidToken):
        second_factor.decrypt(stored)
    leave()
    with pytest.raises(CommandError, match="MFA_KEY: expected every key that is in use"):
        call_command("second_factor", "encrypt")
    settings.MFA_KEYS = [new, old]
    leave()
    call_command("second_factor", "encrypt")
    settings.MFA_KEYS = [new]
    stored = Authenticator.objects.get(type="totp").data["secret"]
    assert second_factor.decrypt(stored) == office.secret
    seeds = Authenticator.objects.get(type="recovery_codes").wrap().get_unused_codes()
    assert len(seeds) == 10


BY = ("--by", "Ines of the operator", "--reason", "She called, and we called back.")


@pytest.mark.commits
def test_the_operator_takes_a_lost_one_away(as_owner, office, stage):
    assert stage.command("second_factor", "forget", "Orla", *BY) == (0, "Orla: taken away\n")
    other = Walker()
    other.sign_in("orla")
    assert other.at == "/"
    other.get("/")
    assert other.at == "/second-factor?next=%2F"
    assert stage.command("second_factor", "forget", "orla", *BY) == (0, "orla: there was none\n")
    columns = "contractor_id, person_name, action, name, reason"
    told = as_owner.execute(f"SELECT {columns} FROM records_auditentry WHERE kind = 'person'")
    entry = (stage.cast().contractor, BY[1], "second factor removed", "Orla", BY[3])
    assert told.fetchall() == [entry]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("zoe", *BY), "there is nobody of this user name"),
        (("orla",), "required: --by, --reason"),
        (("orla", *BY[:3], " "), "--reason: expected words"),
    ],
)
def test_the_command_says_what_is_wrong(office, words, said):
    leave()
    with pytest.raises(CommandError, match=said):
        call_command("second_factor", "forget", *words)


def test_a_session_without_it_is_asked_for_the_code_and_goes_on(office, entrance, monkeypatch):
    """Signed in before it was set up in another browser."""
    from tests.records.sessions import sign_in

    later(monkeypatch, 90)
    other = Walker()
    sign_in(other.client, entrance.orla, "password")
    other.get("/rules")
    other.get(other.at)
    assert other.at == "/confirm/code?next=%2Frules"
    page = other.get(other.at)
    assert page.faults == []
    other.post("/confirm/code", code=totp(office.secret), next="/rules")
    assert other.at == "/rules"
    assert other.get("/rules").status == 200


def test_tokens_of_devices_are_as_before(office, api, entrance):
    assert api(entrance.orla).get("/sites").status == 200
