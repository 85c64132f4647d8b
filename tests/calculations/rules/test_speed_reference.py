"""Frequencies at the ends of an outside controller's signal: common practice, no source."""

import pytest

from tests.calculations.building import booster, changed, verdicts
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

RULE = "loop.speed-reference"


@pytest.mark.parametrize(
    ("lower", "upper", "expected"),
    [
        ("0", "60", []),
        ("35", "60", []),
        ("60", "0", [("review", "inverted")]),
        ("60", "59", [("review", "inverted")]),
        ("60", "60", [("review", "one_speed")]),
        (None, "60", []),
        ("0", None, []),
    ],
)
def test_more_signal_is_more_speed(lower, upper, expected):
    ends = {
        "frequency_at_lower_reference": lower and q(lower, "Hz"),
        "frequency_at_upper_reference": upper and q(upper, "Hz"),
    }
    outside = left(regulation="speed_from_external_controller", **ends)
    assert verdicts(changed(booster(), outside), RULE) == expected
    assert verdicts(changed(booster(), left(**ends)), RULE) == []  # a loop of its own
