"""Rules of a recorded answer of the loop: usable, free to move, steady, on its set point."""

from collections.abc import Iterator

from calculations.aspects import tracing
from calculations.aspects.output_swings import made_of_pressure, output_swing
from calculations.aspects.tracing import TESTS
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Shown
from calculations.hunting import HuntingState
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import above
from calculations.rules.loop_set_point import SET_POINT
from calculations.rules.trace_feedback import FEEDBACK, SPAN, difference, has_answers, has_steps
from calculations.traces import TraceProblem
from calculations.units import Quantity

PROBLEMS = {
    TraceProblem.TOO_SHORT: "short",
    TraceProblem.TIME_BACKWARDS: "backwards",
    TraceProblem.MISSING_VALUES: "missing",
    TraceProblem.GAPS: "gaps",
}
USELESS = ("short", "backwards")

# -- time ---------------------------------------------------------------------------------------


def _time(case: Case, place: str) -> Iterator[Finding]:
    found = tracing.inspection(case, place)
    if not found.problems:
        return
    variant = PROBLEMS[found.problems[0]]
    yield TIME.finding(
        variant, "review" if variant in USELESS else "note", place,
        compared={"samples": Shown(str(found.samples), "")}, missing=found.missing,
        at=", ".join(str(index + 1) for index in found.backwards_at[:3]),
        longest=about(max((gap.length for gap in found.gaps), default=0.0), "s"),
        interval=about(found.interval or 0.0, "s"),
    )  # fmt: skip


TIME = Rule(
    id="trace.time",
    title="Time and values of a recorded trace",
    severities=("review", "note"),
    condition="Times rise from sample to sample and at least two samples have a value; pauses and "
    "samples without a value are a note.",
    source="logic",
    each=TESTS,
    needs=("./trace",),
    applies=has_steps,
    check=_time,
    sentences={
        "short": "The trace has {samples} samples, of which {missing} without a value: nothing can "
        "be read from it.",
        "backwards": "The trace's time stands still or runs backwards at sample {at}.",
        "missing": "{missing} of the trace's {samples} samples have no value.",
        "gaps": "The trace pauses for {longest} where it is sampled every {interval} otherwise.",
    },
    remedies={
        "short": "Record the step again.",
        "backwards": "Check how the trace was exported, or record the step again.",
    },
)


# -- sampling -------------------------------------------------------------------------------------


def _sampling(case: Case, place: str) -> Iterator[Finding]:
    interval = about(tracing.feedback(case, place).interval, "s")
    if tracing.swings(case, place).state is HuntingState.TOO_SLOW_SAMPLING:
        yield SAMPLING.finding("alias", "review", place, compared={"interval": interval})
        return
    if not case.is_(f"{place}/step_kind", "set_point"):
        return
    if tracing.metrics(case, place).is_resolved is False:
        raise Missing(
            f"{place}/trace", because=f"sampled every {interval}, too slowly for its rise"
        )


SAMPLING = Rule(
    id="trace.sampling",
    title="Sampled fast enough",
    severities=("review",),
    condition="A rise or a period has five samples at least; a swing from sample to sample may be "
    "an alias of something faster.",
    source="common practice; two samples a period are the limit of the sampling theorem",
    each=TESTS,
    needs=("./trace",),
    waits_for=(SPAN, FEEDBACK.id),
    applies=has_answers,
    check=_sampling,
    sentences={
        "alias": "The trace swings from sample to sample ({interval} apart): sampled too slowly to "
        "tell how fast the loop really swings.",
    },
    remedies={"alias": "Record again with a tenth of the interval."},
)


# -- saturated ------------------------------------------------------------------------------------


def _stuck(case: Case, place: str) -> str | None:
    """The limit that held the output for too much of the trace, if its frequency is recorded."""
    if "output_frequency" not in tracing.recording(case, place).columns:
        return None
    found, limit = tracing.held(case, place), case.limit("trace.saturated.share")
    if above(found.share_at_upper, limit):
        return "upper"
    return "lower" if above(found.share_at_lower, limit) else None


def _saturated(case: Case, place: str) -> Iterator[Finding]:
    tracing.output(case, place)
    variant = _stuck(case, place)
    if variant is None:
        return
    found = tracing.held(case, place)
    share = found.share_at_upper if variant == "upper" else found.share_at_lower
    name = "maximum_frequency" if variant == "upper" else "minimum_frequency"
    yield SATURATED.finding(
        variant, "review", place,
        compared={"frequency": case.quantity(f"/settings/{name}")},
        limit=percent(case.limit("trace.saturated.share")), share=percent(share),
    )  # fmt: skip


