"""How far an output swings at the period of the feedback, by hand."""

from math import pi, sin

import pytest

from calculations.aspects import output_swings
from calculations.traces import Trace

PERIOD = 8.0


def swing(value, rows=12, begin=100.0):
    """Of so many values over four cycles of 8 s."""
    times = [begin + n * 4 * PERIOD / rows for n in range(rows)]
    values = [value(n, time) for n, time in enumerate(times)]
    trace = Trace(times=times, values=values, interval=times[1] - times[0])
    return output_swings._swing(trace, list(range(rows)), PERIOD)


@pytest.mark.parametrize("rows", [12, 40])
def test_a_swing_is_told_from_peak_to_peak(rows):
    found = swing(lambda n, t: 48 + 1.5 * sin(2 * pi * t / PERIOD), rows)
    assert found == pytest.approx(3.0)


def test_what_rises_all_the_while_swings_little():
    """12 values that rise by 1 each: the discrete transform of n is -6 + 6 i cot(pi k / 12).

    Under Hann's window 6 i (cot 60 - (cot 45 + cot 75) / 2) = -0.3398 i of the fourth: times 4,
    over the 12 of the weights. Without the window it would be 2 of them over 12: 1.15.
    """
    assert swing(lambda n, t: float(n)) == pytest.approx(4 * 0.33977 / 12, rel=1e-4)
