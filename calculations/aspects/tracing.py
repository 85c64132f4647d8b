"""A step test as numbers: the recorded rows behind it, its step, how the loop answered."""

import math
from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator
from functools import partial
from itertools import pairwise
from statistics import fmean

from calculations import hunting, step_response, traces
from calculations.aspects import kinds, liquid, loop
from calculations.case import Case, Missing, Waits, once
from calculations.hunting import Hunting, HuntingState
from calculations.recordings import Column, Recording
from calculations.rule import about, percent
from calculations.rules.closeness import above, below
from calculations.step_response import StepMetrics
from calculations.traces import Gap, Saturation, Trace, TraceInspection
from calculations.units import KINDS, to_si

TESTS = "/event/step_tests"
STOPPED = 1.0
"""Output frequency below which a drive counts as stopped or asleep [Hz]; no source."""

AT_LIMIT = 0.2
"""Distance from a limit at which an output frequency counts as held by it [Hz]; no source."""

LEAST_SWING = 0.003
"""Smallest swing that counts as one, of span [1]; common practice, no source."""

TAIL = 0.2
"""Share of a trace at its end that counts as steady [1]; no source."""

SMALLEST_STEP = 0.01
"""Smallest step that an answer is measured by, of span [1]; no source."""

FEWEST_BEFORE = 5
"""Fewest samples before a step that show how restless the feedback was [1]; no source."""

MOST_UNREST = 0.1
"""Largest unrest with which a peak is measured, of the step [1]; no source."""


def recording(case: Case, place: str) -> Recording:
    """The rows behind a step test; `Missing` where nobody handed them over."""
    identity = case.word(f"{place}/trace")
    found = case.recordings.get(identity)
    if found is None:
        raise Missing(f"{place}/trace", because="the rows of this trace are not at hand")
    return found


def has_rows(case: Case) -> bool:
    """Whether the rows behind a step test are at hand; where not, `trace.time` says so once."""
    return any(test.trace in case.recordings for test in case.find(TESTS) or ())


@once
def inspection(case: Case, place: str) -> TraceInspection:
    """What the feedback's column holds, and what is wrong with it."""
    found = recording(case, place)
    if "feedback" not in found.columns:
        raise Missing(f"{place}/trace", because="no column of feedback")
    return traces.inspect_trace(times=found.times, values=found.columns["feedback"].values)


def _column(case: Case, place: str, name: str, convert: Callable[[float, str], float]) -> Trace:
    if not inspection(case, place).is_usable:
        raise Waits("trace.time")
    found = recording(case, place)
    column = found.columns.get(name)
    if column is None:
        raise Missing(f"{place}/trace", because=f"no column of {name.replace('_', ' ')}")
    values = array("d", _converted(column, convert))
    return traces.make_trace(times=found.times, values=values)


def _converted(column: Column, convert: Callable[[float, str], float]) -> Iterator[float]:
    """Each value as it is looked at; NaN where nothing was recorded."""
    for value in column.values:
        if value is None or not math.isfinite(value):
            yield math.nan
        else:
            yield convert(value, column.unit)


def _process(case: Case) -> Callable[[float, str], float]:
    """How a value of the regulated quantity is read: in its unit, or in % of the span."""
    ranged = loop.process_range(case)
    return lambda value, unit: ranged.at(value / 100) if unit == "%" else in_loop(case, value, unit)


def in_loop(case: Case, value: float, unit: str) -> float:
    """A recorded value in SI of what is regulated; `Missing` where it is of another kind."""
    kind = kinds.of_loop(case)
    if kind is None or unit in KINDS.get(kind, ()):
        return to_si(value, unit)
    if kind == "length" and unit in KINDS["pressure"]:
        return liquid.head(case, to_si(value, unit))
    raise Missing(TESTS, because=f"a trace in {unit} is not of what is regulated")


@once
def feedback(case: Case, place: str) -> Trace:
    """The feedback [SI of what is regulated]."""
    return _column(case, place, "feedback", _process(case))


@once
def output(case: Case, place: str) -> Trace:
    """The output frequency while the drive runs [Hz]."""

    def running(value: float, unit: str) -> float:
        frequency = _in_hertz(place, value, unit)
        return frequency if frequency >= STOPPED else math.nan

    return _column(case, place, "output_frequency", running)


def frequency(case: Case, place: str) -> Trace:
    """The output frequency as it was recorded, also where the drive stands [Hz]."""
    return _column(case, place, "output_frequency", partial(_in_hertz, place))


def _in_hertz(place: str, value: float, unit: str) -> float:
    if unit_is_no_frequency(unit):
        raise Missing(f"{place}/trace", because=f"its output frequency is in {unit}")
    return to_si(value, unit)


