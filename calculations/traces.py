"""Recorded traces: whether they can be used, how they end, and whether a limit held them."""

import math
from array import array
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import compress, pairwise
from operator import sub
from statistics import fmean, median

from calculations import guards
from calculations.errors import InvalidInput

GAP_FACTOR = 5.0
"""Times the usual sample interval from which a pause is a gap [1]; common practice, no source."""

SAMPLES_TO_RESOLVE = 5.0
"""Samples that a rise or a period needs before it can be measured [1]; common practice."""

NOISE_TURNS = 0.6
"""Share of samples in which noise turns, from which a trace has some [1]; no source."""

FEWEST_BENDS = 20
"""Fewest samples from which noise is known [1]; no source."""

ENOUGH_SAMPLES = 10_000
"""Samples at the end of a trace from which its noise is known [1]; no source."""

NORMAL_QUARTILE = 0.6744898
"""Median size of a normal deviate over its scatter [1]; definition."""


class TraceProblem(StrEnum):
    """What is wrong with a trace; the first two make it useless."""

    TOO_SHORT = "fewer than two samples with a value"
    TIME_BACKWARDS = "time runs backwards or stands still"
    MISSING_VALUES = "samples without a value"
    GAPS = "gaps in time"


@dataclass(frozen=True, slots=True)
class Gap:
    """A pause in a trace: where it begins [s], and how long it is [s]."""

    start: float
    length: float


@dataclass(frozen=True, slots=True)
class TraceInspection:
    """What a recording holds: counts, usual interval [s], duration [s], and what is wrong."""

    samples: int
    missing: int
    backwards_at: tuple[int, ...]
    interval: float | None
    duration: float
    gaps: tuple[Gap, ...]

    @property
    def problems(self) -> tuple[TraceProblem, ...]:
        """What is wrong, worst first; empty for a clean trace."""
        found = {
            TraceProblem.TOO_SHORT: self.samples - self.missing < 2,
            TraceProblem.TIME_BACKWARDS: bool(self.backwards_at),
            TraceProblem.MISSING_VALUES: self.missing > 0,
            TraceProblem.GAPS: bool(self.gaps),
        }
        return tuple(problem for problem, present in found.items() if present)

    @property
    def is_usable(self) -> bool:
        """True where the trace can be analysed once samples without a value are left out."""
        useless = {TraceProblem.TOO_SHORT, TraceProblem.TIME_BACKWARDS}
        return not useless.intersection(self.problems)


@dataclass(frozen=True, slots=True)
class Trace:
    """Samples with strictly rising times [s], finite values [any unit], usual interval [s]."""

    times: Sequence[float]
    values: Sequence[float]
    interval: float

    def pauses(self, *, end: float) -> tuple[Gap, ...]:
        """Where no value was recorded for more than five usual intervals.

        end: of the recording [s]; what lies between the last value and it counts as well.
        """
        longest, last = GAP_FACTOR * self.interval, self.times[-1]
        inside = _gaps(self.times, _steps(self.times), longest)
        return (*inside, Gap(last, end - last)) if end - last > longest else inside

    def unbroken(self, *, end: float) -> "Trace":
        """The longest part without a pause; `end` as for `pauses`."""
        pauses = self.pauses(end=end)
        if not pauses:
            return self
        starts = [0, *(bisect_left(self.times, gap.start + gap.length) for gap in pauses)]
        ends = [*(bisect_left(self.times, gap.start) + 1 for gap in pauses), len(self.times)]
        first, last = max(zip(starts, ends, strict=True), key=lambda part: part[1] - part[0])
        return Trace(self.times[first:last], self.values[first:last], self.interval)

    def tail(self, *, window: float) -> Sequence[float]:
        """Values of the last part of the trace.

        window: length of that part [s], above zero.
        Returns at least the last value.
        Raises InvalidInput for a window not above zero.
        """
        guards.positive(window=window)
        return self.values[bisect_left(self.times, self.times[-1] - window) :]


@dataclass(frozen=True, slots=True)
class Saturation:
    """How a trace lies at its limits: shares of time [1] and longest stays [s]."""

    share_at_lower: float
    share_at_upper: float
    longest_at_lower: float
    longest_at_upper: float


def inspect_trace(
    *,
    times: Sequence[float],
    values: Sequence[float | None],
    gap_factor: float = GAP_FACTOR,
) -> TraceInspection:
    """What a recording holds and what is wrong with it, before anything is computed from it.

    times: of the samples [s].
    values: one for each time [any unit]; None, NaN and infinity count as missing.
    gap_factor: times the usual interval from which a pause is a gap [1], above 1.
    Returns counts, usual interval, duration and problems.
    Raises InvalidInput for columns of unequal length or times that are not finite.
    Equation: usual interval = median of the differences that are above zero.
    """
    guards.within(gap_factor=gap_factor, lowest=1.0, highest=math.inf, unit="")
    if len(times) != len(values):
        raise InvalidInput("values", f"expected {len(times)}, one for each time, got {len(values)}")
    if not all(map(math.isfinite, times)):
        raise InvalidInput("times", "expected finite numbers")
    steps = _steps(times)
    interval = _usual_interval(steps)
    return TraceInspection(
        samples=len(times),
        missing=sum(not _is_known(value) for value in values),
        backwards_at=_backwards(steps),
        interval=interval,
        duration=times[-1] - times[0] if steps else 0.0,
        gaps=_gaps(times, steps, gap_factor * interval) if interval else (),
    )


