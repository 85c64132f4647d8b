"""Pauses in a recorded answer: what they may hide is not measured; how wide its band is."""

from collections.abc import Callable
from math import pi, sin

import pytest

from calculations.recordings import Column, Recording
from tests.calculations.building import changed, derived, judged, lacking, of_rule
from tests.calculations.building_event import TRACE
from tests.calculations.building_plates import q
from tests.calculations.rules.test_loop_traces import (
    AT,
    STEPPED,
    TRACES,
    recorded,
    second_order,
    verdicts,
)

LATE = changed(STEPPED, {f"{AT}/step_after": q("60", "s")})


def slow_step(damping: float = 0.2) -> Callable[[float], float]:
    """45 psi for a minute, then to 85 psi with 0.2 rad/s.

    Overshoot exp(-pi z / sqrt(1 - z^2)) = 52.66 % at 0.2, 16.0 s after the step; within 2 % from
    4 / (z w) = 100 s on, about.
    """
    answer = second_order(damping, 0.2)
    return lambda t: 45 + 40 * answer(t - 60) if t > 60 else 45.0


def with_pause(
    feedback: Callable[[float], float], start: float, end: float, drop: bool = False
) -> dict[str, Recording]:
    """Once a second for ten minutes; without feedback, or without rows, in between."""
    times = [float(t) for t in range(601) if not (drop and start <= t < end)]
    values = [None if start <= t < end else feedback(t) for t in times]
    frequency = Column("Hz", [48.0 for _ in times])
    return {TRACE: Recording(times, {"feedback": Column("psi", values),
                                     "output_frequency": frequency})}  # fmt: skip


@pytest.mark.parametrize("drop", [False, True])
def test_a_pause_over_the_peak_leaves_nothing_to_measure(drop):
    """What is left after the pause has a peak of its own, of 14 % instead of 53 %."""
    judgement = judged(LATE, recordings=with_pause(slow_step(), 64, 109, drop))
    (missing,) = lacking(judgement, "trace.overshoot")
    assert missing.needs == (f"{AT}/trace",)
    assert missing.because == (
        "no feedback for 46 s from 63 s on, where its peak or its settling may lie"
    )
    told = {each.id for each in judgement.derived}
    assert not {"trace.overshoot", "trace.settling-time"} & told
    assert of_rule(judgement, "trace.settling") == []


def test_what_is_too_much_beside_a_pause_is_told_all_the_same():
    """The peak of 53 % is there; the pause begins after it, before the answer has settled."""
    judgement = judged(LATE, recordings=with_pause(slow_step(), 80, 140))
    (found,) = of_rule(judgement, "trace.overshoot")
    assert found.parameters["least"] == "at least "
    assert float(found.parameters["overshoot"].split()[0]) == pytest.approx(52.7, abs=0.2)


@pytest.mark.parametrize(("start", "end"), [(10, 50), (65, 69), (300, 400), (500, 601)])
def test_a_pause_before_the_step_a_short_one_or_a_late_one_hides_nothing(start, end):
    judgement = judged(LATE, recordings=with_pause(slow_step(0.5), start, end))
    assert lacking(judgement, "trace.overshoot") == []
    assert lacking(judgement, "trace.settling") == []
    # Damping 0.5: 16.303 %; sampled once a second.
    assert derived(judgement, "trace.overshoot").si == pytest.approx(0.163, abs=0.003)


@pytest.mark.parametrize(
    ("end", "waits"),
    [
        # In its band from 8.076 / 0.2 = 40.4 s after the step on: 30 s of rest for a pause of 30 s.
        (160, False),
        # A pause may be longer than the rest before it, but not than it took to settle.
        (260, True),
    ],
)
def test_how_long_an_answer_must_have_rested_before_a_pause(end, waits):
    judgement = judged(LATE, recordings=with_pause(slow_step(0.5), 131, end))
    assert bool(lacking(judgement, "trace.overshoot")) is waits


def test_an_answer_that_left_its_band_in_a_pause_is_not_measured():
    left_band = slow_step(0.5)
    judgement = judged(
        LATE, recordings=with_pause(lambda t: left_band(t) if t < 300 else 80.0, 250, 300)
    )
    assert len(lacking(judgement, "trace.overshoot")) == 1


def test_a_trace_that_goes_on_without_feedback_has_no_end():
    """Cut off in the rise: no steady error, no settling, no overshoot of what is left."""
    judgement = judged(LATE, recordings=with_pause(slow_step(), 64, 601))
    for rule in ("trace.overshoot", "trace.steady-error"):
        assert [each.needs for each in lacking(judgement, rule)] == [(f"{AT}/trace",)]
    assert [each.rule for each in judgement.findings if each.rule in TRACES[2:]] == []
    settled = judged(LATE, recordings=with_pause(slow_step(0.5), 102, 601))
    assert len(lacking(settled, "trace.settling")) == 1


def test_a_feedback_that_is_recorded_more_rarely_than_the_rest_has_no_pauses():
    rows = recorded(slow_step(0.5), seconds=300)[TRACE]
    values = [each if index % 10 == 0 else None
              for index, each in enumerate(rows.columns["feedback"].values)]  # fmt: skip
    rare = {TRACE: Recording(rows.times, {**rows.columns, "feedback": Column("psi", values)})}
    judgement = judged(LATE, recordings=rare)
    assert derived(judgement, "trace.overshoot").si == pytest.approx(0.163, abs=0.003)


def test_hunting_is_looked_for_in_the_longest_part_without_a_pause():
    swinging_on = with_pause(lambda t: 85 + 1.5 * sin(2 * pi * t / 24), 200, 260)
    assert verdicts(swinging_on, "trace.hunting") == [("review", "outside")]  # at 48 Hz


def test_where_only_pieces_are_left_hunting_is_not_judged():
    rows = with_pause(lambda t: 85.0, 150, 200)[TRACE]
    values = list(rows.columns["feedback"].values)
    values[350:400] = [None] * 50
    pieces = {TRACE: Recording(rows.times, {**rows.columns, "feedback": Column("psi", values)})}
    (missing,) = lacking(judged(LATE, recordings=pieces), "trace.hunting")
    assert missing.because == "no more than 200 s of 600 s without a pause"


@pytest.mark.parametrize(("start", "share"), [("45", 0.02), ("80", 0.12)])
def test_the_settling_band_is_told(start, share):
    """2 % of 40 psi are 0.8 psi; of 5 psi 0.1 psi, less than 0.3 % of 200 psi, which is 0.6."""
    document = changed(STEPPED, {f"{AT}/from": q(start, "psi")})
    answer, first = second_order(0.5), float(start)
    rows = recorded(lambda t: first + (85 - first) * answer(t))
    found = derived(judged(document, recordings=rows), "trace.settling-band")
    assert (found.si, found.shown.unit) == (pytest.approx(share), "%")
