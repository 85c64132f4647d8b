"""Traces: hygiene, ends, limits; step responses."""

import math
from math import inf, nan, pi, sin
from random import Random

import pytest

from calculations.errors import InvalidInput
from calculations.hunting import HuntingState, find_hunting
from calculations.loops import overshoot_from_damping
from calculations.step_response import step_metrics
from calculations.traces import (
    Gap,
    TraceProblem,
    inspect_trace,
    is_resolved,
    make_trace,
    noise,
    saturation,
    steady_error,
)
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked


def sampled(function, interval, duration):
    count = round(duration / interval) + 1
    times = [i * interval for i in range(count)]
    return make_trace(times=times, values=[function(t) for t in times])


def second_order(zeta, frequency):
    """Unit step response, closed form for 0 < zeta < 1 (OGATA-2010, 5-3)."""
    root = math.sqrt(1 - zeta**2)

    def response(t):
        phase = frequency * root * t
        decay = math.exp(-zeta * frequency * t)
        return 1 - decay * (math.cos(phase) + zeta / root * math.sin(phase))

    return response


@worked("traces", "trace: second-order step")
def test_example_of_second_order(case: Case) -> None:
    zeta, frequency = case["inputs"]["zeta"], case["inputs"]["wn_rad_s"]
    trace = sampled(second_order(zeta, frequency), 0.0005 / frequency, 8 / (zeta * frequency))
    given = {"trace": trace, "final_value": 1.0, "target": 1.0}
    two = step_metrics(**given)
    five = step_metrics(**given, settling_band=0.05)
    assert two.is_resolved
    assert_matches(
        case,
        overshoot_pct=Near(100 * two.overshoot, absolute=0.001),
        peak_time_s=Near(two.peak_time, absolute=0.001),
        rise_10_90_s=Near(two.rise_time, absolute=0.0001),
        settling_2pct_s=Near(two.settling_time, absolute=0.0001),
        settling_5pct_s=Near(five.settling_time, absolute=0.0001),
        decay_ratio=Near(overshoot_from_damping(damping_ratio=zeta) ** 2, absolute=1e-5),
        ss_error=Near(two.steady_error, absolute=0.001),
    )


@worked("traces", "trace: step that does not start at zero")
def test_example_of_start_value(case: Case) -> None:
    response = second_order(0.5, 1.0)
    trace = sampled(lambda t: 50 + 10 * response(t), 0.005, 30)
    raw = step_metrics(trace=trace, start_value=0.0, final_value=60.0)
    right = step_metrics(trace=trace, final_value=60.0)
    assert right.start_value == 50.0
    assert_matches(
        case,
        overshoot_raw_pct=Near(100 * raw.overshoot, absolute=0.001),
        overshoot_baseline_removed_pct=Near(100 * right.overshoot, absolute=0.001),
        rise_raw_s=Near(raw.rise_time, absolute=0.005),
        rise_baseline_removed_s=Near(right.rise_time, absolute=0.005),
    )


@worked("traces", "trace: hunting")
def test_example_of_hunting(case: Case) -> None:
    assert case["inputs"]["trace"].startswith("60 + 1.5 sin(2 pi t/8)")
    trace = sampled(lambda t: 60 + 1.5 * math.sin(2 * math.pi * t / 8), 0.1, 80)
    found = find_hunting(trace=trace, least_swing=0.3)
    assert found.state is HuntingState.SUSTAINED
    assert_matches(
        case,
        peak_to_peak_psi=Near(found.peak_to_peak, absolute=0.005),
        period_s=Near(found.period, absolute=0.01),
        successive_peak_ratio=Near(found.peak_ratio, absolute=0.001),
        amplitude_psi=Near(found.amplitude, absolute=0.003),
    )


@worked("traces", "trace: steady error")
def test_example_of_steady_error(case: Case) -> None:
    given = case["inputs"]
    mean = given["mean_pv_last_window_psi"]
    trace = sampled(lambda t: mean + math.sin(2 * math.pi * t) * (t > 50), 0.05, 99.95)
    error = steady_error(trace=trace, set_point=given["setpoint_psi"], window=19.99)
    assert_matches(
        case,
        error_psi=Near(error, absolute=0.001),
        error_pct_setpoint=Near(100 * error / given["setpoint_psi"], absolute=0.002),
        error_pct_span=Near(100 * error / given["span_psi"], absolute=0.001),
    )


