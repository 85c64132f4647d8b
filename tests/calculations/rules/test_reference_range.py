"""What was applied against the range of the reference: the booster's calibrator reads 300 psi.

Beyond its range nothing is stated of an instrument: logic.
"""

import pytest

from tests.calculations.building import booster, changed, verdicts
from tests.calculations.building_plates import q


@pytest.mark.parametrize(
    ("top", "expected"),
    # "200" psi were applied, 199.5 at the least; a range to "199" may reach 199.5.
    [("200", []), ("199", []), ("198", [("review", "beyond")]), ("100", [("review", "beyond")])],
)
def test_more_was_applied_than_the_reference_reads(top, expected):
    changes = {"/instruments/0/range_high": q(top, "psi"),
               "/instruments/0/percent_of_range": q("0.01", "%")}  # fmt: skip
    assert verdicts(changed(booster(), changes), "sensor.reference-uncertainty") == expected


def test_a_tape_is_as_long_as_it_is():
    """Nobody reads 115 ft off a tape of 30 m: where it was read in two parts, it is right."""
    changes = {"/instruments/0/range_high": q("100", "psi"), "/instruments/0/kind": "tape"}
    assert verdicts(changed(booster(), changes), "sensor.reference-uncertainty") == []


def test_the_range_of_another_quantity_says_nothing():
    """What a loop calibrator reads are milliamperes."""
    changes = {"/instruments/0/range_low": q("0", "mA"),
               "/instruments/0/range_high": q("24", "mA")}  # fmt: skip
    assert verdicts(changed(booster(), changes), "sensor.reference-uncertainty") == []
