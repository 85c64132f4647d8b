"""Whether the output frequency of a recorded trace swings with its feedback."""

from bisect import bisect_left, bisect_right
from cmath import exp
from math import cos, pi
from statistics import fmean

from calculations.aspects import loop, pumping, tracing
from calculations.case import Case, Missing, Waits, once
from calculations.traces import Trace

CYCLES = 4
"""Cycles of a swing that show whether something else swings with it: more, and the period is not
known well enough; fewer, and noise looks like it. No source."""

FEWEST_A_CYCLE = 3
"""Fewest values a cycle that tell its swing [1]: two may all lie where it passes its middle. No
source."""


@once
def output_swing(case: Case, place: str) -> float | None:
    """How far the output frequency swings with the feedback, from peak to peak [Hz].

    Its part at the period of the feedback, over four cycles at a time; the largest. None where it
    was not recorded, not for four cycles, or less than three times a cycle.
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
    fewest = FEWEST_A_CYCLE * CYCLES
    told = [chunks[each] for each in range(whole) if len(chunks.get(each, ())) >= fewest]
    swung = [_swing(found, each, period) for each in told]
    return max(swung, default=None)


def made_of_pressure(case: Case, place: str, swing: float) -> float | None:
    """Swing [Pa] that one of the output [Hz] makes of the pump's pressure: 2 p0 swing / frequency.

    p0 [Pa] is what the pump adds at no flow: by the affinity laws a head H0 - c Q^2 changes by so
    much at any flow. HI engineering data, equation 1.B.6. None where no such pressure is regulated,
    or the curve is not known or in doubt.
    """
    if not loop.keeps_pressure_of_pump(case):
        return None
    mean = fmean(tracing.output(case, place).values)
    try:
        return 2 * pumping.shut_off_pressure(case, mean) * swing / mean
    except (Missing, Waits):
        return None


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
