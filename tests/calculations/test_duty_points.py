"""Duty points, solved on the curve at its speed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations.duty_points import Outcome, duty_points, flows_at_head, speeds_through
from calculations.errors import InvalidInput
from calculations.pump_curves import CurvePoint, fit_pump_curve, pump_curve_from_equation
from calculations.system_curves import (
    FrictionCurve,
    hazen_williams_coefficient,
    system_through_points,
)
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import FOOT, GPM
from tests.calculations.worked_examples import Case, example, worked

SPEED = 29.0
PER_SQUARE = FOOT / GPM**2


def us_pump(given: dict):
    return pump_curve_from_equation(
        speed=SPEED,
        shut_off_head=given["H0_ft"] * FOOT,
        coefficient=given["B_ft_per_gpm2"] * PER_SQUARE,
    )


def us_duty(given: dict, speed_ratio: float, pumps: int = 1):
    system = FrictionCurve(given["H_static_ft"] * FOOT, given["k_ft_per_gpm2"] * PER_SQUARE)
    return duty_points(curve=us_pump(given), system=system, speed=SPEED * speed_ratio, pumps=pumps)


@worked("duty_points", "duty point: closed form")
def test_example_of_closed_form(case: Case) -> None:
    solution = us_duty(case["inputs"], case["inputs"]["speed_ratio"])
    flows = solution.outcome is Outcome.ONE
    # Without flow the example gives the pump's own shut-off head.
    flow, head = (
        (solution.point.flow, solution.point.head) if flows else (0, solution.shut_off_head)
    )
    assert_matches(
        case,
        Q_gpm=Near(flow / GPM, absolute=0.01),
        H_ft=Near(head / FOOT, absolute=0.001),
        flows=flows,
    )


@worked("duty_points", "duty point: scaling the flow instead of the curve")
def test_example_of_scaling_trap(case: Case) -> None:
    given = example("duty_points", "H06a")["inputs"]
    full, reduced = us_duty(given, 1.0).point, us_duty(given, 0.8).point
    assert_matches(
        case,
        wrong_Q_from_proportional_gpm=Near(0.8 * full.flow / GPM, absolute=0.01),
        right_Q_gpm=Near(reduced.flow / GPM, absolute=0.01),
    )


@worked("duty_points", "duty point: two equal pumps")
def test_example_of_parallel(case: Case) -> None:
    given = case["inputs"]
    two = us_duty(given, 1.0, given["n_pumps"]).point
    one = us_duty(given, 1.0).point
    assert_matches(
        case,
        Q_total_gpm=Near(two.flow / GPM, absolute=0.01),
        Q_each_gpm=Near(two.pump_flow / GPM, absolute=0.01),
        ratio_to_single=Near(two.flow / one.flow, absolute=0.0001),
    )


@worked("duty_points", "duty point: public network against EPANET")
def test_example_of_public_network(case: Case) -> None:
    """The pump's head at the network's flow; held shut where the system's head is higher."""
    given, published = case["inputs"], case["expected"]
    curve = us_pump(given)
    speed = SPEED * given["speed_ratio"]
    if published["flows"]:
        head = curve.head(flow=published["Q_gpm"] * GPM, speed=speed)
        met = flows_at_head(curve=curve, head=published["H_ft"] * FOOT, speed=speed)
        # On a flat curve the engine's accuracy of head is worth more flow.
        slack = 0.05 + 0.001 * FOOT / abs(curve.slope(flow=met.point.flow, speed=speed)) / GPM
        assert_matches(
            case,
            Q_gpm=Near(met.point.flow / GPM, absolute=slack),
            H_ft=Near(head / FOOT, absolute=0.005),
            flows=True,
        )
    else:
        met = flows_at_head(curve=curve, head=published["H_ft"] * FOOT, speed=speed)
        assert met.outcome is Outcome.NO_FLOW
        assert met.static_head / FOOT == pytest.approx(published["H_ft"])
        assert met.shut_off_head < met.static_head
        assert (published["Q_gpm"], published["flows"]) == (0.0, False)


