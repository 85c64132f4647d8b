"""What a recorded trace says of the loop: its step, its stops, its steady end, by hand.

85 psi are kept, of a span of 200 psi; 1 psi is 6894.757 Pa. Shares and limits: no source.
"""

import math
from collections.abc import Sequence

import pytest

from calculations.aspects import tracing
from calculations.case import Case, Missing, Waits
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import case_of
from calculations.recordings import Column, Recording
from tests.calculations.building import booster, changed
from tests.calculations.building_event import TRACE
from tests.calculations.building_plates import q

PSI = 6894.757
AT = "/event/step_tests/0"
TEST = {"trace": TRACE, "step_kind": "set_point", "from": q("45", "psi"), "to": q("80", "psi"),
        "step_after": q("2", "s")}  # fmt: skip
STEADY = [85.0] * 11


def traced(
    feedback: Sequence[float | None] = STEADY,
    frequency: Sequence[float] | None = None,
    aims: Sequence[float] | None = None,
    unit: str = "psi",
    test: dict[str, object] | None = None,
    first: float = 0.0,
) -> Case:
    """A sample each second from `first` on."""
    columns = {"feedback": Column(unit, feedback)}
    if frequency is not None:
        columns["output_frequency"] = Column("Hz", frequency)
    if aims is not None:
        columns["set_point"] = Column(unit, aims)
    times = [first + second for second in range(len(feedback))]
    document = changed(booster(), {"/event/step_tests": [TEST | (test or {})]})
    return case_of(read(Subject, document), recordings={TRACE: Recording(times, columns)})


@pytest.mark.parametrize(
    ("unit", "value", "psi"), [("psi", 85.0, 85), ("%", 42.5, 85), ("bar", 5.86, 84.99)]
)
def test_the_feedback_in_its_unit_or_in_percent_of_the_span(unit, value, psi):
    found = tracing.feedback(traced([value] * 5, unit=unit), AT)
    assert found.values[0] == pytest.approx(psi * PSI, rel=1e-4)


def test_steady_error_of_the_last_fifth():
    """Of 10 s the last 2 s: 84, 83 and 82 psi, 2 psi below the aim of 85 psi."""
    values = [60.0] * 8 + [84.0, 83.0, 82.0]
    found = tracing.steady_error(traced(values, test={"step_kind": "demand"}), AT)
    assert found == pytest.approx(2 * PSI, rel=1e-6)
    late = tracing.steady_error(traced(values, test={"step_kind": "demand"}, first=100.0), AT)
    assert late == pytest.approx(found)


@pytest.mark.parametrize(("again", "steady"), [(89, True), (90, True), (91, False)])
def test_no_steady_error_where_more_than_half_of_the_last_fifth_is_not_recorded(again, steady):
    """Of 100 s the last 20 s; a pause from 70 s on leaves 10 s of them to 90 s, and 9 s to 91 s.

    The pause of 9 s at 10 s lies before them and takes nothing away.
    """
    values: list[float | None] = [83.0] * 101
    for first, next_read in ((10, 20), (70, again)):
        values[first + 1 : next_read] = [None] * (next_read - first - 1)
    paused = traced(values, test={"step_kind": "demand"})
    if steady:
        assert tracing.steady_error(paused, AT) == pytest.approx(2 * PSI, rel=1e-6)
        return
    with pytest.raises(Missing) as raised:
        tracing.steady_error(paused, AT)
    assert raised.value.because == "no feedback for 11 s of its last fifth"


@pytest.mark.parametrize(
    ("aims", "test", "psi"),
    [
        ([50.0] * 5 + [70.0] * 6, {}, 70),  # the trace's own, at its end
        (None, {}, 80),
        (None, {"to": None}, 85),
        (None, {"step_kind": "demand"}, 85),  # no step of the set point
    ],
)
def test_what_it_aims_at(aims, test, psi):
    assert tracing.target(traced(aims=aims, test=test), AT) == pytest.approx(psi * PSI)


