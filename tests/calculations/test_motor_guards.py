"""Refusals of what no motor has."""

import pytest

from calculations import motor_guards
from calculations.errors import InvalidInput


@pytest.mark.parametrize("count", [-2, 0, 1, 3, 7])
def test_poles_come_in_pairs(count):
    with pytest.raises(InvalidInput, match="expected an even whole number of at least 2"):
        motor_guards.poles(count)


@pytest.mark.parametrize("count", [2, 4, 24])
def test_pairs_of_poles_are_taken(count):
    assert motor_guards.poles(count) is None


@pytest.mark.parametrize("value", [0.0, -0.1, 1.001, 95.0])
def test_a_ratio_is_no_percent(value):
    with pytest.raises(InvalidInput) as raised:
        motor_guards.fraction(load=1.0, efficiency=value)
    assert raised.value.argument == "efficiency"
