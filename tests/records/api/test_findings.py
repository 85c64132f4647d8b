"""Findings and answers over the API: who may accept what, and how long an answer holds."""

import uuid

import pytest

from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.counting import counts
from tests.records.problems import assert_problem
from tests.records.stations import summary
from tests.records.visits import answer, damp_winding, found, plate_speed, rules_of, wrong_frequency

FREQUENCY = "drive.volts-per-hertz"
DAMP = "insulation.minimum"
SLIP = "motor.slip"


def correct(teo, event, **settings):
    path = f"/events/{event['id']}"
    changed = teo.patch(path, {"settings": {"as_left": settings}}, teo.get(path).etag)
    assert changed.status == 200, changed.json
    return changed.json


@pytest.fixture
def event(teo, station):
    """An event with one `stop` that the office may accept."""
    return teo.post("/events", wrong_frequency(station)).json


# -- what is found ------------------------------------------------------------------------------


def test_findings_come_with_the_answer_to_the_post(event):
    finding = found(event, FREQUENCY)
    assert (finding["severity"], finding["open"], finding["answer"]) == ("stop", True, None)
    assert finding["subject"].startswith("/event/settings/as_left/")
    assert finding["sentence"]
    assert finding["source"]
    assert {"name", "value", "unit"} == set(finding["compared"][0])


def test_findings_are_the_same_wherever_they_are_read(teo, orla, event):
    path = f"/events/{event['id']}"
    assert teo.get(path).json["findings"] == event["findings"]
    assert orla.get(f"{path}/findings").json == {"items": event["findings"], "next": None}


def test_what_is_corrected_is_no_longer_found(teo, event):
    corrected = correct(teo, event, motor_frequency=q("60", "Hz"))
    assert FREQUENCY not in rules_of(corrected)
    assert teo.get(f"/events/{event['id']}/findings").json["items"] == corrected["findings"]


def test_a_finding_keeps_its_id_when_it_comes_back(teo, event):
    first = found(event, FREQUENCY)
    correct(teo, event, motor_frequency=q("60", "Hz"))
    again = found(correct(teo, event, motor_frequency=q("50", "Hz")), FREQUENCY)
    assert again == first


def test_the_gravest_finding_comes_first(teo, orla, station):
    plate_speed(orla, station, "1600")
    document = wrong_frequency(station)
    document["motor_tests"] = damp_winding(station)["motor_tests"]
    severities = [f["severity"] for f in teo.post("/events", document).json["findings"]]
    assert severities == sorted(severities, key=["stop", "review", "note"].index)
    assert len(set(severities)) > 1


# -- how long an answer holds -------------------------------------------------------------------


def test_an_answer_closes_the_finding(teo, orla, event):
    finding = found(event, FREQUENCY)
    answered = answer(orla, event, finding)
    assert answered.status == 201
    now = found(teo.get(f"/events/{event['id']}").json, FREQUENCY)
    assert (now["open"], now["answer"]) == (False, answered.json)
    assert answered.json | {"id": "", "at": ""} == {
        "id": "", "at": "", "finding": finding["id"], "text": visits.WORDS, "accepted": True,
        "by": "Orla", "role": "office",
    }  # fmt: skip


def test_an_answer_holds_while_the_compared_values_do(teo, orla, event):
    answered = answer(orla, event, found(event, FREQUENCY)).json
    same = correct(teo, event, sleep_delay=q("31", "s"))
    assert found(same, FREQUENCY)["answer"] == answered
    other = found(correct(teo, event, motor_frequency=q("49", "Hz")), FREQUENCY)
    assert (other["open"], other["answer"]) == (True, None)
    back = found(correct(teo, event, motor_frequency=q("50", "Hz")), FREQUENCY)
    assert (back["open"], back["answer"]) == (False, answered)


def test_the_latest_answer_counts(teo, orla, station, event):
    finding = found(event, FREQUENCY)
    answer(orla, event, finding)
    assert summary(station).open_stop == 0
    answer(orla, event, finding, accepted=False, text="No: set it to the plate.")
    now = found(teo.get(f"/events/{event['id']}").json, FREQUENCY)
    assert (now["open"], now["answer"]["text"]) == (True, "No: set it to the plate.")
    assert summary(station).open_stop == 1


