"""Comparing two entered values: what rounding explains is no difference."""

import pytest

from calculations.rules.closeness import Apart, apart, apart_from, rounding, signed_percent
from calculations.units import Quantity


def of(value: str, unit: str, kind: str) -> Quantity:
    """A quantity as entered."""
    return Quantity.of(value, unit, kind)


@pytest.mark.parametrize(
    ("value", "unit", "kind", "share"),
    [
        ("2.1", "A", "current", 0.05 / 2.1),
        ("57.60", "A", "current", 0.005 / 57.6),
        ("1770", "rpm", "speed", 0.5 / 1770),
        ("60", "Hz", "frequency", 0.0),  # a rated frequency is exact
        ("1", "hp", "power", 0.01),  # a standard size, not 0.5 to 1.5 hp
        ("37.0", "kW", "power", 0.05 / 37),
        ("0", "A", "current", float("inf")),
    ],
)
def test_half_of_the_last_digit(value: str, unit: str, kind: str, share: float) -> None:
    assert rounding(of(value, unit, kind)) == pytest.approx(share)


def test_2_1_against_2_15_ampere_is_no_difference() -> None:
    found = apart(of("2.1", "A", "current"), of("2.15", "A", "current"))
    assert found.deviation == pytest.approx(-0.0233, abs=1e-4)
    assert not found.beyond(0.0)


def test_both_sides_of_a_limit() -> None:
    # 110.0 against 100.0: 10 %, of which rounding may be 0.055 + 0.050 points
    found = apart(of("110.0", "A", "current"), of("100.0", "A", "current"))
    assert found.over(0.098)
    assert not found.over(0.0995)
    assert not found.under(0.0)


def test_a_reference_of_zero_decides_nothing() -> None:
    assert not apart_from(of("5", "A", "current"), 0.0).beyond(0.0)
    assert apart_from(of("0", "A", "current"), 5.0).under(0.5)


def test_near_a_factor() -> None:
    assert Apart(1.74).near(3**0.5, 0.03)
    assert not Apart(1.60).near(3**0.5, 0.03)


def test_near_a_factor_rounding_counts_as_a_share_of_it() -> None:
    """2.15 and 2.17 beside 2 with 0.1 of rounding: 7.5 % and 8.5 %, of 3 % and 5 %."""
    assert Apart(2.15, 0.1).near(2, 0.03)
    assert not Apart(2.17, 0.1).near(2, 0.03)
    assert Apart(1.85, 0.1).near(2, 0.03)
    assert not Apart(1.83, 0.1).near(2, 0.03)
    assert Apart(2.06).near(2, 0.03)  # at the limit itself


def test_percent_with_its_sign() -> None:
    assert [signed_percent(each) for each in (0.341, -0.25, 0.0)] == ["+34.1 %", "-25 %", "0 %"]
