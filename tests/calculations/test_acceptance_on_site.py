"""What a site reading can decide: the curve, the grade and the instruments' uncertainty."""

import random
from math import nan

import pytest

from calculations import acceptance
from calculations.acceptance import (
    ACCEPTANCE_GRADES,
    SiteVerdict,
)
from calculations.errors import InvalidInput
from calculations.pump_curves import CurvePoint, fit_pump_curve
from tests.calculations.test_acceptance import CURVE


def site(flow, head, grade="1B", flow_uncertainty=0.03, head_uncertainty=0.01, **more):
    return acceptance.judge_site_point(
        curve=CURVE,
        flow=flow,
        head=head,
        speed=more.pop("speed", 29.0),
        tolerance=ACCEPTANCE_GRADES[grade],
        flow_uncertainty=flow_uncertainty,
        head_uncertainty=head_uncertainty,
        **more,
    )


class TestHeadAlone:
    """At 0.06 m3/s the curve gives 44 m, at 0.04 m3/s 53 m; grade 2B grants 5 % of head."""

    @pytest.mark.parametrize(
        ("flow", "head", "grade", "floor", "agrees"),
        [
            (0.06, 44.0, "2B", 0.05, True),
            (0.06, 44.0 * 1.05, "2B", 0.05, True),
            (0.06, 44.0 * 1.051, "2B", 0.05, False),
            (0.06, 44.0 * 0.95, "2B", 0.05, True),
            (0.06, 44.0 * 0.949, "2B", 0.05, False),
            (0.04, 53.0 * 0.96, "1B", 0.05, True),
            (0.04, 53.0 * 0.96, "1B", 0.0, False),
            (0.04, 53.0 * 0.96, "1U", 0.0, False),
            (0.04, 53.0 * 1.04, "1U", 0.0, True),
            (0.09, 20.0, "2B", 0.05, False),
        ],
    )
    def test_it_agrees_within_the_tolerance(self, flow, head, grade, floor, agrees):
        tolerance = ACCEPTANCE_GRADES[grade]
        asked = {"flow": flow, "head": head, "speed": 29.0, "tolerance": tolerance, "floor": floor}
        assert acceptance.head_agrees(curve=CURVE, **asked) is agrees
        if agrees:
            assert site(flow, head, grade, floor=floor).verdict is SiteVerdict.WITHIN

    @pytest.mark.parametrize(("flow", "head"), [(0.0, 44.0), (0.06, 0.0), (0.06, nan)])
    def test_it_needs_a_flow_and_a_head(self, flow, head):
        with pytest.raises(InvalidInput, match="expected a number above zero"):
            acceptance.head_agrees(
                curve=CURVE, flow=flow, head=head, speed=29.0, tolerance=ACCEPTANCE_GRADES["2B"]
            )


