"""Which drafts a change of the register judges again, and at what cost."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.calculations import building_plates
from tests.records import stations, visits


@pytest.fixture
def second(orla, station):
    """Another pump set at the station, on a header of its own."""
    return join(orla, station, "2", discharge_header="the other header")


def join(office, station, number, **changes):
    known = stations.booster()
    parts = {}
    for kind in ("pump", "motor", "drive"):
        document = known[kind] | {"site": station.site, "tag": f"{kind}-{number}"}
        parts[kind] = office.post(f"/{kind}s", document).json["id"]
    joined = {"site": station.site, "tag": f"PS-{number}", **parts, **changes}
    answer = office.post("/pump-sets", joined)
    assert answer.status == 201, answer.json
    return answer.json


def revision(person, event):
    return person.get(f"/events/{event['id']}").json["revision"]


def change(office, kind, identity, **patch):
    path = f"/{kind}/{identity}"
    answer = office.patch(path, patch, office.get(path).etag)
    assert answer.status == 200, answer.json


def other_visit(teo, station, second):
    """A visit to the second pump set, with nothing of the first one in it."""
    document = {"kind": "investigation", "site": station.site, "pump_set": second["id"],
                "performed_at": "2026-03-14T09:30:00Z"}  # fmt: skip
    answer = teo.post("/events", document)
    assert answer.status == 201, answer.json
    return answer.json


@pytest.mark.parametrize(
    ("kind", "tag", "patch", "concerns_the_second"),
    [
        ("motors", "M-101", {"serial": "another"}, False),
        ("pumps", "P-101", {"serial": "another"}, False),
        ("drives", "D-101", {"serial": "another"}, False),
        ("sensors", "PT-101", {"serial": "another"}, False),
        ("vessels", "V-1", {"serial": "another"}, True),
        ("sites", "", {"name": "Another name"}, True),
    ],
)
def test_those_are_judged_that_can_hold_it(
    teo, orla, station, second, kind, tag, patch, concerns_the_second
):
    first, other = visits.post(teo, station), other_visit(teo, station, second)
    change(orla, kind, station.ids[tag] if tag else station.site, **patch)
    assert revision(teo, first) == 2
    assert revision(teo, other) == (2 if concerns_the_second else 1)


def test_a_neighbour_on_the_same_header_is_judged_as_well(teo, orla, station, second):
    third = join(orla, station, "3", discharge_header="the other header")
    event = other_visit(teo, station, second)
    change(orla, "motors", third["motor"], serial="another")
    told = teo.get(f"/events/{event['id']}").json
    assert told["revision"] == 2
    [neighbour] = told["snapshot"]["neighbours"]
    assert neighbour["motor"]["serial"] == "another"


def test_a_sensor_of_no_pump_set_concerns_every_draft(teo, orla, station, second):
    loose = building_plates.sensors()[0] | {"site": station.site, "tag": "PT-9"}
    loose = orla.post("/sensors", loose).json["id"]
    first, other = visits.post(teo, station), other_visit(teo, station, second)
    change(orla, "sensors", loose, serial="another")
    assert (revision(teo, first), revision(teo, other)) == (2, 2)


def test_what_is_added_to_a_station_is_in_its_drafts(teo, orla, station, second):
    """A pump alone is in nobody's, until a pump set joins it; a set is a neighbour of the first."""
    first, other = visits.post(teo, station), other_visit(teo, station, second)
    loose = building_plates.sensors()[0] | {"site": station.site, "tag": "PT-9"}
    assert orla.post("/sensors", loose).status == 201
    assert (revision(teo, first), revision(teo, other)) == (2, 2)
    third = join(orla, station, "3", discharge_header="the other header")
    told = teo.get(f"/events/{other['id']}").json
    assert (revision(teo, first), told["revision"]) == (2, 3)
    [neighbour] = told["snapshot"]["neighbours"]
    assert neighbour["motor"]["id"] == third["motor"]
    assert "PT-9" in {each["tag"] for each in told["snapshot"]["sensors"]}


def test_the_same_sent_again_judges_nothing(teo, orla, station):
    loose = building_plates.sensors()[0] | {"site": station.site, "tag": "PT-9"}
    loose |= {"id": "6f0e1c52-93f1-4a57-8f3e-6f2f9b1d7a11"}
    assert orla.post("/sensors", loose).status == 201
    first = visits.post(teo, station)
    assert orla.post("/sensors", loose).status == 200
    assert revision(teo, first) == 1


def test_an_instrument_concerns_the_drafts_that_name_it(teo, orla, station, second):
    first, other = visits.post(teo, station), other_visit(teo, station, second)
    change(orla, "instruments", station.ids["I-1"], due_on="2026-03-13", calibrated_on="2025-03-13")
    told = teo.get(f"/events/{first['id']}").json
    assert told["revision"] == 2
    assert "2026-03-13" in {each.get("due_on") for each in told["snapshot"]["instruments"]}
    assert revision(teo, other) == 1


def test_a_change_that_changes_no_snapshot_judges_nothing(teo, orla, station):
    event = visits.post(teo, station)
    motor = orla.get(f"/motors/{station.ids['M-101']}").json
    change(orla, "motors", station.ids["M-101"], serial=motor["serial"])
    assert revision(teo, event) == 1


def test_what_a_change_finds_stands_in_the_summary(teo, orla, station):
    for _ in range(2):
        visits.post(teo, station)
    before = stations.summary(station)
    visits.plate_speed(orla, station, "1600")  # a review of each
    after = stations.summary(station)
    assert (after.drafts, after.open_review) == (2, before.open_review + 2)
    listed = orla.get("/events").json["items"]
    assert [line["revision"] for line in listed] == [2, 2]


def test_more_drafts_cost_six_queries_each_at_most(teo, orla, station):
    """Settings, first record, answers; the event and its findings written: six."""
    spent = []
    for serial in ("one", "two"):
        visits.post(teo, station)
        with CaptureQueriesContext(connection) as queries:
            change(orla, "motors", station.ids["M-101"], serial=serial)
        spent.append(len(queries))
    assert spent[1] - spent[0] <= 6


def test_another_contractors_drafts_are_not_touched(otto, tilda, orla, cast, station):
    theirs = stations.register(otto, cast.other_client)
    event = visits.post(tilda, theirs)
    change(orla, "motors", station.ids["M-101"], serial="another")
    assert revision(tilda, event) == 1


def test_a_neighbour_is_there_as_it_was_measured(teo, orla, station):
    """Its points say where its pump stands on the curve; what its motor took is its own affair."""
    visits.post(teo, station)
    beside = join(orla, station, "4", discharge_header="H-1")
    told = other_visit(teo, station, beside)
    [neighbour] = told["snapshot"]["neighbours"]
    flows = [point["flow"]["value"] for point in neighbour["duty_points"]]
    assert flows == ["1000", "700", "400"]
    assert not [name for name in neighbour["duty_points"][0] if name.startswith("currents")]
