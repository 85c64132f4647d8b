"""Slips of the pen: units and digits that explain a wrong value."""

import pytest

from calculations.rules import mix_ups
from calculations.rules.closeness import Apart
from calculations.units import Quantity


def of(value: str, unit: str) -> Quantity:
    """A power as entered."""
    return Quantity.of(value, unit, "power", "current")


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    # against 60 hp = 44.74 kW
    [("60", "kW", "hp"), ("44.7", "hp", "kW"), ("50", "kW", None), ("60", "hp", None)],
)
def test_the_other_unit_of_power(value: str, unit: str, expected: str | None) -> None:
    read = mix_ups.other_power_unit(of(value, unit), mix_ups.of(44742.0))
    assert (read.unit if read else None) == expected


def test_metric_and_mechanical_horsepower_are_told_apart() -> None:
    # 30 kW entered for 30 hp_metric = 22.06 kW; 30 hp would be 22.37 kW
    read = mix_ups.other_power_unit(of("30", "kW"), mix_ups.of(22065.0))
    assert read is not None
    assert read.unit == "hp_metric"


@pytest.mark.parametrize(
    ("entered", "right", "expected"),
    [
        ("86.7", 68.7, "68.7"),
        ("67.8", 68.7, "68.7"),
        ("687", 68.7, "68.7"),
        ("0.68", 0.86, "0.86"),
        ("6.87", 68.7, "68.7"),
        ("0.687", 68.7, "68.7"),
        ("6870", 68.7, "68.7"),
        ("10", 1.0, "1"),  # nobody writes 01
        ("50.0", 68.7, None),
    ],
)
def test_digits(entered: str, right: float, expected: str | None) -> None:
    read = mix_ups.other_digits(of(entered, "A"), mix_ups.of(right))
    assert (read.value if read else None) == expected


@pytest.mark.parametrize(
    ("middle", "expected"),
    [
        (("12", "ft"), ("middle", "12", "m")),  # 3.66 m lie below 10 m, 12 m between 10 and 14 m
        (("40", "ft"), None),  # 12.2 m fit, 40 m do not
        (("12", "m"), None),
    ],
)
def test_the_one_unit_among_others(middle, expected) -> None:
    rising = {
        name: Quantity.of(*each, "length")
        for name, each in (("low", ("10", "m")), ("middle", middle), ("high", ("14", "m")))
    }
    found = mix_ups.odd_unit(rising)
    assert (found and (found[0], found[1].value, found[1].unit)) == expected


def test_the_nearest_factor() -> None:
    factors = {"twice": 2.0, "root": 3**0.5}
    assert mix_ups.nearest_factor(Apart(1.72), factors) == "root"
    assert mix_ups.nearest_factor(Apart(1.98), factors) == "twice"
    assert mix_ups.nearest_factor(Apart(1.5), factors) is None
    near = {"less": 1.97, "more": 2.03}
    assert mix_ups.nearest_factor(Apart(2.02), near) == "more"
    assert mix_ups.nearest_factor(Apart(1.98), near) == "less"
