"""Lists: every row once while others are added, filters, and no query per row."""

import base64
from itertools import chain

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.models import Pump
from records.services.kinds import KINDS
from tests.calculations.building_plates import pump
from tests.records import stations, visits
from tests.records.problems import assert_problem, details


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


def add_pumps(office, station, count, first=500):
    ids = []
    for number in range(first, first + count):
        document = pump() | {"site": station.site, "tag": f"P-{number}"}
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


def test_a_cursor_belongs_to_one_list(orla, teo, station):
    add_pumps(orla, station, 2)
    cursor = cursor_of(orla, "/pumps?limit=1")
    assert orla.get(f"/pumps?cursor={cursor}").status == 200
    assert len(orla.get(f"/pumps?limit=1&cursor={cursor}").json["items"]) == 1
    for path in ("/motors", "/sites", "/events", "/records"):
        assert_problem(orla.get(f"{path}?cursor={cursor}"), 400, "/cursor")


def cursor_of(person, path):
    """What the first page says of the second."""
    return person.get(path).json["next"].partition("cursor=")[2].partition("&")[0]


def test_a_cursor_does_not_tell_where_in_the_book_its_row_stands(orla, station):
    """Rows are numbered through the whole book: two numbers would count what others add."""
    add_pumps(orla, station, 3)
    rows = Pump.objects.values_list("row", flat=True)
    first = cursor_of(orla, "/pumps?limit=1")
    second = cursor_of(orla, "/pumps?limit=2")
    opened = [base64.urlsafe_b64decode(each + "==") for each in (first, second)]
    for each in opened:
        assert not [row for row in rows if f"p={row}".encode() in each or row.to_bytes(8) in each]
    differing = [one for one, other in zip(*opened, strict=True) if one != other]
    assert len(differing) > 16  # the row's number is 8 bytes, of which neighbours differ in one
    assert cursor_of(orla, "/pumps?limit=1") == first  # a list that is unchanged has its ETag


def test_a_cursor_belongs_to_one_organization(orla, otto, cleo, station):
    add_pumps(orla, station, 2)
    cursor = cursor_of(orla, "/pumps?limit=1")
    for stranger in (otto, cleo):
        assert_problem(stranger.get(f"/pumps?cursor={cursor}"), 400, "/cursor")


@pytest.mark.parametrize("limit", ["x", "0", "201", "-1", "1e2", "", "9999", "%D9%A1"])
def test_a_page_holds_1_to_200(orla, limit):
    answer = orla.get(f"/sites?limit={limit}")
    assert_problem(answer, 400, "/limit")
    assert details(answer) == {"/limit": "expected a whole number from 1 to 200"}
    assert orla.get("/sites?limit=1").status == orla.get("/sites?limit=200").status == 200


@pytest.mark.parametrize(
    "path",
    [
        "/sites?foo=bar", "/sites?tag=P-101", "/pumps?code=B-01", "/pumps?Tag=P-101",
        "/events?sites=1", "/records?pump_set=1", "/rules?cursor=x", "/rules?limit=1",
        "/organizations?cursor=x", "/units?kind=flow", "/me?x", "/tokens?user=1", "/keys?limit=1",
        "/instruments?site=1",
    ],
)  # fmt: skip
def test_a_parameter_that_is_not_known_is_refused_by_its_name(orla, path):
    name = path.partition("?")[2].partition("=")[0]
    answer = orla.get(path + "=" * ("=" not in path))
    assert_problem(answer, 400, f"/{name}")
    assert "there is no such parameter" in details(answer)[f"/{name}"]


def test_what_is_known_is_listed_and_stands_once(orla, teo, station):
    said = details(orla.get("/sites?foo=bar"))["/foo"]
    assert said == "there is no such parameter: expected one of code, in_service, cursor, limit"
    assert_problem(orla.get("/sites?limit=1&limit=2"), 400, "/limit")
    assert_problem(teo.post("/events?dry_run=1", station.event()), 400, "/dry_run")
    assert_problem(orla.get(f"/sites/{station.site}?fields=code"), 400, "/fields")