@worked("duty_points", "duty point: two reservoirs, Hazen-Williams main")
def test_example_of_hazen_williams(case: Case) -> None:
    given = case["inputs"]
    curve = pump_curve_from_equation(
        speed=SPEED,
        shut_off_head=given["A_m"],
        coefficient=given["B"],
        exponent=given["n"],
    )
    k = hazen_williams_coefficient(length=given["L_m"], bore=given["D_m"], roughness=given["C_HW"])
    assert k == pytest.approx(given["K_HW"], rel=1e-8)
    solution = duty_points(
        curve=curve,
        system=FrictionCurve(given["H_static_m"], k, 1.852),
        speed=SPEED * given["speed_ratio"],
        pumps=given["n_pumps"],
    )
    point = solution.point
    flow, head = (1000 * point.flow, point.head) if point else (0.0, solution.static_head)
    assert_matches(
        case,
        Q_Lps=Near(flow, absolute=0.0001),
        H_m=Near(head, absolute=0.0001),
        Q_epanet_Lps=Near(flow, absolute=0.0005),
        H_epanet_m=Near(head, absolute=0.0002),
    )


def points_of(*pairs):
    return [CurvePoint(flow, head) for flow, head in pairs]


FALLING = fit_pump_curve(
    points=points_of((0, 60), (0.02, 58), (0.04, 53), (0.06, 44), (0.08, 32)), speed=SPEED
)
HUMPED = fit_pump_curve(
    points=points_of((0, 50), (0.01, 53), (0.02, 54), (0.04, 50), (0.06, 38)), speed=SPEED
)


