"""Rule of a recorded feedback: in the unit of its heading, and following the pump at all."""

from collections.abc import Callable, Iterator
from functools import partial
from statistics import fmean

from calculations import traces
from calculations.aspects import chain, loop, tracing
from calculations.aspects.tracing import TESTS
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import above
from calculations.rules.loop_signal import shown
from calculations.rules.mix_ups import EXPLAINS, SLIPS
from calculations.signals import ANALOGUE_SIGNALS
from calculations.traces import Trace
from calculations.units import factor

SPAN = "loop.scaling"
"""What swings and errors are held against; a recorded answer is no less one for a selector that
is written down wrongly, and one whose feedback floats is told to be held at a limit."""

AT_LOWER_END = 0.01
"""Share of the span up to which a feedback counts as at its lower end [1]; no source."""

FOLLOWS_AT_ONCE = (
    "discharge_pressure", "suction_pressure", "differential_pressure", "flow",
)  # fmt: skip
"""What a change of speed shows in within seconds; a level in a wide well may rest for minutes."""


def has_steps(case: Case) -> bool:
    """Whether an answer of the loop in the drive was recorded."""
    return loop.is_closed(case) and bool(case.find(TESTS))


def has_answers(case: Case) -> bool:
    """Whether there are rows to look at."""
    return has_steps(case) and tracing.has_rows(case)


def difference(case: Case, value: float) -> Shown:
    """A difference of what is regulated, in the unit that people read it in."""
    unit = loop.process_unit(case)
    if unit == "%":
        return about(value / tracing.span(case), unit)
    return Shown(str(about(value / factor(unit))), unit)


def _feedback(case: Case, place: str) -> Iterator[Finding]:
    outside = tracing.is_outside(case, place)
    if not outside and not _is_off(case, tracing.steady_error(case, place)):
        return
    yield from _in_another_unit(case, place, outside) or _still(case, place)


def _is_off(case: Case, error: float) -> bool:
    """Whether the feedback stays further from its set point than a working loop leaves it."""
    return above(abs(error), case.limit("trace.steady-error.share") * tracing.span(case))


# -- unit -----------------------------------------------------------------------------------------


def _in_another_unit(case: Case, place: str, outside: bool) -> list[Finding]:
    """The unit that explains the feedback; without one, that it lies where no signal reads."""
    written, raw = tracing.recording(case, place).columns["feedback"].unit, _raw(case, place)
    compared = {name: Shown(str(about(end(raw.values))), written)
                for name, end in (("lowest", min), ("highest", max))}  # fmt: skip
    meant = _meant(case, place, raw, written)
    if meant is None:
        if not outside:
            return []
        loop.require_level_reference(case)
    return [
        FEEDBACK.finding(
            "unit" if meant else "outside", "review", place, compared=compared,
            limit=f"up to {percent(case.limit('trace.feedback.outside'))} of span beyond it",
            meant=meant or "", written=written,
            lower=shown(case, loop.process_range(case).low),
            upper=shown(case, loop.process_range(case).high),
        )
    ]  # fmt: skip


def _raw(case: Case, place: str) -> Trace:
    """The feedback as it was recorded [unit of its column]."""
    found = tracing.recording(case, place)
    return traces.make_trace(times=found.times, values=found.columns["feedback"].values)


def _meant(case: Case, place: str, raw: Trace, written: str) -> str | None:
    """The unit in which all of the feedback lies in the span, and its end on the set point."""
    ranged, end = loop.process_range(case), fmean(raw.tail(window=tracing.tail(case, place)))
    aim, recorded = tracing.target(case, place), _recorded_aim(case, place, written)
    errors: dict[str, float] = {}
    for unit, read in _readings(case, written):
        ends = (ranged.share(read(each)) for each in (min(raw.values), max(raw.values)))
        if all(-EXPLAINS <= share <= 1 + EXPLAINS for share in ends):
            # A set point that was recorded beside it may stand in the same wrong unit.
            beside = () if recorded is None else (read(recorded),)
            aims = [aim, *(each for each in beside if _is_set(case, place, each))]
            errors[unit] = min(abs(each - read(end)) for each in aims)
    best = min(errors, key=lambda unit: errors[unit], default=None)
    return best if best and not _is_off(case, errors[best]) else None


def _is_set(case: Case, place: str, value: float) -> bool:
    """Whether a value [SI] is near something that was set; True where nothing tells.

    In a smaller unit every error is smaller, so that one alone would explain any of them.
    """
    places = [*loop.aims(case), f"{place}/to"]
    known = [loop.process_value(case, each) for each in places if case.find(each) is not None]
    return not known or any(not _is_off(case, value - each) for each in known)


