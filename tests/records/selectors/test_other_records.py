"""Which record a comparison begins from, where pieces were exchanged or trimmed since the first."""

import pytest

from calculations.beside import Sealed
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from records.selectors.other_records import Standing, anew
from tests.calculations.building import booster, changed
from tests.calculations.building_plates import q

DIAMETER = "/pump/impeller_diameter"
WHOLE, LESS = {DIAMETER: q("11.00", "in")}, {DIAMETER: q("10.40", "in")}
OTHER_DRIVE = {"/drive/serial": "V77-9999"}


def standing(number, changes):
    """A record of that number, of pieces with these changes."""
    return Standing({"number": number}, Sealed(read(Subject, changed(booster(), changes)), number))


@pytest.mark.parametrize(
    ("records", "now", "begins"),
    [
        ([WHOLE, WHOLE], WHOLE, {}),
        ([WHOLE], LESS, {}),  # today is the first of it
        ([WHOLE, LESS, LESS], LESS,
         {"head": 2, "efficiency_drive_input": 2, "efficiency_drive_output": 2, "vibration": 2}),
        ([{}, OTHER_DRIVE], OTHER_DRIVE, {"efficiency_drive_input": 2}),
        # A loan came between, and what was there before came back: that begins anew as well.
        ([WHOLE, LESS, {"/pump/serial": "LOAN"} | LESS, LESS], LESS,
         {"head": 4, "efficiency_drive_input": 4, "efficiency_drive_output": 4, "vibration": 4}),
    ],
)  # fmt: skip
def test_the_first_record_of_the_same_pieces(records, now, begins):
    before = [standing(number, each) for number, each in enumerate(records, start=1)]
    found = anew(before[0], changed(booster(), now), lambda: before)
    assert {kind: each.told["number"] for kind, each in found.items()} == begins


def test_records_are_not_read_while_the_first_one_is_of_the_same_pieces():
    def unread():
        raise AssertionError("nothing is to be read")

    assert anew(standing(1, WHOLE), changed(booster(), WHOLE), unread) == {}
    assert anew(None, booster(), unread) == {}
