"""Files that are no table, or hide something, are told in words; cells are read as they mean."""

import io
import zipfile
from datetime import datetime

import openpyxl
import pytest

from records.documents.columns import Column
from records.documents.tables import TITLES, column_named, columns_of
from records.documents.template_workbook import EXAMPLES, example, listed, template
from records.services.entering import NotSo, entered, number
from records.services.importing import layouts, sheets, workbooks
from records.services.importing.opening import opened
from records.services.importing.rows import patch
from records.services.importing.sheets import Day, NoSpreadsheet, Number, Trouble, letter


def book(fill, **names):
    made = openpyxl.Workbook()
    fill(made.active)
    for old, new in names.items():
        made[old].title = new
    file = io.BytesIO()
    made.save(file)
    return file.getvalue()


def rows_of(content):
    [sheet] = opened(content).sheets
    return list(sheet.rows())


def with_member(content, name, data):
    """A workbook in which one member holds other bytes."""
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(file, "w", 8) as new:
        for member in old.infolist():
            new.writestr(member.filename, data if member.filename == name else old.read(member))
    return file.getvalue()


SMALL = book(lambda page: page.append(["Station", "Tag"]))
SHEET = "xl/worksheets/sheet1.xml"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file is empty"),
        (b"  \r\n", "The file is empty"),
        (b"%PDF-1.7", "a PDF document"),
        (b"\x89PNG\r\n", "a picture"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "older kind (.xls), or one that opens"),
        (b"PK\x03\x04 and no more", "cannot be read"),
        (b"a\0b;c", "neither a workbook"),
        (b"Station;\x81\x8d;\n", "Line 1 holds bytes that are no text"),
        (SMALL[:900], "cannot be read"),
    ],
    ids=["empty", "blanks", "pdf", "picture", "old", "zip", "binary", "bytes", "cut"],
)
def test_what_is_no_table_is_told(content, words):
    with pytest.raises(NoSpreadsheet, match=words.replace("(", r"\(").replace(")", r"\)")):
        layouts.layout_of(opened(content))


def test_a_bomb_is_refused_before_it_is_unpacked(monkeypatch):
    bomb = with_member(SMALL, SHEET, b"<worksheet>" + b" " * 40_000_000)
    monkeypatch.setattr(workbooks.openpyxl, "load_workbook", lambda *_, **__: pytest.fail("opened"))
    with pytest.raises(NoSpreadsheet, match="unpacks to far more than a table needs"):
        opened(bomb)


def test_entities_are_refused():
    entities = b'<!DOCTYPE a [<!ENTITY b "bb"><!ENTITY c "&b;&b;">]><worksheet>&c;</worksheet>'
    with pytest.raises(NoSpreadsheet, match="declares entities"):
        rows_of(with_member(SMALL, SHEET, entities))


def test_other_kinds_of_documents_in_a_zip_are_called_by_name():
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as made:
        made.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    with pytest.raises(NoSpreadsheet, match=r"open document \(\.ods"):
        opened(file.getvalue())


def test_formulas_merged_cells_and_errors_have_no_value():
    def fill(page):
        page.append(["=B1*2", "#N/A", "x", "y"])
        page.append(["a", "b", "c", "d"])
        page.merge_cells("C1:C2")

    (_, first), (_, second) = rows_of(book(fill))
    assert all(isinstance(cell, Trouble) for cell in (first[0], first[2], second[2]))
    assert "formula (=B1*2)" in first[0].words
    assert "merged" in second[2].words
    assert (first[3], second[0]) == ("y", "a")


def test_numbers_have_the_digits_that_a_spreadsheet_shows():
    def fill(page):
        page.append([0.1 + 0.2, 7.5, 1450, 0.912, datetime(2026, 3, 14), True, 12345678901234567])
        page["D1"].number_format = "0.0%"

    [(_, row)] = rows_of(book(fill))
    assert row[:6] == (
        Number("0.3"), Number("7.5"), Number("1450"), Number("91.2", "%"), Day("2026-03-14"), True
    )  # fmt: skip
    assert "more digits than a spreadsheet keeps" in row[6].words


