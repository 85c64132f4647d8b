"""What an answer sets free is judged, and what changed since the first record is seen."""

import json
from itertools import islice

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.selectors import other_records
from tests.calculations.building_event import verification
from tests.calculations.building_plates import q
from tests.records import stations, visits
from tests.records.visits import answer, found, rules_of

FLUX, SPEED = "drive.volts-per-hertz", "drive.motor-speed"


def waits_for(event, rule):
    return [e.get("waits_for") for e in event["not_evaluated"] if e["rule"] == rule]


@pytest.fixture
def mixed(teo, station):
    """Another voltage for the motor in the drive, and another speed: the second waits."""
    event = station.event()
    event["settings"]["as_left"] |= {
        "motor_voltage": q("230", "V"),
        "motor_speed": q("1700", "rpm"),
    }
    return visits.post(teo, station, **event)


def read(person, event):
    told = person.get(f"/events/{event['id']}")
    assert told.status == 200
    return told.json


# -- accepted findings --------------------------------------------------------------------------


def test_what_waited_is_judged_when_its_parent_is_accepted(orla, teo, mixed):
    assert waits_for(mixed, SPEED) == [FLUX]
    assert answer(orla, mixed, found(mixed, FLUX)).status == 201
    after = read(teo, mixed)
    assert waits_for(after, SPEED) == []
    assert found(after, SPEED)["open"]
    assert not found(after, FLUX)["open"]
    assert after["revision"] == mixed["revision"]  # the document is the same


def test_an_answer_that_does_not_accept_sets_nothing_free(teo, mixed):
    assert answer(teo, mixed, found(mixed, FLUX), accepted=False).status == 201
    assert waits_for(read(teo, mixed), SPEED) == [FLUX]


def test_taking_an_acceptance_back_makes_it_wait_again(orla, teo, mixed):
    answer(orla, mixed, found(mixed, FLUX))
    answer(orla, mixed, found(mixed, FLUX), accepted=False)
    after = read(teo, mixed)
    assert waits_for(after, SPEED) == [FLUX]
    assert SPEED not in rules_of(after)


def test_an_acceptance_holds_while_what_was_compared_stays(orla, teo, mixed):
    answer(orla, mixed, found(mixed, FLUX))
    told = teo.get(f"/events/{mixed['id']}")
    same = teo.patch(f"/events/{mixed['id']}", {"remarks": "painted plate"}, told.etag)
    assert SPEED in rules_of(same.json)
    left = {"settings": {"as_left": {"motor_voltage": q("240", "V")}}}
    other = teo.patch(f"/events/{mixed['id']}", left, same.etag)
    assert other.status == 200
    assert waits_for(other.json, SPEED) == [FLUX]
    assert found(other.json, FLUX)["open"]


def test_what_comes_to_light_after_signing_makes_the_signature_void(orla, teo, mixed):
    assert visits.sign(teo, mixed, "performed").status == 201
    answer(orla, mixed, found(mixed, FLUX))
    after = read(teo, mixed)
    assert SPEED in rules_of(after)
    assert after["signatures"] == []


def test_a_signature_stays_where_an_answer_brings_nothing_to_light(orla, teo, station):
    event = station.event()
    event["settings"]["as_left"]["motor_voltage"] = q("230", "V")
    posted = visits.post(teo, station, **event)
    assert visits.sign(teo, posted, "performed").status == 201
    answer(orla, posted, found(posted, FLUX))
    after = read(teo, posted)
    assert rules_of(after) == [FLUX]
    assert [each["meaning"] for each in after["signatures"]] == ["performed"]


# -- the first record ---------------------------------------------------------------------------


def later(station, resistance="2000", at="2026-06-14T09:30:00-05:00", **changes):
    """Months later; insulation after one minute in megohm."""
    event = station.event(performed_at=at, performed_until=at, **changes)
    event["motor_tests"]["insulation"]["resistance_1_min"] = q(resistance, "Mohm")
    return event


@pytest.fixture
def first(orla, teo, station):
    """The sealed start-up, with 2000 Mohm after one minute."""
    event = station.event()
    event["motor_tests"]["insulation"]["resistance_1_min"] = q("2000", "Mohm")
    return visits.sealed(teo, orla, station, **event)