SATURATED = Rule(
    id="trace.saturated",
    title="Output free to move",
    severities=("review",),
    condition="The output frequency is held by its minimum or maximum for no more than a quarter "
    "of the trace; while it is, the loop is open and its answer says nothing.",
    source="common practice, no source",
    each=TESTS,
    needs=("./trace", "/settings/minimum_frequency", "/settings/maximum_frequency"),
    waits_for=("loop.signal-type", "loop.input-selector", "speed.order", FEEDBACK.id),
    applies=has_answers,
    check=_saturated,
    limits={"share": Limit(25, "%", "of the trace at a limit", "lower", "common practice")},
    sentences={
        "upper": "The drive ran at its maximum frequency {frequency} for {share} of the trace: the "
        "loop had no room to answer.",
        "lower": "The drive ran at its minimum frequency {frequency} for {share} of the trace: the "
        "loop had no room to answer.",
    },
    remedies=dict.fromkeys(
        ("upper", "lower"), "Record the step at a demand that the pump can follow."
    ),
)


def _free(case: Case, place: str) -> None:
    """Raise `Waits` where a limit held the output, so that the answer is not the loop's."""
    if _stuck(case, place):
        raise Waits("trace.saturated")


# -- hunting --------------------------------------------------------------------------------------


def _hunting(case: Case, place: str) -> Iterator[Finding]:
    _free(case, place)
    found = tracing.swings(case, place)
    if found.state is HuntingState.TOO_SLOW_SAMPLING:
        raise Waits("trace.sampling")
    if found.period is None or found.peak_to_peak is None:
        _seen_enough(case, place)
        return
    compared: dict[str, Shown | Quantity] = {
        "swing": difference(case, found.peak_to_peak),
        "period": about(found.period, "s"),
    }
    stops = tracing.sleep_cycles(case, place)
    if stops > 1:
        yield HUNTING.finding("cycling", "note", place, compared=compared, stops=stops)
    elif tracing.hunts(case, place):
        still = None if stops else _stands_still(case, place, found.peak_to_peak)
        grows = "grows" if found.state is HuntingState.GROWING else "lasts"
        yield HUNTING.finding(
            grows if still is None else "outside", "review", place, compared=compared,
            limit="" if still is None else f"the output more than {about(still, 'Hz')}",
            still="" if still is None else about(still, "Hz"),
        )  # fmt: skip
    elif found.state is HuntingState.SLOWLY_DECAYING:
        yield HUNTING.finding("slow", "note", place, compared=compared)


def _stands_still(case: Case, place: str, swing: float) -> float | None:
    """The limit [Hz] within which the output stands still beside a swing [SI]; None if it moves.

    A small movement is none only where it cannot have made half of the swing: near no flow, of a
    flat curve, in a well or of a pump with far more head than is held it makes much.
    """
    moves = output_swing(case, place)
    if moves is None:
        return None
    fixed, still = map(case.limit, ("trace.hunting.fixed", "trace.hunting.still"))
    if not above(moves, fixed):
        return fixed
    made = None if above(moves, still) else made_of_pressure(case, place, moves)
    return None if made is None or above(2 * made, swing) else still


def _seen_enough(case: Case, place: str) -> None:
    """Raise `Missing` where a swing may be missed, since pauses leave less than half in a piece."""
    part, duration = tracing.unbroken(case, place).times, tracing.inspection(case, place).duration
    seen = part[-1] - part[0]
    if 2 * seen < duration:
        raise Missing(
            f"{place}/trace",
            because=f"no more than {about(seen, 's')} of {about(duration, 's')} without a pause",
        )


HUNTING = Rule(
    id="trace.hunting",
    title="No lasting swing",
    severities=("review", "note"),
    condition="Swings of 0.3 % of span or more die out: over three cycles or more, each is less "
    "than 0.85 of the one before. A drive that falls asleep and wakes again is not hunting; nor is "
    "a loop whose output frequency swings with it by no more than 0.01 Hz, or than 0.1 Hz where "
    "that makes less than half of the swing of the pump's pressure.",
    source="common practice, no source; quarter decay: control texts; what a pump makes of 0.1 Hz: "
    "affinity laws",
    each=TESTS,
    needs=("./trace",),
    waits_for=(SPAN, FEEDBACK.id),
    applies=has_answers,
    check=_hunting,
    limits={
        "still": Limit(0.1, "Hz", "of an output frequency that stands still, if little comes of it",
                       "higher", "common practice"),
        "fixed": Limit(0.01, "Hz", "of an output frequency that stands still in any case", "higher",
                       "common practice"),
    },
    sentences={
        "outside": "The feedback swings by {swing} every {period} and does not die out, while the "
        "output frequency swings with it by no more than {still}: it is not this loop that hunts.",
        "lasts": "The feedback swings by {swing} every {period} and does not die out: the loop "
        "hunts, or something beside it swings.",
        "grows": "The loop swings by {swing} every {period}, and the swing grows.",
        "slow": "The loop swings by {swing} every {period} and dies out slowly.",
        "cycling": "The drive stops and starts again {stops} times, which swings the feedback by "
        "{swing} every {period}: it falls asleep and wakes, which is not hunting.",
    },
    remedies={
        "outside": "Look for what swings beside the loop: the demand, a valve that regulates as "
        "well, another pump, air in the tapping, the signal itself; and whether the drive was in "
        "automatic at all. The gain changes nothing of it.",
        "lasts": "Hold the drive at one frequency: if the swing goes on, look for it in the demand "
        "or the pump. If not, lower the gain or lengthen the integral time; check ramps, damping "
        "and filter.",
        "grows": "Stop it; lower the gain, and check the loop's direction.",
    },
)  # fmt: skip