@once
def is_outside(case: Case, place: str) -> bool:
    """Whether the feedback on the whole lies beyond what its signal can tell."""
    share = loop.process_range(case).share(fmean(feedback(case, place).values))
    room = case.limit("trace.feedback.outside")
    return below(share, -room) or above(share, 1 + room)


def span(case: Case) -> float:
    """Width of the feedback's span [SI of what is regulated]."""
    return loop.process_span(case)


# -- the step -------------------------------------------------------------------------------------


def target(case: Case, place: str) -> float:
    """Set point at the end of the trace [SI]: of its column, of the test, of the settings."""
    aimed = aims(case, place)
    if aimed is not None:
        return aimed.values[-1]
    if case.is_(f"{place}/step_kind", "set_point") and case.find(f"{place}/to") is not None:
        return loop.process_value(case, f"{place}/to")
    return loop.set_point(case)


@once
def aims(case: Case, place: str) -> Trace | None:
    """The set point as it was recorded [SI of what is regulated]; None without such a column."""
    if "set_point" not in recording(case, place).columns:
        return None
    return _column(case, place, "set_point", _process(case))


@once
def metrics(case: Case, place: str) -> StepMetrics:
    """How the feedback answered a step of the set point."""
    if not case.is_(f"{place}/step_kind", "set_point"):
        raise Missing(f"{place}/step_kind", because="measured for a step of the set point only")
    start, begin = step_start(case, place)
    aim = target(case, place)
    if abs(aim - start) < SMALLEST_STEP * span(case):
        raise Missing(f"{place}/to", because="the step is too small to measure an answer by")
    return step_response.step_metrics(
        trace=feedback(case, place), step_time=begin, start_value=start, final_value=aim,
        target=aim, least_band=max(LEAST_SWING * span(case), unrest(case, place)),
    )  # fmt: skip


@once
def unrest(case: Case, place: str) -> float:
    """How far the feedback strays without a step [SI]: by noise, and as it did before the step."""
    trace, begin = feedback(case, place), step_start(case, place)[1]
    before = trace.values[: bisect_left(trace.times, trace.times[0] if begin is None else begin)]
    strayed = (max(before) - min(before)) / 2 if len(before) >= FEWEST_BEFORE else 0.0
    return max(traces.noise(trace=trace), strayed)


def unrest_share(case: Case, place: str) -> float:
    """The same, or as at the end of the trace where that is more, as a share of the step [1]."""
    found, ending = metrics(case, place), feedback(case, place).tail(window=tail(case, place))
    strays = max(unrest(case, place), (max(ending) - min(ending)) / 2)
    return strays / abs(found.final_value - found.start_value)


def require_calm(case: Case, place: str) -> None:
    """Raise `Missing` where the feedback strays too far without a step to measure its answer."""
    share = unrest_share(case, place)
    if above(share, MOST_UNREST):
        raise Missing(
            f"{place}/trace",
            because=f"the feedback strays by {percent(share)} of the step before it, or still "
            "at the end: a larger step, or a longer trace, shows more",
        )


def overshoot(case: Case, place: str) -> float:
    """How far the feedback passed the set point after its step, of the step [1]."""
    require_whole(case, place)
    require_calm(case, place)
    return metrics(case, place).overshoot


def settling_time(case: Case, place: str) -> float:
    """Time from the step until the feedback stays near its end [s]."""
    require_whole(case, place)
    require_calm(case, place)
    found = metrics(case, place).settling_time
    if step_start(case, place)[1] is None:
        raise Missing(f"{place}/step_after")
    if found is None:
        raise Missing(f"{place}/trace", because="not settled when the trace ends")
    return found


def require_whole(case: Case, place: str) -> None:
    """Raise `Missing` where a pause may hide the peak of an answer or its settling.

    Raise `Waits` where the feedback on the whole lies beyond what its signal can tell.
    """
    if is_outside(case, place):
        raise Waits("trace.feedback")
    pause = hidden(case, place)
    if pause is not None:
        raise Missing(
            f"{place}/trace",
            because=f"no feedback for {about(pause.length, 's')} from {about(pause.start, 's')} "
            "on, where its peak or its settling may lie",
        )


@once
def hidden(case: Case, place: str) -> Gap | None:
    """The first pause of the feedback that may hide the peak of an answer or its settling.

    None does once the feedback has stayed in its band for as long as the pause lasts, or as it had
    taken to get there, and is still in it afterwards: common practice, no source.
    """
    begin, aim, found = step_start(case, place)[1], target(case, place), metrics(case, place)
    for pause in pauses(case, place):
        began = feedback(case, place).times[0] if begin is None else begin
        if pause.start + pause.length > began and not _is_settled(
            feedback(case, place), pause, began, (aim - found.band, aim + found.band)
        ):
            return pause
    return None


