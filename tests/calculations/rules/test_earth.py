"""Continuity of the protective earth: 0.5 ohm by acceptance-testing practice; copper by hand."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)

TEST = "/event/earth_tests/0"
RULE = "earth.continuity"


@pytest.mark.parametrize(
    ("ohms", "severity"),
    [
        ("0.05", []),
        ("0.50", []),
        ("0.51", ["review"]),
        ("1.00", ["review"]),
        ("1.01", ["stop"]),
        ("25", ["stop"]),
    ],
)
def test_boundaries(ohms: str, severity: list[str]) -> None:
    unknown_cable = without(booster(), "/drive/motor_cable_length")
    found = verdicts(changed(unknown_cable, {f"{TEST}/resistance": q(ohms, "ohm")}), RULE)
    assert [each for each, _ in found] == severity


@pytest.mark.parametrize(
    ("length", "conductor", "ohms", "expected"),
    [
        # 120 m x 17.241 ohm.mm2/km / 1.5 mm2 = 1.379 ohm; 25 % and 0.1 ohm more: 1.824 ohm
        ("120", "1.5", "1.48", [("note", "cable")]),
        ("120", "1.5", "1.82", [("note", "cable")]),
        ("120", "1.5", "1.84", [("review", "beyond")]),
        # 1.724 + 1 = 2.724 ohm
        ("120", "1.5", "2.72", [("review", "beyond")]),
        ("120", "1.5", "2.74", [("stop", "beyond")]),
        # 20 m of 10 mm2 are 0.034 ohm, and explain nothing
        ("20", "10", "0.51", [("review", "high")]),
        ("20", "10", "1.06", [("stop", "high")]),
    ],
)
def test_copper_of_the_motors_cable(
    length: str, conductor: str, ohms: str, expected: list[tuple[str, str]]
) -> None:
    values = {"/drive/motor_cable_length": q(length, "m"), f"{TEST}/resistance": q(ohms, "ohm"),
              "/drive/motor_cable_conductor": q(conductor, "mm2")}  # fmt: skip
    assert verdicts(changed(booster(), values), RULE) == expected


def test_two_conductors_in_parallel_have_half_of_it() -> None:
    # 120 m of 2 x 1.5 mm2: 0.690 ohm; 0.862 + 0.1 = 0.962 ohm
    values = {
        "/drive/motor_cable_length": q("120", "m"),
        "/drive/motor_cable_conductor": q("1.5", "mm2"),
        "/drive/motor_cable_conductors_in_parallel": 2,
    }
    for ohms, expected in (("0.96", [("note", "cable")]), ("0.97", [("review", "beyond")])):
        document = changed(booster(), values | {f"{TEST}/resistance": q(ohms, "ohm")})
        assert verdicts(document, RULE) == expected


def test_the_cable_is_told() -> None:
    values = {
        "/drive/motor_cable_length": q("120", "m"),
        "/drive/motor_cable_conductor": q("1.5", "mm2"),
        "/drive/motor_cable_conductors_in_parallel": 1,
        f"{TEST}/resistance": q("1.48", "ohm"),
    }
    (found,) = of_rule(judged(changed(booster(), values)), RULE)
    told = {each.name: str(each.shown) for each in found.compared}
    assert told == {
        "resistance": "1.48 ohm", "length": "120 m", "conductor": "1.5 mm2", "copper": "1.38 ohm"
    }  # fmt: skip


def test_an_open_earth_must_not_stay() -> None:
    document = without(changed(booster(), {f"{TEST}/open_circuit": True}), f"{TEST}/resistance")
    assert verdicts(document, RULE) == [("stop", "open")]


def test_missing_tests_and_readings_are_named() -> None:
    (missing,) = lacking(judged(without(booster(), f"{TEST}/resistance")), RULE)
    assert missing.needs == (f"{TEST}/resistance",)
    (missing,) = lacking(judged(without(booster(), "/event/earth_tests")), RULE)
    assert missing.needs == ("/event/earth_tests",)


def test_a_change_of_settings_needs_no_earth_test() -> None:
    document = changed(without(booster(), "/event/earth_tests"), {"/event/kind": "settings_change"})
    assert lacking(judged(document), RULE) == []
