"""Ranges below a perfect vacuum: 1.01325 bar, 14.70 psi, 29.92 inHg below the air (ISO 2533)."""

import pytest

from calculations.rules.vacuum import VACUUM
from tests.calculations.building import booster, changed, judged, of_rule, verdicts
from tests.calculations.building_plates import q

RULE = "sensor.vacuum"


def gauge(value: str, unit: str, **more: object):
    """The first instrument, a calibrator, with a range that begins elsewhere."""
    values = {"range_low": q(value, unit), "kind": "pressure_gauge", **more}
    return changed(booster(), {f"/instruments/0/{name}": each for name, each in values.items()})


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        ("0", "psi", []),
        ("-30", "inHg", []),  # as compound gauges are marked
        ("-15", "psi", []),
        ("-1", "bar", []),
        ("-100", "kPa", []),
        ("-15.4", "psi", []),  # 5 % more than 14.70 psi are 15.43 psi
        ("-15.5", "psi", [("review", "plain")]),
        ("-30", "psi", [("review", "unit")]),
        ("-3", "bar", [("review", "plain")]),
    ],
)
def test_a_gauge(value, unit, expected):
    assert verdicts(gauge(value, unit), RULE) == expected


def test_the_unit_that_was_meant_is_said():
    (finding,) = of_rule(judged(gauge("-30", "psi")), RULE)
    assert VACUUM.sentence(finding).endswith("(-14.7 psi): probably -30 inHg is meant.")


def test_other_instruments_may_begin_anywhere():
    assert verdicts(gauge("-30", "psi", kind="other"), RULE) == []


@pytest.mark.parametrize(
    ("low", "more", "expected"),
    [
        ("-15", {}, []),
        ("-20", {}, [("review", "plain")]),
        ("-20", {"quantity": "differential_pressure"}, []),
        ("-0.5", {"reference": "absolute"}, []),
        ("-5", {"reference": "absolute"}, [("review", "plain")]),
    ],
)
def test_a_sensor(low, more, expected):
    values = {"lower_range_value": q(low, "psi"), **more}
    document = changed(booster(), {f"/sensors/1/{name}": each for name, each in values.items()})
    assert verdicts(document, RULE) == expected


def test_the_gauge_or_sensor_is_named():
    (found,) = of_rule(judged(gauge("-30", "psi")), RULE)
    assert found.parameters["thing"] == "I-1"
    sensor = {"/sensors/1/lower_range_value": q("-20", "psi")}
    (found,) = of_rule(judged(changed(booster(), sensor)), RULE)
    assert found.parameters["thing"] == "PT-100"