def trends(event):
    return [rule for rule in rules_of(event) if rule.startswith("trend.")]


def test_without_an_earlier_record_there_is_no_trend(teo, station):
    event = visits.post(teo, station, **later(station, "500"))
    assert (event["earlier_record"], trends(event)) == (None, [])


def test_a_fall_since_the_first_record_is_seen(teo, station, first):
    """A quarter of what it was, at the same temperature: less than a third."""
    event = visits.post(teo, station, **later(station, "500"))
    assert trends(event) == ["trend.insulation"]
    assert event["earlier_record"] == {
        "record_id": first["id"], "number": 1, "performed_at": first["performed_at"],
    }  # fmt: skip


def test_half_of_it_is_no_trend(teo, station, first):
    assert trends(visits.post(teo, station, **later(station, "1000"))) == []


def test_the_first_record_counts_and_not_the_latest(orla, teo, station, first):
    """1000 at the second visit: 500 is half of it, and a quarter of the first."""
    visits.sealed(teo, orla, station, **later(station, "1000"))
    event = visits.post(teo, station, **later(station, "500", at="2026-09-14T09:30:00-05:00"))
    assert event["earlier_record"]["record_id"] == first["id"]
    assert trends(event) == ["trend.insulation"]


def test_a_record_that_was_replaced_no_longer_counts(orla, teo, station, first):
    words = {"corrects": first["id"], "correction_reason": "the reading was 1000"}
    event = station.event(**words)
    event["motor_tests"]["insulation"]["resistance_1_min"] = q("1000", "Mohm")
    posted = visits.post(teo, station, **event)
    assert posted["earlier_record"] is None  # it is not compared with what it replaces
    replaced = visits.sealed(teo, orla, station, **event | {"id": visits.new_id()})
    again = visits.post(teo, station, **later(station, "500"))
    assert again["earlier_record"]["record_id"] == replaced["id"]
    assert trends(again) == []


def test_what_came_after_the_visit_is_not_earlier(teo, station, first):
    event = visits.post(teo, station, **later(station, at="2025-01-02T09:30:00-05:00"))
    assert event["earlier_record"] is None


def test_another_pump_set_has_its_own_first_record(orla, teo, cast, station, first):
    other = stations.register(orla, cast.client, code="B-07")
    assert visits.post(teo, other, **later(other, "500"))["earlier_record"] is None


def test_the_record_says_what_it_was_compared_with(orla, teo, cleo, station, first):
    record = visits.sealed(teo, orla, station, **later(station, "500"))
    content = json.loads(cleo.get(f"/records/{record['id']}/data.json").content)["record"]
    assert content["judgement"]["earlier_record"]["record_id"] == first["id"]


def test_an_answer_keeps_what_was_compared_with(orla, teo, station, first):
    event = later(station, "500")
    event["settings"]["as_left"]["motor_voltage"] = q("230", "V")
    posted = visits.post(teo, station, **event)
    answer(orla, posted, found(posted, FLUX))
    after = read(teo, posted)
    assert after["earlier_record"] == posted["earlier_record"]
    assert trends(after) == ["trend.insulation"]


# -- records around the visit ---------------------------------------------------------------------


def counted(station, hours, **words):
    return later(station, "2000", **words) | {"hours_run": q(hours, "h")}


def test_counters_are_held_against_the_last_record_and_not_the_first(orla, teo, station, first):
    """Replaced by the second visit's 900 h, the first one's few hours no longer count."""
    second = visits.sealed(teo, orla, station, **counted(station, "900"))
    event = visits.post(teo, station, **counted(station, "800", at="2026-10-14T09:30:00-05:00"))
    assert event["earlier_record"]["record_id"] == first["id"]
    assert event["records_beside"]["last"]["record_id"] == second["id"]
    assert "record.counters" in rules_of(event)
    assert "record.counters" in rules_of(read(teo, event))


def test_a_visit_that_is_entered_late_is_held_against_the_next(orla, teo, station, first):
    second = visits.sealed(
        teo, orla, station, **counted(station, "900", at="2026-10-14T09:30:00-05:00")
    )
    event = visits.post(teo, station, **counted(station, "1000"))
    assert event["records_beside"]["next"]["record_id"] == second["id"]
    assert {"record.counters", "record.order"} <= set(rules_of(event))


