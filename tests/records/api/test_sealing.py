"""Sealing over the API: what stands in the way, numbers and links, corrections, repeats."""

import pytest

from records.models import SigningKey
from tests.calculations.building_plates import q
from tests.records import stations, visits
from tests.records.counting import counts
from tests.records.problems import assert_problem, details
from tests.records.visits import answer, damp_winding, found, plate_speed, sign, wrong_frequency

FREQUENCY, DAMP, SLIP = "drive.volts-per-hertz", "insulation.minimum", "motor.slip"


def seal(person, event):
    return person.post(f"/events/{event['id']}/seal")


# -- what stands in the way ---------------------------------------------------------------------


def test_everything_that_stands_in_the_way_is_listed(teo, orla, station):
    plate_speed(orla, station, "1600")
    document = wrong_frequency(station)
    document["motor_tests"] = damp_winding(station)["motor_tests"]
    event = teo.post("/events", document).json
    places = [f"/findings/{each['id']}" for each in event["findings"] if each["open"]]
    assert len(places) >= 2
    before = counts()
    refused = seal(orla, event)
    assert_problem(refused, 409, *places, "/signatures", "/signatures")
    assert refused.json["type"] == "/problems/not-ready"
    said = details(refused)
    damp, slip = found(event, DAMP), found(event, SLIP)
    assert said[f"/findings/{damp['id']}"] == f"must be corrected: {damp['sentence']}"
    assert said[f"/findings/{slip['id']}"].startswith("needs correction or a written answer: ")
    assert counts() == before


def test_a_stop_waits_for_the_offices_reason(teo, orla, station):
    event = teo.post("/events", wrong_frequency(station)).json
    for other in event["findings"]:
        if other["open"] and other["rule"] != FREQUENCY:
            answer(teo, event, other)
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    place = f"/findings/{found(event, FREQUENCY)['id']}"
    refused = seal(orla, event)
    assert_problem(refused, 409, place)
    assert details(refused)[place].startswith("needs correction or the office's reason: ")
    answer(orla, event, found(event, FREQUENCY))
    assert_problem(seal(orla, event), 409, "/signatures")  # the review did not cover the answer
    sign(orla, event, "reviewed")
    assert seal(orla, event).status == 201


def test_what_must_be_corrected_is_sealed_only_corrected(teo, orla, station):
    event = teo.post("/events", damp_winding(station)).json
    answer(orla, event, found(event, DAMP), accepted=False)
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    assert_problem(seal(orla, event), 409, f"/findings/{found(event, DAMP)['id']}")
    path = f"/events/{event['id']}"
    patch = {"motor_tests": {"insulation": {"resistance_1_min": q("2000", "Mohm")}}}
    teo.patch(path, patch, teo.get(path).etag)
    visits.answer_all(orla, event)
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    assert seal(orla, event).status == 201


def test_two_people_sign(teo, orla, station):
    event = visits.post(teo, station)
    visits.answer_all(orla, event)
    assert_problem(seal(orla, event), 409, "/signatures", "/signatures")
    sign(teo, event, "performed")
    assert_problem(seal(orla, event), 409, "/signatures")
    sign(orla, event, "witnessed")
    assert_problem(seal(orla, event), 409, "/signatures")
    sign(orla, event, "reviewed")
    assert seal(orla, event).status == 201


def test_sealing_takes_no_body(teo, orla, station):
    event = visits.signed(teo, orla, station)
    path = f"/events/{event['id']}/seal"
    assert_problem(orla.post(path, {"number": 7}), 400, "")
    assert_problem(orla.call("POST", path, b"{", media="application/json"), 400)
    assert orla.post(path, {}).status == 201


@pytest.mark.parametrize("missing", ["file", "registration"])
def test_without_its_key_the_service_seals_nothing(
    teo, orla, station, settings, tmp_path, monkeypatch, missing
):
    event = visits.signed(teo, orla, station)
    before = counts()
    if missing == "file":
        settings.SIGNING_KEY_FILE = tmp_path / "none.pem"
    else:
        monkeypatch.setattr("records.services.keys.key_id", lambda key: "unknown")
    answered = seal(orla, event)
    assert_problem(answered, 503)
    assert answered.json["type"] == "/problems/no-signing-key"
    assert counts() == before
    monkeypatch.undo()
    assert SigningKey.objects.count() == 1


# -- the record ---------------------------------------------------------------------------------


def test_numbers_begin_at_one_at_every_site_and_link(teo, orla, station, cast):
    other = stations.register(orla, cast.client, code="B-8")
    first, second = (visits.sealed(teo, orla, station) for _ in range(2))
    there = visits.sealed(teo, orla, other)
    third = visits.sealed(teo, orla, station)
    assert [r["number"] for r in (first, second, there, third)] == [1, 2, 1, 3]
    assert (first["previous_digest"], there["previous_digest"]) == (None, None)
    assert second["previous_digest"] == first["seal"]["digest"]
    assert third["previous_digest"] == second["seal"]["digest"]


