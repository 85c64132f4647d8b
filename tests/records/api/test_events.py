"""Events over the API: what is refused and where, digits, revisions, repeats."""

import gc
import uuid
from collections import Counter

import pytest
from django.db import OperationalError
from rest_framework.request import Request

from calculations.case import Case
from records.services import event_rows, summaries
from tests.calculations.building_plates import q
from tests.records import stations
from tests.records.counting import counts
from tests.records.problems import assert_problem, details


def post(teo, station, **changes):
    posted = teo.post("/events", station.event(**changes))
    assert posted.status == 201, posted.json
    return posted


# -- bad input ----------------------------------------------------------------------------------


def test_every_bad_value_is_named_at_once_with_its_place(teo, station):
    event = station.event(
        kind="start-up", performed_at="yesterday", hours_run=q("1", "kWh"), colour="blue"
    )
    left = event["settings"]["as_left"]
    left["motor_power"] = q("60", "A")
    left["motor_current"] = q("68,7", "A")
    left["minimum_frequency"] = q("36", "cps")
    left["set_point"] = q("99.7", "psia")
    left["regulation"] = "by hand"
    left["reversed"] = True
    event["duty_points"][1]["flow"] = {"value": "NaN", "unit": "gpm"}
    event["duty_points"][2]["voltages_drive_output"] = [q("332", "V")] * 4
    event["sensor_verifications"][0]["as_found"][3]["signal"] = q("12", "bar")
    event["isolation_confirmed"] = "yes"
    before = counts()
    answer = teo.post("/events", event)
    assert_problem(
        answer, 400, "/kind", "/performed_at", "/hours_run/unit", "/colour",
        "/settings/as_left/motor_power/unit", "/settings/as_left/motor_current/value",
        "/settings/as_left/minimum_frequency/unit", "/settings/as_left/set_point/unit",
        "/settings/as_left/regulation", "/settings/as_left/reversed",
        "/duty_points/1/flow/value", "/duty_points/2/voltages_drive_output",
        "/sensor_verifications/0/as_found/3/signal/unit", "/isolation_confirmed",
    )  # fmt: skip
    said = details(answer)
    assert "A is a unit of current" in said["/settings/as_left/motor_power/unit"]
    assert "power (" in said["/settings/as_left/motor_power/unit"]
    assert "gauge pressure in psi" in said["/settings/as_left/set_point/unit"]
    assert "unknown unit 'cps'" in said["/settings/as_left/minimum_frequency/unit"]
    assert "at most 3" in said["/duty_points/2/voltages_drive_output"]
    assert "RFC 3339" in said["/performed_at"]
    assert counts() == before


def test_an_empty_event_is_told_what_it_lacks(teo):
    answer = teo.post("/events", {})
    assert_problem(answer, 400, "/kind", "/site", "/performed_at", "/pump_set")


def test_what_is_missing_besides_bad_values_is_told_with_them(teo, station):
    event = station.event(hours_run=q("1", "kWh"))
    del event["kind"]
    assert_problem(teo.post("/events", event), 400, "/kind", "/hours_run/unit")


def test_unknown_ids_are_named_each_at_its_place(teo, station):
    unknown = str(uuid.uuid4())
    assert_problem(teo.post("/events", station.event(site=unknown)), 400, "/site")
    assert_problem(teo.post("/events", station.event(pump_set=unknown)), 400, "/pump_set")
    event = station.event(
        sensors=[unknown, "PT-101"], corrects=unknown, correction_reason="a slip of the pen"
    )
    event["instruments"].append("I-99")
    event["duty_points"][1]["instruments"][2] = unknown
    event["sensor_verifications"][1] |= {"sensor": "PT-999", "instrument": unknown}
    event["vessel_checks"][0]["vessel"] = "V-9"
    answer = teo.post("/events", event)
    assert_problem(
        answer, 400, "/sensors/0", "/instruments/6", "/duty_points/1/instruments/2",
        "/sensor_verifications/1/sensor", "/sensor_verifications/1/instrument",
        "/vessel_checks/0/vessel", "/corrects",
    )  # fmt: skip
    assert {error["code"] for error in answer.json["errors"]} == {"unknown_id"}


