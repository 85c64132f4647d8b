"""Replacing a sealed record from its own page: a draft with its values, begun once."""

import json

import pytest

from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.api.test_traces import step, upload
from tests.records.client import leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.sending import form, forms

WHY = "The clamp meter had been set to the other range."
BEGIN = "Begin the replacement"
OF_THE_OLD = ("id", "device_time", "attachments", "traces", "settings_file")


@pytest.fixture
def record(teo, orla, station):
    return visits.sealed(teo, orla, station, device_time="2026-03-14T09:31:00-05:00")


def place(record):
    return f"/records/{record['id']}"


def opened(browser, record):
    return form(browser.get(place(record)), "/replace")


def begun(browser, record, reason=WHY, **more):
    """Begin it; the id of the draft that the browser was led to."""
    sent = opened(browser, record).send(browser, reason=reason, **more)
    leave()
    assert sent.status == 302, sent.words
    where, _, place = browser.at.partition("#")
    assert place == "content"  # a browser keeps the form's own place where none is told
    assert where.startswith("/events/")
    return where.removeprefix("/events/")


def drafts(teo, station):
    return teo.get(f"/events?site={station.site}&state=draft").json["items"]


@pytest.mark.parametrize("name", ["teo", "orla"])
def test_a_draft_says_what_the_record_said_and_what_it_replaces(cast, teo, station, record, name):
    draft = teo.get(f"/events/{begun(Walker.of(getattr(cast, name)), record)}").json
    sealed = json.loads(teo.get(f"/records/{record['id']}/data.json").content)["record"]["event"]
    assert draft["state"] == "draft"
    assert draft["id"] != sealed["id"]
    assert (draft["corrects"], draft["correction_reason"]) == (record["id"], WHY)
    assert draft["performed_at"] == sealed["performed_at"]
    said = {name: value for name, value in sealed.items() if name not in OF_THE_OLD}
    assert {name: draft.get(name) for name in said} == said
    assert "device_time" in sealed
    assert not [name for name in OF_THE_OLD[1:] if draft.get(name)]
    assert draft["signatures"] == []
    assert [each["answer"] for each in draft["findings"]] == [None] * len(draft["findings"])


def test_what_was_sent_to_the_old_visit_alone_stays_with_it(cast, teo, orla, station):
    """Its answers, files and traces; a step keeps its figures."""
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    trace = upload(teo, event, step(), "?name=step")
    assert trace.status == 201, trace.json
    made = {"step_kind": "set_point", "from": q("50", "psi"), "to": q("55", "psi"),
            "step_after": q("2", "s"), "trace": trace.json["id"]}  # fmt: skip
    path = f"/events/{event['id']}"
    named = {"step_tests": [made], "traces": [{"name": "step.csv"}],
             "attachments": [{"name": "plate.jpg", "purpose": "motor_plate"}]}  # fmt: skip
    assert teo.patch(path, named, teo.get(path).etag).status == 200
    visits.sign_both(teo, orla, event)
    sealed = orla.post(f"{path}/seal")
    assert sealed.status == 201, sealed.json
    draft = teo.get(f"/events/{begun(Walker.of(cast.teo), sealed.json)}").json
    del made["trace"]
    assert draft["step_tests"] == [made]
    assert "traces" not in draft
    assert "attachments" not in draft
    assert [each["answer"] for each in draft["findings"] if each["answer"]] == []


def test_a_form_sent_twice_begins_one_draft(cast, teo, station, record):
    browser = Walker.of(cast.teo)
    sent = opened(browser, record)
    places = set()
    for _ in range(2):
        assert sent.send(browser, reason=WHY).status == 302
        leave()
        places.add(browser.at.partition("#")[0])
    assert len(places) == 1
    assert [f"/events/{each['id']}" for each in drafts(teo, station)] == [*places]
    # With other words it is told, and the draft stays as it was begun.
    back = sent.send(browser, reason="Another reason.")
    leave()
    assert back.status == 409
    assert "This form was sent before with other words" in back.words
    [draft] = drafts(teo, station)
    assert teo.get(f"/events/{draft['id']}").json["correction_reason"] == WHY


def test_a_second_draft_is_refused_and_leads_to_the_first(cast, teo, orla, station, record):
    late = Walker.of(cast.orla)
    older = opened(late, record)
    leave()
    draft = begun(Walker.of(cast.teo), record)
    back = older.send(late, reason="The same, seen by the office.")
    leave()
    assert back.status == 409
    assert "A draft that replaces this record is open already" in back.words
    assert back.to("to the draft") == [f"/events/{draft}"]
    assert "The same, seen by the office." in back.words  # nothing that was written is lost
    assert forms_of(back) == []
    assert [each["id"] for each in drafts(teo, station)] == [draft]
    # Also of a draft that was posted over the API; withdrawn, it stands in nobody's way.
    why = {"reason": "Begun by mistake."}
    assert teo.post(f"/events/{draft}/withdrawal", why).status == 201
    again = begun(late, record)
    assert again != draft