def _is_settled(trace: Trace, pause: Gap, began: float, band: tuple[float, float]) -> bool:
    """Whether a response that began at a time [s] lay in its band before a pause, and after it."""
    low, high = band
    first, last = bisect_right(trace.times, began), bisect_right(trace.times, pause.start)
    before = range(last - 1, first - 1, -1)
    if not before or not all(low <= value <= high for value in trace.values[last : last + 1]):
        return False
    outside = next((i for i in before if not low <= trace.values[i] <= high), None)
    came = began if outside is None else trace.times[outside]
    return pause.start - came >= min(pause.length, came - began)


@once
def pauses(case: Case, place: str) -> tuple[Gap, ...]:
    """Where the feedback was not recorded, in time or in values, also at the end."""
    return feedback(case, place).pauses(end=recording(case, place).times[-1])


def step_start(case: Case, place: str) -> tuple[float, float | None]:
    """Set point before the step [SI], and when the step began [s] in the trace's time.

    Where the trace has no set point the test says both.
    """
    aimed = aims(case, place)
    if aimed is None:
        if case.find(f"{place}/from_value") is None:
            raise Missing(f"{place}/from")
        after = case.find(f"{place}/step_after")
        times = recording(case, place).times
        begin = None if after is None else times[0] + after.si
        if begin is not None and begin >= times[-1]:
            raise Missing(f"{place}/step_after", because="later than the end of the trace")
        return loop.process_value(case, f"{place}/from_value"), begin
    first = aimed.values[0]
    small = SMALLEST_STEP * span(case)
    each = zip(aimed.times, aimed.values, strict=True)
    return first, next((time for time, value in each if abs(value - first) >= small), None)


# -- what it shows --------------------------------------------------------------------------------


@once
def swings(case: Case, place: str) -> Hunting:
    """Oscillation of the feedback, if there is one, in the longest part without a pause."""
    part = unbroken(case, place)
    return hunting.find_hunting(trace=part, least_swing=LEAST_SWING * span(case))


@once
def unbroken(case: Case, place: str) -> Trace:
    """The longest part of the feedback without a pause."""
    return feedback(case, place).unbroken(end=recording(case, place).times[-1])


def unit_is_no_frequency(unit: str) -> bool:
    """Whether a column recorded as frequency stands in another kind of unit."""
    return unit not in KINDS["frequency"]


def sleep_cycles(case: Case, place: str) -> int:
    """How often the drive stopped during the trace; 0 where its frequency is not recorded."""
    column = recording(case, place).columns.get("output_frequency")
    if column is None:
        return 0
    if unit_is_no_frequency(column.unit):
        return 0
    known = _converted(column, to_si)
    running = (frequency >= STOPPED for frequency in known if not math.isnan(frequency))
    return sum(before and not now for before, now in pairwise(running))


def hunts(case: Case, place: str) -> bool:
    """Whether the loop swings without dying out, by itself and not by falling asleep."""
    lasting = (HuntingState.SUSTAINED, HuntingState.GROWING)
    return swings(case, place).state in lasting and sleep_cycles(case, place) < 2


def held(case: Case, place: str) -> Saturation:
    """How long the output frequency lay at its limits."""
    lowest, highest = case.require("/settings/minimum_frequency", "/settings/maximum_frequency")
    return traces.saturation(
        trace=output(case, place), lower_limit=lowest.si, upper_limit=highest.si, margin=AT_LIMIT
    )


def steady_error(case: Case, place: str) -> float:
    """Set point minus mean feedback at the end of the trace [SI]."""
    found, end = feedback(case, place), recording(case, place).times[-1]
    window = tail(case, place)
    lost = sum(_within(pause, end - window) for pause in pauses(case, place))
    if 2 * lost > window:
        raise Missing(
            f"{place}/trace", because=f"no feedback for {about(lost, 's')} of its last fifth"
        )
    return traces.steady_error(trace=found, set_point=target(case, place), window=window)


def tail(case: Case, place: str) -> float:
    """How long the end of the feedback is that counts as steady [s]."""
    times = feedback(case, place).times
    return TAIL * (times[-1] - times[0])


def ran(case: Case, place: str) -> bool:
    """Whether the drive ran during the trace; taken to have where its frequency is not recorded."""
    column = recording(case, place).columns.get("output_frequency")
    if column is None or unit_is_no_frequency(column.unit):
        return True
    return any(value >= STOPPED for value in _converted(column, to_si))


def _within(pause: Gap, start: float) -> float:
    """How much of a pause lies after a time [s]."""
    return max(pause.start + pause.length - max(pause.start, start), 0.0)