def _recorded_aim(case: Case, place: str, unit: str) -> float | None:
    """The last set point that was recorded in the unit of the feedback [that unit]."""
    found = tracing.recording(case, place)
    column = found.columns.get("set_point")
    if column is None or column.unit != unit:
        return None
    return traces.make_trace(times=found.times, values=column.values).values[-1]


def _readings(case: Case, written: str) -> Iterator[tuple[str, Callable[[float], float]]]:
    """Units that are taken for the one written, and how a value is read in each [SI]."""
    for unit in SLIPS.get(written, ()):
        yield unit, partial(tracing.in_loop, case, unit=unit)
    signal = ANALOGUE_SIGNALS.get(str(case.find(chain.INPUT)))
    if signal is None:
        return
    ranged, width = loop.process_range(case), signal.upper - signal.lower
    if signal.unit != written:
        per = factor(signal.unit)
        yield signal.unit, lambda value: ranged.at((value * per - signal.lower) / width)


# -- still ----------------------------------------------------------------------------------------


def _still(case: Case, place: str) -> Iterator[Finding]:
    """A feedback off its set point that does not move at all, whatever the drive does."""
    values, ranged = tracing.feedback(case, place).values, loop.process_range(case)
    still = case.limit("trace.feedback.still")
    if above((max(values) - min(values)) / abs(ranged.span), still):
        return
    error = tracing.steady_error(case, place)
    compared = {
        "feedback": shown(case, values[-1]),
        "error": difference(case, abs(error)),
    }
    if not above(ranged.share(max(values)), AT_LOWER_END) and tracing.ran(case, place):
        yield FEEDBACK.finding("zero", "review", place, compared=compared)
        return
    if not loop.regulates(case, *FOLLOWS_AT_ONCE):
        return
    frequencies = tracing.output(case, place).values
    slow, fast = min(frequencies), max(frequencies)
    if above(fast - slow, case.limit("trace.feedback.moved")):
        yield FEEDBACK.finding(
            "still", "review", place,
            compared=compared | {"slow": about(slow, "Hz"), "fast": about(fast, "Hz")},
            limit=f"{case.limit('trace.feedback.moved'):g} Hz without an answer",
        )  # fmt: skip


FEEDBACK = Rule(
    id="trace.feedback",
    title="Recorded feedback in its unit, and following the pump",
    severities=("review",),
    condition="On the whole the recorded feedback lies within the span of the signal, to 10 % of "
    "span beyond it, and no other unit than that of its heading puts it on the set point. Where it "
    "ends off its set point it does not lie at the lower end of its span throughout; and a "
    "pressure or flow moves, by more than 0.1 % of span, when the output frequency changes by more "
    "than 2 Hz.",
    source="definitions of the units; a signal of 4 to 20 mA ends at about 21 mA, 106 % of span: "
    "NAMUR NE 43, secondary text; other limits: common practice, no source",
    each=TESTS,
    needs=("./trace",),
    waits_for=(SPAN,),
    applies=has_answers,
    check=_feedback,
    limits={
        "outside": Limit(10, "%", "of span beyond its ends", "lower", "common practice"),
        "still": Limit(0.1, "%", "of span, within which it stands still", "higher",
                       "common practice"),
        "moved": Limit(2, "Hz", "of the output frequency without an answer", "lower",
                       "common practice"),
    },
    sentences={
        "unit": "Probably {meant}, not {written}: the feedback was recorded from {lowest} to "
        "{highest}, while the span is {lower} to {upper}. Read in {meant} it ends on the set "
        "point.",
        "outside": "The feedback was recorded from {lowest} to {highest}, while the span is "
        "{lower} to {upper}: the signal does not tell such values.",
        "still": "The feedback stands at {feedback} throughout, {error} off its set point, while "
        "the output frequency goes from {slow} to {fast}: it does not follow the pump.",
        "zero": "The feedback stands at {feedback} throughout, the lower end of its span, {error} "
        "off its set point: as if the sensor were dead or not connected.",
    },
    remedies={
        "unit": "Check in which unit the trace was exported, correct its heading and hand it in "
        "again.",
        "outside": "Check unit and channel of the column, and hand the trace in again.",
        "still": "Look for a closed isolating valve or a blocked tapping at the sensor, a feedback "
        "that is held or simulated, and a wrong channel of the recorder; then record again.",
        "zero": "Check wire, supply and isolating valve of the sensor, the channel of the "
        "recorder, and that the pump delivered; then record again.",
    },
)  # fmt: skip
