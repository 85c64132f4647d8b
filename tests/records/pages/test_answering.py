"""Answering findings on a draft's page: who may what, twice, and what changed in between."""

from uuid import UUID

import pytest

from records import permissions
from records.services import events, not_possible, tokens
from tests.records import visits
from tests.records.client import Api, leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.sending import form, forms

ACCEPT, LEAVE, WRITE = (
    "Accept with this answer", "Answer, and leave it open", "Write it down; it stays open",
)  # fmt: skip
FREQUENCY = "drive.volts-per-hertz"
WORDS = "The plate was exchanged: it says 50 Hz now."


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station, **visits.wrong_frequency(station))


@pytest.fixture
def stop(draft):
    return visits.found(draft, FREQUENCY)


def opened(person, event):
    browser = Walker.of(person)
    return browser, browser.get(f"/events/{event['id']}")


def answers_of(orla, event, finding):
    items = orla.get(f"/events/{event['id']}/findings").json["items"]
    return next(each for each in items if each["id"] == finding["id"])


def test_the_office_accepts_a_stop_and_is_led_back_to_it(cast, orla, draft, stop):
    browser, page = opened(cast.orla, draft)
    assert page.faults == []
    sent = form(page, f"{stop['id']}/answer").send(browser, ACCEPT, text=WORDS)
    assert sent.status == 302
    assert browser.at == f"/events/{draft['id']}#finding-{stop['id']}"
    told = answers_of(orla, draft, stop)
    assert (told["open"], told["answer"]["text"], told["answer"]["by"]) == (False, WORDS, "Orla")
    after = browser.get(browser.at.partition("#")[0])
    assert after.faults == []
    assert f"Answer {WORDS}" in after.words
    assert "Answer again" in after.words


def test_a_technician_sees_no_button_to_accept_a_stop_and_is_refused(cast, orla, draft, stop):
    browser, page = opened(cast.teo, draft)
    found = form(page, f"{stop['id']}/answer")
    assert set(found.buttons) == {WRITE}
    assert "the office alone accepts a stop" in page.words
    refused = browser.post(found.path, **found.fields | {"text": WORDS, "accepted": "yes"})
    assert refused.status == 403
    assert "This needs the role office; yours is technician." in refused.words
    assert form(refused, f"{stop['id']}/answer").fields["text"] == [WORDS]
    assert answers_of(orla, draft, stop)["answer"] is None
    assert found.send(browser, WRITE, text=WORDS).status == 302
    told = answers_of(orla, draft, stop)
    assert (told["open"], told["answer"]["text"]) == (True, WORDS)


def test_what_can_only_be_corrected_has_no_button_to_accept_it(cast, orla, teo, station):
    event = visits.post(teo, station, **visits.damp_winding(station))
    finding = visits.found(event, "insulation.minimum")
    browser, page = opened(cast.orla, event)
    found = form(page, f"{finding['id']}/answer")
    assert set(found.buttons) == {WRITE}
    refused = browser.post(found.path, **found.fields | {"text": WORDS, "accepted": "yes"})
    assert refused.status == 409
    assert "can only be corrected, not accepted" in refused.words
    assert answers_of(orla, event, finding)["open"] is True


def test_a_technician_accepts_a_review_and_may_leave_it_open(cast, orla, teo, station):
    visits.plate_speed(orla, station, "1600")
    event = visits.post(teo, station)
    review = visits.found(event, "motor.slip")
    assert review["severity"] == "review"
    browser, page = opened(cast.teo, event)
    found = form(page, f"{review['id']}/answer")
    assert set(found.buttons) == {ACCEPT, LEAVE}
    found.send(browser, LEAVE, text="To be looked up.")
    assert answers_of(orla, event, review)["open"] is True
    _, again = opened(cast.teo, event)
    form(again, f"{review['id']}/answer").send(browser, ACCEPT, text="Looked up.")
    assert answers_of(orla, event, review)["open"] is False


def test_a_form_sent_twice_answers_once(cast, draft, stop):
    browser, page = opened(cast.orla, draft)
    found = form(page, f"{stop['id']}/answer")
    assert [found.send(browser, ACCEPT, text=WORDS).status for _ in range(2)] == [302, 302]
    assert browser.get(f"/events/{draft['id']}").words.count(WORDS) == 1


def test_the_same_form_with_other_words_is_told_and_can_be_sent_again(cast, draft, stop):
    browser, page = opened(cast.orla, draft)
    found = form(page, f"{stop['id']}/answer")
    found.send(browser, ACCEPT, text=WORDS)
    told = found.send(browser, ACCEPT, text="Other words.")
    assert told.status == 409
    assert "This form was sent before with other words" in told.words
    again = form(told, f"{stop['id']}/answer")
    assert again.fields["text"] == ["Other words."]
    assert again.send(browser, ACCEPT).status == 302
    words = browser.get(f"/events/{draft['id']}").words
    assert WORDS in words
    assert "Other words." in words


