"""What an event's document needs as a whole: times that have come and stand in order, ids once."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.calculations.building_plates import q
from tests.records.counting import counts
from tests.records.problems import assert_problem, details

TIMES = ("performed_at", "performed_until", "device_time")


def from_now(**delta):
    return (datetime.now(UTC) + timedelta(**delta)).isoformat(timespec="seconds")


def posted(teo, station, **times):
    return teo.post("/events", station.event(**times))


@pytest.mark.parametrize(
    ("times", "places"),
    [
        ({"performed_at": "2326-01-01T09:30:00Z"}, ["/performed_at", "/performed_until"]),
        ({"performed_until": "2326-01-01T09:30:00Z"}, ["/performed_until"]),
        ({"performed_at": "1726-03-14T09:30:00-05:00"}, ["/performed_at"]),
        ({"device_time": "1700-01-01T00:00:00Z"}, ["/device_time"]),
        ({"device_time": "2326-01-01T00:00:00Z"}, ["/device_time"]),
        ({"performed_at": "2026-03-14T15:10:01-05:00"}, ["/performed_until"]),
        (dict.fromkeys(TIMES, "2326-01-01T09:30:00Z"), [f"/{name}" for name in TIMES]),
    ],
    ids=str,
)
def test_a_time_that_cannot_be_is_refused_at_its_place(teo, station, times, places):
    before = counts()
    answer = posted(teo, station, **times)
    assert_problem(answer, 400, *places)
    assert counts() == before


@pytest.mark.parametrize(
    ("name", "ahead", "status"),
    [
        ("performed_at", {"minutes": 9}, 201),
        ("performed_at", {"minutes": 11}, 400),
        ("performed_at", {"days": 30}, 400),
        ("performed_until", {"minutes": 9}, 201),
        ("performed_until", {"minutes": 11}, 400),
        ("device_time", {"days": 1}, 201),
        ("device_time", {"days": 3}, 400),
    ],
)
def test_clocks_differ_by_some_minutes_and_a_devices_by_a_day(teo, station, name, ahead, status):
    """Ten minutes, and two days for a device's own clock: our choice, no source."""
    times = {name: from_now(**ahead)}
    if name == "performed_at":
        times["performed_until"] = times[name]
    answer = posted(teo, station, **times)
    assert answer.status == status, answer.json
    if status == 400:
        assert f"/{name}" in answer.pointers
        assert "that has come" in details(answer)[f"/{name}"]


def test_a_visit_may_end_when_it_begins_and_lie_long_ago(teo, station):
    moment = "1999-12-31T23:59:59+14:00"
    answer = posted(teo, station, performed_at=moment, performed_until=moment)
    assert answer.status == 201, answer.json


def test_a_change_is_held_to_the_same(teo, station):
    event = posted(teo, station)
    path = f"/events/{event.json['id']}"
    later = teo.patch(path, {"performed_at": from_now(days=30)}, event.etag)
    assert_problem(later, 400, "/performed_at", "/performed_until")
    assert teo.get(path).json == event.json


def test_an_impossible_visit_of_a_batch_stops_no_other(teo, station):
    listed = [station.event(), station.event(performed_at=from_now(days=30))]
    results = teo.post("/events/batch", {"events": listed}).json["results"]
    assert [each["status"] for each in results] == [201, 400]


# -- ids ----------------------------------------------------------------------------------------


def test_two_elements_of_one_list_cannot_have_one_id(teo, station):
    event = station.event()
    for name in ("duty_points", "mechanical_checks"):
        event[name][1]["id"] = event[name][0]["id"] = "first"
    answer = teo.post("/events", event)
    assert_problem(answer, 400, "/duty_points/1/id", "/mechanical_checks/1/id")
    assert "'first'" in str(details(answer)) or "first" in details(answer)["/duty_points/1/id"]


# -- merge patches ------------------------------------------------------------------------------


def test_a_unit_alone_does_not_turn_one_pressure_into_another(teo, station):
    event = posted(teo, station)
    path = f"/events/{event.json['id']}"
    as_left = event.json["settings"]["as_left"]
    assert as_left["set_point"]["unit"] != "bar"
    alone = {"settings": {"as_left": {"set_point": {"unit": "bar"}}}}
    answer = teo.patch(path, alone, event.etag)
    assert_problem(answer, 400, "/settings/as_left/set_point/unit")
    assert "the value with its unit" in details(answer)["/settings/as_left/set_point/unit"]
    same = {"settings": {"as_left": {"set_point": {"unit": as_left["set_point"]["unit"]}}}}
    assert teo.patch(path, same, event.etag).status == 200
    both = {"settings": {"as_left": {"set_point": q("4.10", "bar")}}}
    changed = teo.patch(path, both, '"2.0"')
    assert changed.json["settings"]["as_left"]["set_point"] == q("4.10", "bar")


def test_all_that_is_wrong_with_a_patch_is_told_at_once(teo, station):
    event = posted(teo, station)
    patch = {"site": None, "performed_at": None, "remarks": 7, "weather": " "}
    answer = teo.patch(f"/events/{event.json['id']}", patch, event.etag)
    assert_problem(answer, 400, "/site", "/performed_at", "/remarks")
