"""A pump set without a drive: said by its null, and no plate of one is there. Logic."""

import pytest

from calculations import without_drive
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from tests.calculations.building import booster, changed, without


@pytest.mark.parametrize(
    ("document", "recorded"),
    [
        (booster(), False),
        (without(booster(), "/drive"), False),  # left out is no answer
        (changed(booster(), {"/pump_set/drive": None}), False),  # and the plate says otherwise
        (without(changed(booster(), {"/pump_set/drive": None}), "/drive"), True),
    ],
)
def test_none_is_recorded_where_it_is_said_and_there_is_no_plate(document, recorded):
    assert without_drive.is_recorded(read(Subject, document)) is recorded
