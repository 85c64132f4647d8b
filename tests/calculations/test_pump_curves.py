"""Curves of a pump at any speed."""

from dataclasses import replace
from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations.curve_shapes import PiecewiseCubic
from calculations.errors import InvalidInput
from calculations.pump_curves import (
    CurvePoint,
    ShapeProblem,
    ShapeProblemKind,
    fit_pump_curve,
    pump_curve_from_equation,
    shape_problems,
)

SPEED = 29.0
# An invented pump; power follows from its other columns at 998.2 kg/m3.
POINTS = [
    CurvePoint(0.00, 60.0, None, None, None),
    CurvePoint(0.02, 58.0, 0.50, None, 2.0),
    CurvePoint(0.04, 53.0, 0.70, None, 2.4),
    CurvePoint(0.06, 44.0, 0.78, None, 3.1),
    CurvePoint(0.08, 32.0, 0.70, None, 4.4),
]
CURVE = fit_pump_curve(points=POINTS, speed=SPEED)


class TestReading:
    @pytest.mark.parametrize("point", POINTS)
    def test_the_points_themselves(self, point):
        assert CURVE.head(flow=point.flow, speed=SPEED) == pytest.approx(point.head)
        expected = point.efficiency or 0.0
        assert CURVE.efficiency(flow=point.flow, speed=SPEED) == pytest.approx(expected)

    @given(ratio=st.floats(0.4, 1.2), share=st.floats(0, 1))
    def test_the_curve_is_scaled_as_a_whole(self, ratio, share):
        flow = 0.08 * share
        moved = CURVE.head(flow=flow * ratio, speed=SPEED * ratio)
        assert moved == pytest.approx(CURVE.head(flow=flow, speed=SPEED) * ratio**2)
        assert CURVE.efficiency(flow=flow * ratio, speed=SPEED * ratio) == pytest.approx(
            CURVE.efficiency(flow=flow, speed=SPEED), abs=1e-9
        )

    def test_shut_off_and_last_flow_at_another_speed(self):
        assert CURVE.shut_off_head(speed=SPEED * 0.5) == pytest.approx(15)
        assert CURVE.highest_flow(speed=SPEED * 0.5) == pytest.approx(0.04)

    def test_beyond_the_last_point_there_is_nothing(self):
        assert CURVE.head(flow=0.0801, speed=SPEED) is None
        assert CURVE.slope(flow=0.0801, speed=SPEED) is None
        assert CURVE.efficiency(flow=0.0801, speed=SPEED) is None
        assert CURVE.shaft_power(flow=0.0801, speed=SPEED) is None
        assert CURVE.npsh_required(flow=0.0801, speed=SPEED) is None

    def test_the_last_point_survives_rounding(self):
        ratio = 0.7
        assert CURVE.head(flow=0.08 * ratio, speed=SPEED * ratio) == pytest.approx(32 * 0.49)

    def test_extrapolation_has_to_be_asked_for(self):
        slope = CURVE.slope(flow=0.08, speed=SPEED)
        beyond = CURVE.head(flow=0.085, speed=SPEED, extrapolate=True)
        assert beyond == pytest.approx(32 + 0.005 * slope)

    def test_slope_is_the_change_of_head(self):
        speed, flow, step = 0.8 * SPEED, 0.03, 1e-6
        rise = CURVE.head(flow=flow + step, speed=speed) - CURVE.head(flow=flow, speed=speed)
        assert CURVE.slope(flow=flow, speed=speed) == pytest.approx(rise / step, rel=1e-3)

    def test_required_suction_head_scales_with_the_square(self):
        # HI14.6-2011: to first order.
        assert CURVE.npsh_required(flow=0.06, speed=SPEED) == pytest.approx(3.1)
        assert CURVE.npsh_required(flow=0.048, speed=0.8 * SPEED) == pytest.approx(3.1 * 0.64)

    def test_a_column_says_nothing_before_its_first_value(self):
        assert CURVE.npsh_required(flow=0.019, speed=SPEED) is None


class TestFlowAtHead:
    @pytest.mark.parametrize("ratio", [1.0, 0.7, 1.2])
    @pytest.mark.parametrize("point", POINTS)
    def test_it_leads_back_to_the_points(self, point, ratio):
        found = CURVE.flow_at_head(head=point.head * ratio**2, speed=SPEED * ratio)
        assert found == pytest.approx(point.flow * ratio, abs=1e-12)

    @pytest.mark.parametrize(("head", "flows"), [(59.999, True), (60.0, False), (75.0, False)])
    def test_nothing_flows_from_the_head_at_no_flow_on(self, head, flows):
        assert (CURVE.flow_at_head(head=head, speed=SPEED) > 0) == flows

    def test_beyond_the_last_point_the_slope_goes_on(self):
        slope = CURVE.slope(flow=0.08, speed=SPEED)
        assert CURVE.flow_at_head(head=0, speed=SPEED) == pytest.approx(0.08 - 32 / slope)

    def test_a_curve_that_ends_level_never_comes_down(self):
        level = replace(
            CURVE, heads=PiecewiseCubic((0.0, 0.1), ((60.0, -400.0, 2000.0, 0.0),))
        )  # 40 + 2000 (0.1 - Q)^2
        assert level.flow_at_head(head=45, speed=SPEED) == pytest.approx(0.05)
        assert level.flow_at_head(head=39.9, speed=SPEED) is None


