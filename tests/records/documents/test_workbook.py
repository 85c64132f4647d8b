"""The workbook: nothing in it is a formula, nothing is lost, and the same record makes the same."""

import io
import re
import zipfile
from datetime import datetime

import pytest

from records.documents.contents.cautions import ARITHMETIC
from records.documents.workbook import workbook, writing
from records.documents.workbook.sheets import Digits, Sheet
from tests.calculations.building_plates import q
from tests.records.documents import full, sample, tables

COMMANDS = ("=1+1", "+1", "-1+2", "@SUM(1,1)", "\t=1", "\r=1", "\n=1", '=HYPERLINK("http://a")')
ABOUT = writing.About("A title", "An author", "A footer", datetime(2026, 3, 16, 15, 4, 5))


def rendered(record):
    return workbook.render(record, sample.sealed(record)[0])


def only_sheet(*rows, heads=("A", "B")):
    made = writing.write([Sheet("Only", heads, rows)], ABOUT)
    return tables.workbook(made)["Only"]


def parts(content):
    """The files inside."""
    with zipfile.ZipFile(io.BytesIO(content)) as file:
        return {each.filename: (each.date_time, file.read(each)) for each in file.infolist()}


# -- formulas ------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", COMMANDS)
def test_a_text_that_looks_like_a_formula_stays_a_text(command):
    cell = only_sheet((command, None))["A2"]
    assert (cell.data_type, tables.text(cell.value)) in (("s", command), ("inlineStr", command))
    assert cell.quotePrefix


def commanding(value, command):
    """The same with a command before every text that is the record's own."""
    if isinstance(value, dict):
        return {name: each if name in ("unit", "value", "performed_at", "time_zone")
                else commanding(each, command) for name, each in value.items()}  # fmt: skip
    if isinstance(value, list):
        return [commanding(each, command) for each in value]
    own = isinstance(value, str) and re.match("t[0-9]{6} ", value)
    return command + value if own else value


@pytest.mark.parametrize("command", COMMANDS)
def test_no_text_of_a_record_becomes_a_formula_a_link_or_another_text(command):
    record = full.record()
    for part in ("event", "snapshot"):
        record[part] = commanding(record[part], command)
    made = rendered(record)
    sheets = [text for name, (_, text) in parts(made).items() if "worksheets" in name]
    assert len(sheets) == 18
    assert not [text for text in sheets if b"<f" in text or b"<hyperlink" in text]
    rows = tables.table(tables.workbook(made)[tables.ALL_VALUES])
    told = {tables.text(row["As entered"].value) for row in rows}
    wanted = {each for each in texts(record) if each.startswith(command + "t")}
    assert len(wanted) > 100
    assert wanted <= told


def texts(value):
    if isinstance(value, dict):
        return {text for each in value.values() for text in texts(each)}
    if isinstance(value, list):
        return {text for each in value for text in texts(each)}
    return {value} if isinstance(value, str) else set()


# -- numbers -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "digits", ["7.50", "0", "-3.5", "-0.25", "100.00", "0.0050", "123456789012345", "-40"]
)
def test_a_number_is_a_number_that_shows_its_digits(digits):
    cell = only_sheet((Digits(digits), None))["A2"]
    assert (cell.data_type, cell.value) == ("n", float(digits))
    assert tables.shown(cell) == digits


@pytest.mark.parametrize("digits", ["1.5e3", "0.1234567890123456", "-0", "-0.00", "4/0",
                                    "1234567890123456"])  # fmt: skip
def test_what_a_number_would_not_keep_stands_as_text(digits):
    """Sixteen digits and more are rounded by a double; an exponent is no format of a cell."""
    cell = only_sheet((Digits(digits), None))["A2"]
    assert (cell.data_type != "n", tables.text(cell.value)) == (True, digits)


# -- texts ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    ["a\0b", "bell \a", "line\r\nline", "_x000D_ as written", "שלום عليكم", "🔧 pump 🚰",
     "a\u202eb", " blanks around ", "<b> & \"quoted\" 'too'", "tab\there"],
)  # fmt: skip
def test_every_character_comes_back(text):
    assert tables.text(only_sheet((text, None))["A2"].value) == text


def test_what_xml_cannot_hold_is_named_by_its_code():
    assert only_sheet(("a\uffffb", None))["A2"].value == "a‹U+FFFF›b"