def test_a_sealed_event_says_so_and_stays(teo, orla, station):
    event = visits.signed(teo, orla, station)
    path = f"/events/{event['id']}"
    digest = orla.get(f"{path}/signatures").json["to_sign"]["witnessed"]
    record = seal(teo, event).json
    stood = teo.get(path)
    assert (stood.json["state"], stood.json["record"]) == ("sealed", record["id"])
    before = counts()
    refused = teo.patch(path, {"remarks": "later"}, stood.etag)
    assert_problem(refused, 409)
    assert refused.json["type"] == "/problems/sealed"
    witnessed = {"meaning": "witnessed", "digest": digest}
    assert_problem(orla.post(f"{path}/signatures", witnessed), 409)
    assert teo.post("/events", station.event(id=event["id"])).json == stood.json
    assert teo.get(path).json == stood.json
    assert counts() == before


def test_a_sealed_events_findings_take_no_answer(teo, orla, station):
    document = wrong_frequency(station)
    event = teo.post("/events", document).json
    identity = visits.new_id()
    given = answer(orla, event, found(event, FREQUENCY), id=identity)
    visits.answer_all(orla, event)
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    assert seal(orla, event).status == 201
    assert_problem(answer(orla, event, found(event, FREQUENCY)), 409)
    again = answer(orla, event, found(event, FREQUENCY), id=identity)
    assert (again.status, again.json) == (200, given.json)


def test_sealing_again_answers_with_the_same_record(teo, orla, station):
    event = visits.signed(teo, orla, station)
    first = seal(orla, event)
    before = counts()
    again = seal(teo, event)
    assert (first.status, again.status, again.json) == (201, 200, first.json)
    assert again.headers["Location"] == f"/api/v1/records/{first.json['id']}"
    assert counts() == before


def test_the_site_keeps_its_head_in_the_same_transaction(teo, orla, station):
    record = visits.sealed(teo, orla, station)
    summary = orla.get(f"/records?site={station.site}&after_number=0").json["items"]
    assert [each["id"] for each in summary] == [record["id"]]
    assert summary[0]["documents"] == {"pdf": "in preparation"}


# -- corrections --------------------------------------------------------------------------------


def test_a_correcting_record_names_the_one_it_replaces(teo, orla, cleo, station):
    old = visits.sealed(teo, orla, station)
    new = visits.sealed(
        teo, orla, station, corrects=old["id"], correction_reason="Wrong serial number."
    )
    assert (new["corrects"], new["corrected_by"], new["number"]) == (old["id"], [], 2)
    told = cleo.get(f"/records/{old['id']}").json
    assert told == old | {"corrected_by": [new["id"]]}
    text = cleo.get(f"/records/{new['id']}/data.json").json["record"]
    assert text["corrects"] == {
        "record_id": old["id"], "number": 1, "reason": "Wrong serial number.",
    }  # fmt: skip


def test_of_two_drafts_that_correct_a_record_one_is_sealed(teo, orla, station):
    old = visits.sealed(teo, orla, station)
    why = {"corrects": old["id"], "correction_reason": "Wrong serial number."}
    first, second = (visits.signed(teo, orla, station, **why) for _ in range(2))
    new = seal(orla, first)
    assert new.status == 201
    refused = seal(orla, second)
    assert_problem(refused, 409, "/event/corrects")
    [problem] = refused.json["errors"]
    assert problem["code"] == "corrected"
    assert "by record 2" in problem["detail"]
    assert new.json["id"] in problem["detail"]
    path = f"/events/{second['id']}"
    assert teo.patch(path, {"corrects": new.json["id"]}, teo.get(path).etag).status == 200
    visits.sign_both(teo, orla, second)
    third = seal(orla, second).json
    assert (third["number"], third["corrects"]) == (3, new.json["id"])


def test_the_database_holds_that_a_record_is_corrected_once(teo, orla, station, monkeypatch):
    old = visits.sealed(teo, orla, station)
    why = {"corrects": old["id"], "correction_reason": "Wrong serial number."}
    first, second = (visits.signed(teo, orla, station, **why) for _ in range(2))
    assert seal(orla, first).status == 201
    before = counts()
    monkeypatch.setattr("records.services.sealing._corrected_already", lambda event: [])
    assert seal(orla, second).status == 409
    assert counts() == before
    assert teo.get(f"/events/{second['id']}").json["state"] == "draft"


def test_only_a_record_of_the_same_site_is_corrected(teo, orla, station, cast):
    other = stations.register(orla, cast.client, code="B-8")
    there = visits.sealed(teo, orla, other)
    event = station.event(corrects=there["id"], correction_reason="A slip.")
    assert_problem(teo.post("/events", event), 400, "/corrects")
