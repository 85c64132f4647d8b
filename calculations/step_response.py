"""Metrics of a step response, counted from the value at which the step began."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from calculations import guards
from calculations.errors import InvalidInput
from calculations.traces import SAMPLES_TO_RESOLVE, Trace, is_resolved

SETTLING_BAND = 0.02
"""Share of the step within which a response counts as settled [1]; usual in control texts."""

TAIL_SHARE = 0.1
"""Share of the response from whose mean the final value is taken [1]; common practice."""

_RISE_FROM, _RISE_TO = 0.1, 0.9


@dataclass(frozen=True, slots=True)
class StepMetrics:
    """A step's values [unit of the trace], shares of the step [1], times from its start [s].

    `band` is how far from the final value counts as settled [unit of the trace], to both sides.
    `rise_time` is None where the response never gets to 90 %, `settling_time` where it is not
    settled when the trace ends. `is_resolved` is False where the rise has too few samples to be
    measured; `steady_error` is None without a target.
    """

    start_value: float
    final_value: float
    band: float
    overshoot: float
    undershoot: float
    peak_time: float
    rise_time: float | None
    settling_time: float | None
    steady_error: float | None
    is_resolved: bool


def step_metrics(
    *,
    trace: Trace,
    step_time: float | None = None,
    start_value: float | None = None,
    final_value: float | None = None,
    target: float | None = None,
    settling_band: float = SETTLING_BAND,
    least_band: float = 0.0,
    samples_to_resolve: float = SAMPLES_TO_RESOLVE,
) -> StepMetrics:
    """Overshoot, rise, settling and steady error of a step, upwards or downwards.

    trace: of the feedback [any unit].
    step_time: at which the step began [s]; None takes the first sample.
    start_value: before the step [same unit]; None takes the mean before it, or the first sample.
    final_value: at which it ends [same unit]; None takes the mean of the last tenth.
    target: new set point [same unit]; None leaves the steady error out.
    settling_band: share of the step [1], above zero.
    least_band: smallest half-width of the band, for noise [same unit], zero or more.
    samples_to_resolve: within the rise [1]; common practice, so that callers may set it.
    Returns the metrics; crossings between samples are interpolated.
    Raises InvalidInput where start and final value are equal, or the step lies outside the trace.
    Equation: overshoot (peak - final)/(final - start); rise from the first 10 % to the first 90 %;
    settling to the last time outside the band.
    Source: definitions as usual in control texts; OGATA-2010, 5-3.
    """
    guards.positive(settling_band=settling_band)
    guards.not_negative(least_band=least_band)
    begin = trace.times[0] if step_time is None else step_time
    first = bisect_left(trace.times, begin)
    times, values = trace.times[first:], trace.values[first:]
    if len(times) < 2:
        raise InvalidInput("step_time", "expected at least two samples after the step")
    start = _start_value(trace.values[:first], values) if start_value is None else start_value
    ending = fmean(trace.tail(window=TAIL_SHARE * (times[-1] - times[0])))
    final = ending if final_value is None else final_value
    change = final - start
    if change == 0.0:
        raise InvalidInput("trace", "expected a step: start and final value are equal")
    peak = max(values) if change > 0.0 else min(values)
    dip = min(values) if change > 0.0 else max(values)
    rise = _rise_time(times, values, start, change)
    band = max(settling_band * abs(change), least_band)
    return StepMetrics(
        start_value=start,
        final_value=final,
        band=band,
        overshoot=max((peak - final) / change, 0.0),
        undershoot=max((start - dip) / change, 0.0),
        peak_time=times[values.index(peak)] - begin,
        rise_time=rise,
        settling_time=_settling_time(times, values, final, band, begin),
        steady_error=None if target is None else target - ending,
        is_resolved=rise is not None
        and is_resolved(duration=rise, interval=trace.interval, samples=samples_to_resolve),
    )


def _start_value(before: Sequence[float], after: Sequence[float]) -> float:
    return fmean(before) if before else after[0]


def _rise_time(
    times: Sequence[float], values: Sequence[float], start: float, change: float
) -> float | None:
    leaves = _first_crossing(times, values, start + _RISE_FROM * change, change)
    arrives = _first_crossing(times, values, start + _RISE_TO * change, change)
    return None if leaves is None or arrives is None else arrives - leaves


def _first_crossing(
    times: Sequence[float], values: Sequence[float], level: float, change: float
) -> float | None:
    """Time at which the values have come to a level in the direction of a change."""
    for index, value in enumerate(values):
        if change * (value - level) >= 0.0:
            return times[0] if index == 0 else _between(times, values, index - 1, level)
    return None


def _settling_time(
    times: Sequence[float], values: Sequence[float], final: float, band: float, begin: float
) -> float | None:
    low, high = final - band, final + band
    if not low <= values[-1] <= high:
        return None
    for index in range(len(values) - 2, -1, -1):
        value = values[index]
        if not low <= value <= high:
            return _between(times, values, index, low if value < low else high) - begin
    return 0.0


def _between(times: Sequence[float], values: Sequence[float], index: int, level: float) -> float:
    """Time at which the straight line from one sample to the next crosses a level."""
    before, after = values[index], values[index + 1]
    share = (level - before) / (after - before)
    return times[index] + share * (times[index + 1] - times[index])