def test_so_many_rows_and_no_more(monkeypatch):
    monkeypatch.setattr(sheets, "MOST_BYTES", 10)
    assert sheets.MOST_ROWS == 30_000
    with pytest.raises(NoSpreadsheet, match="larger than 20 MB"):
        opened(b"a" * 20_000_001)


@pytest.mark.parametrize("sign", [";", ",", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_a_table_as_text_in_each_encoding_and_sign(encoding, sign):
    text = sign.join(["Station", "Tag", "Name"]) + "\r\n" + sign.join(["Zür", '"a""b"', "é"])
    [(_, head), (_, row)] = rows_of(text.encode(encoding))
    assert head == ("Station", "Tag", "Name")
    assert row == ("Zür", 'a"b', "é")


@pytest.mark.parametrize(
    "text",
    [
        "Tag;Power;Where;Note\nP-1;7,5;Mill Lane 3, Eastby, North;a, b\nP-2;4;Eastby;\n",
        "Tag;Power;Where;Note\rP-1;7,5;Mill Lane 3, Eastby, North;a, b\rP-2;4;Eastby;\r",
        'Tag,Power,Where,Note\nP-1,"7,5","Mill Lane 3, Eastby, North","a, b"\nP-2,4,Eastby,\n',
    ],
)
def test_commas_in_fields_and_other_ends_of_lines_do_not_part_a_table(text):
    assert rows_of(text.encode()) == [
        (1, ("Tag", "Power", "Where", "Note")),
        (2, ("P-1", "7,5", "Mill Lane 3, Eastby, North", "a, b")),
        (3, ("P-2", "4", "Eastby", None)),
    ]


def test_a_field_of_great_length_is_told_with_its_row():
    with pytest.raises(NoSpreadsheet, match="Row 2 "):
        rows_of(b"Tag;Note\nP-1;" + b"x" * 140_000)


def test_a_quotation_mark_that_is_left_open_is_told_with_its_row():
    with pytest.raises(NoSpreadsheet, match="Row 2 cannot be read: a quotation mark"):
        rows_of(b'Station,Tag\r\nA,"b')


@pytest.mark.parametrize(
    ("text", "comma", "digits"),
    [("7,5", False, "7.5"), ("1450", False, "1450"), ("1 450", False, "1450"),
     ("1.234,5", False, "1234.5"), ("1,234.5", False, "1234.5"), ("1,234,567", False, "1234567"),
     ("1,450", True, "1.450"), ("0.125", True, "0.125"), ("\N{MINUS SIGN}3,5", False, "-3.5"),
     (".5", False, "0.5"), ("7.50", False, "7.50"), ("1'450", False, "1450")],
)  # fmt: skip
def test_a_number_is_read_as_it_is_meant(text, comma, digits):
    assert number(text, comma) == digits


@pytest.mark.parametrize(("text", "comma"), [("1,450", False), ("1.450", True)])
def test_a_number_that_can_mean_two_things_is_not_guessed(text, comma):
    with pytest.raises(NotSo, match=r"can mean 1450 or 1\.450"):
        number(text, comma)


def of(kind, name) -> Column:
    found = column_named(kind, name)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("kind", "name", "text", "unit", "value"),
    [
        ("pumps", "rated_flow", "27,4 m³/h", "gpm", {"value": "27.4", "unit": "m3/h"}),
        ("pumps", "rated_flow", "120", "gpm", {"value": "120", "unit": "gpm"}),
        ("drives", "motor_cable_conductor", "4/0 AWG", "mm2", "4/0 AWG"),
        ("motors", "ratings.0.power_factor", "0.86", "", {"value": "0.86", "unit": "1"}),
        ("motors", "rating_in_use", "2", "", 1),
        ("sites", "supply_phases", "3", "", 3),
        ("sites", "electrical_practice", "us (nec)", "", "us_nec"),
        ("sensors", "output", "4-20 mA", "", "4-20 mA"),
        ("motors", "immersed", "No", "", False),
        ("pumps", "in_service_from", "14.03.2026", "", "2026-03-14"),
    ],
)
def test_a_text_means_its_value(kind, name, text, unit, value):
    assert entered(of(kind, name), text, unit) == value


@pytest.mark.parametrize(
    ("kind", "name", "text", "words"),
    [
        ("pumps", "rated_flow", "120", "has no unit"),
        ("pumps", "rated_flow", "much", "expected a number in gpm or L/s"),
        ("motors", "ratings.0.efficiency", "0.9", "has no unit"),  # per cent, or a plain number
        ("pumps", "in_service_from", "3/4/2026", "nobody can tell the day from the month"),
        ("pumps", "type", "rotary", "expected one of: end suction"),
        ("motors", "rating_in_use", "0", "1 is the first"),
    ],
)
def test_what_is_no_value_says_what_was_expected(kind, name, text, words):
    with pytest.raises(NotSo, match=words):
        entered(of(kind, name), text)


def test_a_row_changes_what_differs_and_nothing_else():
    held = {
        "serial": "007", "latitude": "51.50",
        "rated_flow": {"value": "7.50", "unit": "m3/h"},
        "pipeline": {"length": {"value": "900", "unit": "m"}, "material": "pe"},
    }  # fmt: skip
    same = {("latitude",): "51.5", ("rated_flow",): {"value": "7.5", "unit": "m3/h"},
            ("pipeline", "material"): "pe"}  # fmt: skip
    assert patch(held, same) == {}
    # Texts are no numbers, and another unit is another entry.
    litres = {"value": "7.5", "unit": "L/s"}
    other = {("serial",): "7", ("rated_flow",): litres}
    assert patch(held, other) == {"serial": "7", "rated_flow": litres}
    steel = {("pipeline", "material"): "steel"}
    assert patch(held, steel) == {"pipeline": {"material": "steel"}}


# What plates of either practice are read in: NEMA MG 1 states power in horsepower, and ambient
# temperature in degrees Celsius; UL 508A short-circuit current in kA; NFPA 70 conductors by AWG.
# All from memory.
OF_A_PLATE = {
    "rated_flow": {"si": "m3/h", "us": "gpm"}, "ratings.0.power": {"si": "kW", "us": "hp"},
    "curve_points.0.shaft_power": {"si": "kW", "us": "hp"},
    "rated_power": {"si": "kW", "us": "hp"}, "ambient_rated": {"si": "degC", "us": "degC"},
    "short_circuit_rating": {"si": "kA", "us": "kA"},
    "motor_cable_conductor": {"si": "mm2", "us": "AWG"},
}  # fmt: skip


@pytest.mark.parametrize("units", ["si", "us"])
def test_every_heading_of_the_template_is_known_again_with_its_unit(units):
    found = layouts.layout_of(opened(template(units)))
    pages = {page["kind"]: page for page in found if page["kind"]}
    assert list(pages) == list(TITLES)
    for kind, page in pages.items():
        fields = [head["field"] for head in page["heads"][1:]]
        assert fields == [column.name for column in listed(kind)]
        assert page["told"] == []
    units_of = {h["field"]: h["unit"] for page in pages.values() for h in page["heads"]}
    own = {name: units_of[name] for name in OF_A_PLATE}
    assert own == {name: each[units] for name, each in OF_A_PLATE.items()}


@pytest.mark.parametrize("units", ["si", "us"])
def test_the_template_has_every_field_and_its_examples_are_of_them(units):
    for kind in EXAMPLES:
        names = {column.name for column in listed(kind)}
        assert set(example(kind, units)) <= names
        every = {str(column.path[0]) for column in columns_of(kind)}
        assert {name.partition(".")[0] for name in names} == every


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("6", "AWG", "6 AWG"),
        ("2/0", "AWG", "2/0 AWG"),
        ("250 kcmil", "AWG", "250 kcmil"),
        ("16 mm2", "AWG", {"value": "16", "unit": "mm2"}),
        ("6", "mm2", {"value": "6", "unit": "mm2"}),
    ],
)
def test_a_conductor_is_read_by_the_gauge_of_its_heading(text, unit, value):
    assert entered(column_named("drives", "motor_cable_conductor"), text, unit) == value


def test_columns_are_called_as_a_spreadsheet_calls_them():
    assert [letter(index) for index in (0, 25, 26, 701, 702)] == ["A", "Z", "AA", "ZZ", "AAA"]