@pytest.mark.parametrize("text", ["", "  \n "])
def test_an_answer_without_words_is_told_at_its_form(cast, draft, stop, text):
    browser, page = opened(cast.orla, draft)
    told = form(page, f"{stop['id']}/answer").send(browser, ACCEPT, text=text)
    assert told.status == 400
    assert "Nothing was changed. Answer: expected text" in told.words
    assert told.to("To the form, as you sent it") == [f"#finding-{stop['id']}"]
    assert told.faults == []


def test_values_that_were_changed_in_between_are_told_and_the_words_kept(
    cast, orla, teo, station, draft, stop
):
    browser, page = opened(cast.orla, draft)
    found = form(page, f"{stop['id']}/answer")
    path = f"/events/{draft['id']}"
    settings = visits.wrong_frequency(station, "51")["settings"]
    assert teo.patch(path, {"settings": settings}, teo.get(path).etag).status == 200
    told = found.send(browser, ACCEPT, text=WORDS)
    assert told.status == 412
    assert "What the finding compares was changed, or somebody answered it" in told.words
    assert answers_of(orla, draft, stop)["answer"] is None
    again = form(told, f"{stop['id']}/answer")
    assert again.fields["text"] == [WORDS]
    assert again.send(browser, ACCEPT).status == 302
    assert answers_of(orla, draft, stop)["open"] is False


def test_an_answer_of_somebody_else_in_between_is_told(cast, orla, teo, draft, stop):
    browser, page = opened(cast.orla, draft)
    assert visits.answer(teo, draft, stop, accepted=False).status == 201
    told = form(page, f"{stop['id']}/answer").send(browser, ACCEPT, text=WORDS)
    assert told.status == 412
    assert visits.WORDS in told.words
    assert answers_of(orla, draft, stop)["open"] is True


def test_a_change_elsewhere_in_the_visit_does_not_disturb(cast, orla, teo, draft, stop):
    browser, page = opened(cast.orla, draft)
    path = f"/events/{draft['id']}"
    assert teo.patch(path, {"remarks": "Seen."}, teo.get(path).etag).status == 200
    assert form(page, f"{stop['id']}/answer").send(browser, ACCEPT, text=WORDS).status == 302


def test_words_about_a_finding_that_is_gone_are_shown_to_be_kept(cast, teo, station, draft, stop):
    browser, page = opened(cast.orla, draft)
    path = f"/events/{draft['id']}"
    settings = station.event()["settings"]
    assert teo.patch(path, {"settings": settings}, teo.get(path).etag).status == 200
    told = form(page, f"{stop['id']}/answer").send(browser, ACCEPT, text=WORDS)
    assert told.status == 409
    assert "The finding no longer holds" in told.words
    assert f"You had written: {WORDS}" in told.words
    assert told.faults == []


def test_so_are_words_about_a_draft_that_was_withdrawn(cast, teo, draft, stop):
    browser, page = opened(cast.orla, draft)
    assert teo.post(f"/events/{draft['id']}/withdrawal", {"reason": "Twice."}).status == 201
    told = form(page, f"{stop['id']}/answer").send(browser, ACCEPT, text=WORDS)
    assert told.status == 409
    assert "The event was withdrawn" in told.words
    assert f"You had written: {WORDS}" in told.words


def test_only_a_draft_has_forms(cast, orla, teo, station, draft):
    record = visits.sealed(teo, orla, station)
    teo.post(f"/events/{draft['id']}/withdrawal", {"reason": "Twice."})
    for identity in (record["event"], draft["id"]):
        _, page = opened(cast.orla, {"id": identity})
        assert [each.path for each in forms(page)] == ["/sign-out"]


def test_each_open_finding_leads_to_the_next(cast, teo, station):
    wrong = visits.wrong_frequency(station)
    del wrong["motor_tests"]["insulation"]
    wrong["earth_tests"] = []
    event = visits.post(teo, station, **wrong)
    gone = [each["rule"] == "record.missing" for each in event["findings"]]
    others = [each for each, is_gone in zip(event["findings"], gone, strict=True) if not is_gone]
    listed = others + [each for each in event["findings"] if each not in others]
    still = [(n, each["id"]) for n, each in enumerate(listed, 1) if each["open"]]
    _, page = opened(cast.orla, event)
    assert len(still) > 2
    assert not all(each["open"] for each in others)  # a note leads on to what is missing too
    onward = [(w, said) for w, said in page.links if said.startswith("Next that is open")]
    after = [next((each for each in still if each[0] > n), None) for n in range(1, len(listed) + 1)]
    assert onward == [(f"#finding-{each[1]}", f"Next that is open: No. {each[0]}")
                      for each in after if each]  # fmt: skip


