"""Signing, taking back, sealing and withdrawing on a draft's page."""

import hashlib
import json

import pytest

from records import permissions
from records.selectors import plotted
from tests.records import visits
from tests.records.api.test_attachments import PDF, attach
from tests.records.client import Api, leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.sending import form, forms

LONG_AGO = 16 * 60  # s; confirmed for 15 minutes
REASON = "Entered twice."


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


@pytest.fixture
def signed(teo, orla, station):
    """A visit that only lacks its seal."""
    return visits.signed(teo, orla, station)


def at(event, more=""):
    return f"/events/{event['id']}{more}"


def opened(person, event, **how):
    browser = Walker.of(person, **how)
    return browser, browser.get(at(event))


def signing(page, meaning):
    """The form that signs with a meaning, if there is one."""
    found = [each for each in forms(page) if each.fields.get("meaning") == [meaning]]
    return found[0] if found else None


def signatures_of(person, event):
    found = person.get(at(event, "/signatures")).json["signatures"]
    return [(each["by"]["name"], each["meaning"]) for each in found]


# -- signing ---------------------------------------------------------------------------------------


def test_who_did_it_signs_what_is_shown_and_a_second_person_reviews(cast, teo, orla, draft):
    visits.answer_all(orla, draft)
    browser, page = opened(cast.teo, draft)
    assert page.faults == []
    shown = teo.get(at(draft, "/signatures")).json["to_sign"]["performed"]
    assert shown in page.words
    assert "Nothing is open before you sign." in page.words
    assert signing(page, "reviewed") is None
    assert "Not now: nobody has signed yet that the work was performed" in page.words
    sent = signing(page, "performed")
    assert [sent.send(browser, "Sign as performed").status for _ in range(2)] == [302, 302]
    assert browser.at == at(draft, "#signatures")
    assert signatures_of(teo, draft) == [("Teo", "performed")]

    again = browser.get(at(draft))
    assert again.faults == []
    assert signing(again, "performed") is None
    assert signing(again, "reviewed") is None
    assert "you have signed that the work was performed: expected another person" in again.words

    browser, page = opened(cast.orla, draft)
    assert signing(page, "reviewed").send(browser, "Sign as reviewed").status == 302
    assert signatures_of(teo, draft) == [("Teo", "performed"), ("Orla", "reviewed")]


@pytest.mark.parametrize("meaning", ["performed", "reviewed", "witnessed"])
def test_the_text_that_is_signed_can_be_taken_along(cast, teo, orla, draft, meaning):
    visits.answer_all(orla, draft)
    visits.sign(teo, draft, "performed")
    digest = teo.get(at(draft, "/signatures")).json["to_sign"][meaning]
    browser = Walker.of(cast.orla)
    page = browser.get(at(draft))
    path = at(draft, f"/to-sign/{meaning}")
    assert page.to(f"The text that is signed as {meaning}") == [path]
    assert digest in page.words
    told = browser.get(path)
    assert hashlib.sha256(browser.answer.content).hexdigest() == digest
    assert "attachment" in told.headers["Content-Disposition"]
    text = json.loads(browser.answer.content)
    names = {"document", "snapshot", "catalogue", "limits_changed", "findings"}
    if meaning == "performed":
        assert names <= set(text)
        assert text["document"]["kind"] == "start_up"
    else:
        assert set(text) == {"performed", "answers"}


def test_there_is_no_other_meaning_and_nothing_to_sign_of_a_record(cast, teo, orla, draft, station):
    browser = Walker.of(cast.orla)
    assert browser.get(at(draft, "/to-sign/approved")).status == 404
    record = visits.sealed(teo, orla, station)
    assert browser.get(at({"id": record["event"]}, "/to-sign/performed")).status == 404


