"""The template as an office uses it: its example, with the mark taken away, is a station."""

import io

import openpyxl
import pytest

from tests.records.pages.entrance.walking import Walker
from tests.records.pages.importing import checked, items, written


@pytest.fixture
def office(api, cast):
    return Walker.of(cast.orla)


def taken_as_it_is(content, client):
    """The workbook with its example no longer marked as one, for a client of the book."""
    book = openpyxl.load_workbook(io.BytesIO(content))
    for page in book.worksheets[:-1]:
        page["A2"] = "ours"
    book["Stations"]["B2"] = client
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


@pytest.mark.parametrize(
    ("units", "power", "conductor", "hertz"),
    [
        ("si", {"value": "11", "unit": "kW"}, {"value": "6", "unit": "mm2"}, "50"),
        ("us", {"value": "15", "unit": "hp"}, "10 AWG", "60"),
    ],
)
def test_its_example_comes_in_without_a_word(office, orla, units, power, conductor, hertz):
    blank = office.client.get(f"/import/template/{units}.xlsx")
    content = taken_as_it_is(blank.content, "Tresk Water District")
    preview = checked(office, content)
    assert "7 to be added" in preview.words
    assert "refused" not in preview.headings[0][1]
    written(office, preview)
    [motor] = [each for each in items(orla, "motors") if each["tag"] == "M-1"]
    [drive] = [each for each in items(orla, "drives") if each["tag"] == "D-1"]
    assert motor["ratings"][0]["power"] == power
    assert motor["ratings"][0]["frequency"]["value"] == hertz
    assert drive["motor_cable_conductor"] == conductor