class TestOutcomes:
    def test_one(self):
        solution = duty_points(curve=FALLING, system=FrictionCurve(30, 3000), speed=SPEED)
        assert solution.outcome is Outcome.ONE
        point = solution.point
        assert point.head == pytest.approx(30 + 3000 * point.flow**2)
        assert point.head == pytest.approx(FALLING.head(flow=point.flow, speed=SPEED))
        assert (solution.shut_off_head, solution.static_head) == (60, 30)

    def test_a_humped_curve_meets_a_flat_system_twice(self):
        solution = duty_points(curve=HUMPED, system=FrictionCurve(52, 10), speed=SPEED)
        assert solution.outcome is Outcome.SEVERAL
        assert solution.point is None
        low, high = solution.points
        assert 0 < low.flow < 0.01 < 0.02 < high.flow
        # The pump cannot open its check valve by itself.
        assert solution.shut_off_head < solution.static_head

    def test_several_crossings_inside_one_stretch_where_both_rise(self):
        # Pump 20 + 30x - ..., rising to its vertex, against a system that rises faster later.
        curve = fit_pump_curve(points=points_of((0, 20), (1, 44), (2, 56)), speed=1.0)
        system = FrictionCurve(22, 18, exponent=1.0)
        # 20 + 30x - 6x^2 = 22 + 18x at x = 1 -+ sqrt(2/3).
        solution = duty_points(curve=curve, system=system, speed=1.0)
        flows = [point.flow for point in solution.points]
        assert flows == pytest.approx([1 - (2 / 3) ** 0.5, 1 + (2 / 3) ** 0.5])

    def test_no_flow(self):
        solution = duty_points(curve=FALLING, system=FrictionCurve(60.1, 3000), speed=SPEED)
        assert (solution.outcome, solution.points) == (Outcome.NO_FLOW, ())

    def test_exactly_at_shut_off_nothing_flows(self):
        solution = duty_points(curve=FALLING, system=FrictionCurve(60, 3000), speed=SPEED)
        assert solution.outcome is Outcome.NO_FLOW

    def test_a_system_above_the_pump_at_every_speed(self):
        for ratio in (0.5, 0.8, 1.0, 1.1):
            solution = duty_points(
                curve=FALLING, system=FrictionCurve(80, 100), speed=SPEED * ratio
            )
            assert solution.outcome is Outcome.NO_FLOW

    def test_beyond_the_curve_and_extrapolated(self):
        system = FrictionCurve(0, 4000)
        known = duty_points(curve=FALLING, system=system, speed=SPEED)
        assert (known.outcome, known.points) == (Outcome.BEYOND_CURVE, ())
        asked = duty_points(curve=FALLING, system=system, speed=SPEED, extrapolate=True)
        assert asked.outcome is Outcome.ONE
        assert asked.point.flow > 0.08
        assert asked.point.head == pytest.approx(4000 * asked.point.flow**2)

    def test_extrapolated_down_to_no_head_and_not_farther(self):
        # Three points on 60 - 2500 Q^2 (44 m at 0.08 m3/s), then the tangent's -400 m per m3/s:
        # no head at 0.08 + 44 / 400 = 0.19 m3/s.
        points = points_of((0, 60), (0.04, 56), (0.08, 44))
        curve = fit_pump_curve(points=points, speed=SPEED)

        def met(lift):
            system = FrictionCurve(lift, 0.0)
            return duty_points(curve=curve, system=system, speed=SPEED, extrapolate=True)

        assert met(0.4).point.flow == pytest.approx(0.189)
        assert met(-0.4).outcome is Outcome.BEYOND_CURVE
        flat = fit_pump_curve(points=points_of((0, 60), (0.04, 60)), speed=SPEED)
        level = duty_points(
            curve=flat, system=FrictionCurve(40, 0.0), speed=SPEED, extrapolate=True
        )
        assert level.outcome is Outcome.BEYOND_CURVE

    def test_extrapolated_where_heads_fall_by_less_than_a_metre_for_each_m3_s(self):
        # 10 - 0.01 Q^2, of a large storm water pump: 6 m at 20 m3/s, then the tangent's -0.4 m per
        # m3/s: 5 m at 22.5 m3/s.
        points = points_of((0, 10), (10, 9), (20, 6))
        curve = fit_pump_curve(points=points, speed=SPEED)
        met = duty_points(curve=curve, system=FrictionCurve(5, 0), speed=SPEED, extrapolate=True)
        assert met.point.flow == pytest.approx(22.5)

    def test_flat_curves_on_each_other(self):
        curve = fit_pump_curve(
            points=points_of((0, 50), (0.01, 50), (0.02, 50), (0.03, 45)), speed=SPEED
        )
        solution = duty_points(curve=curve, system=FrictionCurve(50, 0), speed=SPEED)
        assert solution.outcome is Outcome.FLAT
        assert solution.point is None
        assert [point.flow for point in solution.points] == pytest.approx([0, 0.02])

    def test_a_curve_that_falls_first_may_lie_on_a_flat_system_later(self):
        points = points_of((0, 52), (0.01, 50), (0.02, 50), (0.03, 45))
        curve = fit_pump_curve(points=points, speed=SPEED)
        solution = duty_points(curve=curve, system=FrictionCurve(50, 0), speed=SPEED)
        assert solution.outcome is Outcome.FLAT
        assert [point.flow for point in solution.points] == pytest.approx([0.01, 0.02])

    def test_curves_that_meet_at_two_points_of_the_pump_are_not_flat_between(self):
        """A hump through 40 + 10000 Q^2 at 0.01 and 0.02 m3/s."""
        hump = points_of((0, 40), (0.01, 41), (0.02, 44), (0.03, 40), (0.04, 30))
        solution = duty_points(
            curve=fit_pump_curve(points=hump, speed=SPEED), system=FrictionCurve(40, 10000),
            speed=SPEED,
        )  # fmt: skip
        assert solution.outcome is Outcome.SEVERAL
        met = [point.flow for point in solution.points]
        assert (met[0], met[-1]) == pytest.approx((0.01, 0.02))

    def test_a_flat_curve_with_a_rising_system_has_one_point(self):
        curve = fit_pump_curve(
            points=points_of((0, 50), (0.01, 50), (0.02, 50), (0.03, 45)), speed=SPEED
        )
        solution = duty_points(curve=curve, system=FrictionCurve(45, 5 / 0.015**2), speed=SPEED)
        assert solution.point.flow == pytest.approx(0.015)

    def test_a_negative_static_head_flows_downhill(self):
        solution = duty_points(curve=FALLING, system=FrictionCurve(-10, 12000), speed=SPEED)
        assert solution.outcome is Outcome.ONE