def test_ends_of_lines_are_those_of_the_api(cast, orla, draft, stop):
    browser, page = opened(cast.orla, draft)
    form(page, f"{stop['id']}/answer").send(browser, ACCEPT, text="One.\r\nTwo.")
    assert answers_of(orla, draft, stop)["answer"]["text"] == "One.\nTwo."


# -- not possible ----------------------------------------------------------------------------------


@pytest.fixture
def lacking(teo, station):
    """A visit without its test of the insulation, and the finding that says so."""
    event = station.event()
    del event["motor_tests"]["insulation"]
    posted = visits.post(teo, station, **event)
    [finding] = [
        each for each in posted["findings"]
        if each["rule"] == "record.missing" and each["subject"] == "/event/motor_tests/insulation"
    ]  # fmt: skip
    return posted, finding


def missing(orla, event):
    items = orla.get(f"/events/{event['id']}/findings").json["items"]
    return [each["subject"] for each in items if each["rule"] == "record.missing"]


def test_what_could_not_be_done_is_said_and_no_longer_missing(cast, orla, lacking):
    event, finding = lacking
    browser, page = opened(cast.teo, event)
    found = form(page, f"{finding['id']}/not-possible")
    assert found.fields["tasks"] == ["insulation"]
    for _ in range(2):  # twice is once
        assert found.send(browser, reason="Motor under water.").status == 302
    assert browser.at == f"/events/{event['id']}#not-possible-on-the-day"
    [said] = orla.get(f"/events/{event['id']}").json["not_possible"]
    assert (said["task"], said["reason"]) == ("insulation", "Motor under water.")
    assert finding["subject"] not in missing(orla, event)
    assert "not-possible-on-the-day" in browser.get(f"/events/{event['id']}").ids


def test_it_says_why_and_what(cast, lacking):
    event, finding = lacking
    browser, page = opened(cast.teo, event)
    found = form(page, f"{finding['id']}/not-possible")
    told = found.send(browser, reason=" ")
    assert told.status == 400
    assert "Reason: expected text" in told.words
    told = found.send(browser, reason="Motor under water.", tasks=[])
    assert told.status == 400
    assert "What could not be done: expected at least one" in told.words
    assert form(told, "/not-possible").fields["reason"] == ["Motor under water."]
    told = found.send(browser, reason="Motor under water.", tasks=["rotation"])
    assert "expected some of: insulation" in told.words
    assert told.faults == []


def test_it_is_meant_for_the_visit_as_it_was_shown(cast, teo, orla, lacking):
    event, finding = lacking
    browser, page = opened(cast.teo, event)
    path = f"/events/{event['id']}"
    assert orla.patch(path, {"remarks": "Seen."}, teo.get(path).etag).status == 200
    told = form(page, f"{finding['id']}/not-possible").send(browser, reason="Motor under water.")
    assert told.status == 412
    assert "not_possible" not in orla.get(path).json
    again = form(told, f"{finding['id']}/not-possible")
    assert again.fields["reason"] == ["Motor under water."]
    assert again.send(browser).status == 302


def test_of_two_that_are_sent_at_once_the_second_finds_it_done(cast, lacking):
    """Both were read before either changed the visit; the second then waits for its row."""
    posted, finding = lacking
    leave()
    actor = tokens.actor_of(cast.teo.secret)
    permissions.enter(actor)
    given = {"id": visits.new_id(), "tasks": ["insulation"], "reason": "Motor under water."}
    for event in [events.get(actor, UUID(posted["id"])) for _ in range(2)]:
        changed = not_possible.say(actor, event, UUID(finding["id"]), given, posted["revision"])
        assert changed.revision == posted["revision"] + 1
        assert len(changed.document["not_possible"]) == 1


def test_it_is_offered_for_what_is_missing_alone(cast, draft, stop):
    browser, page = opened(cast.orla, draft)
    rules = {each["rule"] for each in draft["findings"] if each["open"]}
    assert "record.missing" not in rules
    assert [each for each in forms(page) if each.path.endswith("/not-possible")] == []
    path = f"/events/{draft['id']}/findings/{stop['id']}/not-possible"
    told = browser.post(path, tasks="x", reason="y", shown=str(draft["revision"]))
    assert told.status == 409


def test_nobody_elsewhere_answers(cast, api, draft, stop):
    for name in ("otto", "tilda", "cleo", "cato"):
        person = getattr(cast, name)
        told = Walker.of(person).post(
            f"/events/{draft['id']}/findings/{stop['id']}/answer", text=WORDS, accepted="yes"
        )
        assert told.status in (403, 404)
    assert answers_of(Api(cast.orla), draft, stop)["answer"] is None
