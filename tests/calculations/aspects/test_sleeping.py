"""What sleep frequency to propose.

The booster holds 128.0 ft at the lowest suction from 41.98 Hz on, and 121.1 ft at the highest. 42.5
Hz and 43.0 Hz are 71.0 and 71.9 % of 1770 rpm: 131.2 and 134.3 ft at no flow, less 95 ft of
(Q / 1000 gpm)^2, so 180 and 260 gpm at the lowest suction, 325 and 370 gpm at the highest, all to
within the fit of the curve.
"""

import pytest

from calculations.aspects import sleeping
from tests.calculations.building import case, changed
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, sleeping_booster

DESIGN, BEST = "/site/system_design_flow", "/pump/best_efficiency_flow"


@pytest.mark.parametrize(
    ("changes", "frequency", "fits"),
    [
        # 1.0 Hz of room, 0.5 Hz at the least: common practice, no source.
        ({}, 43.0, True),
        (left(minimum_frequency=q("50", "Hz")), 50.0, False),
        # Less than the pump's share of the design flow has to flow there.
        ({DESIGN: q("300", "gpm")}, 43.0, True),
        ({DESIGN: q("230", "gpm")}, 42.5, True),
        ({DESIGN: q("150", "gpm")}, 42.5, False),
        # Below the maximum.
        (left(maximum_frequency=q("42.6", "Hz")), 42.5, True),
        (left(maximum_frequency=q("42.5", "Hz")), 42.5, False),
        # At most 70 % of best efficiency at the lowest suction, 100 % at the highest: 600 gpm are
        # 431 gpm at 43.0 Hz, 500 gpm 359 and 355 gpm, 400 gpm 284 gpm at 42.5 Hz.
        ({BEST: q("600", "gpm")}, 43.0, True),
        ({BEST: q("500", "gpm")}, 42.5, True),
        ({BEST: q("400", "gpm")}, 42.5, False),
        # Where the flow at the highest suction is not known, none is too much.
        ({"/site/suction_pressure_high": None, BEST: q("400", "gpm")}, 43.0, True),
        # 236.25 ft at 500 gpm: 1770 sqrt(128.0 / 236.25) rpm are 44.04 Hz.
        ({"/pump/minimum_continuous_flow": q("500", "gpm")}, 44.1, True),
        ({"/pump/minimum_frequency_permitted": q("43.4", "Hz")}, 43.4, True),
        ({"/pump/bearing_frequency": q("43.4", "Hz")}, 43.4, True),
        # Two pumps share 460 gpm.
        (left(pumps_maximum_running=2) | {DESIGN: q("460", "gpm")}, 42.5, True),
        (left(pumps_maximum_running=2) | {DESIGN: q("300", "gpm")}, 42.5, False),
    ],
)
def test_what_is_proposed(changes, frequency, fits):
    found = sleeping.proposal(case(changed(sleeping_booster(), changes)))
    assert (found.frequency, found.fits) == (pytest.approx(frequency), fits)
