"""Operating region around best efficiency."""

import pytest

from calculations.errors import InvalidInput
from calculations.operating_region import (
    HIGH_SPECIFIC_SPEED,
    PREFERRED_REGION,
    RegionState,
    operating_region,
    preferred_region,
    speed_at_minimum_flow,
)
from calculations.pump_curves import CurvePoint, fit_pump_curve
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import GPM
from tests.calculations.worked_examples import Case, worked


@worked("operating_region", "operating region: share of best-efficiency flow at the speed")
def test_example_of_share(case: Case) -> None:
    given = case["inputs"]
    region = operating_region(
        flow=given["Q_gpm"] * GPM,
        best_efficiency_flow=given["Q_BEP_gpm_at_full_speed"] * GPM,
        speed_ratio=given["speed_ratio"],
    )
    assert_matches(
        case,
        Q_over_QBEP=Near(region.ratio, absolute=1e-5),
        in_POR_70_120=region.state is RegionState.INSIDE,
    )


def test_the_full_speed_flow_would_mislead():
    # 2000 gpm is 111 % of 1800 gpm, but 123 % of what is best at 90 % of speed.
    given = {"flow": 2000, "best_efficiency_flow": 1800}
    assert operating_region(**given, speed_ratio=1.0).state is RegionState.INSIDE
    assert operating_region(**given, speed_ratio=0.9).state is RegionState.RIGHT


@pytest.mark.parametrize(
    ("flow", "state"),
    [
        (0, RegionState.LEFT),
        (69, RegionState.LEFT),
        (70, RegionState.INSIDE),
        (120, RegionState.INSIDE),
        (121, RegionState.RIGHT),
    ],
)
def test_the_ends_belong_to_the_region(flow, state):
    region = operating_region(flow=flow, best_efficiency_flow=100, speed_ratio=1)
    assert region.state is state


def test_a_high_specific_speed_narrows_it():
    # HI9.6.3-2012 (secondary text): 80 % to 120 % above 4,500 in US units, 87 in metric ones.
    assert pytest.approx(87.13, abs=0.01) == HIGH_SPECIFIC_SPEED
    assert preferred_region() == preferred_region(specific_speed=40) == PREFERRED_REGION
    assert preferred_region(specific_speed=90) == (0.8, 1.2)
    given = {"flow": 75, "best_efficiency_flow": 100, "speed_ratio": 1}
    assert operating_region(**given, region=(0.8, 1.15)).state is RegionState.LEFT


def test_speed_at_minimum_flow():
    curve = fit_pump_curve(
        points=[CurvePoint(0, 60), CurvePoint(0.02, 58), CurvePoint(0.06, 44)], speed=29.0
    )
    # 58 m at the minimum flow: 29 sqrt(14.5/58) = 14.5.
    speed = speed_at_minimum_flow(curve=curve, minimum_flow=0.02, required_head=14.5)
    assert speed == pytest.approx(14.5)
    at_zero = speed_at_minimum_flow(curve=curve, minimum_flow=0, required_head=14.5)
    assert at_zero == pytest.approx(curve.zero_flow_speed(required_head=14.5))
    assert speed_at_minimum_flow(curve=curve, minimum_flow=0.07, required_head=14.5) is None
    assert speed_at_minimum_flow(curve=curve, minimum_flow=0.02, required_head=-1) == 0


def test_speed_at_minimum_flow_of_a_well():
    """58 s^2 = 14.5 + D s: with D = 14.5 m, s = (14.5 + sqrt(14.5^2 + 4 58 14.5)) / 116 = 0.6404.

    At rest nothing falls: held at 0 m, 58 s^2 = 14.5 s, s = 0.25.
    """
    curve = fit_pump_curve(
        points=[CurvePoint(0, 60), CurvePoint(0.02, 58), CurvePoint(0.06, 44)], speed=29.0
    )
    given = {"curve": curve, "minimum_flow": 0.02, "drawdown": 14.5}
    speed = speed_at_minimum_flow(**given, required_head=14.5)
    assert speed == pytest.approx(29 * 0.6404, abs=2e-3)
    assert speed_at_minimum_flow(**given, required_head=0) == pytest.approx(29 / 4)
    assert speed_at_minimum_flow(**given, required_head=-1) == pytest.approx(29 / 4)
    with pytest.raises(InvalidInput) as raised:
        speed_at_minimum_flow(**given | {"drawdown": -1}, required_head=14.5)
    assert raised.value.argument == "drawdown"


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"flow": -1}, "flow"),
        ({"best_efficiency_flow": 0}, "best_efficiency_flow"),
        ({"speed_ratio": 0}, "speed_ratio"),
        ({"region": (1.2, 0.7)}, "region"),
        ({"region": (-0.1, 0.7)}, "region"),
        ({"region": (0.7, 0.7)}, "region"),
    ],
)
def test_refusals_name_the_argument(changed, argument):
    good = {"flow": 75, "best_efficiency_flow": 100, "speed_ratio": 1}
    with pytest.raises(InvalidInput) as raised:
        operating_region(**{**good, **changed})
    assert raised.value.argument == argument
    with pytest.raises(InvalidInput):
        preferred_region(specific_speed=0)
