"""Water past an immersed motor: 100 gpm past 5.6 in in a casing of 10 in."""

import pytest

from calculations.aspects import cooling
from calculations.errors import InvalidInput
from tests.calculations.building import case, changed
from tests.calculations.building_plates import q
from tests.calculations.stations import well


def test_velocity_in_the_casing():
    """0.0063090 m3/s over pi / 4 (0.254^2 - 0.14224^2) = 0.034780 m2, or 0.050671 m2 alone."""
    found = case(well())
    assert cooling.slowest_velocity(found) == pytest.approx(0.1814, abs=1e-4)
    assert cooling.velocity(found, 2 * 0.0063090) == pytest.approx(0.3628, abs=1e-4)
    assert cooling.velocity_in_empty_casing(found) == pytest.approx(0.1245, abs=1e-4)


def test_what_one_percent_of_both_diameters_leaves_open():
    """2 x 1 % of (100^2 + 31.36^2)^0.5 / (100 - 31.36), squares of inches."""
    assert cooling.area_uncertainty(case(well()), 0.01) == pytest.approx(0.030536, abs=1e-5)


def test_a_motor_as_wide_as_its_casing():
    wide = case(changed(well(), {"/motor/outside_diameter": q("10", "in")}))
    with pytest.raises(InvalidInput, match="less than the casing"):
        cooling.slowest_velocity(wide)


@pytest.mark.parametrize(
    ("changes", "in_well", "in_wet_well"),
    [
        ({}, True, False),
        ({"/site/cooling_shroud": True}, False, False),
        ({"/motor/cooling": "jacket"}, False, False),
        ({"/site/suction_kind": "wet_well"}, False, True),
        ({"/site/suction_kind": "wet_well", "/motor/cooling": "jacket"}, False, False),
        ({"/site/suction_kind": "wet_well", "/site/cooling_shroud": True}, False, True),
    ],
)
def test_where_an_immersed_motor_is(changes, in_well, in_wet_well):
    found = case(changed(well(), changes))
    assert (cooling.is_in_a_well(found), cooling.is_in_a_wet_well(found)) == (in_well, in_wet_well)


@pytest.mark.parametrize("place", ["well", "wet_well"])
def test_a_dry_motor_is_in_none(place):
    dry = {"/motor/immersed": False, "/pump/type": "vertical_turbine", "/site/suction_kind": place}
    found = case(changed(well(), dry))
    assert (cooling.is_in_a_well(found), cooling.is_in_a_wet_well(found)) == (False, False)
