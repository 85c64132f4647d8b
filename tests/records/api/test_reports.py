"""Report schedules and reports over the API: asked for, read, downloaded, refused in words."""

import io
import json
from datetime import datetime
from zoneinfo import ZoneInfo

import openpyxl
import pytest

from records.models import Report
from tests.records import report_book, visits
from tests.records.cast import in_days
from tests.records.client import leave
from tests.records.documents.reading_back import reader, squeezed, text
from tests.records.documents.test_conformance import STANDARDS, faults
from tests.records.problems import assert_problem
from tests.records.visits import new_id


@pytest.fixture
def started(teo, orla, station):
    return visits.sealed(teo, orla, station)


def wanted(cast, **changes):
    given = {"client": str(cast.client), "period": "month", "time_zone": "America/Denver"}
    return given | {"addresses": ["works@tresk.example"]} | changes


@pytest.fixture
def made(orla, cast, started):
    """A report of today, made."""
    answer = orla.post("/reports", {"client": str(cast.client), "day": today(orla)})
    assert answer.status == 202
    with report_book.worker():
        row = Report.objects.get(id=answer.json["id"]).row
    report_book.made(row)
    leave()
    return answer.json["id"]


def today(person):
    return person.get("/due-items?limit=1").json["items"][0]["as_of"]


# -- schedules -----------------------------------------------------------------------------------


def test_none_is_set_until_the_office_does(orla, cleo, cast, station):
    assert orla.get("/report-schedules").json["items"] == []
    made = orla.post("/report-schedules", wanted(cast))
    assert made.status == 201
    assert made.headers["Location"] == f"/api/v1/report-schedules/{made.json['id']}"
    assert cleo.get("/report-schedules").json["items"] == [made.json]
    assert made.json["addresses"] == ["works@tresk.example"]
    assert made.json["next_begins"] == today_in_month(in_days(0))


def today_in_month(day):
    return f"{day[:8]}01"


def test_another_takes_the_place_of_the_one_before(orla, cast, station):
    first = orla.post("/report-schedules", wanted(cast)).json
    second = orla.post("/report-schedules", wanted(cast, period="week")).json
    [held] = orla.get("/report-schedules?in_force=true").json["items"]
    assert held["id"] == second["id"]
    [ended] = orla.get("/report-schedules?in_force=false").json["items"]
    assert (ended["id"], ended["ended_by"]) == (first["id"], "Orla")


def test_the_same_id_twice_is_one_schedule(orla, cast, station):
    given = wanted(cast, id=new_id())
    assert [orla.post("/report-schedules", given).status for _ in range(2)] == [201, 200]
    assert_problem(orla.post("/report-schedules", given | {"period": "week"}), 409, "/id")


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"time_zone": "Europe/Nowhere"}, "/time_zone", "there is no time zone 'Europe/Nowhere'"),
        ({"time_zone": "../etc/passwd"}, "/time_zone", "there is no time zone"),
        ({"addresses": ["works"]}, "/addresses/0", "expected a mail address"),
        ({"addresses": ["a@b.example", "a@b.example"]}, "/addresses/1", "each address once"),
        ({"addresses": ["a@b.example", "A@b.example"]}, "/addresses/1", "each address once"),
        ({"time_zone": "localtime"}, "/time_zone", "there is no time zone"),
        ({"addresses": ["a@b.example\nBcc: c@d.example"]}, "/addresses/0", "a mail address"),
        ({"addresses": [f"a{n}@b.example" for n in range(21)]}, "/addresses", "at most 20"),
        ({"period": "day"}, "/period", "week"),
        ({"client": new_id()}, "/client", "no such client of yours"),
    ],
)
def test_what_is_no_schedule_is_refused_in_words(orla, cast, station, changes, pointer, words):
    answer = orla.post("/report-schedules", wanted(cast, **changes))
    assert_problem(answer, 400, pointer)
    assert words in answer.content.decode().replace("\\u0027", "'")


# -- reports ------------------------------------------------------------------------------------


def test_a_report_says_how_far_it_is_and_what_it_counts(made, cleo):
    told = cleo.get(f"/reports/{made}").json
    assert (told["state"], told["stations_done"], told["stations"]) == ("made", 1, 1)
    counted = cleo.get("/due-items/counts").json
    assert told["counts"] == {name: counted[name] for name in told["counts"]}
    assert told["changes"]["sealed"] == 1
    assert [each["name"] for each in told["files"]] == ["document.pdf", "workbook.xlsx",
                                                        "data.json"]  # fmt: skip


