"""Records as workbook, as CSV and as a schema: whose they are, and that they stay the same."""

import json

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from records import permissions
from records.documents import readings_csv
from records.models import RecordReadings
from records.selectors import readings as selected
from tests.records import visits
from tests.records.client import Answer, leave
from tests.records.documents import demo, sample, tables
from tests.records.problems import assert_problem
from tests.records.services.test_recorded import FORMATS

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@pytest.fixture
def record(teo, orla, station):
    return visits.sealed(teo, orla, station)


def at(record, form):
    return f"/records/{record['id']}/{form}"


def lines(answer: Answer):
    return tables.rows_of_csv(answer.content or answer.rows())


def as_worker():
    leave()
    permissions.enter_as_worker()


# -- one record ----------------------------------------------------------------------------------


def test_a_client_takes_the_workbook_of_its_record(cleo, record):
    answer = cleo.get(at(record, "workbook.xlsx"))
    assert (answer.status, answer.type) == (200, XLSX)
    name = f"record-{site_code(cleo, record)}-1.xlsx"
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{name}"'
    seal = {row["What"].value: row["Value"].value
            for row in tables.table(tables.workbook(answer.content)["Seal"])}  # fmt: skip
    assert seal["Digest"] == record["seal"]["digest"]
    assert cleo.get(at(record, "workbook.xlsx")).content == answer.content


def site_code(person, record):
    return person.get(f"/sites/{record['site']}").json["code"]


def test_a_client_takes_the_readings_of_its_record(cleo, record):
    answer = cleo.get(at(record, "readings.csv"))
    assert (answer.status, answer.type) == (200, "text/csv; charset=utf-8; header=present")
    text = json.loads(cleo.get(at(record, "data.json")).content)["record"]
    found = lines(answer)
    assert len(found) > 300
    assert {line["record_id"] for line in found} == {record["id"]}
    assert {line["site_code"] for line in found} == {site_code(cleo, record)}
    assert {line["performed_at"] for line in found} == {text["event"]["performed_at"]}
    for line in found:
        told = text
        for step in line["place"].split("/")[1:]:
            told = told[int(step)] if isinstance(told, list) else told[step]
        if isinstance(told, dict):
            assert (told["value"], told["unit"]) == (line["value"], line["unit"])
        else:
            assert str(told).removesuffix(f" {line['unit']}") == line["value"]


def test_what_is_at_hand_is_not_sent_again(cleo, record):
    for path in (at(record, "workbook.xlsx"), at(record, "readings.csv"), "/records/readings.csv"):
        tag = cleo.get(path).etag
        known = cleo.call("GET", path, If_None_Match=tag)
        assert (known.status, known.content, known.etag) == (304, b"", tag), path


def test_a_record_says_where_its_forms_are(cleo, record):
    links = cleo.get(f"/records/{record['id']}").json["links"]
    assert {cleo.get(links[name]).status for name in ("workbook.xlsx", "readings.csv")} == {200}


# -- many records --------------------------------------------------------------------------------


@pytest.fixture
def records(teo, orla, station):
    return [visits.sealed(teo, orla, station, remarks=f"No. {n}") for n in range(3)]


def many(person, query=""):
    answer = person.get(f"/records/readings.csv{query}")
    assert answer.status == 200, answer.json
    return answer.rows()


def test_the_readings_of_many_are_those_of_each_in_the_order_of_sealing(cleo, records):
    head = readings_csv.head()
    each = [cleo.get(at(record, "readings.csv")).content.removeprefix(head) for record in records]
    assert many(cleo) == head + b"".join(each)
    assert many(cleo) == many(cleo)


def test_they_are_asked_for_as_records_are(cleo, records, station):
    def numbers(query):
        return sorted(
            {int(line["record_number"]) for line in tables.rows_of_csv(many(cleo, query))}
        )

    site = f"?site={station.site}"
    assert numbers(site) == [1, 2, 3]
    assert numbers(f"{site}&number=2") == [2]
    assert numbers(f"{site}&after_number=1") == [2, 3]
    assert numbers(f"{site}&after_number=3") == []
    assert numbers(f"?site={visits.new_id()}") == []


@pytest.mark.parametrize(
    ("query", "place"),
    [("?site=x", "/site"), ("?number=-1", "/number"), ("?after_number=1", "/site"),
     ("?limit=5", "/limit"), ("?tag=P-101", "/tag")],
)  # fmt: skip
def test_a_bad_parameter_is_named(cleo, query, place):
    assert_problem(cleo.get(f"/records/readings.csv{query}"), 400, place)


