"""Batches of events: each member has its own result, and a batch that is none leaves nothing."""

import uuid

from tests.calculations.building_plates import q
from tests.records.counting import counts
from tests.records.problems import assert_problem, details


def test_of_a_hundred_with_three_bad_each_has_its_result(teo, station):
    listed = [_short(station) for _ in range(100)]
    listed[7]["hours_run"] = q("1", "kWh")
    listed[50]["site"] = str(uuid.uuid4())
    listed[99] = "no event"
    answer = teo.post("/events/batch", {"events": listed})
    assert answer.status == 200
    results = answer.json["results"]
    bad = {index: result for index, result in enumerate(results) if result["status"] != 201}
    assert {index: result["status"] for index, result in bad.items()} == {7: 400, 50: 400, 99: 400}
    assert bad[7]["problem"]["errors"][0]["pointer"] == "/hours_run/unit"
    assert bad[50]["problem"]["errors"][0]["pointer"] == "/site"
    assert bad[99]["problem"]["errors"][0]["pointer"] == ""
    good = [result["event"]["id"] for result in results if result["status"] == 201]
    assert good == [each["id"] for index, each in enumerate(listed) if index not in bad]
    before = counts()
    again = teo.post("/events/batch", {"events": listed}).json["results"]
    assert [result["status"] for result in again] == [
        400 if index in bad else 200 for index in range(100)
    ]
    assert counts() == before


def _short(station):
    event = station.event()
    return {name: event[name] for name in ("id", "site", "pump_set", "kind", "performed_at")}


def test_the_same_event_twice_in_a_batch_is_one(teo, station):
    event = _short(station)
    other = event | {"remarks": "other"}
    results = teo.post("/events/batch", {"events": [event, event, other]}).json["results"]
    assert [result["status"] for result in results] == [201, 200, 409]


def test_a_batch_of_101_is_refused_whole(teo, station):
    before = counts()
    answer = teo.post("/events/batch", {"events": [_short(station)] * 101})
    assert_problem(answer, 400, "/events")
    assert "at most 100 events, got 101" in details(answer)["/events"]
    for body, places in (
        ({}, ["/events"]), ({"events": {}}, ["/events"]), ({"events": None}, ["/events"]),
        ({"events": [], "more": 1}, ["/more"]), ([], []), ("x", []),
    ):  # fmt: skip
        assert_problem(teo.post("/events/batch", body), 400, *places)
    assert counts() == before