def test_a_draft_is_judged_beside_a_record_that_is_sealed_after_it(orla, teo, station, first):
    """One telephone hands over two visits, and the later one is looked at first."""
    late = visits.post(teo, station, **counted(station, "800", at="2026-10-14T09:30:00-05:00"))
    assert "record.counters" not in rules_of(late)
    second = visits.sealed(teo, orla, station, **counted(station, "900"))
    after = read(teo, late)
    assert after["records_beside"]["last"]["record_id"] == second["id"]
    assert "record.counters" in rules_of(after)


def test_a_draft_keeps_its_revision_where_what_is_sealed_changes_nothing_for_it(
    orla, teo, station, first
):
    visits.sealed(teo, orla, station, **counted(station, "900"))
    early = visits.post(teo, station, **counted(station, "10", at="2026-06-13T09:30:00-05:00"))
    visits.sealed(teo, orla, station, **counted(station, "1200", at="2026-10-14T09:30:00-05:00"))
    assert read(teo, early)["revision"] == early["revision"]


def test_a_correction_of_another_kind_is_named(orla, teo, station, first):
    words = {"corrects": first["id"], "correction_reason": "entered as a start-up"}
    event = visits.post(teo, station, **station.event(**words) | {"kind": "re_verification"})
    assert "record.correction" in rules_of(event)
    same = visits.post(teo, station, **station.event(**words))
    assert "record.correction" not in rules_of(same)


def test_what_it_was_held_against_is_kept_with_an_answer(orla, teo, station, first):
    visits.sealed(teo, orla, station, **counted(station, "900"))
    event = counted(station, "800", at="2026-10-14T09:30:00-05:00")
    event["settings"]["as_left"]["motor_voltage"] = q("230", "V")
    posted = visits.post(teo, station, **event)
    answer(orla, posted, found(posted, FLUX))
    after = read(teo, posted)
    assert after["records_beside"] == posted["records_beside"]
    assert "record.counters" in rules_of(after)


def test_a_comparison_begins_anew_with_an_exchanged_piece_and_an_answer_keeps_it(
    orla, teo, station, first
):
    """From the second record on it is another drive: only what is measured at its input moves."""
    drive = f"/drives/{station.ids['D-101']}"
    assert orla.patch(drive, {"serial": "V77-9999"}, orla.get(drive).etag).status == 200
    second = visits.sealed(teo, orla, station, **later(station))
    event = later(station, at="2026-10-14T09:30:00-05:00")
    event["settings"]["as_left"]["motor_voltage"] = q("230", "V")
    posted = visits.post(teo, station, **event)
    assert posted["earlier_record"]["record_id"] == first["id"]
    begun = {kind: each["record_id"] for kind, each in posted["records_beside"]["anew"].items()}
    assert begun == {"efficiency_drive_input": second["id"]}
    answer(orla, posted, found(posted, FLUX))
    assert read(teo, posted)["records_beside"] == posted["records_beside"]


def test_a_trimmed_impeller_begins_with_the_first_record_after_it(orla, teo, station):
    """What is of the pump's water begins anew, what is of the motor alone does not."""

    def has(inches):
        pump = f"/pumps/{station.ids['P-101']}"
        changed = {"impeller_diameter": q(inches, "in")}
        assert orla.patch(pump, changed, orla.get(pump).etag).status == 200

    has("9.50")
    visits.sealed(teo, orla, station)
    has("9.10")
    during = visits.post(teo, station, **later(station, at="2026-06-10T09:30:00-05:00"))
    assert during["records_beside"]["anew"] == {}
    answer(orla, during, found(during, "curve.impeller"))  # the curve is still the one before
    visits.sign_both(teo, orla, during)
    sealed = orla.post(f"/events/{during['id']}/seal")
    assert sealed.status == 201, sealed.json
    after = visits.post(teo, station, **later(station, at="2026-10-14T09:30:00-05:00"))
    begun = {kind: each["record_id"] for kind, each in after["records_beside"]["anew"].items()}
    of_the_pump = ("head", "efficiency_drive_input", "efficiency_drive_output", "vibration")
    assert begun == dict.fromkeys(of_the_pump, sealed.json["id"])