def test_what_is_open_is_listed_before_one_signs_with_links(cast, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    stop = visits.found(event, "drive.volts-per-hertz")
    _, page = opened(cast.teo, event)
    assert "Still open before you sign: 1." in page.words
    signing_part = page.html.partition("Still open before you sign")[2].partition("</ul>")[0]
    assert f'href="#finding-{stop["id"]}"' in signing_part
    assert "Stop" in signing_part


def test_what_was_changed_in_between_is_not_signed(cast, teo, orla, draft):
    browser, page = opened(cast.teo, draft)
    assert orla.patch(at(draft), {"remarks": "Seen."}, teo.get(at(draft)).etag).status == 200
    told = signing(page, "performed").send(browser, "Sign as performed")
    assert told.status == 409
    assert "What stands there now is not what you would sign: read the visit again" in told.words
    assert signatures_of(teo, draft) == []
    assert signing(told, "performed").send(browser, "Sign as performed").status == 302


def test_what_came_while_the_page_was_read_is_not_signed(cast, teo, draft, monkeypatch):
    real = plotted.of_event_on_page

    def a_file_comes(actor, *rest, **named):
        """Once the content was read; each query sees what was committed until then."""
        sent = attach(teo, draft, PDF, media="application/pdf", purpose="other", name="late.pdf")
        assert sent.status == 201
        leave()
        permissions.enter(actor)
        return real(actor, *rest, **named)

    monkeypatch.setattr(plotted, "of_event_on_page", a_file_comes)
    browser, page = opened(cast.teo, draft)
    monkeypatch.undo()
    assert "late.pdf" not in page.words
    told = signing(page, "performed").send(browser, "Sign as performed")
    assert told.status == 409
    assert "late.pdf" in told.words
    assert signatures_of(teo, draft) == []
    assert signing(told, "performed").send(browser, "Sign as performed").status == 302


def test_who_they_are_is_confirmed_before(cast, teo, draft):
    browser, page = opened(cast.teo, draft, ago=LONG_AGO)
    assert signing(page, "performed") is None
    [where] = page.to("confirm who you are")
    assert where == f"/confirm?next=%2Fevents%2F{draft['id']}%23your-signature"
    digest = teo.get(at(draft, "/signatures")).json["to_sign"]["performed"]
    browser.post(at(draft, "/sign"), meaning="performed", digest=digest)
    assert browser.at == where
    assert signatures_of(teo, draft) == []


def test_a_second_factor_is_shown_before(cast, draft, settings):
    settings.SECOND_FACTOR = "required"
    browser = Walker.of(cast.teo, "password")
    [where] = browser.get(at(draft)).to("confirm who you are")
    assert where.startswith("/second-factor?next=")
    browser.post(at(draft, "/seal"), shown="1.0")
    assert browser.at == where


def test_a_signature_is_taken_back_by_its_person_alone(cast, teo, orla, draft):
    given = visits.sign(teo, draft, "performed").json
    path = at(draft, f"/signatures/{given['id']}/take-back")
    others, page = opened(cast.orla, draft)
    assert [each for each in forms(page) if each.path == path] == []
    refused = others.post(path)
    assert refused.status == 403
    assert "A signature is withdrawn by the person who gave it." in refused.words
    browser, page = opened(cast.teo, draft)
    for _ in range(2):
        form(page, "/take-back").send(browser, "Take my signature as performed back")
        assert browser.at == at(draft, "#signatures")
    assert signatures_of(teo, draft) == []


# -- sealing ---------------------------------------------------------------------------------------


def test_what_is_ready_is_sealed_once_and_leads_to_the_record(cast, teo, signed):
    browser, page = opened(cast.teo, signed)
    assert "ready to be sealed" in page.headings[0][1]
    sent = form(page, "/seal")
    ways = []
    for _ in range(2):
        assert sent.send(browser, "Seal it").status == 302
        ways.append(browser.at)
    record = teo.get(at(signed)).json["record"]
    assert ways == [f"/records/{record}#content"] * 2
    page = browser.get(f"/records/{record}")
    assert "The PDF is being made: look again" in page.words
    assert page.to("look again") == [f"/records/{record}"]


def test_what_is_not_ready_has_no_button_and_is_refused(cast, orla, draft):
    browser, page = opened(cast.orla, draft)
    assert [each for each in forms(page) if each.path.endswith("/seal")] == []
    assert "Not yet:" in page.words
    told = browser.post(at(draft, "/seal"), shown=orla.get(at(draft)).etag.strip('"'))
    assert told.status == 409
    assert "The event cannot be sealed yet" in told.words
    assert "nobody has signed that the work was performed" in told.words
    assert told.faults == []


def test_a_change_in_between_is_told_before_the_seal(cast, teo, orla, signed):
    browser, page = opened(cast.teo, signed)
    given = teo.get(at(signed, "/signatures")).json["signatures"][0]
    assert teo.delete(at(signed, f"/signatures/{given['id']}")).status == 204
    assert visits.sign(teo, signed, "performed").status == 201
    told = form(page, "/seal").send(browser, "Seal it")
    assert told.status == 412
    assert "It was changed in between" in told.words
    assert orla.get(at(signed)).json["state"] == "draft"
    assert form(told, "/seal").send(browser, "Seal it").status == 302


def test_sealing_asks_who_is_there(cast, orla, signed):
    browser, page = opened(cast.orla, signed, ago=LONG_AGO)
    assert [each for each in forms(page) if each.path.endswith("/seal")] == []
    assert f"/confirm?next=%2Fevents%2F{signed['id']}%23seal" in page.to("confirm who you are")
    browser.post(at(signed, "/seal"), shown=orla.get(at(signed)).etag.strip('"'))
    assert browser.at.startswith("/confirm?next=")
    assert orla.get(at(signed)).json["state"] == "draft"


# -- withdrawing -----------------------------------------------------------------------------------


def test_a_draft_is_withdrawn_with_a_reason(cast, teo, draft):
    browser, page = opened(cast.teo, draft)
    sent = form(page, "/withdraw")
    assert [sent.send(browser, "Withdraw it", reason=REASON).status for _ in range(2)] == [302] * 2
    assert browser.at == at(draft, "#content")
    assert teo.get(at(draft)).json["withdrawal"]["reason"] == REASON
    assert "Withdrawn by Teo on" in browser.get(at(draft)).words
    told = sent.send(browser, "Withdraw it", reason="Another.")
    assert told.status == 409
    assert "You had written: Another." in told.words


def test_a_reason_is_asked_for(cast, teo, draft):
    browser, page = opened(cast.teo, draft)
    told = form(page, "/withdraw").send(browser, "Withdraw it", reason="  ")
    assert told.status == 400
    assert "Reason: expected text" in told.words
    assert '<details class="more" open>' in told.html
    assert teo.get(at(draft)).json["state"] == "draft"


def test_what_was_signed_in_between_is_told_before_it_is_withdrawn(cast, teo, orla, draft):
    browser, page = opened(cast.orla, draft)
    assert visits.sign(teo, draft, "performed").status == 201
    told = form(page, "/withdraw").send(browser, "Withdraw it", reason=REASON)
    assert told.status == 412
    again = form(told, "/withdraw")
    assert again.fields["reason"] == [REASON]
    assert signatures_of(teo, draft) == [("Teo", "performed")]
    assert again.send(browser, "Withdraw it").status == 302


# -- people ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["cleo", "otto", "tilda", "cato"])
def test_nobody_else_signs_seals_or_withdraws(cast, api, signed, name):
    browser = Walker.of(getattr(cast, name))
    status = 403 if name in ("cleo", "cato") else 404
    for deed, given in (
        ("/sign", {"meaning": "performed", "digest": "0" * 64}),
        ("/seal", {"shown": "1.0"}),
        ("/withdraw", {"shown": "1.0", "reason": REASON}),
        ("/to-sign/performed", None),
    ):
        path = at(signed, deed)
        told = browser.get(path) if given is None else browser.post(path, **given)
        assert told.status == status, deed
    assert Api(cast.orla).get(at(signed)).json["state"] == "draft"


def test_a_form_from_elsewhere_is_refused(cast, signed):
    from django.test import Client

    from tests.records.sessions import sign_in

    client = Client(enforce_csrf_checks=True)
    sign_in(client, cast.teo)
    for deed in ("/sign", "/seal", "/withdraw"):
        assert client.post(at(signed, deed), {"shown": "1.0"}).status_code == 403
    assert Api(cast.orla).get(at(signed)).json["state"] == "draft"
