"""Hunting of a loop, found in a trace: period, amplitude, and whether it dies out or grows."""

import math
from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate, pairwise
from operator import mul, sub
from statistics import fmean, pstdev

from calculations import guards
from calculations.traces import SAMPLES_TO_RESOLVE, Trace


class HuntingState(StrEnum):
    """What a trace shows of an oscillation."""

    NONE = "no oscillation above the smallest swing"
    TOO_FEW_CYCLES = "too few cycles to tell"
    TOO_SLOW_SAMPLING = "sampled too slowly to tell a period from an alias"
    IRREGULAR = "swings without a steady period"
    DECAYING = "dies out quickly"
    SLOWLY_DECAYING = "dies out slowly"
    SUSTAINED = "hunts at a steady amplitude"
    GROWING = "grows"


@dataclass(frozen=True, slots=True)
class HuntingLimits:
    """What counts as what; all by common practice, without source, so that callers may set them.

    cycles: fewest to judge [1]. samples: fewest in a period [1]. healthy_ratio, sustained_ratio,
    growing_ratio: limits between the states, next swing over the one a cycle before [1].
    regularity: largest scatter of the cycles' lengths over their mean [1]. rhythm: smallest
    autocorrelation at a period, and its reverse at half a period [1].
    """

    cycles: float = 3.0
    samples: float = SAMPLES_TO_RESOLVE
    healthy_ratio: float = 0.5
    sustained_ratio: float = 0.85
    growing_ratio: float = 1.1
    regularity: float = 0.35
    rhythm: float = 0.6


USUAL_LIMITS = HuntingLimits()
"""A quarter-decay response has 0.25, a limit cycle 1 (0.85 to 1.1)."""

# Below this scatter a fast alternation is a period; above it, noise from sample to sample.
_ALIAS_REGULARITY = 0.2

# Below this scatter the turning points are the oscillation's own.
_CLEAN_SCATTER = 0.1

_BLOCKS_PER_PERIOD = 16


@dataclass(frozen=True, slots=True)
class Hunting:
    """State, and where an oscillation was found its period [s], swing [unit of the trace], ratio.

    `peak_to_peak` is the mean swing, with the noise that averaging has left, `amplitude` half of
    it; `peak_ratio` is a swing over the one a cycle before [1].
    """

    state: HuntingState
    cycles: float = 0.0
    period: float | None = None
    peak_to_peak: float | None = None
    peak_ratio: float | None = None

    @property
    def amplitude(self) -> float | None:
        """Half of the mean swing [unit of the trace]."""
        return None if self.peak_to_peak is None else self.peak_to_peak / 2.0


@dataclass(frozen=True, slots=True)
class _Series:
    """Samples averaged in blocks: how many in one, and the interval between samples [s]."""

    times: Sequence[float]
    values: Sequence[float]
    interval: float
    averaged: int = 1

    @property
    def block(self) -> float:
        """Length of a block [s]."""
        return self.averaged * self.interval

    def flattening(self, period: float) -> float:
        """Share of a sine's swing that is left when it is averaged in blocks [1]."""
        inside = self.averaged * math.sin(math.pi * self.interval / period)
        return math.sin(math.pi * self.block / period) / inside


@dataclass(frozen=True, slots=True)
class _Cycles:
    """Indices of the turning points of a series, mean length of a cycle [s], and its scatter."""

    turns: Sequence[int]
    period: float
    scatter: float


