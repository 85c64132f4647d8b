"""Hunting: found where it is, not where there is only noise."""

import math
import random
from dataclasses import replace
from itertools import pairwise

import pytest

from calculations import hunting
from calculations.errors import InvalidInput
from calculations.hunting import USUAL_LIMITS, HuntingState, find_hunting
from calculations.traces import make_trace

LEAST = 0.3


def sine(
    *, amplitude=1.5, period=8.0, interval=0.1, duration=160.0, noise=0.0, drift=0.0, damping=0.0
):
    draw = random.Random(7)
    times = [i * interval for i in range(round(duration / interval) + 1)]
    values = [
        60
        + drift * t
        + amplitude * math.exp(-damping * t) * math.sin(2 * math.pi * t / period + 0.3)
        + draw.gauss(0, noise)
        for t in times
    ]
    return make_trace(times=times, values=values)


def between(corners, samples, *, interval):
    """Straight lines from corner to corner, each of so many samples."""
    values = [
        before + (after - before) * step / count
        for (before, after), count in zip(pairwise(corners), samples, strict=True)
        for step in range(count)
    ]
    return make_trace(times=[i * interval for i in range(len(values))], values=values)


def found(**given):
    return find_hunting(trace=sine(**given), least_swing=LEAST)


class TestFound:
    @pytest.mark.parametrize("interval", [0.02, 0.1, 0.5, 1.0])
    def test_period_and_swing_of_a_sine(self, interval):
        hunting = found(interval=interval)
        assert hunting.state is HuntingState.SUSTAINED
        assert hunting.period == pytest.approx(8.0, rel=0.02)
        assert hunting.peak_to_peak == pytest.approx(3.0, rel=0.025)
        assert hunting.amplitude == hunting.peak_to_peak / 2
        assert hunting.peak_ratio == pytest.approx(1.0, abs=0.01)
        assert hunting.cycles == pytest.approx(19.5, abs=0.5)

    def test_a_top_between_two_samples(self):
        # Arcs of parabolas, 61.5 and 58.5 at their tops, which lie 0.38 s beside the samples.
        times = [float(second) for second in range(160)]
        within = [(second + 1.62) % 8.0 for second in times]
        arcs = [1.5 * (1.0 - ((t % 4.0 - 2.0) / 2.0) ** 2) for t in within]
        values = [60 + (arc if t < 4.0 else -arc) for arc, t in zip(arcs, within, strict=True)]
        trace = make_trace(times=times, values=values)
        hunting = find_hunting(trace=trace, least_swing=LEAST)
        assert hunting.state is HuntingState.SUSTAINED
        assert hunting.peak_to_peak == pytest.approx(3.0, rel=1e-6)

    @pytest.mark.parametrize(("noise", "swing"), [(0.1, 3.1), (0.3, 3.3), (0.6, 3.6), (1.0, 4.1)])
    def test_noise_does_not_hide_it(self, noise, swing):
        # Noise of 1 spreads over 8 in a trace this long; about 1 of it stays in the swing.
        hunting = found(noise=noise)
        assert hunting.state is HuntingState.SUSTAINED
        assert hunting.period == pytest.approx(8.0, rel=0.02)
        assert 3.0 <= hunting.peak_to_peak <= swing

    @pytest.mark.parametrize("drift", [0.02, -0.05])
    def test_a_drift_does_not_hide_it(self, drift):
        hunting = found(drift=drift, noise=0.1)
        assert hunting.state is HuntingState.SUSTAINED
        assert hunting.period == pytest.approx(8.0, rel=0.02)

    def test_a_square_wave(self):
        times = [i * 0.1 for i in range(1600)]
        values = [61.0 if (t % 10.0) < 5.0 else 59.0 for t in times]
        hunting = find_hunting(trace=make_trace(times=times, values=values), least_swing=LEAST)
        assert hunting.state is HuntingState.SUSTAINED
        assert hunting.period == pytest.approx(10.0, rel=0.02)
        assert hunting.peak_to_peak == pytest.approx(2.0, rel=0.05)

    def test_a_saw_tooth(self):
        # Up from 59 to 61 in 8 s and back in 2 s.
        times = [i * 0.1 for i in range(1600)]
        values = [59 + (t % 10) / 4 if t % 10 < 8 else 61 - (t % 10 - 8) for t in times]
        hunting = find_hunting(trace=make_trace(times=times, values=values), least_swing=LEAST)
        assert hunting.state is HuntingState.SUSTAINED
        assert hunting.period == pytest.approx(10.0, rel=0.02)
        assert hunting.peak_to_peak == pytest.approx(2.0, rel=0.05)

    def test_a_trapezoid_whose_tops_stand_for_samples(self):
        # Two seconds from 59 to 61, three at rest, and back: no parabola goes through a flat top.
        times = [i * 0.5 for i in range(320)]
        corners = [59.0, 59.5, 60.0, 60.5] + [61.0] * 6 + [61.0, 60.5, 60.0, 59.5] + [59.0] * 6
        values = [corners[i % 20] for i in range(320)]
        hunting = find_hunting(trace=make_trace(times=times, values=values), least_swing=LEAST)
        assert hunting.state is HuntingState.SUSTAINED
        assert hunting.period == pytest.approx(10.0, rel=0.02)
        assert hunting.peak_to_peak == pytest.approx(2.0, rel=0.05)

    def test_a_long_recording(self):
        hunting = found(interval=0.01, duration=2000.0, noise=0.3)
        assert hunting.state is HuntingState.SUSTAINED
        assert hunting.period == pytest.approx(8.0, rel=0.01)