def test_the_three_files_say_the_same(made, cleo, started):
    told = json.loads(cleo.get(f"/reports/{made}/data.json").rows())
    never = cleo.get("/due-items?state=never_verified&limit=200").json["items"]
    assert [line["why"] for line in told["never_verified"]] == [each["why"] for each in never]
    book = openpyxl.load_workbook(io.BytesIO(cleo.get(f"/reports/{made}/workbook.xlsx").rows()))
    sheet = list(book["Never verified"].iter_rows(values_only=True))[1:]
    heads = list(sheet[0])
    assert [row[heads.index("Why")] for row in sheet[1:]] == [each["why"] for each in never]
    dates = [row[heads.index("Due on")] for row in sheet[1:]]
    assert [date.date().isoformat() for date in dates] == [each["due_on"] for each in never]
    pdf = cleo.get(f"/reports/{made}/document.pdf").rows()
    assert "Not possible at the last try, and still due" in text(pdf)  # in one line
    printed = squeezed(text(pdf))
    for each in never:
        assert squeezed(each["why"]) in printed
    [head] = told["heads"]
    assert head["digest"] in str(started)
    assert head["digest"] in printed


def test_times_are_printed_by_the_station_s_own_clock(made, cleo, started):
    """As days are, so that a visit in the evening is not told of the day after."""
    [told] = json.loads(cleo.get(f"/reports/{made}/data.json").rows())["sealed"]
    printed = squeezed(text(cleo.get(f"/reports/{made}/document.pdf").rows()))
    for name in ("performed_at", "sealed_at"):
        here = datetime.fromisoformat(told[name]).astimezone(ZoneInfo(told["time_zone"]))
        assert squeezed(f"{here:%Y-%m-%d %H:%M}") in printed
        assert squeezed(told[name]) not in printed


def test_the_document_keeps_to_the_standards_and_has_its_data(made, cleo):
    """PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1), by the validator."""
    pdf = cleo.get(f"/reports/{made}/document.pdf").rows()
    assert [fault for standard in STANDARDS for fault in faults(pdf, standard)] == []
    [attached] = reader(pdf).attachments["data.json"]
    assert attached == cleo.get(f"/reports/{made}/data.json").rows()


def test_others_get_none_of_its_files(made, otto, cato, tilda):
    for person in (otto, cato, tilda):
        for name in ("document.pdf", "workbook.xlsx", "data.json"):
            assert person.get(f"/reports/{made}/{name}").status == 404


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"day": in_days(3)}, "/day", "expected a day that has come"),
        ({"day": "2026-02-30"}, "/day", "expected a date such as"),
        ({"day": "20260203"}, "/day", "expected a date such as"),
        ({"day": "2026-W05-1"}, "/day", "expected a date such as"),
        # Samoa went over the date line: the day after 29 December 2011 was the 31st (IANA tz).
        (
            {"day": "2011-12-30", "since": "2011-12-30", "time_zone": "Pacific/Apia"},
            "/day",
            "left this one out",
        ),
        ({"day": "2026-03-01", "since": "2026-03-02"}, "/since", "or a day before"),
        ({"day": "2026-03-01", "time_zone": "Mars/Olympus"}, "/time_zone", "no time zone"),
        ({"day": "0001-01-01"}, "/day", "1970-01-02 or a day after"),
        ({"day": "2026-03-01", "addresses": ["x"]}, "/addresses/0", "a mail address"),
    ],
)
def test_what_is_no_report_is_refused_in_words(orla, cast, station, changes, pointer, words):
    answer = orla.post("/reports", {"client": str(cast.client)} | changes)
    assert_problem(answer, 400, pointer)
    assert words in answer.content.decode()


def test_asked_for_twice_it_is_one(orla, cast, station):
    given = {"id": new_id(), "day": "2026-03-01"}
    assert [orla.post("/reports", given).status for _ in range(2)] == [202, 200]
    assert_problem(orla.post("/reports", given | {"day": "2026-03-02"}), 409, "/id")
    assert len(orla.get("/reports").json["items"]) == 1
