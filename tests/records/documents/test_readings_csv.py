"""Readings as CSV: what a spreadsheet could take for a formula stays a text that comes back."""

import csv
import hashlib
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.documents import readings_csv
from tests.calculations.building_plates import q
from tests.records.documents import sample, tables
from tests.records.services.test_recorded import FORMATS

COMMANDS = ("=1+1", "+1", "-1+2", "@SUM(1,1)", "\t=1", "\r=1", "\n=1", "'=1", "'", "＝1+1")
DIVIDED = ("a;=1+1", "a\t+1", "a\r\n-1", ";;@x", "it's; 'so'")


def lines_of(record):
    return tables.rows_of_csv(readings_csv.head() + readings_csv.lines(record))


@pytest.mark.parametrize("text", COMMANDS + DIVIDED)
def test_a_text_that_looks_like_a_formula_is_guarded_and_comes_back(text):
    record = sample.record()
    record["snapshot"]["pump"] |= {"tag": text, "serial": text}
    record["snapshot"]["site"]["code"] = text
    lines = lines_of(record)
    own = [line for line in lines if line["place"].startswith("/snapshot/pump/")]
    assert {tables.entered(line["tag"]) for line in own} == {text}
    assert {tables.entered(line["serial"]) for line in own} == {text}
    assert {tables.entered(line["site_code"]) for line in lines} == {text}
    assert not [cell for line in lines for cell in line.values() if is_command(cell)]


def is_command(cell):
    """Whether a spreadsheet that cuts at commas, semicolons or tabs may take it for a formula."""
    cells = cell.replace("\t", ";").replace("\r", ";").replace("\n", ";").split(";")
    number = cell.lstrip("-").replace(".", "", 1).replace("e-", "", 1).replace("e+", "", 1)
    return not number.isdigit() and any(each.startswith(tuple("=+-@＝＋－＠")) for each in cells)


@given(st.text(st.sampled_from("=+-@\t\r\n';,\"ab ＝"), max_size=12))
def test_every_text_comes_back(text):
    assert tables.entered(readings_csv.guarded(text)) == text


@given(st.text(max_size=12).filter(lambda text: not set(text) & set("=+-@\t\r\n';＝＋－＠")))
def test_ordinary_texts_stand_as_they_are(text):
    assert readings_csv.guarded(text) == text


@pytest.mark.parametrize("digits", ["-3.50", "-40", "7.50", "1.5e3", "-0.0"])
def test_numbers_stand_in_the_digits_that_were_entered(digits):
    record = sample.record()
    record["event"]["ambient_temperature"] = q(digits, "degC")
    [line] = [each for each in lines_of(record) if each["place"] == "/event/ambient_temperature"]
    assert (line["value"], line["unit"], line["si_unit"]) == (digits, "degC", "K")
    assert float(line["si_value"]) == pytest.approx(float(digits) + 273.15)


def test_it_is_rfc_4180_with_the_time_as_it_was_entered():
    record = sample.record()
    text = readings_csv.head() + readings_csv.lines(record)
    assert text.endswith(b"\r\n")
    assert text.count(b"\r\n") == text.count(b"\n")
    rows = list(csv.reader(io.StringIO(text.decode(), newline=""), strict=True))
    assert tuple(rows[0]) == readings_csv.COLUMNS
    assert {len(row) for row in rows} == {len(readings_csv.COLUMNS)}
    assert {row[3] for row in rows[1:]} == {record["event"]["performed_at"]}
    assert {row[1] for row in rows[1:]} == {"7"}


# SHA-256 of the golden record's lines by edition: what was sent once is sent again.
SENT = {
    1: "f08d76e28a4ed856e93c4d7f0a51d8b95dbad6927cc31e9260851025bd46552a",
    2: "f3610958ef0ff132c73eefd15d9a47dff069e0251a7fbd57eb545251b9caecb3",
}


def test_other_lines_are_another_edition():
    """Where columns, words or order change, raise EDITION and keep the new digest beside it."""
    record = json.loads(FORMATS[0].read_bytes())["record"]
    digest = hashlib.sha256(readings_csv.lines(record)).hexdigest()
    assert SENT[readings_csv.EDITION] == digest
