"""Whether what a comparison rests on is still the same."""

import pytest

from calculations.aspects import pieces
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from tests.calculations.building import booster, changed
from tests.calculations.building_plates import q

DIAMETER = "/pump/impeller_diameter"


def changed_by(kind, before, now):
    """What is another one, read of typed pieces and of documents alike."""
    documents = [changed(booster(), each) for each in (before, now)]
    typed = pieces.changed(kind, *(pieces.of_subject(read(Subject, each)) for each in documents))
    assert pieces.changed(kind, *map(pieces.of_document, documents)) == typed
    return typed


@pytest.mark.parametrize(
    ("before", "now", "told"),
    [
        ("A", "A", None),
        ("A", "B", "the pump is another one"),
        (None, "B", None),
        ("A", None, None),
    ],
)
def test_serial_numbers_tell(before, now, told):
    assert changed_by("head", {"/pump/serial": before}, {"/pump/serial": now}) == told


@pytest.mark.parametrize(
    ("before", "now", "told"),
    [
        (q("210", "mm"), q("198", "mm"), "the impeller has another diameter"),
        (q("210", "mm"), q("8.268", "in"), None),
        (None, q("198", "mm"), None),
    ],
)
def test_an_impellers_diameter_tells(before, now, told):
    assert changed_by("head", {DIAMETER: before}, {DIAMETER: now}) == told
    assert changed_by("insulation", {DIAMETER: before}, {DIAMETER: now}) is None


@pytest.mark.parametrize(
    ("kind", "others"),
    [
        ("head", {"pump"}),
        ("efficiency_drive_input", {"pump", "motor", "drive"}),
        ("efficiency_drive_output", {"pump", "motor"}),
        ("insulation", {"motor"}),
        ("winding", {"motor"}),
        ("vibration", {"pump", "motor"}),
    ],
)
def test_what_each_comparison_rests_on(kind, others):
    new = {
        piece for piece in ("pump", "motor", "drive")
        if changed_by(kind, {}, {f"/{piece}/serial": "X-1"})
    }  # fmt: skip
    assert new == others


@pytest.mark.parametrize(
    ("before", "now", "told"),
    [
        # The visit before was on 2026-03-14.
        (None, "2026-05-02", "the motor was rewound"),
        ("2019-05-01", "2026-05-02", "the motor was rewound"),
        (None, "2026-03-14", "the motor was rewound"),  # perhaps after the test of that day
        (None, "2026-03-13", None),  # entered after the visit, which read that winding
        ("2019-05-01", "2026-03-02", None),
        ("2026-05-02", "2026-05-02", None),
        ("2026-05-02", None, None),
    ],
)
def test_a_new_winding_is_compared_with_none_before(before, now, told):
    """A winding is copper and insulation; the pump's efficiency hardly tells (common practice)."""
    days = [{"/motor/rewound_on": each} for each in (before, now)]
    assert [changed_by(kind, *days) for kind in ("winding", "insulation")] == [told, told]
    assert changed_by("efficiency_drive_output", *days) is None


def test_a_winding_is_another_one_where_nothing_tells_the_day_of_the_visit_before():
    documents = [
        changed(booster(), {"/event": None}),
        changed(booster(), {"/motor/rewound_on": "2001-05-02"}),
    ]
    told = pieces.changed("winding", *map(pieces.of_document, documents))
    assert told == "the motor was rewound"


NO_DRIVE = {"/drive": None, "/pump_set/drive": None}
UNKNOWN = {"/drive/serial": None, "/drive/id": None}


@pytest.mark.parametrize(
    ("before", "now", "told"),
    [
        (NO_DRIVE, {}, "the drive is another one"),
        ({}, NO_DRIVE, "the drive is another one"),
        (NO_DRIVE, UNKNOWN, "the drive is another one"),
        (NO_DRIVE, NO_DRIVE, None),
        ({"/drive": None}, {}, None),  # nothing says that there was none
        (UNKNOWN, {}, None),
    ],
)
def test_a_set_that_was_once_across_the_line_has_another_drive(before, now, told):
    assert changed_by("efficiency_drive_input", before, now) == told
    assert changed_by("head", before, now) is None
