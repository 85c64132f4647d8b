"""Refusals: each names its argument, and lets the ends of a range through."""

from math import inf, nan

import pytest

from calculations import guards
from calculations.errors import CalculationError, InvalidInput


@pytest.mark.parametrize("value", [nan, inf, -inf])
@pytest.mark.parametrize("guard", [guards.finite, guards.positive, guards.not_negative])
def test_what_is_not_finite_is_refused(guard, value):
    with pytest.raises(InvalidInput, match="flow: expected") as raised:
        guard(head=1.0, flow=value)
    assert raised.value.argument == "flow"


def test_zero_is_not_positive_but_not_negative():
    guards.not_negative(flow=0.0)
    with pytest.raises(InvalidInput, match="flow: expected a number above zero, got 0"):
        guards.positive(flow=0.0)
    with pytest.raises(InvalidInput, match="flow: expected zero or more, got -1"):
        guards.not_negative(flow=-1.0)


def test_finite_lets_negative_numbers_through():
    with pytest.raises(InvalidInput, match="elevation: expected zero or more, got -430"):
        guards.not_negative(elevation=-430.0)
    guards.finite(elevation=-430.0)


def test_a_range_contains_its_ends():
    guards.within(lowest=1, highest=2, unit="m", head=1)
    guards.within(lowest=1, highest=2, unit="m", head=2)
    with pytest.raises(InvalidInput, match="head: expected 1 to 2 m, got 2"):
        guards.within(lowest=1, highest=2, unit="m", head=2.1)
    with pytest.raises(InvalidInput, match="head: expected 1 to 2, got nan"):
        guards.within(lowest=1, highest=2, unit="", head=nan)


def test_a_refusal_is_a_value_error_under_the_package_root():
    assert issubclass(InvalidInput, CalculationError)
    assert issubclass(InvalidInput, ValueError)


@pytest.mark.parametrize(
    ("guard", "series", "expected"),
    [
        (guards.all_finite, [1.0, nan], "a finite number, got nan"),
        (guards.all_finite, [-inf], "a finite number, got -inf"),
        (guards.all_not_negative, [0.0, -1.0], "zero or more, got -1.0"),
        (guards.all_not_negative, [2.0, inf], "zero or more, got inf"),
        (guards.all_not_negative, [nan], "zero or more, got nan"),
    ],
)
def test_a_series_is_looked_at_to_its_end(guard, series, expected):
    with pytest.raises(InvalidInput, match=f"flow: expected {expected}") as raised:
        guard(head=[0.0, 1.0], flow=series)
    assert raised.value.argument == "flow"
    guard(head=[0.0, 1.0], flow=[])
