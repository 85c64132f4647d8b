"""A form that was left open until the session had ended: nothing that was entered is lost."""

import random

import pytest
from django.test import Client

from tests.records import visits
from tests.records.client import leave
from tests.records.pages.entrance.walking import PASSWORD, Walker, give_quick_password
from tests.records.pages.reading import Page, read
from tests.records.pages.sending import form
from tests.records.sessions import sign_in

# Two thousand characters, the most that a field takes, in a script that packs badly.
LONG = "".join(map(chr, random.Random(7).choices(range(0x4E00, 0x4E00 + 700), k=2000)))
# So many different ones that they pack worse than two cookies hold.
TOO_LONG = "".join(map(chr, random.Random(7).choices(range(0x4E00, 0x9F00), k=2000)))


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station, **visits.wrong_frequency(station))


@pytest.fixture
def place(draft):
    stop = visits.found(draft, "drive.volts-per-hertz")
    return f"/events/{draft['id']}", f"/findings/{stop['id']}/answer"


@pytest.mark.parametrize("text", ["The plate says 50 Hz now.\nSeen.", LONG], ids=["short", "long"])
def test_what_was_entered_is_back_after_signing_in(cast, orla, place, settings, text):
    settings.SECOND_FACTOR = "offered"
    give_quick_password(cast.orla)
    page, answer = place
    browser = Walker.of(cast.orla)
    sent = form(browser.get(page), answer)
    leave()
    browser.client.session.flush()  # as it ends by itself over night
    sent.send(browser, "Accept with this answer", text=text)
    assert browser.at == f"/sign-in?next={page.replace('/', '%2F')}"
    browser.post("/sign-in", login="orla", password=PASSWORD, next=page)
    assert browser.at == page
    back = browser.get(page)
    assert "Your session had ended" in back.words
    assert "Nothing was changed." in back.words
    again = form(back, answer)
    assert again.fields["text"] == [text]
    finding = orla.get(f"{page}/findings").json["items"][0]
    assert finding["answer"] is None
    # It was shown, and is kept no longer.
    assert "Your session had ended" not in browser.get(page).words
    assert again.send(browser, "Accept with this answer").status == 302
    assert orla.get(f"{page}/findings").json["items"][0]["answer"]["text"] == text


def ended(person, page, answer):
    """A browser with a form of somebody whose session is over."""
    give_quick_password(person)
    browser = Walker.of(person)
    sent = form(browser.get(page), answer)
    leave()
    browser.client.session.flush()
    return browser, sent


def test_it_is_shown_to_nobody_else(cast, place, settings):
    settings.SECOND_FACTOR = "offered"
    page, answer = place
    browser, sent = ended(cast.orla, page, answer)
    sent.send(browser, "Accept with this answer", text="For Orla alone.")
    sign_in(browser.client, cast.teo)
    seen = browser.get(page)
    assert "Your session had ended" not in seen.words
    assert "For Orla alone." not in seen.html
    # It is forgotten by then.
    leave()
    browser.client.session.flush()
    sign_in(browser.client, cast.orla)
    seen = browser.get(page)
    assert "Your session had ended" not in seen.words
    assert "For Orla alone." not in seen.html


def test_what_is_too_long_is_told_and_nothing_older_is_shown(cast, place, settings):
    settings.SECOND_FACTOR = "offered"
    page, answer = place
    browser, sent = ended(cast.orla, page, answer)
    sent.send(browser, "Accept with this answer", text="Sent first.")
    sent.send(browser, "Accept with this answer", text=TOO_LONG)
    sign_in(browser.client, cast.orla)
    back = browser.get(page)
    assert back.status == 200
    assert "What you entered was too long to be kept meanwhile" in back.words
    assert "Sent first." not in back.html
    assert "too long" not in browser.get(page).words


def test_pages_with_what_was_entered_stay_in_no_cache(cast, place):
    page, answer = place
    browser = Walker.of(cast.orla)
    for seen in (browser.get(page), browser.post(page + answer, text="")):
        assert "no-store" in seen.headers["Cache-Control"]


def client_of(person):
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    sign_in(client, person)
    return client


def send(client, path, person, **more):
    leave()
    given = {"text": "Words.", "accepted": "yes", "csrfmiddlewaretoken": "0" * 64}
    given["person"] = str(person.id)
    return client.post(path, given, headers={"Origin": "http://testserver", **more})


def opened(client, path):
    leave()
    answer = client.get(path)
    return read(Page(answer.status_code, dict(answer.headers), answer.content.decode()))


def test_so_is_what_was_sent_from_before_signing_in_anew(cast, place):
    page, answer = place
    client = client_of(cast.orla)
    leave()
    client.get(page)  # sets the cookie that the form's token no longer fits
    sent = send(client, page + answer, cast.orla)
    assert (sent.status_code, sent.headers["Location"]) == (302, page)
    back = opened(client, page)
    assert form(back, answer).fields["text"] == ["Words."]
    assert back.faults == []


def test_nothing_is_kept_of_what_comes_from_elsewhere(cast, place):
    page, answer = place
    client = client_of(cast.orla)
    sent = send(client, page + answer, cast.orla, Origin="https://elsewhere.example")
    assert sent.status_code == 403
    assert not [name for name in sent.cookies if name.startswith("entered")]


def test_what_nobody_here_has_signed_is_not_shown(cast, place):
    page, _ = place
    browser = Walker.of(cast.orla)
    browser.client.cookies["entered-0"] = "eyJ0byI6IngifQ:1abc:forged"
    assert "Your session had ended" not in browser.get(page).words


def test_it_is_of_that_page_alone(cast, place):
    page, answer = place
    browser = Walker()
    browser.post(page + answer, text="Words.")
    morsels = [browser.answer.cookies[name] for name in ("entered-0", "entered-1")]
    assert [each["path"] for each in morsels] == [page, page]
    assert all(each["httponly"] for each in morsels)


def test_other_forms_lead_back_to_the_page_that_they_are_on(cast):
    browser = Walker()
    browser.post("/events/no-id/withdraw", reason="Words.")
    assert browser.at.startswith("/sign-in?next=")