class TestStates:
    @pytest.mark.parametrize(
        ("damping", "state"),
        [
            (0.20, HuntingState.DECAYING),
            (0.05, HuntingState.SLOWLY_DECAYING),
            (0.005, HuntingState.SUSTAINED),
            (-0.005, HuntingState.SUSTAINED),
            (-0.03, HuntingState.GROWING),
        ],
    )
    def test_ratio_of_swings(self, damping, state):
        # A swing over the one a cycle before: exp(-damping x period).
        hunting = found(damping=damping, amplitude=10.0, duration=60.0)
        assert hunting.state is state
        assert hunting.peak_ratio == pytest.approx(math.exp(-8 * damping), rel=0.01)

    def test_a_quarter_decay_is_healthy(self):
        hunting = found(damping=math.log(4) / 8, amplitude=10.0, duration=60.0)
        assert hunting.state is HuntingState.DECAYING
        assert hunting.peak_ratio == pytest.approx(0.25, abs=0.01)

    def test_limits_can_be_set(self):
        trace = sine(damping=0.05, amplitude=10.0, duration=60.0)
        limits = replace(USUAL_LIMITS, healthy_ratio=0.7)
        hunting = find_hunting(trace=trace, least_swing=LEAST, limits=limits)
        assert hunting.state is HuntingState.DECAYING

    def test_two_cycles_are_too_few(self):
        # Tops at 1.6, 9.6 and 17.6 s, bottoms between them.
        hunting = found(duration=19.0)
        assert (hunting.state, hunting.cycles) == (HuntingState.TOO_FEW_CYCLES, 2.0)
        assert hunting.period is None

    def test_cycles_of_a_response_that_is_over_soon(self):
        # 60 up to 64, 60, 62, 61, 61.5: from the first top to the last bottom 1.5 cycles,
        # each swing half of the one before.
        corners = [60.0, 64.0, 60.0, 62.0, 61.0, 61.5]
        trace = between(corners, [40] * 5, interval=0.1)
        hunting = find_hunting(trace=trace, least_swing=LEAST)
        assert (hunting.state, hunting.cycles) == (HuntingState.DECAYING, 1.5)
        assert hunting.peak_ratio == pytest.approx(0.25, abs=0.01)
        assert hunting.period == pytest.approx(8.0)
        assert hunting.peak_to_peak == pytest.approx((4 + 2 + 1) / 3, abs=0.01)

    def test_a_turn_may_be_the_last_sample_but_one(self):
        # The same, cut off half a unit after the last bottom, at 61 in one sample.
        trace = between([60.0, 64.0, 60.0, 62.0, 61.0, 61.5], [40, 40, 40, 40, 1], interval=0.1)
        values, times = [*trace.values, 61.5], [*trace.times, 16.1]
        ended = make_trace(times=times, values=values)
        hunting = find_hunting(trace=ended, least_swing=LEAST)
        assert (hunting.state, hunting.cycles) == (HuntingState.DECAYING, 1.5)

    def test_three_cycles_without_a_period(self):
        # From 60 to 62 and back, from top to top 20, 120 and 20 s, from bottom to bottom 70 s.
        steps = [10, 10, 10, 60, 60, 10, 10, 10]
        trace = between([60.0, 62.0] * 4 + [60.0], steps, interval=1.0)
        hunting = find_hunting(trace=trace, least_swing=LEAST)
        assert (hunting.state, hunting.cycles) == (HuntingState.IRREGULAR, 3.0)

    def test_turns_in_time_of_unlike_height_are_no_slow_sampling(self):
        # A top every ten seconds, ten samples each, of heights that follow nothing.
        tops = [60.4, 75.0, 60.4, 60.5, 60.4, 90.0, 60.4, 60.5, 66.0, 60.4]
        corners = [60.0, *(corner for top in tops for corner in (top, 60.0))]
        trace = between(corners, [5] * 20, interval=1.0)
        assert find_hunting(trace=trace, least_swing=LEAST).state is HuntingState.IRREGULAR

    def test_three_cycles_are_enough(self):
        hunting = found(duration=32.0)
        assert (hunting.state, hunting.cycles) == (HuntingState.SUSTAINED, 3.5)

    def test_a_slow_sampler_says_so_instead_of_an_alias(self):
        # Eight seconds sampled every three: fewer than five samples a period.
        hunting = found(interval=3.0, duration=240.0)
        assert hunting.state is HuntingState.TOO_SLOW_SAMPLING
        assert hunting.period is None
        # With five samples it can be told: common practice, no source.
        five = found(period=10.0, interval=2.0, duration=200.0)
        assert (five.state, five.period) == (HuntingState.SUSTAINED, pytest.approx(10.0))
        assert found(period=9.5, interval=2.0).state is HuntingState.TOO_SLOW_SAMPLING
        # Sampled every 7.8 s the alias would look like 312 s.
        hidden = found(interval=7.8, duration=600.0)
        assert hidden.state is not HuntingState.NONE

    def test_small_ripple_is_nothing(self):
        assert found(amplitude=0.1).state is HuntingState.NONE

    @pytest.mark.parametrize(
        ("height", "state"), [(0.5, HuntingState.SUSTAINED), (0.499, HuntingState.NONE)]
    )
    def test_a_swing_as_large_as_the_smallest_counts(self, height, state):
        # Up for four seconds and down for four, ten times; each eighth of it is a float to the bit.
        trace = between([60.0, 60.0 + height] * 10, [4] * 19, interval=1.0)
        assert find_hunting(trace=trace, least_swing=0.5).state is state

    def test_a_constant_is_nothing(self):
        trace = make_trace(times=range(100), values=[60.0] * 100)
        hunting = find_hunting(trace=trace, least_swing=LEAST)
        assert (hunting.state, hunting.cycles, hunting.amplitude) == (HuntingState.NONE, 0, None)

    def test_a_long_constant_is_nothing(self):
        trace = make_trace(times=range(20_001), values=[60.0] * 20_001)
        assert find_hunting(trace=trace, least_swing=LEAST).state is HuntingState.NONE

    def test_a_ramp_is_nothing(self):
        trace = make_trace(times=range(100), values=range(100))
        assert find_hunting(trace=trace, least_swing=LEAST).state is HuntingState.NONE