def test_a_rewound_motor_is_compared_with_no_winding_before(orla, teo, station, first):
    """A quarter of 2000 Mohm would be a fall: of another winding it is the first figure."""
    motor = f"/motors/{station.ids['M-101']}"
    rewound = orla.patch(motor, {"rewound_on": "2026-05-02"}, orla.get(motor).etag)
    assert (rewound.status, rewound.json["rewound_on"]) == (200, "2026-05-02")
    event = visits.post(teo, station, **later(station, "500"))
    assert "trend.insulation" not in trends(event)
    [silent] = [e for e in event["not_evaluated"] if e["rule"] == "trend.insulation"]
    assert silent["because"].startswith("the motor was rewound since the first visit")


# -- a sensor that came later, and settings before the last record ---------------------------------


def on(station, day, top=None, **changes):
    """A visit of that day; of the transmitter, exact to a thousandth or with this at its top."""
    event = station.event(performed_at=f"{day}T09:30:00Z", performed_until=f"{day}T15:10:00Z")
    event["sensor_verifications"] = [verified(top or "20.000")]
    return event | changes


def verified(top):
    found = verification("PT-101", 50, ("4.000", "8.000", "12.000", "16.000", top))
    for point in found["as_found"]:
        point["applied"]["value"] += ".000"
    return found


@pytest.fixture
def put_in(orla, teo, station):
    """Left at +0.10 % of span at the second of three visits, in place of the first one."""
    visits.sealed(teo, orla, station, **on(station, "2023-03-14"))
    came = verified("20.000") | {"adjusted": "replaced", "as_left": verified("20.016")["as_found"]}
    exchange = {"resource": "sensor", "tag": "PT-101", "old_serial": "S-3301",
                "new_serial": "S-9555"}  # fmt: skip
    changes = {"sensor_verifications": [came], "replaced": [exchange]}
    second = visits.sealed(teo, orla, station, **on(station, "2024-03-14") | changes)
    path = f"/sensors/{station.ids['PT-101']}"
    told = orla.patch(path, {"serial": "S-9555"}, orla.get(path).etag)
    assert told.status == 200, told.json
    visits.sealed(teo, orla, station, **on(station, "2025-03-14", "20.032"))
    return second


@pytest.mark.parametrize(
    ("top", "expected"),
    [
        # From 0.016 to 0.070 of 16 mA in two years: 0.169 % of span a year, and the 0.0625 % to
        # the tolerance of 0.5 % last 4.4 months. From 0.016 to 0.048 mA: 0.10 %, 24 months.
        ("20.070", ["trend.sensor"]),
        ("20.048", []),
    ],
)
def test_an_exchanged_sensor_is_compared_with_how_it_was_put_in(
    orla, teo, station, put_in, top, expected
):
    posted = visits.post(teo, station, **on(station, "2026-03-14", top))
    assert waits_for(posted, "trend.sensor") == []
    assert trends(posted) == expected
    begun = posted["records_beside"]["anew"]
    assert {kind: each["record_id"] for kind, each in begun.items()} == {
        "sensor PT-101 S-9555": put_in["id"]
    }
    for each in posted["findings"]:
        if each["rule"] == "trend.sensor":
            assert "by record 2 of 2024-03-14" in each["sentence"]
    visits.sign_both(teo, orla, posted)
    sealed = orla.post(f"/events/{posted['id']}/seal")
    assert sealed.status == 201, sealed.json
    content = json.loads(orla.get(f"/records/{sealed.json['id']}/data.json").content)["record"]
    assert content["judgement"]["records_beside"]["anew"] == begun


@pytest.fixture
def adjusted(orla, teo, station):
    """After the start-up the transmitter alone is adjusted, and left at +0.10 % of span."""
    visits.sealed(teo, orla, station, **on(station, "2023-03-14"))
    left = verified("20.060") | {"adjusted": "zero", "as_left": verified("20.016")["as_found"]}
    return visits.sealed(teo, orla, station, **alone(station, "2024-03-14", left))


