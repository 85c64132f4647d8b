"""What the booster's pump asks of its 60 hp motor at 1770 rpm; shares from memory.

At 1000 gpm 1000 * 165 / 3960 / 0.825 = 50.5 hp: at 1770 rpm 0.844 of 60 hp at 1775 rpm.
"""

import pytest

from calculations.aspects import pump_torque, pumping
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q

GPM = 231 * 0.0254**3 / 60


def torques(changes=None):
    found = case(changed(booster(), changes or {}))
    return pump_torque.along(found, pumping.curve(found), 1770 / 60)


def curve():
    return pumping.curve(case(booster()))


def of(asked):
    return (asked.least, asked.likely, asked.most)


def no_efficiency():
    return {f"/pump/curve_points/{each}/efficiency": None for each in range(7)}


def test_by_head_and_efficiency():
    """10 % either way: grade of acceptance, and wear."""
    assert of(torques().at(1000 * GPM)) == pytest.approx((0.760, 0.844, 0.929), abs=0.002)


def test_at_a_closed_valve_a_share_of_that():
    """0.30, 0.45 and 0.65 of 0.760, 0.844 and 0.929."""
    assert of(torques().at(0.0)) == pytest.approx((0.228, 0.380, 0.604), abs=0.002)


@pytest.mark.parametrize(
    ("efficiency", "kind", "asked"),
    [
        # 300 * 251.5 / 3960 / 0.75 = 25.4 hp are 0.425, with 10 % more 0.467: less than 0.604.
        ("75", "multistage_vertical", (0.228, 0.380, 0.467)),
        # At 94 % 20.3 hp, 0.339 and 0.373: less than 0.380, too.
        ("94", "multistage_vertical", (0.228, 0.373, 0.373)),
        # 0.9, 1.3 and 2.0 of 0.760, 0.844 and 0.929
        ("75", "axial_or_mixed_flow", (0.684, 1.098, 1.858)),
    ],
)
def test_a_radial_pump_asks_for_no_more_there_than_at_the_first_flow(efficiency, kind, asked):
    told = {"/pump/curve_points/1/efficiency": q(efficiency, "%"), "/pump/type": kind}
    assert of(torques(told).at(0.0)) == pytest.approx(asked, abs=0.002)


BEST, RATED = "/pump/best_efficiency_flow", "/pump/rated_flow"


@pytest.mark.parametrize(
    ("plate", "best"),
    [
        ({}, 1000),
        ({BEST: None, RATED: q("900", "gpm")}, 900),
        ({BEST: q("2000", "gpm")}, 1350),  # the curve ends there
        ({BEST: None, RATED: None}, 1012.5),  # three quarters of that
    ],
)
def test_without_any_power_that_of_the_motor_is_asked_at_the_best_flow(plate, best):
    """0.3375 at a closed valve and 0.75 there: 0.54375 half way."""
    found = torques(no_efficiency() | plate)
    assert found.at(best / 2 * GPM).likely == pytest.approx(0.54375)
    assert found.at(best * 0.98 * GPM).likely == pytest.approx(0.75 - 0.02 * 0.4125)
    assert found.at(best * 1.02 * GPM).likely == pytest.approx(0.75)


@pytest.mark.parametrize("silent", ["power", "speed"])
def test_beside_a_plate_without_its_torque_the_curves_power_tells_nothing(silent):
    found = case(changed(booster(), {f"/motor/ratings/1/{silent}": None}))
    asked = pump_torque.along(found, curve(), 1770 / 60)
    assert of(asked.at(1000 * GPM)) == pytest.approx((0.5, 0.75, 1.0))


def test_between_points_on_a_straight_line():
    """300 * 251.5 / 3960 / 0.50 = 38.1 hp are 0.637, 10 % less and more 0.573 and 0.701.

    Half way from 0.228, 0.380 and 0.604; a third of the way from there.
    """
    half, third = torques().at(150 * GPM), torques().at(100 * GPM)
    assert of(half) == pytest.approx((0.4005, 0.5085, 0.6525), abs=0.002)
    assert of(third) == pytest.approx((0.343, 0.4657, 0.6363), abs=0.002)


def test_beyond_the_curve_as_at_its_end():
    """1350 * 86.9 / 3960 / 0.70 = 42.3 hp."""
    assert torques().at(1e9).likely == pytest.approx(42.3 / 60 * 1775 / 1770, abs=0.002)


@pytest.mark.parametrize("flow", [0.0, 150 * GPM, 300 * GPM, 1234 * GPM, 1e9])
def test_what_is_likely_is_the_same_asked_alone(flow):
    assert torques().likely(flow) == torques().at(flow).likely


def test_by_the_power_that_the_curve_tells():
    """20 hp at no flow and 50 hp at 1000 gpm: no share is wanted."""
    powers = {"0": "20", "5": "50"}
    told = {f"/pump/curve_points/{at}/shaft_power": q(hp, "hp") for at, hp in powers.items()}
    assert torques(told).at(0.0).likely == pytest.approx(20 / 60 * 1775 / 1770, abs=0.001)


def test_of_a_curve_without_power_the_motor_tells():
    """Three quarters of its torque, and 45 % of that: common practice; from memory."""
    found = torques(no_efficiency())
    assert of(found.at(1000 * GPM)) == pytest.approx((0.5, 0.75, 1.0))
    assert of(found.at(0.0)) == pytest.approx((0.15, 0.3375, 0.65))


def test_an_axial_pump_asks_for_most_at_a_closed_valve():
    found = torques({"/pump/type": "axial_or_mixed_flow"} | no_efficiency())
    assert of(found.at(0.0)) == pytest.approx((0.45, 0.975, 2.0))


def test_mixed_flow_bowls_may_ask_for_more_at_a_closed_valve():
    """0.90 at the most; from memory."""
    found = torques({"/pump/type": "vertical_turbine"} | no_efficiency())
    assert of(found.at(0.0)) == pytest.approx((0.15, 0.3375, 0.90))


@pytest.mark.parametrize(
    ("flow", "asked"), [(0.0, (0.15, 0.3375, 0.65)), (0.001, (0.5, 0.75, 1.0)), (2, (0.5, 0.75, 1))]
)
def test_a_pump_without_a_curve_is_shut_or_open(flow, asked):
    assert of(pump_torque.of_no_curve(case(booster())).at(flow)) == pytest.approx(asked)


@pytest.mark.parametrize(
    ("kind", "told", "watts"),
    [
        # 1.3 of 1000 gpm x 165 ft / 3960 / 0.825 = 50.5 hp = 37.66 kW
        ("axial_or_mixed_flow", {}, 1.3 * 37661),
        ("end_suction", {}, 0.0),
        ("axial_or_mixed_flow", no_efficiency(), 0.0),
    ],
)
def test_at_a_closed_valve_an_axial_pump_asks_for_more(kind, told, watts):
    found = case(changed(booster(), told | {"/pump/type": kind}))
    asked = pump_torque.closed_valve_power_of_axial(found, pumping.curve(found))
    assert asked == pytest.approx(watts, rel=0.003)


def test_what_is_told_of_shares_from_memory():
    assert pump_torque.FROM_MEMORY.endswith(
        "45 % of that at best efficiency (30 to 65 %; of an axial pump 130 %): from memory"
    )
