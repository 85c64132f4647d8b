"""The liquid's temperature on the day against 45 to 75 degF of the booster's site.

2 K and 10 K: common practice, no source. 2 K are 3.6 degF, 10 K are 18 degF.
"""

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
from tests.calculations.building_plates import Document, q

RULE = "site.liquid-temperature"


def read(value: str, unit: str) -> Document:
    return changed(booster(), {"/event/liquid_temperature": q(value, unit)})


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        ("60", "degF", []),
        ("45", "degF", []),
        ("78.5", "degF", []),  # 3.5 degF over
        ("78.8", "degF", [("note", "outside")]),  # 3.8 degF over, less half of a last digit
        ("92.9", "degF", [("note", "outside")]),
        ("93.0", "degF", [("note", "outside")]),  # 18.0 degF: no half of a last digit more
        ("93.2", "degF", [("review", "outside")]),  # 18.2 degF over
        ("54", "degC", [("review", "unit")]),
        ("60", "degC", [("review", "unit")]),
        ("90", "degC", [("review", "outside")]),  # 90 degF is not of this site either
    ],
)
def test_against_the_sites_range(value: str, unit: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(read(value, unit), RULE) == expected


def test_the_other_way_round() -> None:
    """12 degF at a site of 5 to 25 degC."""
    site = {
        "/site/liquid_temperature_min": q("5", "degC"),
        "/site/liquid_temperature_max": q("25", "degC"),
    }
    (finding,) = of_rule(judged(changed(read("24", "degF"), site)), RULE)
    assert (finding.severity, finding.parameters["meant"]) == ("review", "24 degC")


def test_suction_head_waits_for_it() -> None:
    waiting = lacking(judged(read("54", "degC")), "npsh.margin")
    assert {each.waits_for for each in waiting} == {RULE}


def test_without_a_range_it_is_not_passed() -> None:
    (missing,) = lacking(judged(without(booster(), "/site/liquid_temperature_max")), RULE)
    assert missing.needs == ("/site/liquid_temperature_max",)