def find_hunting(
    *, trace: Trace, least_swing: float, limits: HuntingLimits = USUAL_LIMITS
) -> Hunting:
    """Oscillation in a trace, if there is one.

    trace: of the feedback or of the output, evenly sampled [any unit].
    least_swing: smallest peak to peak that matters [same unit], above zero; 0.3 % of span is
    common practice.
    limits: of the states.
    Returns the state and what was measured. Noise is averaged away as long as a period keeps
    enough samples; a slow drift does no harm; a period is believed only where the trace repeats
    itself after it and is reversed after half of it.
    Raises InvalidInput for a swing not above zero.
    Equation: turning points at least `least_swing` apart; ratio from a straight line through the
    logarithms of the swings; autocorrelation at one and at half a period.
    Source: common practice, no source; second overshoot over first as in OGATA-2010, 5-3.
    """
    guards.positive(least_swing=least_swing)
    series = _Series(trace.times, trace.values, trace.interval)
    found = _steady_cycles(series, least_swing, limits)
    if found is None or found[1].scatter > _CLEAN_SCATTER:
        # Noise adds turns of its own; the larger swings of the trace's usual range are steadier.
        usual = max(least_swing, 0.5 * _usual_range(trace.values))
        larger = _steady_cycles(series, usual, limits)
        found = min(filter(None, (found, larger)), key=lambda each: each[1].scatter, default=None)
    return _measured(*found, limits) if found else _unmeasured(series, least_swing, limits)


def _steady_cycles(
    series: _Series, least_swing: float, limits: HuntingLimits
) -> tuple[_Series, _Cycles] | None:
    """The series, averaged as far as needed, and its cycles, where they have a rhythm."""
    while cycles := _cycles(series, least_swing, limits.cycles):
        resolved = cycles.period >= limits.samples * series.block
        if resolved and cycles.scatter <= limits.regularity:
            coarse = _coarse(series, cycles.period)
            if _has_rhythm(coarse, cycles.period, limits.rhythm):
                smoother = _cycles(coarse, least_swing, limits.cycles)
                return (coarse, smoother) if smoother else (series, cycles)
        series = _halved(series)
    return None


def _measured(series: _Series, cycles: _Cycles, limits: HuntingLimits) -> Hunting:
    swings = _swings(series, cycles)
    ratio = _ratio_per_cycle(swings)
    swing = fmean(swings) / series.flattening(cycles.period)
    return Hunting(_state(ratio, limits), len(swings) / 2.0, cycles.period, swing, ratio)


def _state(ratio: float, limits: HuntingLimits) -> HuntingState:
    if ratio > limits.growing_ratio:
        return HuntingState.GROWING
    if ratio >= limits.sustained_ratio:
        return HuntingState.SUSTAINED
    return HuntingState.DECAYING if ratio < limits.healthy_ratio else HuntingState.SLOWLY_DECAYING


def _unmeasured(series: _Series, least_swing: float, limits: HuntingLimits) -> Hunting:
    """What can be said of a trace without steady cycles."""
    cycles = _cycles(series, least_swing, 1.0)
    if cycles is None:
        return Hunting(HuntingState.NONE)
    count = (len(cycles.turns) - 1) / 2.0
    fast = cycles.period < limits.samples * series.block
    if count >= limits.cycles:
        aliased = fast and cycles.scatter <= _ALIAS_REGULARITY
        return Hunting(HuntingState.TOO_SLOW_SAMPLING if aliased else HuntingState.IRREGULAR, count)
    swings = _swings(series, cycles)
    ratio = _ratio_per_cycle(swings)
    if fast or ratio >= limits.healthy_ratio:
        return Hunting(HuntingState.TOO_FEW_CYCLES, count)
    return Hunting(HuntingState.DECAYING, count, cycles.period, fmean(swings), ratio)


def _cycles(series: _Series, least_swing: float, fewest: float) -> _Cycles | None:
    # The first extreme is left out: a trace rarely begins at a true one.
    turns = _extremes(series.values, least_swing)[1:]
    if len(turns) < 2.0 * fewest + 1.0:
        return None
    times = [series.times[index] for index in turns]
    lengths = [after - before for before, after in zip(times, times[2:], strict=False)]
    period = fmean(lengths)
    return _Cycles(turns, period, pstdev(lengths) / period)