class TestHygiene:
    def test_a_clean_trace(self):
        found = inspect_trace(times=[0, 1, 2, 3], values=[5, 6, 7, 8])
        assert found.problems == ()
        assert found.is_usable
        assert (found.samples, found.missing, found.interval, found.duration) == (4, 0, 1, 3)

    def test_missing_values_are_counted_and_left_out(self):
        columns = {"times": [0, 1, 2, 3, 4], "values": [5.0, None, nan, inf, 9.0]}
        found = inspect_trace(**columns)
        assert (found.missing, found.problems) == (3, (TraceProblem.MISSING_VALUES,))
        assert found.is_usable
        trace = make_trace(**columns)
        assert (list(trace.times), list(trace.values)) == ([0, 4], [5, 9])

    def test_one_missing_value_is_a_problem(self):
        found = inspect_trace(times=[0, 1, 2], values=[5, None, 7])
        assert (found.missing, found.problems) == (1, (TraceProblem.MISSING_VALUES,))

    def test_gaps_are_named(self):
        found = inspect_trace(times=[0, 1, 2, 3, 30, 31], values=[1] * 6)
        assert found.gaps == (Gap(start=3, length=27),)
        assert found.problems == (TraceProblem.GAPS,)
        assert found.is_usable
        # Five times the usual interval is still no gap.
        assert inspect_trace(times=[0, 1, 2, 7, 8], values=[1] * 5).gaps == ()
        longer = inspect_trace(times=[0, 1, 2, 7, 8, 13.5, 14.5, 15.5], values=[1] * 8)
        assert longer.gaps == (Gap(8, 5.5),)
        slow = inspect_trace(times=[0, 2, 4, 13, 15, 26, 28, 30], values=[1] * 8)
        assert slow.gaps == (Gap(15, 11),)
        narrow = inspect_trace(times=[0, 1, 2, 5, 6], values=[1] * 5, gap_factor=2)
        assert narrow.gaps == (Gap(2, 3),)
        every = inspect_trace(times=[0, 1, 2, 3.5, 4.5], values=[1] * 5, gap_factor=1.0)
        assert every.gaps == (Gap(2, 1.5),)

    def test_duration_and_interval_of_what_begins_late_or_stands(self):
        assert inspect_trace(times=[100, 101, 103], values=[1] * 3).duration == 3
        assert inspect_trace(times=[100], values=[1]).duration == 0
        # Steps of 0 and -0.5 s are no interval.
        assert inspect_trace(times=[0, 0, -0.5, 0.5, 1.5], values=[1] * 5).interval == 1

    def test_time_backwards_is_refused_with_its_place(self):
        columns = {"times": [0, 1, 0.5, 2], "values": [1, 2, 3, 4]}
        found = inspect_trace(**columns)
        assert found.backwards_at == (2,)
        assert found.problems == (TraceProblem.TIME_BACKWARDS,)
        assert not found.is_usable
        with pytest.raises(InvalidInput, match="times: expected to rise, sample 2 is not after"):
            make_trace(**columns)
        twice = {"times": [0, 1, 0.5, 2, 1.5], "values": [1] * 5}
        assert inspect_trace(**twice).backwards_at == (2, 4)
        with pytest.raises(InvalidInput, match="sample 2 is not after"):
            make_trace(**twice)

    def test_time_that_stands_still(self):
        assert inspect_trace(times=[0, 1, 1, 2], values=[1] * 4).backwards_at == (2,)

    @pytest.mark.parametrize(
        ("times", "values"), [([], []), ([0], [1]), ([0, 1], [1, None]), ([0, 1], [nan, nan])]
    )
    def test_one_sample_is_no_trace(self, times, values):
        found = inspect_trace(times=times, values=values)
        assert TraceProblem.TOO_SHORT in found.problems
        assert not found.is_usable
        with pytest.raises(InvalidInput, match="values: expected at least two samples"):
            make_trace(times=times, values=values)

    def test_columns_of_unequal_length(self):
        with pytest.raises(InvalidInput, match="values: expected 2, one for each time, got 1"):
            inspect_trace(times=[0, 1], values=[1])

    def test_times_have_to_be_numbers(self):
        with pytest.raises(InvalidInput, match="times: expected finite"):
            inspect_trace(times=[0, nan], values=[1, 2])
        with pytest.raises(InvalidInput, match="gap_factor"):
            inspect_trace(times=[0, 1], values=[1, 2], gap_factor=0.5)

    def test_a_million_samples_keep_their_usual_interval(self):
        times = [i * 0.01 for i in range(1_000_000)]
        assert inspect_trace(times=times, values=times).interval == pytest.approx(0.01)


class TestTail:
    TRACE = make_trace(times=range(11), values=range(11))

    def test_window_counts_from_the_end(self):
        assert list(self.TRACE.tail(window=2)) == [8, 9, 10]
        assert list(self.TRACE.tail(window=100)) == list(range(11))
        assert list(self.TRACE.tail(window=0.1)) == [10]

    def test_steady_error_has_a_sign(self):
        assert steady_error(trace=self.TRACE, set_point=10, window=2) == 1
        assert steady_error(trace=self.TRACE, set_point=8, window=2) == -1

    def test_refusals(self):
        with pytest.raises(InvalidInput, match="window"):
            self.TRACE.tail(window=0)
        with pytest.raises(InvalidInput, match="set_point"):
            steady_error(trace=self.TRACE, set_point=nan, window=1)


