"""Load of a two-wire loop. Ohm's law: what 24 V less the transmitter's own leave, over the load.

12 V of 24 V drive 20 mA through 600 ohm, 21 mA (NAMUR NE 43) through 571 ohm.
"""

import pytest

from calculations.rules.loop_load import LOAD
from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q

RULE = "sensor.loop-load"
AT = "/sensors/0"


def loop(load: str, minimum: str = "12", **more: object):
    values = {"loop_load": q(load, "ohm"), "supply_voltage_minimum": q(minimum, "V"), **more}
    return changed(booster(), {f"{AT}/{name}": value for name, value in values.items()})


@pytest.mark.parametrize(
    ("load", "minimum", "expected"),
    [
        ("250", "12", []),  # 48 mA
        ("571", "12", []),
        ("572", "12", [("note", "fault")]),
        ("600", "12", [("note", "fault")]),
        ("601", "12", [("review", "short")]),
        ("750", "12", [("review", "short")]),
        ("0", "12", []),
        ("250", "19", [("note", "fault")]),  # 5 V: 20 mA
        ("251", "19", [("review", "short")]),
        ("250", "24", [("review", "short")]),
    ],
)
def test_load(load, minimum, expected):
    assert verdicts(loop(load, minimum), RULE) == expected


@pytest.mark.parametrize(
    ("load", "minimum", "supply", "expected"),
    [
        ("250", "12.0", "24.0", []),
        ("601", "12.0", "24.00", [("review", "short")]),  # 12.05 V over 600.5 ohm: 20.07 mA
        ("620", "12.0", "24.0", [("stop", "short")]),  # 12.1 V over 619.5 ohm: 19.53 mA at best
        ("750", "12.0", "24.0", [("stop", "short")]),
        ("750", "12.0", "28.5", []),  # 16.5 V: 22 mA
        ("750", "12.0", "27.5", [("note", "fault")]),  # 15.5 V: 20.67 mA
        ("800", "12.0", "28.0", [("note", "fault")]),  # 16 V: 20 mA
        ("250", "12.0", "10.0", [("stop", "short")]),  # below what the transmitter needs
    ],
)
def test_a_supply_that_is_recorded(load, minimum, supply, expected):
    document = loop(load, minimum, loop_supply_voltage=q(supply, "V"))
    assert verdicts(document, RULE) == expected


def test_it_is_said_what_the_loop_still_shows():
    """12 V over 750 ohm are 16 mA, 75 % of 200 psi; 12 V / 21 mA are 571 ohm."""
    (finding,) = of_rule(judged(loop("750")), RULE)
    sentence = LOAD.sentence(finding)
    assert "12 V: of the usual supply of 24 V" in sentence  # nobody recorded the supply
    assert "16 mA at most" in sentence
    assert "nothing above 150 psi is seen" in sentence
    assert LOAD.remedy(finding).startswith("Bring the load of the loop to 571 ohm or less")
    (metric,) = of_rule(judged(in_metric(loop("750"))), RULE)
    assert "nothing above 10.3 bar is seen" in LOAD.sentence(metric)


def test_a_supply_that_is_recorded_is_named():
    """10 V over 750 ohm are 13.3 mA."""
    document = loop("750", "12.0", loop_supply_voltage=q("22.0", "V"))
    (finding,) = of_rule(judged(document), RULE)
    assert "12.0 V: of the supply's 22.0 V that leaves 13.3 mA at most" in LOAD.sentence(finding)
    assert LOAD.remedy(finding).endswith("476 ohm or less, or feed it with more than 22.0 V.")
    assert [each.name for each in finding.compared] == ["load", "minimum", "supply", "reach"]


def test_a_loop_that_never_lives():
    """12 V over 4 kohm are 3 mA."""
    (finding,) = of_rule(judged(loop("4000")), RULE)
    assert "there is no signal at all" in LOAD.sentence(finding)


def test_a_loop_without_a_range_is_told_in_percent():
    document = without(loop("750"), f"{AT}/upper_range_value")
    (finding,) = of_rule(judged(document), RULE)
    assert "nothing above 75 % of its range is seen" in LOAD.sentence(finding)


@pytest.mark.parametrize(
    "more", [{"wiring": "four_wire"}, {"wiring": "three_wire"}, {"output": "0-10 V"}]
)
def test_who_is_fed_otherwise_or_sends_no_current_has_no_such_loop(more):
    assert verdicts(loop("750", **more), RULE) == []


@pytest.mark.parametrize("name", ["loop_load", "supply_voltage_minimum"])
def test_one_of_both_alone_is_not_judged(name):
    (missing,) = lacking(judged(without(loop("750"), f"{AT}/{name}")), RULE)
    assert missing.needs == (f"{AT}/{name}",)


def test_who_states_neither_is_not_asked():
    assert lacking(judged(booster()), RULE) == []


def test_a_loop_without_resistance_is_not_judged():
    document = loop("0")
    assert verdicts(document, RULE) == lacking(judged(document), RULE) == []
