"""What a device says of a visit without signal is what the service says once it has it."""

import uuid

import pytest

from calculations import offline
from tests.calculations.building_plates import q
from tests.records import visits

SITES = "/sites/{}/visit-pack"


def taken_along(api, station):
    return api.get(SITES.format(station.site)).json


def words(findings):
    return sorted((each["rule"], each["subject"], each["severity"], each["sentence"])
                  for each in findings)  # fmt: skip


def assert_agrees(teo, station, event):
    pack = taken_along(teo, station)
    posted = teo.post("/events", event)
    assert posted.status == 201, posted.json
    here = offline.judged(pack, event["pump_set"], event)
    there = posted.json
    assert here["catalogue"] == there["catalogue"]
    assert words(here["findings"]) == words(there["findings"])
    assert here["derived"] == there["derived"]
    unseen = {(each["rule"], each["subject"]) for each in here["waiting"]}
    lacking = {(each["rule"], each["subject"]) for each in here["not_evaluated"]} | unseen
    assert {(each["rule"], each["subject"]) for each in there["not_evaluated"]} <= lacking
    return here


def test_of_a_whole_start_up(teo, station):
    assert_agrees(teo, station, station.event())


def test_of_a_stop(teo, station):
    found = assert_agrees(teo, station, visits.wrong_frequency(station))
    assert "drive.volts-per-hertz" in {each["rule"] for each in found["findings"]}


def test_of_a_visit_after_another(teo, orla, station):
    """The last settings and, of a sealed one, the first record are in the pack."""
    visits.sealed(teo, orla, station)
    later = station.event(id=str(uuid.uuid4()), performed_at="2026-06-01T08:00:00-05:00",
                          performed_until=None)  # fmt: skip
    [own] = taken_along(teo, station)["pump_sets"]
    assert own["first_record"]["number"] == 1
    assert own["last_settings"]["duty_points"]
    pack = taken_along(teo, station)
    here = offline.judged(pack, later["pump_set"], later)
    there = teo.post("/events", later).json
    waiting = {each["rule"] for each in here["waiting"]}
    told = [each for each in there["findings"] if each["rule"] not in waiting]
    held = [each for each in here["findings"] if each["rule"] not in waiting]
    assert words(held) == words(told)


def test_with_limits_of_the_client(teo, orla, station, cast):
    limit = visits.limit(cast.client, "drive.volts-per-hertz", "stop", "1", "%")
    answer = orla.post("/rule-settings", limit)
    if answer.status != 201:
        pytest.fail(str(answer.json))
    assert_agrees(teo, station, visits.wrong_frequency(station, "59"))


def test_what_each_setting_is_held_against_and_the_units_of_the_station_come_along(teo, station):
    [own] = taken_along(teo, station)["pump_sets"]
    beside = own["expected"]["beside"]
    assert beside["motor_frequency"] == {"value": q("60", "Hz"), "which": "plate"}
    assert own["units"]["pressure"] == "psi"
