"""What has to be held before anything flows: 115 to 120 ft of lift, or a pressure that is kept."""

import pytest

from calculations.aspects import holding
from calculations.case import Missing, Waits
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.stations import well
from tests.calculations.whole_stations import left, raw_water

FOOT = 0.3048
GPM = 6.30902e-5
LIFTING = left(regulation="speed_from_external_controller")


@pytest.mark.parametrize(
    ("settings", "lifts"),
    [
        ({}, False),
        (left(regulation=None), False),
        (LIFTING, True),
        (left(regulated_quantity="flow"), True),
        (left(regulated_quantity="temperature"), True),
        (left(regulated_quantity="level_emptying"), True),
        (left(regulated_quantity="suction_pressure"), False),
    ],
)
def test_whether_it_pumps_against_a_lift(settings, lifts):
    assert holding.lifts(case(changed(booster(), settings))) is lifts


def test_head_at_no_flow():
    lifting = case(changed(booster(), LIFTING))
    assert holding.required_head(lifting, "low") == pytest.approx(120 * FOOT)
    assert holding.required_head(lifting, "high") == pytest.approx(115 * FOOT)
    # (85 - 30) 2.31 + 1 ft: see test_speed_values.
    assert holding.required_head(case(booster()), "low") == pytest.approx(128.0 * FOOT, rel=3e-3)
    for name in ("regulation", "regulated_quantity"):
        with pytest.raises(Missing):
            holding.required_head(case(changed(booster(), left(**{name: None}))), "low")


def test_lifts_in_the_wrong_order_wait():
    turned = LIFTING | {"/site/static_lift_low": q("121", "ft")}
    with pytest.raises(Waits):
        holding.required_head(case(changed(booster(), turned)), "low")


@pytest.mark.parametrize(
    ("pumped", "static", "at", "feet"),
    [
        ("100", "80", "1000", 10.0),  # 20 ft at 1000 gpm, half of it at 500 gpm
        ("100", "80", "250", 40.0),
        ("80", "80", "1000", 0.0),
    ],
)
def test_draw_down_goes_with_the_flow(pumped, static, at, feet):
    site = {
        "/site/pumping_water_depth": q(pumped, "ft"), "/site/static_water_depth": q(static, "ft"),
        "/site/pumping_water_depth_at_flow": q(at, "gpm"),
    }  # fmt: skip
    found = holding.drawdown(case(changed(well(), site)), 500 * GPM)
    assert found / FOOT == pytest.approx(feet)


def test_a_draw_down_upwards_waits_for_who_names_it():
    site = {"/site/pumping_water_depth": q("70", "ft"), "/site/static_water_depth": q("80", "ft")}
    with pytest.raises(Waits) as raised:
        holding.drawdown(case(changed(well(), site)), 500 * GPM)
    assert raised.value.rule == "well.levels"


def test_no_draw_down_goes_with_a_flow_of_nothing():
    nothing = {"/site/pumping_water_depth_at_flow": q("0", "gpm")}
    with pytest.raises(Missing) as raised:
        holding.drawdown(case(changed(well(), nothing)), 500 * GPM)
    assert raised.value.because == "no flow"


@pytest.mark.parametrize(
    ("highest", "flows"), [("60", True), ("46.5", True), ("46.4", False), (None, True)]
)
def test_whether_anything_flows_at_the_highest_lift(highest, flows):
    # 160 ft of 260 ft: 1770 sqrt(160 / 260) rpm and 5.8 rpm of slip are 46.48 Hz.
    settings = left(maximum_frequency=highest and q(highest, "Hz"))
    found = case(changed(raw_water(), settings))
    if flows:
        holding.require_flow(found)
    else:
        with pytest.raises(Waits) as raised:
            holding.require_flow(found)
        assert raised.value.rule == "speed.zero-flow"