@pytest.mark.parametrize("character", ["x", "🔧"])
def test_a_text_that_no_cell_holds_is_whole_on_the_last_sheet(character):
    record = sample.record()
    record["event"]["remarks"] = character * 70_000
    book = tables.workbook(rendered(record))
    pieces = [row["As entered"].value for row in tables.table(book[tables.ALL_VALUES])
              if row["Place in data.json"].value == "/event/remarks"]  # fmt: skip
    assert "".join(pieces) == record["event"]["remarks"]
    assert max(len(each.encode("utf-16-le")) // 2 for each in pieces) <= 32_767
    [told] = [row["Value"].value for row in tables.table(book["Visit and checks"])
              if row["What"].value == "Remarks"]  # fmt: skip
    assert told.startswith(character * 10_000)
    assert told.endswith("[goes on in data.json, and in further rows of the sheet All values]")
    assert len(told.encode("utf-16-le")) // 2 <= 32_767


# -- sheets --------------------------------------------------------------------------------------


def test_every_part_has_its_sheet_and_its_name_is_one_that_sheets_may_have():
    names = tables.workbook(rendered(sample.record())).sheetnames
    assert names == [
        "Summary", "Nameplates", "Settings", "Electrical", "Duty points", "Transmitter points",
        "Protections", "Visit and checks", "Findings", "Finding values", "Not judged", "Limits",
        "Derived", "Signatures", "Seal", "Files", "Cautions", "All values",
    ]  # fmt: skip
    assert all(len(name) <= 31 and not set(name) & set("[]:*?/\\") for name in names)


def test_cautions_stand_where_values_to_set_do():
    sheet = tables.workbook(rendered(sample.record()))["Settings"]
    above = " ".join(str(row[0]) for row in sheet.iter_rows(max_row=6, values_only=True) if row[0])
    assert "Hazardous voltage" in above
    assert ARITHMETIC in above


def test_settings_stand_side_by_side_with_what_they_are_held_against():
    record = sample.record()
    rows = {row["Setting"].value: list(row.values())
            for row in tables.table(tables.workbook(rendered(record))["Settings"])}  # fmt: skip
    pair = record["event"]["settings"]
    sheet = tables.workbook(rendered(record))["Settings"]
    [line] = [row for row in sheet.iter_rows() if row[1].value == "Motor current"]
    assert tables.shown(line[2]) == pair["as_found"]["motor_current"]["value"] == "137"
    assert tables.shown(line[4]) == pair["as_left"]["motor_current"]["value"]
    assert (line[3].value, line[5].value, line[6].value) == ("A", "A", "yes")
    assert "Skip bands 1, centre" in rows


def test_units_that_differ_stand_beside_their_numbers():
    record = sample.record()
    first, second = record["event"]["duty_points"][:2]
    first["flow"], second["flow"] = q("500", "gpm"), q("31.50", "L/s")
    rows = list(tables.table(tables.workbook(rendered(record))["Duty points"]))
    told = [(tables.shown(row["Flow"]), row["Flow, unit"].value) for row in rows[:2]]
    assert told == [("500", "gpm"), ("31.50", "L/s")]


def test_findings_have_their_answers_and_the_seal_its_digest():
    record = sample.record()
    book = tables.workbook(rendered(record))
    rows = list(tables.table(book["Findings"]))
    severities = [row["Severity"].value for row in rows]
    assert severities == sorted(severities, key=["stop", "review", "note"].index)
    assert {row["Answer"].value for row in rows} == {each["text"] for each in record["answers"]}
    seal = {row["What"].value: row["Value"].value for row in tables.table(book["Seal"])}
    assert seal["Digest"] == sample.sealed(record)[0]["digest"]
    assert seal["Number at this station"] == 7


def test_a_record_of_nearly_nothing_has_every_sheet():
    record = sample.record() | {
        "event": {"id": sample.EVENT_ID, "kind": "investigation"},
        "snapshot": {"site": {"name": "Bare station"}, "sensors": [], "vessels": []},
        "judgement": {"catalogue": "2026.11", "derived": [], "findings": [], "not_evaluated": []},
        "answers": [],
    }
    book = tables.workbook(rendered(record))
    assert len(book.sheetnames) == 18
    assert book["Duty points"]["A1"].value == "Nothing was recorded."


# -- the same bytes ------------------------------------------------------------------------------


def test_the_same_record_makes_the_same_bytes_dated_by_the_record():
    first = rendered(sample.record())
    assert first == rendered(sample.record())
    inside = parts(first)
    assert {date for date, _ in inside.values()} == {(1980, 1, 31, 0, 0, 0)}
    assert b"2026-03-16T15:04:05Z</dcterms:created>" in inside["docProps/core.xml"][1]
    assert b"2026-03-16T15:04:05Z</dcterms:modified>" in inside["docProps/core.xml"][1]