@pytest.mark.parametrize(
    ("aims", "start", "begin"),
    [
        ([50.0] * 4 + [70.0] * 7, 50, 4.0),
        ([50.0] * 4 + [51.9] * 3 + [70.0] * 4, 50, 7.0),  # 1 % of 200 psi
        ([50.0] * 4 + [52.1] * 3 + [70.0] * 4, 50, 4.0),
        ([50.0] * 4 + [30.0] * 7, 50, 4.0),
        ([50.0] * 11, 50, None),
    ],
)
def test_the_step_of_a_recorded_set_point(aims, start, begin):
    before, when = tracing.step_start(traced(aims=aims), AT)
    assert (before, when) == (pytest.approx(start * PSI), begin)


def test_the_step_as_the_test_says_it():
    """2 s after the first sample."""
    before, when = tracing.step_start(traced(first=100.0), AT)
    assert (before, when) == (pytest.approx(45 * PSI), 102.0)
    _, unknown = tracing.step_start(traced(test={"step_after": None}), AT)
    assert unknown is None


@pytest.mark.parametrize(("after", "known"), [("9.9", True), ("10", False), ("11", False)])
def test_no_step_after_the_end_of_the_trace(after, known):
    found = traced(test={"step_after": q(after, "s")})
    if known:
        assert tracing.step_start(found, AT)[1] == pytest.approx(9.9)
    else:
        with pytest.raises(Missing) as raised:
            tracing.step_start(found, AT)
        assert raised.value.because == "later than the end of the trace"


@pytest.mark.parametrize(
    ("frequency", "cycles"),
    [
        ([48.0] * 11, 0),
        ([48.0] * 5 + [0.0] * 6, 1),
        ([0.0] * 5 + [48.0] * 6, 0),  # it starts
        ([48.0, 0.0] * 5 + [48.0], 5),
        ([48.0, 1.0] * 5 + [48.0], 0),  # 1 Hz is not stopped
        ([48.0, 0.9] * 5 + [48.0], 5),
        ([48.0, math.nan, 48.0, math.nan, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0], 1),
        (None, 0),
    ],
)
def test_how_often_the_drive_stopped(frequency, cycles):
    assert tracing.sleep_cycles(traced(frequency=frequency), AT) == cycles


def test_an_output_in_percent_tells_of_no_stop():
    share = [60.0, 0.0, 60.0, 0.0, 60.0] * 2
    columns = {"feedback": Column("psi", [85.0] * 10), "output_frequency": Column("%", share)}
    document = changed(booster(), {"/event/step_tests": [TEST]})
    recorded = {TRACE: Recording([float(second) for second in range(10)], columns)}
    found = case_of(read(Subject, document), recordings=recorded)
    assert tracing.sleep_cycles(found, AT) == 0
    assert tracing.sleep_cycles(traced([85.0] * 10, frequency=share), AT) == 4
    assert tracing.sleep_cycles(traced(), AT) == 0


@pytest.mark.parametrize(("stops", "hunts"), [(0, True), (1, True), (2, False)])
def test_sleeping_again_and_again_is_no_hunting(stops, hunts):
    """A swing of 5 psi every 8 s for 80 s."""
    swing = [85 + 5 * math.sin(math.pi * second / 4) for second in range(81)]
    frequency = [48.0] * 81
    for stop in range(stops):
        frequency[20 + 10 * stop] = 0.0
    assert tracing.hunts(traced(swing, frequency), AT) is hunts


@pytest.mark.parametrize(
    ("columns", "because"),
    [({}, "no column of output frequency"), ({"frequency": [48.0] * 11}, None)],
)
def test_what_a_trace_lacks(columns, because):
    found = traced(**columns)
    if because is None:
        assert tracing.output(found, AT).values[0] == 48.0
        return
    with pytest.raises(Missing) as raised:
        tracing.output(found, AT)
    assert raised.value.because == because


def test_rows_that_are_not_at_hand_or_run_backwards():
    absent = case_of(read(Subject, changed(booster(), {"/event/step_tests": [TEST]})))
    assert tracing.has_rows(absent) is False
    with pytest.raises(Missing):
        tracing.recording(absent, AT)
    columns = {"feedback": Column("psi", STEADY)}
    back = Recording([*range(5), *range(6)], columns)
    document = changed(booster(), {"/event/step_tests": [TEST]})
    found = case_of(read(Subject, document), recordings={TRACE: back})
    assert tracing.has_rows(found) is True
    with pytest.raises(Waits):
        tracing.feedback(found, AT)
