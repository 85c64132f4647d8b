"""Measured points against each other: affinity laws, HI engineering data, equation 1.B.6.

The booster at its three points, brought to 1630 rpm: 1000, 796, 506 gpm with 125.6, 160.2, 196.2
ft (123.8 (1630 / 1433)^2 and 122.7 (1630 / 1289)^2). The limit of 8 % is from memory.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q

RULE = "curve.points-agree"
BARE = without(booster(), "/pump/curve_points")
POINT = "/event/duty_points/1"


def test_good_points_agree():
    assert verdicts(BARE, RULE) == []
    assert lacking(judged(BARE), RULE) == []


@pytest.mark.parametrize(
    ("pressure", "expected"),
    [
        # 796 gpm may have 8 % more head than 506 gpm: 211.9 ft, 163.8 ft at 1433 rpm, which is
        # 40 ft or 17.3 psi more than read; gauges of 0.3 psi leave 0.5 %.
        ("102", []),
        ("104", [("review", "rises")]),
        # To a tenth: calibrators of 0.075 psi and half of 0.1 psi, 0.18 psi of 54 to 72 psi, leave
        # 0.33 and 0.25 %: 8.58 % are 213.0 ft, 164.7 ft at 1433 rpm, 40.9 ft, 17.7 psi more.
        ("102.6", []),
        ("102.9", [("review", "rises")]),
    ],
)
def test_more_flow_with_more_head_is_two_pumps(pressure, expected):
    document = changed(BARE, {f"{POINT}/discharge_pressure": q(pressure, "psi")})
    assert verdicts(document, RULE) == expected


def test_two_points_are_enough():
    document = changed(BARE, {f"{POINT}/discharge_pressure": q("104", "psi")})
    assert verdicts(without(document, "/event/duty_points/0"), RULE) == [("review", "rises")]


def test_both_points_are_named():
    document = changed(BARE, {f"{POINT}/discharge_pressure": q("110", "psi")})
    (found,) = of_rule(judged(document), RULE)
    assert (found.parameters["first"], found.parameters["second"]) == ("3", "2")


def test_a_point_without_its_head_hides_no_other():
    document = changed(
        BARE,
        {"/event/duty_points/-": BARE["event"]["duty_points"][0],
         f"{POINT}/discharge_pressure": q("110", "psi")},
    )  # fmt: skip
    document = without(document, "/event/duty_points/0/discharge_pressure")
    (found,) = of_rule(judged(document), RULE)
    assert (found.parameters["first"], found.parameters["second"]) == ("3", "2")


def test_with_a_curve_every_point_is_compared_with_it():
    document = changed(booster(), {f"{POINT}/discharge_pressure": q("110", "psi")})
    assert verdicts(document, RULE) == []
    assert [severity for severity, _ in verdicts(document, "curve.point")] == ["review"]


@pytest.mark.parametrize(
    ("flow", "expected"),
    [
        # The meter is known to 15 gpm and half a gallon. At 1630 rpm the first point has up to
        # 1015.5 gpm; 905 and 915 gpm at 1433 rpm are 1029.4 - 17.6 and 1040.8 - 17.6 gpm at least.
        ("905", []),
        ("915", [("review", "rises")]),
    ],
)
def test_flows_that_the_meter_cannot_tell_apart_are_not_compared(flow, expected):
    assert verdicts(changed(BARE, {f"{POINT}/flow": q(flow, "gpm")}), RULE) == expected


def test_flow_and_head_are_told_at_the_speed_of_the_fastest_point():
    """400 gpm x 1630 / 1289 and 700 gpm x 1630 / 1433; 122.7 ft as the square."""
    document = changed(BARE, {f"{POINT}/discharge_pressure": q("110", "psi")})
    (found,) = of_rule(judged(document), RULE)
    told = {each.name: each.shown for each in found.compared}
    assert float(told["less"].value) == pytest.approx(505.8, abs=0.1)
    assert float(told["more"].value) == pytest.approx(796.2, abs=0.1)
    assert float(told["head_less"].value) == pytest.approx(196.2, abs=0.1)
