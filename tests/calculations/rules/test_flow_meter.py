"""Straight pipe of flow meters: 5 diameters upstream, 2 downstream; common practice, no source."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)

RULE = "sensor.straight-run"
METER = "/sensors/2"


def meter(upstream: str, downstream: str = "3", **other: str):
    return changed(booster(), {
        f"{METER}/straight_upstream_diameters": {"value": upstream, "unit": "1"},
        f"{METER}/straight_downstream_diameters": {"value": downstream, "unit": "1"},
    } | {f"{METER}/{name}": value for name, value in other.items()})  # fmt: skip


@pytest.mark.parametrize(
    ("upstream", "downstream", "expected"),
    [
        ("10", "5", []),
        ("5", "2", []),
        ("4.9", "2", [("note", "upstream")]),
        ("3.0", "2", [("note", "upstream")]),
        ("2.9", "2", [("review", "much_too_short")]),
        ("0", "2", [("review", "much_too_short")]),
        ("5", "1.9", [("note", "downstream")]),
        ("1", "0", [("review", "much_too_short"), ("note", "downstream")]),
    ],
)
def test_straight_pipe_of_an_electromagnetic_meter(upstream, downstream, expected):
    assert sorted(verdicts(meter(upstream, downstream), RULE)) == sorted(expected)


def test_numbers_told():
    (found,) = of_rule(judged(meter("1")), RULE)
    assert {"run": "1", "usual": "5", "sensor": "FT-101"}.items() <= found.parameters.items()
    assert found.limit == "at least 5 diameters"
    assert found.subject == f"{METER}/straight_upstream_diameters"


@pytest.mark.parametrize(
    ("names", "called"), [(("tag",), "S-3303"), (("tag", "serial"), "The flow meter")]
)
def test_a_meter_without_tag_is_called_by_its_serial_number(names, called):
    document = changed(meter("1"), {f"{METER}/serial": "S-3303"})
    document = changed(document, {f"{METER}/{name}": None for name in names})
    (found,) = of_rule(judged(document), RULE)
    assert found.parameters["sensor"] == called


def test_a_limit_can_be_another():
    """A maker that permits 1 diameter."""
    ways = {f"{RULE}.upstream": 1.0, f"{RULE}.upstream-review": 1.0}
    assert of_rule(judged(meter("1"), limits=ways), RULE) == []


@pytest.mark.parametrize("kind", ["ultrasonic", "turbine", "differential_pressure", "mechanical"])
def test_meters_of_other_kinds_are_their_makers(kind):
    assert verdicts(meter("1", meter_kind=kind), RULE) == []
    assert lacking(judged(meter("1", meter_kind=kind)), RULE) == []


@pytest.mark.parametrize("name", ["meter_kind", "straight_upstream_diameters"])
def test_without_kind_or_length_nothing_is_judged(name):
    (missing,) = lacking(judged(without(meter("1"), f"{METER}/{name}")), RULE)
    assert missing.needs == (f"{METER}/{name}",)


def test_what_is_known_of_one_side_is_judged_alone():
    document = without(meter("5", "1"), f"{METER}/straight_upstream_diameters")
    assert verdicts(document, RULE) == [("note", "downstream")]


def test_sensors_of_other_quantities_have_no_straight_pipe():
    document = without(booster(), METER)
    assert verdicts(document, RULE) == lacking(judged(document), RULE) == []
