"""Continuity of the protective earth: 0.5 ohm by acceptance-testing practice."""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, q, verdicts, without

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
    found = verdicts(changed(booster(), {f"{TEST}/resistance": q(ohms, "ohm")}), RULE)
    assert [each for each, _ in found] == severity


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