# -- the answer -----------------------------------------------------------------------------------


def _quiet(case: Case, place: str) -> None:
    """Raise `Waits` where the answer is not one step's."""
    _free(case, place)
    if tracing.hunts(case, place):
        raise Waits("trace.hunting")


def is_step(case: Case, place: str) -> bool:
    """Whether the set point was stepped; a demand's step has no answer of this kind."""
    return case.word(f"{place}/step_kind") == "set_point"


def _overshoot(case: Case, place: str) -> Iterator[Finding]:
    if not is_step(case, place):
        return
    _quiet(case, place)
    found, limit = tracing.metrics(case, place).overshoot, case.limit("trace.overshoot.share")
    strays = tracing.unrest_share(case, place)
    if above(found - strays, limit) and not above(strays, limit):
        yield OVERSHOOT.finding(
            "high", "review", place,
            compared={"overshoot": Shown(percent(found), "")}, limit=percent(limit),
            least="at least " if tracing.hidden(case, place) else "",
        )  # fmt: skip
        return
    tracing.require_whole(case, place)
    if above(found, limit):
        tracing.require_calm(case, place)


OVERSHOOT = Rule(
    id="trace.overshoot",
    title="Overshoot after a step of the set point",
    severities=("review",),
    condition="After a step of the set point the feedback passes it by no more than a quarter of "
    "the step, and what it strays by without a step.",
    source="definition as in control texts; limit: common practice, no source",
    each=TESTS,
    needs=("./trace", "./step_kind"),
    waits_for=(SPAN, FEEDBACK.id),
    applies=has_answers,
    check=_overshoot,
    limits={"share": Limit(25, "%", "of the step", "lower", "common practice")},
    sentences={
        "high": "After the step the feedback passes the set point by {least}{overshoot} of the "
        "step.",
    },
    remedies={"high": "Lower the gain, lengthen the integral time, or ramp the set point."},
)


def _settling(case: Case, place: str) -> Iterator[Finding]:
    if not is_step(case, place):
        return
    _quiet(case, place)
    if tracing.metrics(case, place).settling_time is not None:
        _require_end(case, place)
        tracing.require_calm(case, place)
    elif _near(case, place):
        duration = tracing.inspection(case, place).duration
        yield SETTLING.finding("open", "review", place, compared={"duration": about(duration, "s")})


def _require_end(case: Case, place: str) -> None:
    """Raise `Missing` where the trace goes on without feedback before it had settled."""
    pause = tracing.hidden(case, place)
    if pause is not None and pause.start >= tracing.feedback(case, place).times[-1]:
        tracing.require_whole(case, place)


def _near(case: Case, place: str) -> bool:
    """Whether the steady error is small, so that it is unrest that keeps it from settling."""
    allowed = case.limit("trace.steady-error.share") * tracing.span(case)
    return not above(abs(tracing.steady_error(case, place)), allowed)


SETTLING = Rule(
    id="trace.settling",
    title="Settled before the trace ends",
    severities=("review",),
    condition="After a step of the set point the feedback stays within 2 % of the step, 0.3 % of "
    "span, or what it strays by without a step, before the trace ends.",
    source="definition as in control texts; 0.3 %: common practice, no source",
    each=TESTS,
    needs=("./trace", "./step_kind"),
    waits_for=(SPAN, FEEDBACK.id),
    applies=has_answers,
    check=_settling,
    sentences={
        "open": "After the step the feedback has not settled when the trace ends, {duration} long.",
    },
    remedies={"open": "Record longer; if it stays restless, lower the gain."},
)


def _steady_error(case: Case, place: str) -> Iterator[Finding]:
    _quiet(case, place)
    error = tracing.steady_error(case, place)
    limit = case.limit("trace.steady-error.share")
    if not above(abs(error), limit * tracing.span(case)):
        return
    yield STEADY_ERROR.finding(
        "low" if error > 0 else "high", "review", place,
        compared={"error": difference(case, abs(error)), "set_point": case.quantity(SET_POINT)},
        limit=f"{percent(limit)} of span", share=percent(abs(error) / tracing.span(case)),
    )  # fmt: skip


STEADY_ERROR = Rule(
    id="trace.steady-error",
    title="Feedback on its set point at the end",
    severities=("review",),
    condition="Over the last fifth of the trace the mean feedback is the set point, to within 1 % "
    "of span.",
    source="definition; limit: common practice, no source",
    each=TESTS,
    needs=("./trace", SET_POINT),
    waits_for=(SPAN, FEEDBACK.id),
    applies=has_answers,
    check=_steady_error,
    limits={"share": Limit(1, "%", "of span", "lower", "common practice")},
    sentences={
        "low": "At the end the feedback stays {error} ({share} of span) below its set point.",
        "high": "At the end the feedback stays {error} ({share} of span) above its set point.",
    },
    remedies=dict.fromkeys(
        ("low", "high"),
        "Check that the feedback follows the pump; then the integral part and the speed limits.",
    ),
)
