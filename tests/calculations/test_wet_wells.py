"""Draw-down and cycling of wet wells."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations import wet_wells
from calculations.errors import InvalidInput
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import FOOT, GALLON, GPM
from tests.calculations.worked_examples import Case, worked


@worked("wet_wells", "wet well: draw-down")
def test_example_of_drawdown(case: Case) -> None:
    given = case["inputs"]
    area = wet_wells.plan_area(diameter=given["well_diameter_ft"] * FOOT)
    inflow = wet_wells.inflow_from_filling(
        area=area, level_rise=given["fill_rise_ft"] * FOOT, fill_time=given["fill_time_s"]
    )
    drop = {
        "area": area,
        "level_drop": given["drop_ft"] * FOOT,
        "drawdown_time": given["pump_down_time_s"],
    }
    net = wet_wells.drawdown_flow(**drop, inflow=0)
    flow = wet_wells.drawdown_flow(**drop, inflow=inflow)
    assert_matches(
        case,
        gal_per_ft=Near(area * FOOT / GALLON, absolute=0.001),
        inflow_gpm=Near(inflow / GPM, absolute=0.001),
        net_drawdown_gpm=Near(net / GPM, absolute=0.001),
        pump_Q_gpm=Near(flow / GPM, absolute=0.001),
    )
    # Leaving the inflow out reads 25 % low.
    assert net / flow == pytest.approx(0.75, abs=0.001)


@worked("wet_wells", "wet well: minimum volume")
def test_example_of_volume(case: Case) -> None:
    given = case["inputs"]
    volume = wet_wells.minimum_volume(
        pump_flow=given["Q_pump_gpm"] * GPM, cycle_time=given["T_min_cycle_min"] * 60
    )
    assert_matches(case, V_gal=Near(volume / GALLON, relative=1e-9))


@worked("wet_wells", "wet well: cycle")
def test_example_of_cycle(case: Case) -> None:
    given = case["inputs"]
    cycle = wet_wells.pump_cycle(
        volume=given["V_gal"] * GALLON,
        pump_flow=given["Q_pump_gpm"] * GPM,
        inflow=given["Q_in_gpm"] * GPM,
    )
    assert_matches(
        case,
        T_cycle_min=Near(cycle.cycle_time / 60, absolute=0.001),
        starts_per_h=Near(cycle.starts_per_hour, absolute=0.001),
    )


def test_a_diameter_taken_for_a_radius_is_worth_four():
    wrong, right = wet_wells.plan_area(diameter=4.0), wet_wells.plan_area(diameter=2.0)
    assert wrong / right == pytest.approx(4)


def test_level_that_rises_while_pumping_is_a_negative_drop():
    flow = wet_wells.drawdown_flow(area=5, level_drop=-0.1, drawdown_time=100, inflow=0.02)
    assert flow == pytest.approx(0.015)


def test_fill_and_run_times():
    # 6 m3 at 10 L/s in, 30 L/s out: 600 s to fill, 300 s to empty.
    cycle = wet_wells.pump_cycle(volume=6, pump_flow=0.03, inflow=0.01)
    assert (cycle.fill_time, cycle.run_time) == pytest.approx((600, 300))


@given(share=st.floats(0.02, 0.98))
def test_half_the_pump_flow_is_the_worst_inflow(share):
    volume = wet_wells.minimum_volume(pump_flow=0.05, cycle_time=600)
    cycle = wet_wells.pump_cycle(volume=volume, pump_flow=0.05, inflow=0.05 * share)
    assert cycle.cycle_time >= 600 * (1 - 1e-9)


@pytest.mark.parametrize("inflow", [0.03, 0.04])
def test_a_pump_that_cannot_win_never_stops(inflow):
    with pytest.raises(InvalidInput, match="inflow: expected less than the pump's flow"):
        wet_wells.pump_cycle(volume=6, pump_flow=0.03, inflow=inflow)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: wet_wells.plan_area(diameter=0), "diameter"),
        (lambda: wet_wells.inflow_from_filling(area=0, level_rise=1, fill_time=1), "area"),
        (lambda: wet_wells.inflow_from_filling(area=1, level_rise=-1, fill_time=1), "level_rise"),
        (lambda: wet_wells.inflow_from_filling(area=1, level_rise=1, fill_time=0), "fill_time"),
        (
            lambda: wet_wells.drawdown_flow(area=1, level_drop=1, drawdown_time=0, inflow=0),
            "drawdown_time",
        ),
        (
            lambda: wet_wells.drawdown_flow(area=1, level_drop=1, drawdown_time=1, inflow=-1),
            "inflow",
        ),
        (
            lambda: wet_wells.drawdown_flow(
                area=1, level_drop=float("nan"), drawdown_time=1, inflow=0
            ),
            "level_drop",
        ),
        (lambda: wet_wells.pump_cycle(volume=1, pump_flow=1, inflow=0), "inflow"),
        (lambda: wet_wells.pump_cycle(volume=0, pump_flow=1, inflow=0.1), "volume"),
        (lambda: wet_wells.minimum_volume(pump_flow=0, cycle_time=1), "pump_flow"),
        (lambda: wet_wells.minimum_volume(pump_flow=1, cycle_time=0), "cycle_time"),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