class TestSystemPoints:
    def test_they_are_used_between_their_ends(self):
        system = system_through_points(flows=[0, 0.03, 0.05, 0.08], heads=[30, 33, 38, 50])
        solution = duty_points(curve=FALLING, system=system, speed=SPEED)
        assert solution.outcome is Outcome.ONE
        assert 0.05 < solution.point.flow < 0.08

    def test_beyond_their_last_point_nothing_is_claimed(self):
        system = system_through_points(flows=[0, 0.03], heads=[30, 33])
        solution = duty_points(curve=FALLING, system=system, speed=SPEED)
        assert solution.outcome is Outcome.BEYOND_CURVE

    def test_level_at_no_flow_and_above_them_to_their_end_is_beyond(self):
        # 50 m at no flow both, 54 m against 51 m at 0.02 m3/s.
        system = system_through_points(flows=[0, 0.02], heads=[50, 51])
        solution = duty_points(curve=HUMPED, system=system, speed=SPEED)
        assert solution.outcome is Outcome.BEYOND_CURVE

    def test_below_their_first_point_nothing_is_claimed(self):
        system = system_through_points(flows=[0.05, 0.08], heads=[50, 60])
        solution = duty_points(curve=FALLING, system=system, speed=SPEED)
        assert (solution.outcome, solution.static_head) == (Outcome.BEFORE_CURVE, None)
        far = system_through_points(flows=[0.2, 0.3], heads=[50, 60])
        assert duty_points(curve=FALLING, system=far, speed=SPEED).outcome is Outcome.BEFORE_CURVE

    def test_their_last_point_limits_all_pumps_together(self):
        # Two pumps would meet this system at about 0.11 m3/s; its points end at 0.1.
        system = system_through_points(flows=[0, 0.05, 0.1], heads=[30, 34, 44])
        solution = duty_points(curve=FALLING, system=system, speed=SPEED, pumps=2)
        assert solution.outcome is Outcome.BEYOND_CURVE

    def test_two_pumps_meet_the_points_at_half_of_their_flows(self):
        """15 m - 1562.5 q^2 of each: 14.4, 12.5 and 5 m at 20, 40 and 80 L/s, where the system
        asks for 16, 9 and 25 m of both; 15 m at no flow, where it asks for 10 m. Three meetings.
        """
        pump = fit_pump_curve(points=[
            CurvePoint(flow=flow, head=15 - 1562.5 * flow**2) for flow in (0.0, 0.045, 0.08)
        ], speed=SPEED)  # fmt: skip
        system = system_through_points(flows=[0, 0.04, 0.08, 0.16], heads=[10, 16, 9, 25])
        found = duty_points(curve=pump, system=system, speed=SPEED, pumps=2)
        first, second, third = (each.pump_flow for each in found.points)
        assert 0 < first < 0.02 < second < 0.04 < third < 0.08

    def test_a_dip_of_the_system_near_the_end_of_the_curve_is_met_on_both_sides(self):
        """15 m - 1562.5 Q^2: 11.1, 9.4, 7.3 and 5 m at 50, 60, 70 and 80 L/s, where the system
        asks for 6, 12, 6 and 9 m; 15 m at no flow, where it asks for 5 m. Three meetings.
        """
        pump = fit_pump_curve(points=[
            CurvePoint(flow=flow, head=15 - 1562.5 * flow**2) for flow in (0.0, 0.045, 0.08)
        ], speed=SPEED)  # fmt: skip
        system = system_through_points(flows=[0, 0.05, 0.06, 0.07, 0.08], heads=[5, 6, 12, 6, 9])
        found = duty_points(curve=pump, system=system, speed=SPEED)
        first, second, third = (each.flow for each in found.points)
        assert 0.05 < first < 0.06 < second < 0.07 < third < 0.08

    def test_two_pumps_share_the_flow_of_the_points(self):
        system = system_through_points(flows=[0, 0.05, 0.1, 0.15], heads=[30, 34, 44, 62])
        solution = duty_points(curve=FALLING, system=system, speed=SPEED, pumps=2)
        point = solution.point
        assert point.flow == pytest.approx(2 * point.pump_flow)
        assert system.head(point.flow) == pytest.approx(point.head)
        assert FALLING.head(flow=point.pump_flow, speed=SPEED) == pytest.approx(point.head)