def make_trace(*, times: Sequence[float], values: Sequence[float | None]) -> Trace:
    """A trace that can be analysed, without the samples that have no value.

    times: of the samples [s], strictly rising.
    values: one for each time [any unit]; None, NaN and infinity are left out.
    Returns the trace, with the usual interval of the samples that have a value.
    Raises InvalidInput for columns of unequal length, times that are not finite or do not rise
    (naming the sample), or fewer than two samples with a value.
    """
    found = inspect_trace(times=times, values=values)
    if found.backwards_at:
        at = found.backwards_at[0]
        raise InvalidInput("times", f"expected to rise, sample {at} is not after the one before")
    if found.samples - found.missing < 2 or found.interval is None:
        raise InvalidInput("values", "expected at least two samples with a value")
    kept_times = array("d", compress(times, map(_is_known, values)))
    kept_values = array("d", (v for v in values if v is not None and _is_known(v)))
    interval = _usual_interval(_steps(kept_times)) or found.interval
    return Trace(kept_times, kept_values, interval)


def steady_error(*, trace: Trace, set_point: float, window: float) -> float:
    """How far a regulated quantity stays from its set point at the end of a trace.

    trace: of the feedback [any unit].
    set_point: that held during the window [same unit].
    window: length of the trace's end to average over [s], above zero.
    Returns set point minus mean feedback [same unit]; positive where the feedback stays low.
    Raises InvalidInput for a set point that is not finite or a window not above zero.
    Equation: e = SP - mean(PV).
    Source: definition.
    """
    guards.finite(set_point=set_point)
    return set_point - fmean(trace.tail(window=window))


def saturation(
    *, trace: Trace, lower_limit: float, upper_limit: float, margin: float
) -> Saturation:
    """How much of a trace lies at a limit, as an output frequency does at its ends.

    trace: of the output [any unit].
    lower_limit, upper_limit: of the output [same unit], rising.
    margin: distance within which a value counts as at the limit [same unit], zero or more.
    Returns shares of time [1] and longest stays [s]; each sample counts until the next.
    Raises InvalidInput for limits that do not rise or a negative margin.
    Source: definition.
    """
    guards.finite(lower_limit=lower_limit, upper_limit=upper_limit)
    guards.not_negative(margin=margin)
    if lower_limit >= upper_limit:
        raise InvalidInput("upper_limit", f"expected more than {lower_limit:g}")
    low, high = lower_limit + margin, upper_limit - margin
    at_lower, longest_at_lower = _stays(trace, (value <= low for value in trace.values))
    at_upper, longest_at_upper = _stays(trace, (value >= high for value in trace.values))
    duration = trace.times[-1] - trace.times[0]
    return Saturation(at_lower / duration, at_upper / duration, longest_at_lower, longest_at_upper)


def noise(*, trace: Trace) -> float:
    """How far noise from sample to sample carries a trace off its course, to either side.

    trace: evenly sampled [any unit].
    Returns what so many samples of white noise stay within [same unit]; zero where the trace does
    not alternate from sample to sample as noise does, so that a smooth swing is none.
    Equation: sigma sqrt(2 ln(2 n)); second differences scatter by sqrt(6) sigma, and their median
    size is 0.6745 of that. They change sign in 73 % of the samples of noise: from 60 % on.
    Source: derived, for a normal distribution.
    """
    some = trace.values[-ENOUGH_SAMPLES:]
    bends = array("d", map(sub, _steps(some)[1:], _steps(some)))
    turns = sum(1 for before, after in pairwise(bends) if before * after < 0.0)
    if len(bends) < FEWEST_BENDS or turns < NOISE_TURNS * (len(bends) - 1):
        return 0.0
    sigma = median(map(abs, bends)) / NORMAL_QUARTILE / math.sqrt(6.0)
    return float(sigma * math.sqrt(2.0 * math.log(2.0 * len(trace.values))))


def is_resolved(*, duration: float, interval: float, samples: float = SAMPLES_TO_RESOLVE) -> bool:
    """Whether something was sampled fast enough to be measured.

    duration: of the rise or the period [s], zero or more.
    interval: between samples [s], above zero.
    samples: that are needed within the duration [1], above zero; common practice.
    Returns True where the samples suffice.
    Raises InvalidInput for values outside these ranges.
    Equation: duration >= samples x interval.
    Source: common practice, no source; two a period is the limit of the sampling theorem.
    """
    guards.not_negative(duration=duration)
    guards.positive(interval=interval, samples=samples)
    return duration >= samples * interval


def _is_known(value: float | None) -> bool:
    return value is not None and math.isfinite(value)


def _steps(values: Sequence[float]) -> Sequence[float]:
    return array("d", map(sub, values[1:], values))


def _usual_interval(steps: Sequence[float]) -> float | None:
    # A few thousand of a million steps are enough for a median.
    rising = [step for step in steps[:: max(1, len(steps) // 10_000)] if step > 0.0]
    return median(rising) if rising else None


def _backwards(steps: Sequence[float]) -> tuple[int, ...]:
    if not steps or min(steps) > 0.0:
        return ()
    return tuple(index + 1 for index, step in enumerate(steps) if step <= 0.0)


def _gaps(times: Sequence[float], steps: Sequence[float], longest: float) -> tuple[Gap, ...]:
    if max(steps) <= longest:
        return ()
    return tuple(Gap(times[i], step) for i, step in enumerate(steps) if step > longest)


def _stays(trace: Trace, at_limit: Iterable[bool]) -> tuple[float, float]:
    """Total and longest time during which the samples are at a limit [s]."""
    total = longest = current = 0.0
    for (before, after), stays in zip(pairwise(trace.times), at_limit, strict=False):
        step = after - before
        current = current + step if stays else 0.0
        total += step if stays else 0.0
        longest = max(longest, current)
    return total, longest