class TestSaturation:
    def test_shares_and_longest_stays(self):
        values = [30, 30, 40, 60, 60, 60, 50, 30, 40, 45]
        trace = make_trace(times=range(10), values=values)
        found = saturation(trace=trace, lower_limit=30, upper_limit=60, margin=0.1)
        assert (found.share_at_lower, found.share_at_upper) == pytest.approx((3 / 9, 3 / 9))
        assert (found.longest_at_lower, found.longest_at_upper) == (2, 3)

    def test_the_margin_counts_as_the_limit(self):
        trace = make_trace(times=[0, 1, 2], values=[59.5, 59.5, 59.5])
        given = {"trace": trace, "lower_limit": 30, "upper_limit": 60}
        assert saturation(**given, margin=0.5).share_at_upper == 1
        assert saturation(**given, margin=0.4).share_at_upper == 0
        low = make_trace(times=[0, 1, 2], values=[30.5, 30.5, 30.5])
        given = {"trace": low, "lower_limit": 30, "upper_limit": 60}
        assert saturation(**given, margin=0.5).share_at_lower == 1
        assert saturation(**given, margin=0.4).share_at_lower == 0

    def test_time_counts_not_samples(self):
        trace = make_trace(times=[100, 101, 102, 112], values=[60, 50, 60, 50])
        found = saturation(trace=trace, lower_limit=30, upper_limit=60, margin=0)
        assert found.share_at_upper == pytest.approx(11 / 12)
        assert found.longest_at_upper == 10

    @pytest.mark.parametrize(
        ("changed", "argument"),
        [
            ({"upper_limit": 30}, "upper_limit"),
            ({"lower_limit": nan}, "lower_limit"),
            ({"margin": -1}, "margin"),
        ],
    )
    def test_refusals(self, changed, argument):
        good = {
            "trace": make_trace(times=[0, 1], values=[1, 2]),
            "lower_limit": 30,
            "upper_limit": 60,
            "margin": 0,
        }
        with pytest.raises(InvalidInput) as raised:
            saturation(**{**good, **changed})
        assert raised.value.argument == argument


def test_resolution_needs_five_samples():
    # Common practice, no source.
    assert is_resolved(duration=5.0, interval=1.0)
    assert not is_resolved(duration=4.9, interval=1.0)
    assert is_resolved(duration=2.0, interval=1.0, samples=2)
    with pytest.raises(InvalidInput, match="interval"):
        is_resolved(duration=1, interval=0)
    with pytest.raises(InvalidInput, match="duration"):
        is_resolved(duration=-1, interval=1)


class TestNoise:
    def test_of_normal_noise(self):
        drawn = Random(4)
        trace = sampled(lambda t: 50 + 3 * t + drawn.gauss(0, 0.2), 0.1, 200)
        # sqrt(2 ln(2 x 2001)) = 4.073 times its scatter
        assert noise(trace=trace) == pytest.approx(4.073 * 0.2, rel=0.05)

    def test_a_step_in_it_changes_nothing(self):
        drawn = Random(4)
        trace = sampled(lambda t: (90 if t > 70 else 50) + drawn.gauss(0, 0.2), 0.1, 200)
        assert noise(trace=trace) == pytest.approx(4.073 * 0.2, rel=0.05)

    @pytest.mark.parametrize("samples", [5, 8, 50])
    def test_a_smooth_swing_has_none(self, samples):
        assert noise(trace=sampled(lambda t: sin(2 * pi * t / samples), 1, 400)) == 0.0

    def test_a_few_samples_say_nothing_of_it(self):
        drawn = Random(4)
        values = [drawn.gauss(0, 1) for _ in range(22)]
        few, enough = values[:21], values
        assert noise(trace=make_trace(times=[float(i) for i in range(21)], values=few)) == 0.0
        assert noise(trace=make_trace(times=[float(i) for i in range(22)], values=enough)) > 0.0


