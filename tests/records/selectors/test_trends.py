"""What trends are read from: records that stand, of what stood at the tag, seen by parties."""

import pytest

from records.errors import NotFound
from records.selectors import trends
from tests.calculations.building_plates import q
from tests.records import visits

pytestmark = pytest.mark.django_db


def at(year, **changes):
    """A visit on that day of March."""
    day = f"{year}-03-14"
    times = {"performed_at": f"{day}T09:30:00-05:00", "performed_until": f"{day}T15:10:00-05:00"}
    return times | {"step_tests": None} | changes


def lower(station, psi="82.5"):
    points = station.event()["duty_points"]
    return {"duty_points": [each | {"discharge_pressure": q(psi, "psi")} for each in points]}


def pump_set(person, station):
    answer = person.get(f"/pump-sets/{station.pump_set}/trends")
    assert answer.status == 200, answer.json
    return answer.json


def course(document, quantity):
    [found] = [each for each in document["courses"] if each["quantity"] == quantity]
    return found


def test_head_since_the_first_record_with_what_is_noise(teo, orla, cleo, station):
    visits.sealed(teo, orla, station, **at(2023))
    second = visits.sealed(teo, orla, station, **at(2025), **lower(station))
    head = course(pump_set(cleo, station), "head")
    first, later = head["values"]
    assert (first["number"], first["performed_on"], first["verdict"]) == (1, "2023-03-14", "first")
    # 2.5 psi are 5.77 ft (2.309 ft each) of the design point's 125.6 ft: -4.6 %.
    assert (later["record"], later["verdict"]) == (second["id"], "lower")
    assert later["change"]["unit"] == "%"
    assert float(later["change"]["value"]) == pytest.approx(-4.6, abs=0.02)
    assert later["subject"] == "/event/duty_points/0"
    assert later["value"]["unit"] == "ft"
    assert float(later["value"]["value"]) == pytest.approx(125.6 - 5.77, abs=0.1)
    assert head["sentence"].startswith(
        "Head (pump K71-0042) on 2025-03-14: 4.6 % lower than at the first record, of 2023-03-14 at"
        " the same speed; the readings are good to ±2.2 %, so this is more than noise."
    )


def test_a_corrected_record_does_not_count_twice(teo, orla, station):
    visits.sealed(teo, orla, station, **at(2023))
    wrong = visits.sealed(teo, orla, station, **at(2025), **lower(station))
    again = {"corrects": wrong["id"], "correction_reason": "the wrong gauge was read"}
    visits.sealed(teo, orla, station, **at(2025), **again)
    values = course(pump_set(teo, station), "head")["values"]
    assert [(each["number"], each["verdict"]) for each in values] == [(1, "first"), (3, "noise")]


def test_the_first_record_itself_may_be_corrected(teo, orla, station):
    first = visits.sealed(teo, orla, station, **at(2023), **lower(station))
    visits.sealed(teo, orla, station, **at(2025))
    again = {"corrects": first["id"], "correction_reason": "the wrong gauge was read"}
    visits.sealed(teo, orla, station, **at(2023), **again)
    values = course(pump_set(teo, station), "head")["values"]
    assert [(each["number"], each["verdict"]) for each in values] == [(3, "first"), (2, "noise")]


def test_drafts_do_not_count(teo, orla, station):
    visits.sealed(teo, orla, station, **at(2023))
    visits.post(teo, station, **at(2025), **lower(station))
    assert len(course(pump_set(teo, station), "head")["values"]) == 1


def test_a_transmitter(teo, orla, cleo, station):
    for year in (2023, 2024):
        visits.sealed(teo, orla, station, **at(year))
    found = cleo.get(f"/sensors/{station.ids['PT-101']}/trends").json
    [of_it] = found["courses"]
    first, second = of_it["values"]
    # 8.02 mA for 8.00: 0.02 of 16 mA is 0.125 %; rounded to the hundredth.
    assert first["as_found"] == {"value": "0.12", "unit": "%"}
    assert (second["drift"]["value"], second["verdict"]) == ("0.00", "noise")
    assert found["lead"] == "Nothing moved by more than the readings explain."


def test_a_sensor_that_no_record_verified_has_no_course(teo, station):
    found = teo.get(f"/sensors/{station.ids['PT-101']}/trends").json
    assert (found["courses"], found["left_out"]) == ([], 0)
    assert found["lead"] == "No sealed record has anything to compare yet."


def test_very_many_records_leave_the_middle_out(teo, orla, station, monkeypatch):
    monkeypatch.setattr(trends, "MOST", 3)
    monkeypatch.setattr(trends, "FIRST", 1)
    for year in range(2020, 2025):
        visits.sealed(teo, orla, station, **at(year))
    found = pump_set(teo, station)
    assert [each["number"] for each in course(found, "head")["values"]] == [1, 4, 5]
    assert found["left_out"] == 2


def test_what_is_not_there_is_not_found(teo):
    answer = teo.get(f"/pump-sets/{visits.new_id()}/trends")
    assert answer.status == NotFound.status
