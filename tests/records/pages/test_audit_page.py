"""The audit as a page: what it says, where it is linked from, who gets it."""

import re
from base64 import urlsafe_b64decode
from urllib.parse import parse_qs

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.documents.shown import Shown
from records.pages.changes import Line, lines
from tests.calculations.building import booster
from tests.calculations.building_plates import q
from tests.records import visits


@pytest.fixture
def text(page):
    """The page's text as somebody sees it, spaces and no-break spaces alike."""

    def read(path, name="orla"):
        return re.sub(r"\s+", " ", page(name, path).text)

    return read


def test_it_says_who_changed_what_from_what_to_what_and_from_where(text, orla, station):
    visits.plate_speed(orla, station, "1742")
    told = text("/audit")
    assert "Changed: motor M-101 at" in told
    assert re.search(r"Rating 2, speed: [0-9]+ (rpm|min⁻¹|1/min) → 1742", told), told
    assert "Orla by the token test (stb_" in told
    assert "from 127.0.0.1" in told


def test_it_says_why(text, teo, station):
    event = visits.post(teo, station)
    teo.post(f"/events/{event['id']}/withdrawal", {"reason": "Entered twice."})
    assert "Reason: Entered twice." in text(f"/audit?subject={event['id']}")


def test_what_is_named_by_its_id_is_told_by_its_name(text, orla, teo, cast, station):
    """Of people, stations, pieces and records: an id says nothing to whoever reads."""
    record = visits.sealed(teo, orla, station)
    corrects = {"corrects": record["id"], "correction_reason": "The set point was 4.2 bar."}
    draft = visits.post(teo, station)
    assert orla.post("/tokens", {"name": "A script.", "user": str(cast.teo.id)}).status == 201
    at = f"/events/{draft['id']}"
    assert teo.patch(at, corrects, teo.get(at).etag).status == 200
    told = text("/audit")
    assert re.search(r"User: Teo\b", told), told
    assert re.search(r"Corrects: – → record 1\b", told), told
    pump_set = text(f"/audit?subject={station.pump_set}")
    for words in ("Motor: M-101", "Pump: P-101", "Site: "):
        assert words in pump_set
    for page in (told, pump_set):
        assert not re.search(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-", page)


def test_a_thousand_ids_are_one_question(page, orla, station):
    def questions():
        with CaptureQueriesContext(connection) as captured:
            assert page("orla", "/audit").status == 200
        return len(captured)

    few = questions()
    for index in range(5):
        own = {"site": station.site, "tag": f"X-{index}", "serial": f"X-{index}"}
        assert orla.post("/pumps", booster()["pump"] | own).status == 201
    assert questions() == few


def test_it_is_linked_from_where_it_is_looked_for(page, teo, station):
    event = visits.post(teo, station)
    assert page("orla", "/").to("Audit") == ["/audit"]
    at_station = page("orla", f"/stations/{station.site}").to("Who changed what here")
    assert at_station == [f"/audit?site={station.site}"]
    at_visit = page("orla", f"/events/{event['id']}").to("Who changed what of this visit")
    assert at_visit == [f"/audit?subject={event['id']}"]
    for path in ("/", f"/stations/{station.site}", f"/events/{event['id']}"):
        assert not [where for where, _ in page("teo", path).links if "/audit" in where]


@pytest.mark.parametrize("name", ["teo", "cleo"])
def test_others_get_no_further(page, name):
    refused = page(name, "/audit")
    assert refused.status == 403
    assert "office" in refused.text


def test_another_office_sees_nothing_of_it(text, orla, otto, station):
    assert "M-101" in text("/audit")
    assert "M-101" not in text("/audit", "otto")
    assert "M-101" not in text(f"/audit?site={station.site}", "otto")


def test_what_cannot_be_read_is_told_and_left_out(text, orla):
    orla.post("/tokens", {"name": "archive"})
    told = text("/audit?since=yesterday&site=X-1")
    assert "From: expected a day as 2026-11-25. It was left out." in told
    assert "site: expected an id" in told
    assert "token archive" in told


@pytest.mark.parametrize("days", ["", "?since=2026-01-01", "?since=2026-01-01&until=9999-12-31"])
def test_many_entries_come_in_parts(page, orla, days):
    for number in range(52):
        orla.post("/tokens", {"name": f"device {number}."})
    first = page("orla", f"/audit{days}")
    [older] = first.to("Older")
    rest = page("orla", f"/audit{older}")
    assert "device 2." in first.text
    assert "device 1." not in first.text
    assert not first.faults + rest.faults
    assert "device 1." in rest.text
    assert "device 2." not in rest.text


def test_an_address_does_not_tell_where_in_the_book_its_entries_stand(page, orla):
    """Entries are numbered through the whole book: two numbers would count what others do."""
    for number in range(51):
        orla.post("/tokens", {"name": f"device {number}."})
    [older] = page("orla", "/audit").to("Older")
    [before] = parse_qs(older.removeprefix("?"))["before"]
    assert not before.isdigit()
    assert len(urlsafe_b64decode(before)) == 24  # 8 bytes, encrypted, and what they are known by
    assert page("otto", f"/audit{older}").text == page("otto", "/audit").text


@pytest.mark.parametrize("before", ["", "-1", "1e3", "9" * 30, "x", "٣"])
def test_a_forged_part_is_no_error(page, orla, before):
    assert page("orla", f"/audit?before={before}").status == 200


# -- changes in words ---------------------------------------------------------------------------


def test_elements_with_an_id_are_the_same_wherever_they_stand():
    old = {
        "duty_points": [{"id": "a", "flow": q("1", "m3/h")}, {"id": "b", "flow": q("2", "m3/h")}]
    }
    new = {"duty_points": [{"id": "b", "flow": q("3", "m3/h")}]}
    found = lines(old, new, Shown())
    told = {line.place: (line.before, line.after) for line in found}
    assert told.keys() == {"Duty point 1, flow", "Duty point 2"}
    assert told["Duty point 1, flow"] == ("2\N{NO-BREAK SPACE}m³/h", "3\N{NO-BREAK SPACE}m³/h")
    assert told["Duty point 2"][1] == "–"


def test_what_was_not_there_is_a_dash():
    assert lines({"remarks": None}, {"remarks": "Seen."}, Shown()) == [
        Line("Remarks", "–", "Seen."),
    ]


def test_digests_and_ids_are_for_programs():
    told = {"signature": "0", "digest": "ab", "meaning": "performed"}
    assert [line.place for line in lines(None, told, Shown())] == ["Meaning"]


def test_a_time_is_told_to_the_second():
    [line] = lines(None, {"expires_at": "2026-11-26T02:16:54.391845Z"}, Shown())
    assert line.after.replace("\N{NO-BREAK SPACE}", " ") == "2026-11-26 02:16:54 UTC"


def test_the_list_is_planned_for_what_is_asked(page, orla, station, cast, prepare_after):
    """By one plan for everybody, whoever seldom changed a thing is looked for in all entries."""
    visits.plate_speed(orla, station, "1742")
    asked = []

    def watch(execute, sql, *rest):
        asked.append((sql, prepare_after()))
        return execute(sql, *rest)

    with connection.execute_wrapper(watch):
        assert page("orla", f"/audit?person={cast.orla.id}").status == 200
    of_rows = [after for sql, after in asked if "records_auditentry" in sql and "LIMIT" in sql]
    assert of_rows == [None]
    assert prepare_after() == 3