def alone(station, day, verification_):
    """A visit of that day for the transmitter alone, at no pump set."""
    return {
        **on(station, day), "kind": "re_verification", "pump_set": None,
        "sensors": ["PT-101"], "settings": None,
        "duty_points": [], "motor_tests": None, "rotation": None, "supply": None,
        "protection_tests": [], "earth_tests": [], "sensor_verifications": [verification_],
    }  # fmt: skip


@pytest.mark.parametrize("at_the_set", [True, False])
def test_drift_is_counted_from_an_adjustment_at_whatever_visit(
    orla, teo, station, adjusted, at_the_set
):
    """From +0.10 % to +0.4375 % in two years: 0.169 % a year, and 0.0625 % last 4.4 months."""
    day, top = "2026-03-14", "20.070"
    event = on(station, day, top) if at_the_set else alone(station, day, verified(top))
    posted = visits.post(teo, station, **event)
    (told,) = [each["sentence"] for each in posted["findings"] if each["rule"] == "trend.sensor"]
    assert "left with +0.1 % of span by record 2 of 2024-03-14" in told
    begun = posted["records_beside"]["anew"]["sensor PT-101 S-3301"]
    assert begun["record_id"] == adjusted["id"]


def test_a_draft_of_sensors_is_judged_beside_what_adjusted_them_meanwhile(orla, teo, station):
    visits.sealed(teo, orla, station, **on(station, "2023-03-14"))
    draft = visits.post(teo, station, **on(station, "2026-03-14", "20.070"))
    assert draft["records_beside"]["anew"] == {}
    left = verified("20.060") | {"adjusted": "zero", "as_left": verified("20.016")["as_found"]}
    second = visits.sealed(teo, orla, station, **alone(station, "2024-03-14", left))
    begun = read(teo, draft)["records_beside"]["anew"]
    assert begun["sensor PT-101 S-3301"]["record_id"] == second["id"]


def test_settings_are_held_against_the_last_record_that_has_them(orla, teo, station, first):
    second = later(station, "2000")
    second["settings"] = {}
    bare = visits.sealed(teo, orla, station, **second)
    event = later(station, "2000", at="2026-09-14T09:30:00-05:00")
    left = event["settings"]["as_left"]
    event["settings"]["as_found"] = left | {"minimum_frequency": q("20.0", "Hz")}
    posted = visits.post(teo, station, **event)
    assert waits_for(posted, "record.settings-found") == []
    assert posted["records_beside"]["last"]["record_id"] == bare["id"]
    assert posted["records_beside"]["left"]["record_id"] == first["id"]
    assert "as record 1 of 2026-03-14 left it" in found(posted, "record.settings-found")["sentence"]
    answer(orla, posted, found(posted, "record.settings-found"))
    after = read(teo, posted)
    assert after["records_beside"] == posted["records_beside"]
    assert not found(after, "record.settings-found")["open"]


def test_records_before_a_visit_are_read_at_once_however_many_there_are(
    teo, orla, station, monkeypatch
):
    """Of another pump by now, all that were sealed before are gone through."""

    def asked():
        monkeypatch.setattr(other_records, "_READ", {})
        with CaptureQueriesContext(connection) as captured:
            visits.post(teo, station)
        return len(captured)

    sealed_on = iter(range(1, 14))  # of March; what is posted is of the 14th

    def seal(count):
        for day in islice(sealed_on, count):
            visits.sealed(teo, orla, station, performed_at=f"2026-03-{day:02}T09:30:00-05:00")

    seal(1)
    path = f"/pumps/{station.ids['P-101']}"
    changed = orla.patch(path, {"serial": "another"}, orla.get(path).etag)
    assert changed.status == 200
    seal(2)
    few = asked()
    seal(3)
    assert asked() == few


def test_what_was_read_of_records_is_kept_within_bounds(monkeypatch):
    monkeypatch.setattr(other_records, "_READ", {})
    monkeypatch.setattr(other_records, "_MOST", 3)
    for digest in (b"1", b"2", b"3", b"4"):
        other_records._keep({digest: None})
    assert list(other_records._READ) == [b"2", b"3", b"4"]
