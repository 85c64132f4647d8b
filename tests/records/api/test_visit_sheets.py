"""The visit sheet over the API: the right paper, the client's limits, nobody else's."""

import hashlib

import pytest

from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.documents.reading_back import reader, squeezed, text
from tests.records.problems import assert_problem


@pytest.fixture
def path(station):
    return f"/pump-sets/{station.pump_set}/visit-sheet.pdf"


def words(answer):
    assert (answer.status, answer.type) == (200, "application/pdf")
    return squeezed(text(answer.content))


def test_before_the_first_visit_and_after_it(teo, path, station):
    first = words(teo.get(path))
    assert squeezed("Pump set PS-101: visit sheet") in first
    assert squeezed("No settings are known yet") in first
    visits.post(teo, station)
    second = words(teo.get(path))
    assert squeezed("Settings as left on 2026-03-14, not sealed yet") in second
    assert squeezed("The set point of 85 psi is 10.8 mA from the sensor.") in second


def test_it_is_shown_under_a_name_that_says_what_it_is(teo, path):
    answer = teo.get(path)
    assert answer.headers["Content-Disposition"] == 'inline; filename="visit-sheet-B-01-PS-101.pdf"'
    assert answer.headers["Cache-Control"] == "private, no-cache"


def width(answer):
    assert answer.status == 200
    return round(float(reader(answer.content).pages[0].mediabox.width))


def test_the_same_day_gives_the_same_sheet_which_is_not_sent_again(orla, teo, path, station):
    first = teo.get(path)
    assert first.etag == f'"{hashlib.sha256(first.content).hexdigest()}"'
    again = teo.call("GET", path, If_None_Match=first.etag)
    assert (again.status, again.content, again.etag) == (304, b"", first.etag)
    assert teo.get(f"{path}?paper=a4").etag != first.etag
    pump = f"/pumps/{station.ids['P-101']}"
    slower = {"rated_speed": q("1710", "rpm")}
    assert orla.patch(pump, slower, orla.get(pump).etag).status == 200
    assert teo.call("GET", path, If_None_Match=first.etag).status == 200


def test_paper_follows_the_station_or_what_is_asked_for(orla, teo, path, station):
    """Letter is 8.5 in (612 points) wide, A4 210 mm (595 points)."""
    assert width(teo.get(path)) == 612  # a station of US practice
    assert width(teo.get(f"{path}?paper=a4")) == 595
    site = f"/sites/{station.site}"
    orla.patch(site, {"electrical_practice": "iec"}, orla.get(site).etag)
    assert width(teo.get(path)) == 595
    assert width(teo.get(f"{path}?paper=letter")) == 612
    assert_problem(teo.get(f"{path}?paper=a3"), 400, "/paper")
    assert_problem(teo.get(f"{path}?paper="), 400, "/paper")


def test_limits_of_the_client_are_printed(orla, teo, path, cast):
    orla.post("/rule-settings", visits.limit(cast.client, "motor.slip", "large", "7", "%"))
    assert squeezed("motor.slip Large 7 % 10 % Tighter;") in words(teo.get(path))


def test_a_pump_set_out_of_service_has_none(orla, teo, path, station):
    at = f"/pump-sets/{station.pump_set}"
    orla.patch(at, {"out_of_service_on": "2030-01-01"}, orla.get(at).etag)
    assert_problem(teo.get(path), 409)


def test_what_is_not_there_is_not_found(teo, cleo, tilda, path):
    assert_problem(teo.get(f"/pump-sets/{visits.new_id()}/visit-sheet.pdf"), 404)
    assert_problem(cleo.get(path), 403)
    assert_problem(tilda.get(path), 404)


def test_a_changed_plate_is_on_the_next_sheet(orla, teo, path, station):
    visits.plate_speed(orla, station, "1760")
    assert squeezed("1760 rpm") in words(teo.get(path))
    motor = f"/motors/{station.ids['M-101']}"
    ratings = orla.get(motor).json["ratings"]
    ratings[1]["current"] = q("66.6", "A")
    orla.patch(motor, {"ratings": ratings}, orla.get(motor).etag)
    assert squeezed("Overload to set: 66.6 A.") in words(teo.get(path))


def test_counters_and_insulation_of_the_last_visit_are_told(orla, teo, path, station):
    """What is read today is compared with; of another motor or winding there is nothing."""
    event = station.event(hours_run=q("20512", "h"), start_count=1600)
    event["motor_tests"]["insulation"] |= {"resistance_1_min": q("1830", "Mohm")}
    posted = visits.post(teo, station, **event)
    assert squeezed("On 2026-03-14, not sealed yet: 20512 h run") in words(teo.get(path))
    visits.sign_both(teo, orla, posted)
    assert orla.post(f"/events/{posted['id']}/seal").status == 201
    told = words(teo.get(path))
    counted = "On 2026-03-14: 20512 h run, 1600 starts"
    assert squeezed(counted) in told
    assert squeezed("On 2026-03-14: 1830 MΩ after one minute") in told
    motor = f"/motors/{station.ids['M-101']}"
    orla.patch(motor, {"rewound_on": "2026-03-02"}, orla.get(motor).etag)
    assert squeezed("On 2026-03-14: 1830 MΩ after one minute") in words(teo.get(path))
    rewound = orla.patch(motor, {"rewound_on": "2026-05-02"}, orla.get(motor).etag)
    assert (rewound.status, rewound.json["rewound_on"]) == (200, "2026-05-02")
    told = words(teo.get(path))
    assert squeezed(counted) in told
    assert squeezed("MΩ after one minute") not in told
    orla.patch(motor, {"serial": "M-9"}, orla.get(motor).etag)
    assert squeezed("20512 h run") not in words(teo.get(path))


def test_the_day_of_what_was_last_read_is_that_of_the_station(teo, path, station):
    """Half past eight in the evening at Chicago is the next day in UTC."""
    evening = {"performed_at": "2026-03-14T20:30:00-05:00", "performed_until": None}
    visits.post(teo, station, hours_run=q("20512", "h"), **evening)
    told = words(teo.get(path))
    assert squeezed("On 2026-03-14, not sealed yet: 20512 h run") in told
    assert squeezed("Settings as left on 2026-03-14, not sealed yet") in told


def test_what_a_correction_takes_back_is_not_told(orla, teo, path, station):
    mistaken = {"hours_run": q("99999", "h"), "performed_at": "2026-03-14T09:30:00-05:00"}
    record = visits.sealed(teo, orla, station, **mistaken)
    assert squeezed("99999 h run") in words(teo.get(path))
    correction = {
        "corrects": record["id"], "correction_reason": "It was the counter of another drive.",
        "performed_at": "2026-03-14T09:20:00-05:00", "hours_run": q("20512", "h"),
    }  # fmt: skip
    visits.sealed(teo, orla, station, **correction)
    told = words(teo.get(path))
    assert squeezed("99999 h run") not in told
    assert squeezed("20512 h run") in told
