"""The figures in JSON, XLSX, CSV and PDF are the same, read back with readers that are not ours."""

from collections import Counter
from functools import cache
from typing import Any

import pytest

from records.documents import readings_csv
from records.documents.workbook import workbook
from tests.records.documents import demo, full, sample, tables
from tests.records.documents.reading_back import squeezed
from tests.records.documents.reading_back import text as text_of_pdf

Quantities = dict[str, tuple[str, str]]


def quantities(value: Any, at: str = "") -> Quantities:
    """Whatever of a document has a value and a unit, by its place; words have an empty one."""
    found: Quantities = {}
    if isinstance(value, dict):
        if {"value", "unit"} <= set(value) and value["unit"]:
            found[at] = (value["value"], value["unit"])
        for name, inner in value.items():
            found |= quantities(inner, f"{at}/{name}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            found |= quantities(inner, f"{at}/{index}")
    return found


@cache
def record(name: str) -> dict[str, Any]:
    return full.record() if name == "the fullest" else demo.record_of(name)


@cache
def book(name: str) -> Any:
    made = record(name)
    return tables.workbook(workbook.render(made, sample.sealed(made)[0]))


@cache
def lines(name: str) -> list[dict[str, str]]:
    return tables.rows_of_csv(readings_csv.head() + readings_csv.lines(record(name)))


NAMES = [*demo.names(), "the fullest"]


@pytest.mark.parametrize("name", NAMES)
def test_csv_has_every_quantity_with_its_digits(name):
    told = {line["place"]: (line["value"], line["unit"]) for line in lines(name)}
    assert len(told) == len(lines(name))
    wanted = quantities(record(name))
    assert len(wanted) > 100
    assert {at: told.get(at) for at in wanted} == wanted


def as_entered(row: dict[str, Any]) -> str:
    """Digits: a wire size is one text with its unit."""
    return tables.text(row["As entered"].value).removesuffix(f" {row['Unit'].value}")


@pytest.mark.parametrize("name", NAMES)
def test_the_last_sheet_has_what_the_csv_has(name):
    rows = [row for row in tables.table(book(name)[tables.ALL_VALUES]) if row["Unit"].value]
    told = [(r["Place in data.json"].value, as_entered(r), r["Unit"].value) for r in rows]
    assert told == [(line["place"], line["value"], line["unit"]) for line in lines(name)]
    for row, line in zip(rows, lines(name), strict=True):
        if row["Number"].data_type == "n":
            assert tables.shown(row["Number"]) == line["value"]
        if line["si_value"]:
            assert row["SI value"].value == pytest.approx(float(line["si_value"]), rel=1e-15)
            assert row["SI unit"].value == line["si_unit"]


@pytest.mark.parametrize("name", NAMES)
def test_each_part_has_its_quantities_on_its_own_sheet(name):
    """As numbers that show the digits entered, and as often as the record has them."""
    wanted = Counter(digits for at, (digits, _) in quantities(record(name)).items()
                     if "/limits_changed/" not in at)  # fmt: skip
    told = Counter(
        tables.shown(cell)
        for sheet in book(name)
        if sheet.title != tables.ALL_VALUES
        for row in tables.table(sheet)
        for cell in row.values()
        if cell.data_type == "n" and cell.value is not None
    )
    assert wanted - told == Counter()


@pytest.mark.parametrize("name", demo.names())
def test_the_pdf_has_the_same_digits(name):
    """But for a neighbour's, of which paper says how it differs."""
    words = squeezed(text_of_pdf(sample.printed(record(name)))).replace("-", "−")
    missing = [
        (line["place"], line["value"])
        for line in lines(name)
        if "/neighbours/" not in line["place"] and line["value"].replace("-", "−") not in words
    ]
    assert missing == []


@pytest.mark.parametrize("name", demo.names())
def test_units_stand_beside_or_above_their_numbers(name):
    sheet = book(name)["Duty points"]
    points = record(name)["event"].get("duty_points") or []
    for row, point in zip(tables.table(sheet), points, strict=True):
        for field, label in (("flow", "Flow"), ("frequency", "Frequency")):
            if field not in point:
                continue
            [head] = [h for h in row if h.startswith(f"{label} [") or h == label]
            unit = head.partition("[")[2].rstrip("]") or row[f"{label}, unit"].value
            told = {"value": tables.shown(row[head]), "unit": unit}
            assert told == point[field]