def test_a_pump_set_of_another_site_is_not_known_here(orla, teo, station, cast):
    other = stations.register(orla, cast.client, code="B-8")
    answer = teo.post("/events", station.event(pump_set=other.pump_set))
    assert_problem(answer, 400, "/pump_set")


def test_another_pump_sets_sensor_is_refused(orla, teo, station):
    theirs = orla.get(f"/sensors/{station.ids['PT-101']}").json | {"tag": "PT-201"}
    sensor = orla.post(
        "/sensors", {k: v for k, v in theirs.items() if k != "id" and v is not None}
    ).json
    parts = {
        kind: orla.post(f"/{kind}s", _copy(orla, kind, station)).json["id"]
        for kind in ("pump", "motor", "drive")
    }
    second = parts | {"site": station.site, "tag": "PS-102", "regulating_sensor": sensor["id"]}
    assert orla.post("/pump-sets", second).status == 201
    event = station.event()
    event["sensor_verifications"][0]["sensor"] = "PT-201"
    answer = teo.post("/events", event)
    assert_problem(answer, 400, "/sensor_verifications/0/sensor")
    assert "another pump set" in details(answer)["/sensor_verifications/0/sensor"]


def _copy(orla, kind, station):
    got = orla.get(f"/{kind}s/{station.ids[f'{kind[0].upper()}-101']}").json
    new = {"tag": got["tag"].replace("101", "102"), "serial": "other"}
    return {name: value for name, value in got.items() if name != "id" and value is not None} | new


def test_texts_and_lists_have_a_longest(teo, station):
    item = {"item": "guard_fitted", "result": "ok"}
    event = station.event(remarks="x" * 2001, mechanical_checks=[item] * 201)
    event["instruments"] = ["I-1"] * 201
    answer = teo.post("/events", event)
    assert_problem(answer, 400, "/remarks", "/mechanical_checks", "/instruments")
    assert "at most 200 elements, got 201" in details(answer)["/instruments"]


def test_a_correction_says_what_and_why(teo, station):
    event = station.event(corrects=str(uuid.uuid4()))
    assert_problem(teo.post("/events", event), 400, "/correction_reason")


@pytest.mark.parametrize("name", ["state", "revision", "findings", "snapshot", "contractor"])
def test_what_the_service_says_itself_cannot_be_posted(teo, station, name):
    assert_problem(teo.post("/events", station.event(**{name: "sealed"})), 400, f"/{name}")


@pytest.mark.parametrize(
    "moment",
    [
        "2026-03-14", "2026-03-14T09:30", "2026-03-14T09:30:00", "2026-02-30T09:30:00Z",
        "2026-03-14T25:00:00Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00",
        "2026-03-14T09:30:00+25:00", "2026-03-14T09:30:00.1234567Z", 1773480600, "",
        "2026-06-30T23:59:60Z",
    ],
)  # fmt: skip
def test_a_time_has_an_offset_and_is_one(teo, station, moment):
    assert_problem(teo.post("/events", station.event(performed_at=moment)), 400, "/performed_at")


# -- nothing half-written -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("error", "status"), [(RuntimeError("a slip"), 500), (OperationalError("gone"), 503)]
)
def test_what_writes_and_then_fails_leaves_nothing(teo, station, monkeypatch, error, status):
    posted = post(teo, station)
    path, before, written = f"/events/{posted.json['id']}", counts(), []

    def fail(site):
        written.append(counts()["records_event"] - before["records_event"])
        raise error

    add = event_rows.add
    monkeypatch.setattr(event_rows, "add", lambda event, *beside: fail(add(event, *beside)))
    monkeypatch.setattr(summaries, "refresh", fail)
    event = station.event()
    event["settings"]["as_left"]["motor_speed"] = q("1800", "rpm")
    answer = teo.post("/events", event)
    assert_problem(answer, status)
    assert "slip" not in answer.content.decode()
    assert "gone" not in answer.content.decode()
    assert_problem(teo.post("/events/batch", {"events": [event, event]}), status)
    assert_problem(teo.patch(path, {"remarks": "more"}, posted.etag), status)
    monkeypatch.undo()
    assert counts() == before
    assert written == [1, 1, 0]
    assert teo.get(path).json == posted.json