class TestFlowsAtHead:
    def test_all_flows_of_a_humped_curve(self):
        solution = flows_at_head(curve=HUMPED, head=52, speed=SPEED)
        assert solution.outcome is Outcome.SEVERAL
        for point in solution.points:
            assert HUMPED.head(flow=point.flow, speed=SPEED) == pytest.approx(52)

    def test_touching_the_top_of_a_hump(self):
        solution = flows_at_head(curve=HUMPED, head=54, speed=SPEED)
        assert [point.flow for point in solution.points] == pytest.approx([0.02])

    def test_a_slower_pump_is_pushed_to_zero_flow(self):
        # Two pumps on one header at 45 m: the one at 85 % has 43.4 m at most.
        assert flows_at_head(curve=FALLING, head=45, speed=0.85 * SPEED).outcome is Outcome.NO_FLOW
        assert flows_at_head(curve=FALLING, head=45, speed=SPEED).outcome is Outcome.ONE

    @given(flow=st.floats(0.001, 0.08), ratio=st.floats(0.4, 1.2))
    def test_inverse_of_head(self, flow, ratio):
        speed = ratio * SPEED
        head = FALLING.head(flow=flow * ratio, speed=speed)
        found = flows_at_head(curve=FALLING, head=head, speed=speed).point
        assert found.flow == pytest.approx(flow * ratio, rel=1e-6)

    @pytest.mark.parametrize("flow", [0.02, 0.04, 0.08])
    def test_a_point_of_the_curve_is_met_once(self, flow):
        head = FALLING.head(flow=flow, speed=SPEED)
        solution = flows_at_head(curve=FALLING, head=head, speed=SPEED)
        assert solution.outcome is Outcome.ONE
        assert solution.point.flow == pytest.approx(flow)

    def test_a_little_below_the_last_point_is_beyond(self):
        solution = flows_at_head(curve=FALLING, head=31.9, speed=SPEED)
        assert solution.outcome is Outcome.BEYOND_CURVE

    def test_parallel_flows_add(self):
        one = flows_at_head(curve=FALLING, head=50, speed=SPEED).point
        three = flows_at_head(curve=FALLING, head=50, speed=SPEED, pumps=3).point
        assert three.flow == pytest.approx(3 * one.flow)


class TestSpeedsThrough:
    @given(flow=st.floats(0.001, 0.08), ratio=st.floats(0.3, 1.3))
    def test_the_speed_is_read_back(self, flow, ratio):
        head = FALLING.head(flow=flow * ratio, speed=ratio * SPEED)
        (speed,) = speeds_through(curve=FALLING, flow=flow * ratio, head=head)
        assert speed == pytest.approx(ratio * SPEED, rel=1e-6)

    def test_at_zero_flow_it_is_the_zero_flow_speed(self):
        assert speeds_through(curve=FALLING, flow=0, head=15) == pytest.approx((SPEED / 2,))

    def test_none_right_of_the_curve(self):
        assert speeds_through(curve=FALLING, flow=0.08, head=20) == ()


@given(
    static=st.floats(0, 59),
    k=st.floats(0, 2e4),
    ratio=st.floats(0.5, 1.2),
    pumps=st.integers(1, 4),
)
def test_every_duty_point_lies_on_both_curves(static, k, ratio, pumps):
    speed = ratio * SPEED
    system = FrictionCurve(static, k)
    solution = duty_points(curve=FALLING, system=system, speed=speed, pumps=pumps)
    for point in solution.points:
        assert system.head(point.flow) == pytest.approx(point.head, abs=1e-6)
        assert FALLING.head(flow=point.pump_flow, speed=speed) == pytest.approx(point.head)
    below = FALLING.shut_off_head(speed=speed) <= static
    assert (solution.outcome is Outcome.NO_FLOW) == below


@pytest.mark.parametrize("pumps", [0, 101])
def test_number_of_pumps(pumps):
    with pytest.raises(InvalidInput) as raised:
        duty_points(curve=FALLING, system=FrictionCurve(1, 1), speed=SPEED, pumps=pumps)
    assert raised.value.argument == "pumps"


@pytest.mark.parametrize("pumps", [1, 100])
def test_from_one_to_a_hundred_pumps_are_taken(pumps):
    found = duty_points(curve=FALLING, system=FrictionCurve(1, 1), speed=SPEED, pumps=pumps)
    assert found.shut_off_head == FALLING.shut_off_head(speed=SPEED)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: flows_at_head(curve=FALLING, head=float("nan"), speed=SPEED), "static_head"),
        (lambda: flows_at_head(curve=FALLING, head=10, speed=0), "speed"),
        (lambda: speeds_through(curve=FALLING, flow=-1, head=10), "flow"),
        (lambda: speeds_through(curve=FALLING, flow=1, head=0), "head"),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
