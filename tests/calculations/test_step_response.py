"""Metrics of a step at their limits; every value by hand from straight lines between samples."""

import pytest

from calculations.step_response import step_metrics
from calculations.traces import make_trace


def metrics(values, *, first=0.0, **given):
    times = [first + index for index in range(len(values))]
    return step_metrics(trace=make_trace(times=times, values=values), **given)


def test_two_samples_are_a_step():
    # From 50 to 60 in one second: 10 % at 0.1 s, 90 % at 0.9 s.
    assert metrics([50, 60]).rise_time == pytest.approx(0.8)


def test_the_last_tenth_is_where_it_ends():
    # Twenty seconds from 100 s on: the last two hold 61, 62 and 63.
    found = metrics([50, *[60] * 17, 61, 62, 63], first=100.0)
    assert found.final_value == 62.0


@pytest.mark.parametrize("direction", [1, -1])
def test_a_step_of_half_a_unit(direction):
    # 5.0 bar to 5.5 bar with 0.1 bar beyond and 0.05 bar the wrong way first, and its reverse.
    values = [direction * each for each in (5.0, 4.95, 5.6, 5.5, 5.5)]
    found = metrics(values, final_value=direction * 5.5)
    assert (found.overshoot, found.undershoot) == (pytest.approx(0.2), pytest.approx(0.1))
    assert found.peak_time == 2.0
    # 10 %, 5.05 bar, at 1 + 0.1 / 0.65 s; 90 %, 5.45 bar, at 1 + 0.5 / 0.65 s.
    assert found.rise_time == pytest.approx(0.4 / 0.65)


def test_what_starts_beyond_its_start_value_has_no_undershoot():
    assert metrics([52, 55, 60, 60], start_value=50.0, final_value=60.0).undershoot == 0.0


@pytest.mark.parametrize(
    ("values", "rise"),
    [
        ([50, 50, 58, 60, 60], 2.5 - 1.125),  # 51 between the second and third sample
        ([50, 51, 51, 59, 60, 60], 2.0),  # it is at 10 % from 1 s on, and rests there
        ([50, 51, 59, 59, 60, 60], 1.0),
        ([51, 51, 55, 59, 60, 60], 3.0),
    ],
)
def test_rise_from_the_first_sample_at_each_level(values, rise):
    found = metrics(values, start_value=50.0, final_value=60.0)
    assert found.rise_time == pytest.approx(rise)


@pytest.mark.parametrize(
    ("values", "settled"),
    [
        ([50, 60, 59.5], 0.95),
        ([50, 60, 60.5], 0.95),
        ([50, 59.5, 60, 60], 1.0),
        ([50, 60.5, 60, 60], 9.5 / 10.5),
        ([50, 60, 59.4], None),
        ([50, 60, 60.6], None),
    ],
)
def test_the_edge_of_the_band_is_settled(values, settled):
    # 5 % of 10 on both sides of 60: from 59.5 to 60.5, both included.
    found = metrics(values, final_value=60.0, settling_band=0.05)
    assert found.band == 0.5
    assert found.settling_time == (None if settled is None else pytest.approx(settled))


def test_times_count_from_the_step():
    found = metrics([50, 50, 50, 61, 60, 60], step_time=2.0, final_value=60.0)
    # 2 % are 0.2: back at 60.2 four fifths of a second after the peak.
    assert (found.peak_time, found.settling_time) == (1.0, pytest.approx(1.8))