class TestColumns:
    @staticmethod
    def curve(*values):
        points = [
            replace(point, npsh_required=value)
            for point, value in zip(POINTS[: len(values)], values, strict=True)
        ]
        return fit_pump_curve(points=points, speed=SPEED)

    def test_two_values_make_a_column(self):
        curve = self.curve(None, 2.0, None, 3.6)
        assert curve.npsh_required(flow=0.02, speed=SPEED) == pytest.approx(2.0)
        # 1.8 + 500 Q^2.
        assert curve.npsh_required(flow=0.04, speed=SPEED) == pytest.approx(2.6)

    def test_one_value_makes_none(self):
        assert self.curve(None, 2.0, None, None).npsh_required(flow=0.02, speed=SPEED) is None


class TestPower:
    def test_from_head_and_efficiency(self):
        # rho g Q H / eta = 998.2 x 9.80665 x 0.06 x 44 / 0.78.
        assert CURVE.shaft_power(flow=0.06, speed=SPEED) == pytest.approx(33132.7, rel=1e-4)
        half = CURVE.shaft_power(flow=0.03, speed=SPEED / 2)
        assert half == pytest.approx(33132.7 / 8, rel=1e-4)

    def test_unknown_at_zero_flow_without_a_power_column(self):
        assert CURVE.shaft_power(flow=0, speed=SPEED) is None

    def test_a_power_column_wins(self):
        powers = [12e3, 20e3, 27e3, 32e3, 35e3]
        points = [
            replace(point, shaft_power=power) for point, power in zip(POINTS, powers, strict=True)
        ]
        curve = fit_pump_curve(points=points, speed=SPEED)
        assert curve.shaft_power(flow=0, speed=SPEED) == pytest.approx(12e3)
        assert curve.shaft_power(flow=0.054, speed=0.9 * SPEED) == pytest.approx(32e3 * 0.729)
        dense = curve.shaft_power(flow=0.06, speed=SPEED, density=1050)
        assert dense == pytest.approx(32e3 * 1050 / 998.2)

    def test_the_highest_of_several_flows(self):
        # As above at 0.06; nothing is known at no flow, nor beyond the last point.
        found = CURVE.highest_shaft_power(flows=(0.0, 0.03, 0.06, 9.0), density=1050)
        assert found == pytest.approx(33132.7 * 1050 / 998.2, rel=1e-4)
        assert CURVE.highest_shaft_power(flows=(0.0, 9.0)) is None
        with pytest.raises(InvalidInput, match="flows: expected zero or more"):
            CURVE.highest_shaft_power(flows=(0.06, -0.01))

    def test_no_columns_no_power(self):
        bare = fit_pump_curve(
            points=[CurvePoint(0, 50), CurvePoint(0.05, 42), CurvePoint(0.08, 30)], speed=SPEED
        )
        assert bare.shaft_power(flow=0.05, speed=SPEED) is None
        assert bare.efficiency(flow=0.05, speed=SPEED) is None
        assert bare.npsh_required(flow=0.05, speed=SPEED) is None
        assert bare.best_efficiency_flow(speed=SPEED) is None


class TestBestEfficiency:
    def test_it_moves_with_the_speed(self):
        assert CURVE.best_efficiency_flow(speed=SPEED) == pytest.approx(0.06)
        assert CURVE.best_efficiency_flow(speed=0.9 * SPEED) == pytest.approx(0.054)

    def test_a_parabola_has_it_between_its_points(self):
        # eta through (0, 0), (0.04, 0.7), (0.08, 0.6): highest at 0.055.
        points = [CurvePoint(0, 60), CurvePoint(0.04, 53, 0.7), CurvePoint(0.08, 32, 0.6)]
        curve = fit_pump_curve(points=points, speed=SPEED)
        best = curve.best_efficiency_flow(speed=SPEED)
        assert best == pytest.approx(0.055, abs=1e-6)

    def test_still_rising_at_the_end_is_not_known(self):
        curve = fit_pump_curve(points=POINTS[:4], speed=SPEED)
        assert curve.best_efficiency_flow(speed=SPEED) is None


def test_zero_flow_speed():
    # sqrt(30/60).
    assert CURVE.zero_flow_speed(required_head=30) == pytest.approx(SPEED * 0.70710678)


