"""Traces as they are drawn: the lowest and the highest sample of every column, none made up."""

import pytest

from calculations.plots.thinning import thin
from calculations.traces import make_trace


def trace(values, first=0.0):
    return make_trace(times=[first + second for second in range(len(values))], values=values)


def test_up_to_two_samples_for_each_column_are_all_drawn():
    values = [float(each % 3) for each in range(20)]
    found = thin(trace(values), columns=10)
    assert (found.samples, found.columns) == (20, None)
    assert found.stretches == (tuple((float(at), each) for at, each in enumerate(values)),)
    more = thin(trace([*values, 1.0]), columns=10)
    assert (more.samples, more.columns) == (21, 10)


@pytest.mark.parametrize("first", [0.0, 1000.0])
def test_each_column_keeps_its_lowest_and_highest_in_their_order(first):
    # 0 to 39 s in four columns of 9.75 s: samples 0 to 9, 10 to 19, 20 to 29, 30 to 39.
    values = [50.0] * 40
    values[3], values[7], values[12], values[15], values[28], values[31] = 90, 10, 20, 80, 70, 30
    found = thin(trace(values, first), columns=4)
    (stretch,) = found.stretches
    kept = {at - first: value for at, value in stretch}
    assert {3: 90, 7: 10, 12: 20, 15: 80, 28: 70, 31: 30}.items() <= kept.items()
    assert len(stretch) <= 2 * 4 + 1  # and the last sample
    assert stretch[-1] == (first + 39, 50.0)
    assert [at for at, _ in stretch] == sorted(at for at, _ in stretch)
    assert all(values[int(at)] == value for at, value in kept.items())


def test_a_pause_begins_a_new_stretch():
    times = [*map(float, range(20)), *(30.0 + each for each in range(20))]
    paused = make_trace(times=times, values=[float(each) for each in range(40)])
    for columns, longest in ((40, 20), (4, 8)):
        before, after = thin(paused, columns=columns).stretches
        assert (before[0], after[-1]) == ((0.0, 0.0), (49.0, 39.0))
        assert (before[-1], after[0]) == ((19.0, 19.0), (30.0, 20.0))
        assert max(len(before), len(after)) <= longest


def test_five_intervals_are_no_pause_yet():
    times = [0.0, 1.0, 2.0, 7.0, 8.0, 9.0]
    assert len(thin(make_trace(times=times, values=times), columns=10).stretches) == 1
    times = [0.0, 1.0, 2.0, 7.5, 8.5, 9.5]
    assert len(thin(make_trace(times=times, values=times), columns=10).stretches) == 2