def _extremes(values: Sequence[float], least_swing: float) -> list[int]:
    """Indices of alternating maxima and minima, each confirmed by a swing away from it."""
    found: list[int] = []
    highest = lowest = 0
    top = bottom = values[0]
    seeks_top = seeks_bottom = True
    for index, value in enumerate(values):
        if value > top:
            highest, top = index, value
        elif value < bottom:
            lowest, bottom = index, value
        if seeks_top and top - value >= least_swing:
            found.append(highest)
            seeks_top, seeks_bottom, lowest, bottom = False, True, index, value
        elif seeks_bottom and value - bottom >= least_swing:
            found.append(lowest)
            seeks_top, seeks_bottom, highest, top = True, False, index, value
    return found


def _swings(series: _Series, cycles: _Cycles) -> list[float]:
    """Distances between successive extremes, with what lies hidden between the samples."""
    seen = [series.values[index] for index in cycles.turns]
    hidden = [_hidden(series.values, index) for index in cycles.turns]
    # Samples miss at most this share of a sine's swing; a square wave has nothing to add.
    most = 1.0 - math.cos(math.pi * series.block / cycles.period)
    swings = [abs(after - before) for before, after in pairwise(seen)]
    return [
        swing + min(before + after, most * swing)
        for swing, (before, after) in zip(swings, pairwise(hidden), strict=True)
    ]


def _hidden(values: Sequence[float], index: int) -> float:
    """How far the parabola through an extreme and its neighbours goes beyond it.

    It has both: what comes first is no turn, and one is a turn once the values go away from it.
    """
    before, here, after = values[index - 1 : index + 2]
    bend = before - 2.0 * here + after
    return (before - after) ** 2 / abs(8.0 * bend) if bend else 0.0


def _ratio_per_cycle(swings: Sequence[float]) -> float:
    logarithms = [math.log(swing) for swing in swings]
    middle = (len(swings) - 1) / 2.0
    spread = sum((i - middle) ** 2 for i in range(len(swings)))
    slope = sum((i - middle) * value for i, value in enumerate(logarithms)) / spread
    return math.exp(2.0 * slope)


def _has_rhythm(series: _Series, period: float, least: float) -> bool:
    """Whether a series repeats itself after a period and is reversed after half of it.

    least: the autocorrelation from which it does [1].
    """
    lag = period / series.block
    values = _without_drift(series.values, max(round(lag), 1))
    power = math.fsum(map(mul, values, values))
    repeats = max(_correlation(values, shift) for shift in _around(lag))
    reverses = -min(_correlation(values, shift) for shift in _around(lag / 2.0))
    return power > 0.0 and min(repeats, reverses) >= least * power  # what is flat has none


def _around(lag: float) -> range:
    return range(max(math.floor(0.8 * lag), 1), math.ceil(1.2 * lag) + 1)


def _correlation(values: Sequence[float], shift: int) -> float:
    """Sum of products at a shift, raised for the products that the ends lack."""
    overlap = len(values) - shift
    return (
        math.fsum(map(mul, values, values[shift:])) * len(values) / overlap if overlap > 0 else 0.0
    )


def _without_drift(values: Sequence[float], window: int) -> Sequence[float]:
    """Values less the mean of a window around them, where the window is complete."""
    sums = array("d", accumulate(values, initial=0.0))
    means = ((b - a) / window for a, b in zip(sums, sums[window:], strict=False))
    return array("d", map(sub, values[window // 2 :], means))


def _usual_range(values: Sequence[float]) -> float:
    """Distance between the tenth and the ninetieth percentile, from a few thousand values."""
    some = sorted(values[:: max(1, len(values) // 10_000)])
    return some[(len(some) * 9) // 10] - some[len(some) // 10]


def _coarse(series: _Series, period: float) -> _Series:
    while period >= 2.0 * _BLOCKS_PER_PERIOD * series.block:
        series = _halved(series)
    return series


def _halved(series: _Series) -> _Series:
    return _Series(
        _means_of_two(series.times),
        _means_of_two(series.values),
        series.interval,
        2 * series.averaged,
    )


def _means_of_two(values: Sequence[float]) -> Sequence[float]:
    return array("d", (0.5 * (a + b) for a, b in zip(values[::2], values[1::2], strict=False)))