def test_with_no_records_there_is_the_head_alone(cleo):
    assert many(cleo) == readings_csv.head()


def test_a_tag_follows_what_is_sealed(cleo, teo, orla, station, record):
    before = cleo.get("/records/readings.csv").etag
    visits.sealed(teo, orla, station)
    assert cleo.get("/records/readings.csv").etag != before


def test_what_is_sealed_while_it_is_sent_is_not_in_it(cleo, teo, orla, station, record):
    answer = cleo.get("/records/readings.csv")
    visits.sealed(teo, orla, station)
    leave()
    assert {line["record_number"] for line in tables.rows_of_csv(answer.rows())} == {"1"}


# -- what is kept --------------------------------------------------------------------------------


def test_sealing_keeps_the_lines_that_the_text_makes(record):
    as_worker()
    [kept] = RecordReadings.objects.select_related("record")
    made = readings_csv.lines(json.loads(bytes(kept.record.canonical)))
    assert bytes(kept.lines) == made
    assert kept.edition == readings_csv.EDITION
    sealed = kept.record
    assert (kept.contractor_id, kept.client_id) == (sealed.contractor_id, sealed.client_id)


def test_of_an_older_edition_or_of_none_they_are_made_while_they_are_sent(
    cleo, records, monkeypatch
):
    before = many(cleo)
    tag = cleo.get("/records/readings.csv").etag
    monkeypatch.setattr(readings_csv, "EDITION", readings_csv.EDITION + 1)
    sent = []
    monkeypatch.setattr(readings_csv, "lines", lambda of: sent.append(of["number"]) or b"made\r\n")
    assert many(cleo) == readings_csv.head() + b"made\r\n" * 3
    assert sent == [1, 2, 3]
    assert cleo.get("/records/readings.csv").etag != tag
    monkeypatch.undo()
    assert many(cleo) == before


def test_what_is_kept_is_sent_as_it_stands(cleo, record, monkeypatch):
    whole = many(cleo)
    monkeypatch.setattr(readings_csv, "lines", lambda of: pytest.fail("made anew"))
    assert many(cleo) == whole


@pytest.mark.parametrize("at_once", [1, 2, 3, 16])
def test_however_few_are_held_at_a_time_all_are_sent(cleo, records, monkeypatch, at_once):
    whole = many(cleo)
    monkeypatch.setattr(selected, "AT_ONCE", at_once)
    assert many(cleo) == whole


# -- the schema ----------------------------------------------------------------------------------


@pytest.fixture
def validator(nobody):
    answer = nobody.get("/record-schema.json")
    assert (answer.status, answer.type) == (200, "application/schema+json")
    Draft202012Validator.check_schema(answer.json)
    return Draft202012Validator(answer.json, format_checker=FormatChecker())


def faults(validator, document):
    return [f"{each.json_path}: {each.message[:200]}" for each in validator.iter_errors(document)]


def test_a_sealed_record_fits_its_schema(validator, cleo, records):
    for record in records:
        assert faults(validator, json.loads(cleo.get(at(record, "data.json")).content)) == []


@pytest.mark.parametrize("path", FORMATS, ids=lambda path: path.stem)
def test_a_golden_record_fits_it(validator, path):
    assert faults(validator, json.loads(path.read_bytes())) == []


@pytest.mark.parametrize("name", demo.names())
def test_every_record_of_the_demo_fits_it(validator, name):
    record = demo.record_of(name) | {"attachments": [], "traces": []}
    assert faults(validator, json.loads(sample.sealed(record)[1])) == []


def bent(place, value):
    document = json.loads(FORMATS[0].read_bytes())
    *steps, last = place
    inner = document["record"]
    for step in steps:
        inner = inner[step]
    inner[last] = value
    return document


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (("format",), 2),
        (("number",), "7"),
        (("previous",), 7),
        (("later",), "a member that nobody knows"),
        (("event", "kind"), "stop_gap"),
        (("event", "duty_points", 0, "flow"), {"value": "5", "unit": "psi"}),
        (("event", "duty_points", 0, "flow"), "5 gpm"),
        (("snapshot", "event"), {}),
        (("snapshot", "motor", "kind"), "sideways"),
        (("judgement", "limits", "motor.slip.review"), "5 %"),
        (("answers", 0, "accepted"), "yes"),
        (("signatures", 0, "meaning"), "seen"),
    ],
)
def test_what_is_no_record_does_not(validator, place, value):
    assert faults(validator, bent(place, value)) != []
