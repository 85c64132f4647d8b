"""Density and vapour pressure that a site states, against those of water.

Clean water at 60 degF (15.56 degC) has 999.0 kg/m3 (62.37 lb/ft3), steam tables. At 75 degF
(23.89 degC), the warmest of the booster's site, its vapour pressure is 2.966 kPa (IAPWS R7-97).
Limits of 5 %, 1 kPa and 5 kPa: common practice, no source.
"""

import pytest

from calculations.findings import Finding
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
)
from tests.calculations.building_plates import Document, q

DENSITY, VAPOUR = "site.liquid-density", "site.liquid-vapour-pressure"


def stating(**values: object) -> Document:
    """The booster's site with a density or a vapour pressure, of 60 degF on the day."""
    site = {f"/site/{name}": value for name, value in values.items()}
    return changed(booster(), {"/event/liquid_temperature": q("60", "degF"), **site})


def of_density(value: str, unit: str = "kg/m3") -> Document:
    return stating(liquid_density=q(value, unit))


def of_vapour(value: str, unit: str = "kPa") -> Document:
    return stating(liquid_vapour_pressure_absolute=q(value, unit))


def the_one(document: Document, rule: str) -> Finding:
    (found,) = of_rule(judged(document), rule)
    return found


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [
        ("999", "kg/m3", False),
        ("0.999", "kg/L", False),
        ("62.4", "lb/ft3", False),
        ("1025.0", "kg/m3", False),  # sea water
        ("1048.9", "kg/m3", False),  # 5 % over 999.0 are 1048.95, half of a last digit more 1049.0
        ("1049.1", "kg/m3", True),
        ("1060.0", "kg/m3", True),
        ("948.9", "kg/m3", True),  # 5 % under 999.0 are 949.05
        ("949.1", "kg/m3", False),
    ],
)
def test_density_of_what_is_called_water(value: str, unit: str, told: bool) -> None:
    assert verdicts(of_density(value, unit), DENSITY) == [("review", "unlike")] * told


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        ("3.0", "kPa", []),
        ("0.43", "psi", []),
        ("3.96", "kPa", []),  # 0.99 kPa over 2.966
        ("3.98", "kPa", [("note", "unlike")]),  # 1.009 kPa over with half of a last digit less
        ("7.96", "kPa", [("note", "unlike")]),
        ("7.98", "kPa", [("review", "unlike")]),  # 5.009 kPa over
        ("0", "kPa", [("note", "unlike")]),
        ("101.3", "kPa", [("review", "unlike")]),  # it boils at that, at another temperature
        ("2.97", "psi", [("review", "unit")]),  # 20.5 kPa
        ("29.7", "kPa", [("review", "unit")]),  # 29.7 mbar
    ],
)
def test_vapour_pressure_of_what_is_called_water(
    value: str, unit: str, expected: list[tuple[str, str]]
) -> None:
    assert verdicts(of_vapour(value, unit), VAPOUR) == expected


@pytest.mark.parametrize(("value", "unit", "meant"), [("2.97", "psi", "2.97 kPa"),
                                                      ("29.7", "kPa", "29.7 mbar")])  # fmt: skip
def test_the_unit_that_was_meant_is_named(value: str, unit: str, meant: str) -> None:
    assert the_one(of_vapour(value, unit), VAPOUR).parameters["meant"] == meant


def test_another_liquid_is_not_held_against_water() -> None:
    other = {"/site/liquid_kind": "other"}
    for document in (of_density("1113"), of_vapour("9.0")):
        told = judged(changed(document, other))
        assert not of_rule(told, DENSITY)
        assert not of_rule(told, VAPOUR)


def test_an_unknown_kind_is_asked_for() -> None:
    (lack,) = lacking(judged(changed(of_density("1113"), {"/site/liquid_kind": None})), DENSITY)
    assert lack.needs == ("/site/liquid_kind",)


def test_of_an_unknown_kind_nothing_is_judged_by_what_no_water_has() -> None:
    """1113 kg/m3 rest on the kind of liquid; 999 kg/m3 are water's whatever is said."""
    told = judged(changed(of_density("1113"), {"/site/liquid_kind": None}))
    assert not of_rule(told, "curve.point")
    assert {each.needs for each in lacking(told, "curve.point")} == {("/site/liquid_kind",)}
    like_water = judged(changed(of_density("999"), {"/site/liquid_kind": None}))
    assert lacking(like_water, "curve.point") == []


def test_what_rests_on_it_waits() -> None:
    """1113 kg/m3 in a main of drinking water: the liquid or the density is wrong."""
    told = judged(of_density("1113"))
    assert [(each.rule, each.severity) for each in told.findings] == [(DENSITY, "review")]
    assert {each.waits_for for each in lacking(told, "curve.point")} == {DENSITY}
    told = judged(of_vapour("29.7"))
    assert {each.waits_for for each in lacking(told, "npsh.margin")} == {VAPOUR}


def test_accepted_it_is_judged_by() -> None:
    told = judged(of_density("1060"), accepted=[(DENSITY, "/site/liquid_density")])
    assert not any(each.waits_for == DENSITY for each in told.not_evaluated)


def test_vapour_pressure_without_the_highest_temperature_is_not_passed() -> None:
    document = changed(of_vapour("3.0"), {"/site/liquid_temperature_max": None})
    (lack,) = lacking(judged(document), VAPOUR)
    assert lack.needs == ("/site/liquid_temperature_max",)