class TestEquation:
    def test_other_speeds(self):
        # EPANET-2.2, chapter 12: s^2 A - B s^(2-C) Q^C.
        curve = pump_curve_from_equation(
            speed=SPEED, shut_off_head=50, coefficient=2751.057, exponent=1.95
        )
        expected = 0.81 * 50 - 2751.057 * 0.9**0.05 * 0.04**1.95
        assert curve.head(flow=0.04, speed=0.9 * SPEED) == pytest.approx(expected)
        assert curve.shut_off_head(speed=SPEED) == 50

    def test_known_down_to_zero_head(self):
        curve = pump_curve_from_equation(speed=SPEED, shut_off_head=50, coefficient=5000)
        assert curve.highest_flow(speed=SPEED) == pytest.approx(0.1)

    @pytest.mark.parametrize(
        ("argument", "value"),
        [("speed", 0), ("shut_off_head", 0), ("coefficient", 0), ("exponent", 0.9)],
    )
    def test_refusals(self, argument, value):
        good = {"speed": SPEED, "shut_off_head": 50, "coefficient": 5000, "exponent": 2}
        with pytest.raises(InvalidInput) as raised:
            pump_curve_from_equation(**{**good, argument: value})
        assert raised.value.argument == argument


def points_of(*pairs):
    return [CurvePoint(flow, head) for flow, head in pairs]


class TestShape:
    def test_a_falling_curve_has_no_problem(self):
        assert shape_problems(points=POINTS) == ()

    @pytest.mark.parametrize(
        ("points", "kind", "index"),
        [
            (points_of((0, 50), (1, 52), (2, 40)), ShapeProblemKind.RISING, 1),
            (points_of((0, 50), (1, 49.96), (2, 40)), ShapeProblemKind.FLAT, 1),
            (points_of((0, 50), (1, 50.04), (2, 40)), ShapeProblemKind.FLAT, 1),
            (points_of((0, 50), (1, 45), (1, 44), (2, 40)), ShapeProblemKind.DUPLICATE_FLOW, 2),
            (points_of((0, 50), (2, 40), (1, 30)), ShapeProblemKind.FLOW_GOES_BACK, 2),
            (points_of((0.1, 50), (1, 45), (2, 40)), ShapeProblemKind.STARTS_LATE, 0),
        ],
    )
    def test_each_problem_is_named(self, points, kind, index):
        assert shape_problems(points=points) == (ShapeProblem(kind, index),)

    def test_what_counts_as_flat_can_be_set(self):
        points = points_of((0, 50), (1, 49.0), (2, 40))
        assert shape_problems(points=points) == ()
        assert shape_problems(points=points, flat_share=0.03)[0].kind is ShapeProblemKind.FLAT

    def test_no_points_and_no_numbers_are_refused(self):
        with pytest.raises(InvalidInput, match="points: expected at least one"):
            shape_problems(points=[])
        with pytest.raises(InvalidInput, match="head: expected a finite number"):
            shape_problems(points=points_of((0, nan)))

    def test_a_rising_curve_is_fitted_as_it_is(self):
        curve = fit_pump_curve(
            points=points_of((0, 50), (0.01, 52), (0.02, 51), (0.04, 40)), speed=SPEED
        )
        assert curve.head(flow=0.01, speed=SPEED) == pytest.approx(52)


@pytest.mark.parametrize(
    ("points", "argument"),
    [
        ([CurvePoint(0, 50)], "points"),
        (points_of((0.01, 50), (0.02, 40)), "points"),
        (points_of((0, 50), (0.02, 0)), "head"),
        (points_of((0, 50), (0.02, nan)), "head"),
        (points_of((0, 50), (0.02, 45), (0.02, 40)), "abscissas"),
        ([CurvePoint(0, 50), CurvePoint(1, 40, 1.0)], "efficiency"),
        ([CurvePoint(0, 50), CurvePoint(1, 40, 78.0)], "efficiency"),
        ([CurvePoint(0, 50), CurvePoint(1, 40, -0.1)], "efficiency"),
        ([CurvePoint(0, 50), CurvePoint(1, 40, None, -1.0)], "shaft_power"),
        ([CurvePoint(0, 50), CurvePoint(1, 40, None, None, nan)], "npsh_required"),
    ],
)
def test_unusable_points_are_refused(points, argument):
    with pytest.raises(InvalidInput) as raised:
        fit_pump_curve(points=points, speed=SPEED)
    assert raised.value.argument == argument


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: fit_pump_curve(points=POINTS, speed=0), "speed"),
        (lambda: fit_pump_curve(points=POINTS, speed=1, density=0), "density"),
        (lambda: CURVE.head(flow=-0.01, speed=SPEED), "flow"),
        (lambda: CURVE.head(flow=nan, speed=SPEED), "flow"),
        (lambda: CURVE.flow_at_head(head=-1e-9, speed=SPEED), "head"),
        (lambda: CURVE.flow_at_head(head=10, speed=0), "speed"),
        (lambda: CURVE.head(flow=0.01, speed=0), "speed"),
        (lambda: CURVE.shut_off_head(speed=-1), "speed"),
        (lambda: CURVE.shaft_power(flow=0.01, speed=1, density=0), "density"),
        (lambda: CURVE.zero_flow_speed(required_head=nan), "required_head"),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