def test_a_request_leaves_nothing_to_the_collector_of_garbage(teo, station):
    """What it held ends with it: requests and cases hold whole documents."""

    def held():
        kinds = map(type, gc.get_objects())
        return Counter(each for each in kinds if issubclass(each, (Request, Case)))

    event = station.event()
    gc.collect()
    gc.disable()
    before = held()
    try:
        teo.post("/events", event)
        teo.post("/events", event)
        teo.get(f"/events/{event['id']}")
        assert held() == before
    finally:
        gc.enable()


# -- what comes with values -----------------------------------------------------------------------


def test_cautions_come_with_derived_values(teo, orla, station):
    """Those that hold everywhere, and those of the nameplates that it is judged against."""
    event = station.event()
    posted = post(teo, station, **event)
    titles = [each["title"] for each in posted.json["cautions"]]
    assert titles[0] == "Hazardous voltage, stored energy"
    assert {"Lock-out", "Automatic restart", "Drinking water", "Vessels"} <= set(titles)
    assert "Confined space here" not in titles
    assert "not a safety approval" in posted.json["deference"]
    told = ("cautions", "deference")
    at = f"/events/{event['id']}"
    [in_batch] = teo.post("/events/batch", {"events": [event]}).json["results"]
    for again in (teo.get(at).json, in_batch["event"]):
        assert [again[name] for name in told] == [posted.json[name] for name in told]
    site = f"/sites/{station.site}"
    assert orla.patch(site, {"confined_space": True}, orla.get(site).etag).status == 200
    assert "Confined space here" in [each["title"] for each in teo.get(at).json["cautions"]]


# -- digits, units, times -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "kept"),
    [('"7.50"', "7.50"), ("7.50", "7.50"), ("1.234567890", "1.234567890"), ("7.5E-2", "7.5E-2")],
)
def test_digits_and_unit_come_back_as_they_were_entered(teo, station, given, kept):
    event = station.event(hours_run="HERE", energy_counter="HERE")
    event["duty_points"][0]["flow"] = q("63.09", "L/s")
    body = stations.as_json(event, HERE=f'{{"value": {given}, "unit": "UNIT"}}')
    body = body.replace(b'"UNIT"', b'"h"', 1).replace(b'"UNIT"', b'"kWh"', 1)
    posted = teo.call("POST", "/events", body)
    assert posted.status == 201, posted.json
    got = teo.get(f"/events/{posted.json['id']}").json
    assert got["hours_run"] == {"value": kept, "unit": "h"}
    assert got["energy_counter"] == {"value": kept, "unit": "kWh"}
    assert got["duty_points"][0]["flow"] == q("63.09", "L/s")


def test_everything_comes_back_as_it_was_posted(teo, station):
    event = station.event()
    posted = post(teo, station, **event)
    got = teo.get(f"/events/{event['id']}")
    assert got.json == posted.json
    assert {name: got.json[name] for name in event} == event
    assert got.etag == posted.etag == '"1.0"'


@pytest.mark.parametrize(
    "moment",
    [
        "2026-03-14T09:30:00+05:45", "2026-03-14T09:30:00-00:00", "2026-03-14t09:30:00.120z",
        "2026-11-01T01:30:00-05:00", "2024-02-29T23:59:59.999999-11:00",
    ],
)  # fmt: skip
def test_times_are_kept_as_they_were_given(teo, station, moment):
    times = dict.fromkeys(("performed_at", "performed_until", "device_time"), moment)
    posted = post(teo, station, **times)
    assert {name: posted.json[name] for name in times} == times
    line = teo.get(f"/events?pump_set={station.pump_set}").json["items"][0]
    assert line["performed_at"] == moment
    assert posted.json["received_at"].endswith("Z")


# -- revisions ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("etag", "status"),
    [
        (None, 428), ('W/"1"', 412), ('"0"', 412), ('"2"', 412), ("1", 412), ("*", 412),
        ("nonsense", 412), ('"99999999999999999999"', 412),
    ],
)  # fmt: skip
def test_a_change_names_the_revision_that_it_is_meant_for(teo, station, etag, status):
    posted = post(teo, station)
    path = f"/events/{posted.json['id']}"
    answer = teo.patch(path, {"remarks": "more"}, etag)
    assert_problem(answer, status)
    if etag in ('"0"', '"2"'):
        assert answer.etag == answer.json["etag"].join('""') == '"1.0"'
    assert teo.get(path).json == posted.json


