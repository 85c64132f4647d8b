"""What a device says of a visit without signal is what the service says once it has it."""

import json
import uuid

import pytest
import rfc8785

from calculations import offline
from calculations.statements import statement_text
from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.devices import Device

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


@pytest.mark.parametrize("changes", [{}, {"remarks": 'Ω – 泵站 \U0001f6b0 "läuft"\u2028'}])
def test_what_is_signed_there_is_what_stands_at_the_service(teo, station, cast, changes):
    event = station.event(id=str(uuid.uuid4()), **changes)
    pack = taken_along(teo, station)
    by = {"id": str(cast.teo.id), "name": "Teo"}
    device, signed_at = Device(), "2026-03-14T10:00:00-05:00"
    there = teo.post("/events", event).json
    assert there["snapshot"]["instruments"]
    expected = device.state(there, by, signed_at=signed_at)
    names = ("event", "by", "key", "signed_at", "findings", "attachments", "traces")
    beside = json.dumps({name: expected[name] for name in names})
    # As a browser writes it: other spaces, other order.
    packed = json.dumps(dict(reversed(pack.items())), indent=1)
    text = statement_text(packed, event["pump_set"], json.dumps(event), beside)
    assert text.encode() == rfc8785.dumps(expected)


def test_what_each_setting_is_held_against_and_the_units_of_the_station_come_along(teo, station):
    [own] = taken_along(teo, station)["pump_sets"]
    beside = own["expected"]["beside"]
    assert beside["motor_frequency"] == {"value": q("60", "Hz"), "which": "plate"}
    assert own["units"]["pressure"] == "psi"