def test_a_draft_over_the_api_is_one_as_well(cast, page, teo, station, record):
    draft = visits.post(teo, station, corrects=record["id"], correction_reason=WHY)
    seen = page("teo", place(record))
    assert seen.to("to the draft") == [f"/events/{draft['id']}"]
    assert forms_of(seen) == []


def test_several_drafts_over_the_api_are_all_marked_and_the_first_sealed_replaces(
    cast, page, teo, orla, station, record
):
    """A device without signal cannot know of another's: nothing of what it sends is refused."""
    ours, theirs = (
        visits.post(person, station, corrects=record["id"], correction_reason=why)
        for person, why in ((teo, WHY), (orla, "The office saw it as well."))
    )
    seen = page("teo", place(record))
    assert seen.faults == []
    assert "2 drafts that are to replace this record are open" in seen.words
    for draft, why in ((ours, WHY), (theirs, "The office saw it as well.")):
        assert f"/events/{draft['id']}" in [where for where, _ in seen.links]
        assert why in seen.words
    for one, other in ((ours, theirs), (theirs, ours)):
        of_it = page("teo", f"/events/{one['id']}")
        assert of_it.faults == []
        assert "Another draft is to replace the same record" in of_it.words
        assert f"/events/{other['id']}" in [where for where, _ in of_it.links]
    at_station = page("teo", f"/stations/{station.site}")
    assert at_station.words.count("not sealed yet; sealed, it replaces record 1") == 2
    listed = {each["id"]: each["corrects"] for each in drafts(teo, station)}
    assert listed == {ours["id"]: record["id"], theirs["id"]: record["id"]}
    visits.sign_both(teo, orla, ours)
    assert orla.post(f"/events/{ours['id']}/seal").status == 201
    left = page("teo", f"/events/{theirs['id']}")
    assert "Another draft" not in left.words
    assert "Sealed, it replaces" not in left.words
    assert "It comes too late to replace record 1" in left.words
    assert "Record 2 has replaced that one: withdraw this draft" in left.words
    at_station = page("teo", f"/stations/{station.site}")
    assert "not sealed yet; too late to replace record 1: record 2 has" in at_station.words
    assert "the record was corrected already, by record 2" in left.words


def test_a_draft_tells_several_others_apart_by_their_reasons(page, teo, orla, station, record):
    whys = ("The gauges were exchanged.", "The office saw it as well.", "The flow was read twice.")
    one, *others = (
        visits.post(person, station, corrects=record["id"], correction_reason=why)
        for person, why in zip((teo, orla, teo), whys, strict=True)
    )
    seen = page("teo", f"/events/{one['id']}")
    assert seen.faults == []
    assert seen.words.count("2 other drafts are to replace the same record") == 1
    assert {f"/events/{other['id']}" for other in others} <= {where for where, _ in seen.links}
    assert all(why in seen.words for why in whys)


def test_a_replaced_record_is_not_replaced_again(cast, page, teo, orla, station, record):
    browser = Walker.of(cast.teo)
    older = opened(browser, record)
    leave()
    visits.sealed(teo, orla, station, corrects=record["id"], correction_reason=WHY)
    back = older.send(browser, reason=WHY)
    leave()
    assert back.status == 409
    assert "This record was replaced already, by record 2" in back.words
    assert forms_of(back) == forms_of(page("teo", place(record))) == []
    assert drafts(teo, station) == []


def test_a_reason_is_needed(cast, teo, station, record):
    browser = Walker.of(cast.teo)
    for empty in ("", "  \r\n "):
        back = opened(browser, record).send(browser, reason=empty)
        leave()
        assert back.status == 400
        assert "What is wrong in it: expected text" in back.words
    back = opened(browser, record).send(browser, reason="x" * 2001)
    leave()
    assert back.status == 400
    assert form(back, "/replace").fields["reason"] == ["x" * 2001]
    assert drafts(teo, station) == []


def test_it_is_judged_written_down_signed_and_sealed_like_any_other(cast, page, teo, orla, record):
    draft = begun(Walker.of(cast.teo), record)
    leave()
    [added] = orla.get(f"/audit?subject={draft}").json["items"]
    assert (added["action"], added["person"]["name"]) == ("added", "Teo")
    seen = page("teo", f"/events/{draft}")
    assert f"Sealed, it replaces record 1. Reason: {WHY}" in seen.words
    assert "Its values are changed on the field sheet" in seen.words
    visits.sign_both(teo, orla, {"id": draft})
    new = orla.post(f"/events/{draft}/seal")
    assert (new.status, new.json["corrects"]) == (201, record["id"])
    assert "Its values are changed on" not in page("teo", f"/events/{draft}").words


def test_neither_the_client_nor_another_contractor_is_offered_it(cast, page, orla, teo, record):
    assert forms_of(page("cleo", place(record))) == []
    assert "replace this record" not in page("cleo", place(record)).words
    for person, status in ((cast.cleo, 403), (cast.otto, 404), (cast.tilda, 404)):
        answer = Walker.of(person).post(f"{place(record)}/replace", reason=WHY)
        leave()
        assert answer.status == status
    events = [each["id"] for each in orla.get("/events").json["items"]]
    assert events == [record["event"]]


def forms_of(page):
    return [each for each in forms(page) if each.path.endswith("/replace")]