def test_a_change_is_a_merge_patch(teo, station):
    posted = post(teo, station, weather="rain", remarks="one")
    path = f"/events/{posted.json['id']}"
    patch = {
        "weather": None,
        "remarks": "two",
        "parties": {"witnessed_by": None, "client_present": "Operator"},
        "duty_points": posted.json["duty_points"][:1],
    }
    changed = teo.patch(path, patch, posted.etag)
    assert (changed.status, changed.etag) == (200, '"2.0"')
    got = teo.get(path).json
    assert got == changed.json
    assert "weather" not in got
    assert got["remarks"] == "two"
    assert got["parties"] == {"performed_by": "First technician", "client_present": "Operator"}
    assert len(got["duty_points"]) == 1
    assert_problem(teo.patch(path, {"remarks": "three"}, posted.etag), 412)


def test_a_patch_is_checked_like_a_whole_event(teo, station):
    posted = post(teo, station)
    patch = {
        "performed_at": None,
        "settings": {"as_left": {"motor_power": {"unit": "A"}, "motor_speed": {"value": "x"}}},
        "instruments": ["I-99"],
    }
    path = f"/events/{posted.json['id']}"
    answer = teo.patch(path, patch, posted.etag)
    assert_problem(
        answer, 400, "/performed_at", "/settings/as_left/motor_power/unit",
        "/settings/as_left/motor_speed/value",
    )  # fmt: skip
    unknown = teo.patch(path, {"instruments": ["I-99"]}, posted.etag)
    assert_problem(unknown, 400, "/instruments/0")
    assert teo.get(path).json == posted.json


def test_what_an_event_is_does_not_change(teo, station):
    posted = post(teo, station)
    other = str(uuid.uuid4())
    patch = {"id": other, "site": other, "pump_set": None, "kind": "replacement"}
    answer = teo.patch(f"/events/{posted.json['id']}", patch, posted.etag)
    assert_problem(answer, 400, "/id", "/site", "/pump_set", "/kind")
    same = {name: posted.json[name] for name in patch}
    assert teo.patch(f"/events/{posted.json['id']}", same, posted.etag).status == 200


# -- repeats ------------------------------------------------------------------------------------


def test_the_same_id_and_content_again_changes_nothing(teo, station):
    event = station.event()
    first = teo.post("/events", event)
    again = teo.post("/events", event)
    assert (first.status, again.status) == (201, 200)
    assert (again.json, again.etag) == (first.json, first.etag)
    changed = teo.patch(f"/events/{event['id']}", {"remarks": "later"}, first.etag)
    before = counts()
    assert teo.post("/events", event).json == changed.json
    assert_problem(teo.post("/events", event | {"remarks": "else"}), 409, "/id")
    assert counts() == before
    assert teo.get(f"/events/{event['id']}").json == changed.json


def test_the_same_id_in_other_spelling_is_the_same(teo, station):
    event = station.event()
    first = teo.post("/events", event)
    again = teo.post("/events", event | {"id": event["id"].upper()})
    assert (again.status, again.json) == (200, first.json)


def test_an_event_without_an_id_is_given_one(teo, station):
    event = station.event()
    del event["id"]
    first, second = teo.post("/events", event), teo.post("/events", event)
    assert first.json["id"] != second.json["id"]
    assert uuid.UUID(first.json["id"]).version == 7
    assert first.headers["Location"] == f"/api/v1/events/{first.json['id']}"


def test_the_same_id_of_another_contractor_is_a_fresh_id(teo, otto, tilda, station, cast):
    posted = post(teo, station)
    theirs = stations.register(otto, cast.other_client)
    answer = tilda.post("/events", theirs.event(id=posted.json["id"]))
    assert answer.status == 201
    assert answer.json["site"] == theirs.site
    assert teo.get(f"/events/{posted.json['id']}").json == posted.json