class TestSitePoint:
    def test_on_the_curve(self):
        point = site(0.06, 44)
        assert point.verdict is SiteVerdict.WITHIN
        assert (point.head_deviation, point.flow_deviation) == pytest.approx((0, 0), abs=1e-9)

    def test_grade_one_is_widened_to_the_floor(self):
        # 4 % of head outside 1B, but a site reading is judged by 5 % at least.
        assert site(0.04, 53 * 0.96).verdict is SiteVerdict.WITHIN
        strict = site(0.04, 53 * 0.96, flow_uncertainty=0, head_uncertainty=0, floor=0.0)
        assert strict.verdict is SiteVerdict.OUTSIDE

    def test_between_tolerance_and_uncertainty_nothing_is_decided(self):
        # 1 % of head and 3 % of flow at a steepness of 0.26 are 1.3 % of head: 5 % to 6.3 %.
        assert site(0.04, 53 * 0.945).verdict is SiteVerdict.UNDECIDED
        exact = site(0.04, 53 * 0.945, flow_uncertainty=0.0, head_uncertainty=0.0)
        assert exact.verdict is SiteVerdict.OUTSIDE

    def test_far_outside_no_instrument_excuses_it(self):
        assert site(0.06, 44 * 0.75).verdict is SiteVerdict.OUTSIDE
        assert site(0.02, 58 * 1.25).verdict is SiteVerdict.OUTSIDE

    def test_either_bar_is_enough_on_a_steep_part(self):
        # 4 % of flow near the end of the curve moves the head by more than 5 %.
        point = site(0.075, CURVE.head(flow=0.078, speed=29.0))
        assert abs(point.head_deviation) > 0.05
        assert abs(point.flow_deviation) < 0.05
        assert point.verdict is SiteVerdict.WITHIN

    def test_of_several_flows_the_nearest_counts(self):
        humped = fit_pump_curve(
            points=[
                CurvePoint(0, 40),
                CurvePoint(0.02, 46),
                CurvePoint(0.04, 45),
                CurvePoint(0.06, 36),
                CurvePoint(0.08, 24),
            ],
            speed=29.0,
        )
        # 42 m is met near 0.006 and near 0.048; a reading lies by one of them.
        for flow in (0.0061, 0.048):
            point = acceptance.judge_site_point(
                curve=humped,
                flow=flow,
                head=42,
                speed=29.0,
                tolerance=ACCEPTANCE_GRADES["2B"],
                flow_uncertainty=0.03,
                head_uncertainty=0.01,
            )
            assert abs(point.flow_deviation) < 0.5

    def test_speed_is_corrected(self):
        assert site(0.048, 44 * 0.64, speed=0.8 * 29.0).verdict is SiteVerdict.WITHIN

    def test_beyond_the_curve_is_undecided_or_judged_by_flow(self):
        point = site(0.09, 20)
        assert (point.head_deviation, point.flow_deviation) == (None, None)
        # The readings' own: nothing is known of the slope there.
        assert (point.head_uncertainty, point.flow_uncertainty) == pytest.approx((0.01, 0.03))
        assert point.verdict is SiteVerdict.UNDECIDED

    @pytest.mark.parametrize(
        ("share", "verdict"), [(2.04, SiteVerdict.UNDECIDED), (2.06, SiteVerdict.OUTSIDE)]
    )
    def test_past_the_end_the_flow_is_granted_tolerance_and_uncertainty(self, share, verdict):
        # 5 % and 100 %: 105 % past the end of the curve, with 13 % more head than it has there.
        last = CURVE.highest_flow(speed=29.0)
        end = CURVE.head(flow=last, speed=29.0)
        assert site(share * last, 1.13 * end, flow_uncertainty=1.0).verdict is verdict

    def test_a_flat_stretch_does_not_excuse_a_flow_that_is_far_off(self):
        """A tenth of 0.06 by a slip of the pen: nearly flat there, 44 m belong to 0.06."""
        point = site(0.006, 44)
        assert point.head_deviation < -0.2
        assert point.flow_deviation == pytest.approx(-0.9, abs=0.01)
        assert point.verdict is SiteVerdict.OUTSIDE

    def test_a_head_near_nothing_is_not_excused_by_its_share_of_uncertainty(self):
        """0.5 m known to half a metre, where the curve has 44 m."""
        point = site(0.06, 0.5, head_uncertainty=1.0)
        assert point.head_deviation == pytest.approx(-0.99, abs=0.01)
        by_flow = 0.03 * abs(CURVE.slope(flow=0.06, speed=29.0)) * 0.06 / 44
        assert point.head_uncertainty == pytest.approx(((0.5 / 44) ** 2 + by_flow**2) ** 0.5)
        assert point.verdict is SiteVerdict.OUTSIDE

    def test_more_flow_than_the_end_and_more_head_than_the_start(self):
        assert site(0.6, CURVE.shut_off_head(speed=29.0) * 1.01).verdict is SiteVerdict.OUTSIDE
        assert site(0.6, 20).verdict is SiteVerdict.UNDECIDED

    @pytest.mark.parametrize(
        ("share", "verdict"), [(1.06, SiteVerdict.UNDECIDED), (1.13, SiteVerdict.OUTSIDE)]
    )
    def test_past_the_end_the_head_is_granted_tolerance_and_uncertainty(self, share, verdict):
        # 5 % and 6 %: 11 % more than the curve has at its end.
        end = CURVE.head(flow=CURVE.highest_flow(speed=29.0), speed=29.0)
        point = site(0.6, end * share, flow_uncertainty=1.0, head_uncertainty=0.06)
        assert point.verdict is verdict

    def test_a_head_like_the_start_does_not_excuse_a_flow_past_the_end(self):
        """Near its start the curve is flat, so that the flow there is open by any amount."""
        start = CURVE.shut_off_head(speed=29.0)
        point = site(0.6, start * 0.999, head_uncertainty=0.02)
        assert point.flow_uncertainty > abs(point.flow_deviation)
        assert point.verdict is SiteVerdict.OUTSIDE

    def test_uncertainty_of_flow_weighs_by_the_slope(self):
        point = site(0.06, 44, flow_uncertainty=0.03, head_uncertainty=0.01)
        steepness = abs(CURVE.slope(flow=0.06, speed=29.0)) * 0.06 / 44
        assert point.head_uncertainty == pytest.approx((0.01**2 + (0.03 * steepness) ** 2) ** 0.5)
        assert point.flow_uncertainty == pytest.approx((0.03**2 + (0.01 / steepness) ** 2) ** 0.5)

    def test_one_sided_grades_are_widened_on_both_sides(self):
        assert site(0.04, 53 * 0.96, grade="1U").verdict is SiteVerdict.WITHIN
        assert site(0.04, 53 * 1.08, grade="2U", floor=0.05).verdict is SiteVerdict.WITHIN

    @pytest.mark.parametrize(
        ("changed", "argument"),
        [
            ({"flow": 0}, "flow"),
            ({"head": 0}, "head"),
            ({"speed": 0}, "speed"),
            ({"flow_uncertainty": -0.01}, "flow_uncertainty"),
            ({"head_uncertainty": -0.01}, "head_uncertainty"),
        ],
    )
    def test_refusals(self, changed, argument):
        with pytest.raises(InvalidInput) as raised:
            site(**{"flow": 0.06, "head": 44, **changed})
        assert raised.value.argument == argument


class TestSiteOdds:
    """Readings drawn with a strap-on meter of 3 % and gauges that give 1 % of head, k = 2."""

    def verdicts(self, wear):
        draw = random.Random(5)
        found = []
        for _ in range(1000):
            flow = draw.uniform(0.02, 0.075)
            head = wear * CURVE.head(flow=flow, speed=29.0)
            read = flow * draw.gauss(1, 0.015), head * draw.gauss(1, 0.005)
            found.append(site(*read).verdict)
        return found

    def test_a_good_pump_is_not_called_bad(self):
        assert self.verdicts(1.0).count(SiteVerdict.OUTSIDE) == 0

    def test_a_pump_that_lost_a_fifth_of_its_head_is(self):
        assert self.verdicts(0.8).count(SiteVerdict.OUTSIDE) > 950