def test_what_is_no_longer_found_cannot_be_answered(teo, orla, event):
    finding = found(event, FREQUENCY)
    correct(teo, event, motor_frequency=q("60", "Hz"))
    assert_problem(answer(orla, event, finding), 409)


# -- who may accept what ------------------------------------------------------------------------


def test_the_office_alone_accepts_a_stop(teo, orla, event):
    finding = found(event, FREQUENCY)
    before = counts()
    assert_problem(answer(teo, event, finding), 403)
    assert counts() == before
    assert answer(teo, event, finding, accepted=False).status == 201
    assert found(teo.get(f"/events/{event['id']}").json, FREQUENCY)["open"]
    assert answer(orla, event, finding).status == 201


def test_what_can_only_be_corrected_is_accepted_by_nobody(teo, orla, station):
    event = teo.post("/events", damp_winding(station)).json
    finding = found(event, DAMP)
    assert finding["correct_only"]
    assert_problem(answer(orla, event, finding), 409, "/accepted")
    assert_problem(answer(teo, event, finding), 409, "/accepted")
    assert answer(orla, event, finding, accepted=False, text="Dry the winding.").status == 201
    assert found(orla.get(f"/events/{event['id']}").json, DAMP)["open"]


def test_a_technician_answers_a_review(teo, orla, station):
    plate_speed(orla, station, "1600")
    event = visits.post(teo, station)
    finding = found(event, SLIP)
    assert (finding["severity"], finding["open"]) == ("review", True)
    assert answer(teo, event, finding).status == 201
    assert not found(teo.get(f"/events/{event['id']}").json, SLIP)["open"]


def test_a_note_needs_no_answer(teo, orla, station):
    plate_speed(orla, station, "1799")
    event = visits.post(teo, station)
    finding = found(event, SLIP)
    assert (finding["severity"], finding["open"]) == ("note", False)
    assert answer(teo, event, finding).status == 201


# -- bad input, repeats -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "places"),
    [
        ({"text": ""}, ["/text"]),
        ({"text": " \n"}, ["/text"]),
        ({"text": None}, ["/text"]),
        ({"text": 7}, ["/text"]),
        ({"text": "x" * 2001}, ["/text"]),
        ({"accepted": "yes"}, ["/accepted"]),
        ({"accepted": None}, ["/accepted"]),
        ({"id": "7", "by": "Orla", "text": ["x"]}, ["/id", "/by", "/text"]),
    ],
    ids=str,
)
def test_a_bad_answer_is_refused_at_its_places(orla, event, given, places):
    before = counts()
    assert_problem(answer(orla, event, found(event, FREQUENCY), **given), 400, *places)
    assert counts() == before


def test_a_finding_that_is_not_there_is_not_found(orla, event, station):
    for identity in (str(uuid.uuid4()), "7"):
        assert_problem(answer(orla, event, {"id": identity}), 404)
    other = orla.post("/events", wrong_frequency(station)).json
    assert_problem(answer(orla, event, found(other, FREQUENCY)), 404)


def test_the_same_answer_again_changes_nothing(orla, event):
    finding, identity = found(event, FREQUENCY), visits.new_id()
    first = answer(orla, event, finding, id=identity)
    before = counts()
    again = answer(orla, event, finding, id=identity)
    assert (first.status, again.status, again.json) == (201, 200, first.json)
    assert_problem(answer(orla, event, finding, id=identity, text="Else."), 409, "/id")
    assert_problem(answer(orla, event, finding, id=identity, accepted=False), 409, "/id")
    assert counts() == before


def test_the_id_of_an_answer_is_free_in_another_event(orla, event, station):
    identity = visits.new_id()
    answer(orla, event, found(event, FREQUENCY), id=identity)
    other = orla.post("/events", wrong_frequency(station)).json
    assert answer(orla, other, found(other, FREQUENCY), id=identity).status == 201
