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