def test_filters_choose(orla, teo, station):
    visits.post(teo, station)
    assert orla.get(f"/pumps?tag=P-101&site={station.site}").json["items"][0]["tag"] == "P-101"
    assert orla.get("/pumps?tag=P-999").json["items"] == []
    assert orla.get("/pumps?in_service=false").json["items"] == []
    assert len(orla.get(f"/events?pump_set={station.pump_set}&state=draft").json["items"]) == 1
    assert orla.get("/events?state=sealed").json["items"] == []
    assert orla.get("/pumps?site=not-an-id").status == 400


def queries(person, path):
    asked = []

    def count(execute, *statement):
        asked.append(statement)
        return execute(*statement)

    with connection.execute_wrapper(count):
        answer = person.get(path)
        assert answer.status == 200, path
        answer.rows()  # to its end, where it is written while it is read
    return len(asked)


MORE = 3
"""Rows of each kind. With thirty the same, but for readings of all: 32 records are read at once."""


def test_more_rows_ask_no_more_of_the_database(orla, teo, cast, station):
    visits.sealed(teo, orla, station)
    draft = visits.post(teo, station)
    add_pumps(orla, station, 1)
    paths = [
        *(f"/{kind}" for kind in KINDS), "/organizations", "/events", "/records", "/tokens",
        "/members", "/audit", "/rule-settings", "/interval-settings", "/interval-proposals",
        "/due-items", "/due-items/counts", "/report-schedules", "/reports", "/keys",
        f"/events/{draft['id']}/findings", f"/events/{draft['id']}/signatures",
        f"/pump-sets/{station.pump_set}/trends", f"/sensors/{station.ids['PT-101']}/trends",
        f"/sites/{station.site}/visit-pack", "/records/readings.csv",
        f"/records/readings.csv?site={station.site}", f"/records/bundle?site={station.site}",
    ]  # fmt: skip
    few = {path: queries(orla, path) for path in paths}
    add_pumps(orla, station, MORE, first=501)
    for number in range(MORE):
        other = stations.register(orla, cast.client, code=f"B-5{number}")
        for each in (station, other):
            visits.sealed(teo, orla, each)
            visits.post(teo, each)
        posted = visits.limit(cast.client, "motor.slip", "large", f"{1 + number / 10}", "%")
        assert orla.post("/rule-settings", posted).status == 201
    assert {path: queries(orla, path) for path in paths} == few


def test_a_line_of_an_event_says_what_was_entered_and_reads_no_document(orla, teo, station):
    entered = "2026-03-14T09:30:00.50-05:00"
    posted = visits.post(teo, station, performed_at=entered)
    of_sensors = visits.post(teo, station, pump_set=None, sensors=["PT-101"])
    with CaptureQueriesContext(connection) as captured:
        second, first = orla.get("/events").json["items"]
    names = ("id", "kind", "site", "pump_set", "performed_at", "state", "revision", "received_at")
    assert first == {name: posted[name] for name in names} | {"corrects": None}
    assert first["performed_at"] == entered
    assert second["id"] == of_sensors["id"]
    assert second["pump_set"] is None
    [asked] = [each["sql"] for each in captured if 'FROM "records_event"' in each["sql"]]
    for column in ("document", "snapshot", "judgement"):
        assert f'"records_event"."{column}",' not in asked


@pytest.mark.parametrize("path", ["/events?kind=investigation", "/records", "/pumps?site={site}"])
def test_a_page_is_planned_for_what_is_asked(orla, station, prepare_after, path):
    """With one plan for every value, what is seldom is looked for in the whole table."""
    asked = []

    def watch(execute, sql, *rest):
        asked.append((sql, prepare_after()))
        return execute(sql, *rest)

    with connection.execute_wrapper(watch):
        assert orla.get(path.format(site=station.site)).status == 200
    of_rows = [after for sql, after in asked if 'ORDER BY "records_' in sql and "LIMIT" in sql]
    assert of_rows == [None]
    assert {after for sql, after in asked if "find_token" in sql} == {3}
    assert prepare_after() == 3