CLAIMS = {HuntingState.SUSTAINED, HuntingState.GROWING, HuntingState.SLOWLY_DECAYING}


class TestNoFalseAlarm:
    @pytest.mark.parametrize("sigma", [0.1, 0.3, 1.0])
    def test_white_noise(self, sigma):
        draw = random.Random(11)
        for _ in range(40):
            values = [draw.gauss(60, sigma) for _ in range(600)]
            trace = make_trace(times=range(600), values=values)
            assert find_hunting(trace=trace, least_swing=LEAST).state not in CLAIMS

    def test_white_noise_has_no_period_that_is_sampled_too_slowly(self):
        draw = random.Random(11)
        trace = make_trace(times=range(600), values=[draw.gauss(60, 1.0) for _ in range(600)])
        assert find_hunting(trace=trace, least_swing=LEAST).state is HuntingState.IRREGULAR

    @pytest.mark.parametrize("memory", [0.5, 0.9, 1.0])
    def test_wandering_demand(self, memory):
        draw = random.Random(13)
        alarms = 0
        for _ in range(60):
            value, values = 0.0, []
            for _ in range(600):
                value = memory * value + draw.gauss(0, 0.3)
                values.append(60 + value)
            trace = make_trace(times=range(600), values=values)
            alarms += find_hunting(trace=trace, least_swing=LEAST).state in CLAIMS
        assert alarms <= 2


@pytest.mark.parametrize("period", [64, 96, 256])
def test_spikes_that_average_to_nothing_are_no_rhythm(period):
    """Once in a period one sample up and the next one down; between them the trace stands still."""
    values = [6.0 if i % period == 10 else 4.0 if i % period == 11 else 5.0
              for i in range(12 * period)]  # fmt: skip
    trace = make_trace(times=[float(i) for i in range(len(values))], values=values)
    assert find_hunting(trace=trace, least_swing=LEAST).state is HuntingState.IRREGULAR


@pytest.mark.parametrize("least_swing", [0.0, -1.0, math.nan])
def test_a_smallest_swing_is_needed(least_swing):
    with pytest.raises(InvalidInput) as raised:
        find_hunting(trace=sine(duration=20), least_swing=least_swing)
    assert raised.value.argument == "least_swing"


def test_the_usual_range_leaves_a_tenth_of_the_values_at_either_end():
    """Of 0 to 199, in any order: from 20 to 180; of the outermost tenths nothing counts."""
    values = [float((7 * each) % 200) for each in range(200)]
    assert hunting._usual_range(values) == 160.0
    wild = [value * 1000 if value > 185 else value for value in values]
    assert hunting._usual_range(wild) == 160.0
