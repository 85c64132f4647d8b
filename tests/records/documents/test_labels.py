"""Words for fields, places and ids."""

import pytest

from calculations.inputs.subject import Subject
from records.documents import labels
from records.documents.shown import models, order


@pytest.mark.parametrize(
    ("pointer", "words"),
    [
        ("/event/duty_points/1", "duty point 2 (normal)"),
        ("/event/duty_points/1/flow", "duty point 2 (normal), flow"),
        ("/event/settings/as_left/set_point", "settings as left, set point"),
        ("/sensors/0", "sensor PT-101"),
        ("/motor/ratings/1/current", "motor, rating 2, current"),
        ("/event/vessel_checks/0", "vessel check 1"),
        ("/pump/npsh_required", "pump, NPSH required"),
        ("/event/supply/dc_bus_voltage", "supply, d.c. bus voltage"),
        ("/event", "event"),
        ("", ""),
    ],
)
def test_a_place_in_words(pointer: str, words: str) -> None:
    names = {"/event/duty_points/1": "2 (normal)", "/sensors/0": "PT-101"}
    assert labels.place(pointer, names) == words


@pytest.mark.parametrize(
    ("identity", "words"),
    [
        ("motor.rated-torque", "Motor: rated torque"),
        ("duty.wire-to-water-efficiency", "Duty: wire-to-water efficiency"),
        ("npsh.available", "NPSH: available"),
    ],
)
def test_an_id_in_words(identity: str, words: str) -> None:
    assert labels.dotted(identity) == words


def test_every_field_has_a_label_of_its_own_within_its_document() -> None:
    at_places = ("voltages_drive_", "currents_drive_", "power_drive_")  # under heads of their own
    for model in models(Subject):
        names = [name for name in order(model) if not name.startswith(at_places)]
        found = [labels.label(name) for name in names]
        assert len(set(found)) == len(found), model.__name__
        assert not [label for label in found if "_" in label or not label[0].isupper()]


@pytest.mark.parametrize(
    ("said", "printed"),
    [
        (
            "delivers 20.74 m3/h, 54.5 % of (38.03 m3/h);",
            "delivers 20.74\u00a0m³/h, 54.5\u00a0% of (38.03\u00a0m³/h);",
        ),
        ("0.26 kWh/m3 at 70 degC.", "0.26\u00a0kWh/m³ at 70\u00a0°C."),
        ("3 in 10, 45.98 Hz.", "3\u00a0in 10, 45.98\u00a0Hz."),
        ("file 7 m3/h.csv, 2 1 of, 5 mohm/m, m3/h", "file 7 m3/h.csv, 2 1 of, 5 mohm/m, m3/h"),
    ],
)
def test_units_in_what_a_rule_says_are_printed_beside_their_digits_like_those_of_values(
    said, printed
):
    assert labels.with_units(said) == printed