class TestStep:
    def test_a_step_downwards_has_the_same_metrics(self):
        response = second_order(0.3, 1.0)
        up = step_metrics(trace=sampled(lambda t: 50 + 10 * response(t), 0.01, 60))
        down = step_metrics(trace=sampled(lambda t: 60 - 10 * response(t), 0.01, 60))
        assert down.overshoot == pytest.approx(up.overshoot, rel=1e-6)
        assert down.rise_time == pytest.approx(up.rise_time, rel=1e-6)
        assert down.settling_time == pytest.approx(up.settling_time, rel=1e-6)
        assert down.overshoot == pytest.approx(0.3723, abs=0.001)

    def test_what_came_before_the_step_is_the_start_value(self):
        response = second_order(0.5, 1.0)

        def feedback(t):
            ripple = 0.2 if round(t * 10) % 2 else -0.2
            return 50 + ripple if t < 20 else 50 + 10 * response(t - 20)

        found = step_metrics(trace=sampled(feedback, 0.1, 60), step_time=20.0)
        assert found.start_value == pytest.approx(50, abs=1e-6)
        assert found.overshoot == pytest.approx(0.163, abs=0.001)
        assert found.peak_time == pytest.approx(3.6, abs=0.1)

    def test_the_mean_of_what_came_before_counts(self):
        """Noise of 1 about 50 before a step to 60, by hand; not the first sample after it."""
        values = (49.0, 51.0, 49.0, 51.0, 55.0, 58.0, 60.0, 60.0, 60.0, 60.0, 60.0, 60.0)
        found = step_metrics(trace=make_trace(times=range(12), values=values), step_time=4.0)
        assert found.start_value == 50.0

    def test_not_settled_is_said(self):
        trace = sampled(lambda t: 50 + 10 * second_order(0.02, 1.0)(t), 0.05, 30)
        found = step_metrics(trace=trace, final_value=60.0)
        assert found.settling_time is None
        assert found.overshoot > 0.9

    def test_a_response_that_never_arrives_has_no_rise_time(self):
        trace = sampled(lambda t: 50 + 5 * (1 - math.exp(-t)), 0.1, 20)
        found = step_metrics(trace=trace, final_value=60.0, target=60.0)
        assert found.rise_time is None
        assert not found.is_resolved
        assert found.steady_error == pytest.approx(5.0, abs=1e-6)
        assert found.overshoot == 0

    def test_first_order_closed_form(self):
        # Rise ln 9, settling ln 50 (2 %), no overshoot: 1 - exp(-t).
        trace = sampled(lambda t: 1 - math.exp(-t), 0.001, 30)
        found = step_metrics(trace=trace, final_value=1.0)
        assert found.rise_time == pytest.approx(math.log(9), abs=1e-5)
        assert found.settling_time == pytest.approx(math.log(50), abs=1e-5)
        assert found.overshoot == 0

    def test_an_inverse_response_is_an_undershoot(self):
        trace = make_trace(times=range(7), values=[50, 48, 52, 58, 60, 60, 60])
        assert step_metrics(trace=trace, final_value=60).undershoot == pytest.approx(0.2)

    def test_noise_needs_a_wider_band(self):
        values = [50, *(60 + (0.3 if i % 2 else -0.3) for i in range(20))]
        trace = make_trace(times=range(21), values=values)
        assert step_metrics(trace=trace, final_value=60).settling_time is None
        wide = step_metrics(trace=trace, final_value=60, least_band=0.4)
        assert wide.settling_time == pytest.approx(0.99, abs=0.01)

    def test_settled_from_the_start(self):
        trace = make_trace(times=range(3), values=[60.0, 60.05, 60.1])
        assert step_metrics(trace=trace, start_value=50.0).settling_time == 0.0

    @pytest.mark.parametrize(
        ("values", "settled"),
        [
            # 2 % of 10 is 0.2: the last crossing lies 0.98 or 0.96 along the line to the next.
            ([50, 60, 60, 60, 60], 0.98),
            ([50, 60, 60, 55, 60], 3.96),
            ([50, 60, 65, 60, 60], 2.96),
        ],
    )
    def test_the_last_time_outside_counts(self, values, settled):
        trace = make_trace(times=range(5), values=values)
        found = step_metrics(trace=trace, final_value=60.0)
        assert found.settling_time == pytest.approx(settled)

    def test_too_few_samples_in_the_rise(self):
        trace = make_trace(times=range(6), values=[50, 54, 59.5, 60, 60, 60])
        found = step_metrics(trace=trace)
        assert found.rise_time is not None
        assert not found.is_resolved
        assert step_metrics(trace=trace, samples_to_resolve=1).is_resolved

    def test_no_target_no_steady_error(self):
        trace = make_trace(times=range(4), values=[50, 55, 60, 60])
        assert step_metrics(trace=trace).steady_error is None

    @pytest.mark.parametrize(
        ("values", "changed", "argument"),
        [
            ([50, 50, 50], {}, "trace"),
            ([50, 55, 60], {"step_time": 2}, "step_time"),
            ([50, 55, 60], {"step_time": 9}, "step_time"),
            ([50, 55, 60], {"settling_band": 0}, "settling_band"),
            ([50, 55, 60], {"least_band": -1}, "least_band"),
        ],
    )
    def test_refusals(self, values, changed, argument):
        trace = make_trace(times=range(3), values=values)
        with pytest.raises(InvalidInput) as raised:
            step_metrics(trace=trace, **changed)
        assert raised.value.argument == argument
