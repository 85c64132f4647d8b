"""Whether the output frequency of a recorded trace swings with its feedback."""

from bisect import bisect_left, bisect_right
from cmath import exp
from math import cos, pi
from statistics import fmean

from calculations.aspects import tracing
from calculations.case import Case, once
from calculations.traces import Trace

CYCLES = 4
"""Cycles of a swing that show whether something else swings with it: more, and the period is not
known well enough; fewer, and noise looks like it."""


@once
def output_swing(case: Case, place: str) -> float | None:
    """How far the output frequency swings with the feedback, from peak to peak [Hz].

    Its part at the period of the feedback, over four cycles at a time; the largest. None where it
    was not recorded, or not for four cycles.
    """
    period = tracing.swings(case, place).period
    if period is None or "output_frequency" not in tracing.recording(case, place).columns:
        return None
    part, found = tracing.unbroken(case, place).times, tracing.output(case, place)
    rows = range(bisect_left(found.times, part[0]), bisect_right(found.times, part[-1]))
    chunks: dict[int, list[int]] = {}
    for row in rows:
        chunks.setdefault(int((found.times[row] - part[0]) / (CYCLES * period)), []).append(row)
    whole = int((part[-1] - part[0]) / (CYCLES * period))
    told = [chunks[each] for each in range(whole) if len(chunks.get(each, ())) > CYCLES]
    swung = [_swing(found, each, period) for each in told]
    return max(swung, default=None)


def _swing(trace: Trace, rows: list[int], period: float) -> float:
    """Peak to peak of what a trace holds at a period: its Fourier coefficient under Hann's window.

    The window leaves little of what swings at other periods, or rises all the while.
    """
    first, length = trace.times[rows[0]], CYCLES * period
    values, times = [trace.values[row] for row in rows], [trace.times[row] - first for row in rows]
    weights = [1 - cos(2 * pi * time / length) for time in times]
    middle, weight = fmean(values, weights), sum(weights)
    found = sum(
        weight * (value - middle) * exp(-2j * pi * time / period)
        for weight, value, time in zip(weights, values, times, strict=True)
    )
    return 4 * abs(found) / weight
