"""Computed values as they are shown."""

import pytest

from calculations.errors import Beyond
from calculations.findings import digits


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (0, "0"),
        (-0.0, "0"),
        (57.6, "57.6"),
        (57.604, "57.6"),
        (1770, "1770"),
        # Never in exponent form, and nothing lost before the point.
        (123456, "123500"),
        (100000, "100000"),
        (-2500000, "-2500000"),
        (0.00001234, "0.00001234"),
        (0.000010, "0.00001"),
    ],
)
def test_four_digits_without_an_exponent(value, shown):
    assert digits(value) == shown


@pytest.mark.parametrize(("significant", "shown"), [(2, "58"), (3, "57.6"), (6, "57.6042")])
def test_as_many_digits_as_asked(significant, shown):
    assert digits(57.60421, significant) == shown


@pytest.mark.parametrize("value", [float("inf"), float("-inf"), float("nan")])
def test_what_is_not_finite_is_never_shown(value):
    with pytest.raises(Beyond):
        digits(value)
