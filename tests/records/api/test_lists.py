"""Lists: every row once while others are added, filters, and no query per row."""

import base64
from itertools import chain

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.calculations.building_plates import pump
from tests.records import visits


def pages(person, path):
    """Ids of every page, following the links."""
    found, following = [], path
    while following:
        answer = person.get(following)
        assert answer.status == 200
        found.append([item["id"] for item in answer.json["items"]])
        following = answer.json["next"]
        if following:
            assert answer.headers["Link"] == f'<{following}>; rel="next"'
            following = following.partition("/api/v1")[2]
    return found


def add_pumps(office, station, count):
    ids = []
    for number in range(count):
        document = pump() | {"site": station.site, "tag": f"P-{500 + number}"}
        ids.append(office.post("/pumps", document).json["id"])
    return ids


def test_pages_follow_each_other_without_gap_or_repeat(orla, station):
    added = add_pumps(orla, station, 5)
    found = pages(orla, "/pumps?limit=2")
    assert [len(page) for page in found] == [2, 2, 2]
    assert sorted(chain(*found)) == sorted([*added, station.ids["P-101"]])


def test_rows_added_meanwhile_repeat_and_skip_nothing(orla, station):
    before = add_pumps(orla, station, 3)
    first = orla.get("/pumps?limit=2").json
    add_pumps_later = pump() | {"site": station.site, "tag": "P-900"}
    late = orla.post("/pumps", add_pumps_later).json["id"]
    rest = pages(orla, first["next"].partition("/api/v1")[2])
    found = [*(item["id"] for item in first["items"]), *chain(*rest)]
    assert found == [station.ids["P-101"], *before, late]


@pytest.mark.parametrize("path", ["/pumps", "/events", "/records", "/sites"])
@pytest.mark.parametrize("position", ["abc", "1e9", "-1", "9" * 40, "1; DROP"])
def test_a_forged_cursor_is_refused(orla, station, path, position):
    cursor = base64.b64encode(f"p={position}".encode()).decode()
    answer = orla.get(f"{path}?cursor={cursor}")
    assert answer.status == 400
    assert answer.pointers == ["/cursor"]


def test_filters_choose(orla, teo, station):
    visits.post(teo, station)
    assert orla.get(f"/pumps?tag=P-101&site={station.site}").json["items"][0]["tag"] == "P-101"
    assert orla.get("/pumps?tag=P-999").json["items"] == []
    assert orla.get("/pumps?in_service=false").json["items"] == []
    assert len(orla.get(f"/events?pump_set={station.pump_set}&state=draft").json["items"]) == 1
    assert orla.get("/events?state=sealed").json["items"] == []
    assert orla.get("/pumps?site=not-an-id").status == 400


def queries(person, path):
    with CaptureQueriesContext(connection) as captured:
        assert person.get(path).status == 200
    return len(captured)


def test_more_rows_ask_no_more_of_the_database(orla, teo, station):
    visits.sealed(teo, orla, station)
    visits.post(teo, station)
    paths = ("/pumps", "/events", "/records", "/sites", "/tokens")
    few = {path: queries(orla, path) for path in paths}
    add_pumps(orla, station, 6)
    for _ in range(2):
        visits.sealed(teo, orla, station)
        visits.post(teo, station)
    assert {path: queries(orla, path) for path in paths} == few
