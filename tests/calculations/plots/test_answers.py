"""Recorded steps as they are plotted, and how long traces are thinned."""

import pytest

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import case_of
from calculations.plots.answers import StepPlot, step_plot
from calculations.plots.lacking import Lacking
from calculations.plots.thinning import thin
from calculations.recordings import Column, Recording
from calculations.traces import make_trace
from calculations.units import to_si
from tests.calculations.building import changed
from tests.calculations.building_event import TRACE
from tests.calculations.building_plates import Document
from tests.calculations.rules.test_loop_traces import AT, STEPPED, recorded, stepped

PSI = to_si(1, "psi")


def plotted(
    recordings: dict[str, Recording], document: Document = STEPPED, columns: int = 400
) -> StepPlot | Lacking:
    return step_plot(case_of(read(Subject, document), recordings=recordings), AT, columns=columns)


def test_a_step_with_its_band_overshoot_and_settling():
    plot = plotted(stepped(0.5))
    # 45 to 85 psi, second order, damping 0.5, 1 rad/s: overshoot 16.303 %, settled within 2 %
    # (0.8 psi) after 8.076 s; worked examples L01a, L02.
    assert plot.aim == pytest.approx(85 * PSI)
    assert plot.band == pytest.approx(0.8 * PSI)
    assert plot.begin == pytest.approx(0)
    assert plot.overshoot == pytest.approx(0.16303, rel=1e-3)
    assert plot.settling == pytest.approx(8.076, rel=2e-3)
    assert plot.lacking == ()


def test_the_step_begins_where_the_recorded_set_point_moves():
    times = [0.5 * index for index in range(81)]
    aims = [45.0 if at < 10 else 85.0 for at in times]
    columns = {"feedback": Column("psi", aims), "set_point": Column("psi", aims)}
    plot = plotted({TRACE: Recording(times, columns)})
    assert plot.begin == pytest.approx(10)
    assert plot.set_point is not None
    assert plot.frequency is None
    assert [each.part for each in plot.lacking] == ["output frequency"]


def test_the_frequency_is_shown_where_the_drive_stands_as_well():
    plot = plotted(stepped(0.5, frequency=lambda t: 0.0 if t < 30 else 48.0))
    values = [value for stretch in plot.frequency.stretches for _, value in stretch]
    assert (min(values), max(values)) == (0, 48)


def test_a_demand_step_is_drawn_without_measures():
    plot = plotted(stepped(0.5), changed(STEPPED, {f"{AT}/step_kind": "demand"}))
    assert plot.feedback.samples == 601
    assert (plot.band, plot.overshoot, plot.settling) == (None, None, None)
    assert plot.lacking[0].part == "measures of the step"


@pytest.mark.parametrize(
    ("recordings", "because"),
    [
        ({}, "the rows of this trace are not at hand"),
        ({TRACE: Recording([0.0, 1.0], {})}, "no column of feedback"),
    ],
)
def test_rows_that_are_missing_are_told(recordings, because):
    plot = plotted(recordings)
    assert isinstance(plot, Lacking)
    assert plot.because == because


def test_a_trace_whose_time_stands_still_waits_for_its_rule():
    plot = plotted({TRACE: Recording([0.0, 0.0, 0.0], {"feedback": Column("psi", [1, 2, 3])})})
    assert isinstance(plot, Lacking)
    assert plot.waits_for == "trace.time"


def test_an_unknown_set_point_leaves_the_feedback():
    plot = plotted(recorded(lambda t: 85.0), changed(STEPPED, {f"{AT}/to": None}))
    assert isinstance(plot, StepPlot)
    assert plot.feedback.samples == 601


# -- thinning -------------------------------------------------------------------------------------


def test_a_short_trace_is_drawn_as_it_is():
    found = thin(make_trace(times=[0, 1, 2, 3], values=[5, 6, 5, 7]), columns=2)
    assert found.stretches == (((0, 5), (1, 6), (2, 5), (3, 7)),)
    assert (found.samples, found.columns) == (4, None)


def test_no_peak_of_a_long_trace_is_lost_and_no_point_made_up():
    times = [float(index) for index in range(100_000)]
    values = [float(index % 7) for index in range(100_000)]
    values[54_321], values[77_777] = 99.0, -99.0
    found = thin(make_trace(times=times, values=values), columns=300)
    [points] = found.stretches
    assert len(points) <= 2 * 301
    assert {(54_321.0, 99.0), (77_777.0, -99.0)} <= set(points)
    assert all(values[int(at)] == value for at, value in points)
    assert list(points) == sorted(points)
    assert (found.samples, found.columns) == (100_000, 300)


def test_every_column_has_its_lowest_and_highest_in_their_order():
    values = [0, 3, 1, 2, 5, 4, 9, 8, 7, 6]
    found = thin(make_trace(times=list(range(10)), values=values), columns=2)
    # Two columns of 4.5 s: samples 0 to 4 and 5 to 8; the last one stands at their end.
    assert found.stretches == (((0, 0), (4, 5), (5, 4), (6, 9), (9, 6)),)


def test_a_pause_is_not_bridged():
    times = [0, 1, 2, 3, 100, 101, 102]
    found = thin(make_trace(times=times, values=[1] * 7), columns=50)
    assert [[at for at, _ in stretch] for stretch in found.stretches] == [
        [0, 1, 2, 3], [100, 101, 102],
    ]  # fmt: skip


def test_what_a_pause_may_hide_is_not_drawn():
    """No feedback from 0.5 s to 10 s, over the rise and the peak."""
    rows = stepped(0.5)[TRACE]
    values = list(rows.columns["feedback"].values)
    values[5:100] = [None] * 95
    columns = {**rows.columns, "feedback": Column("psi", values)}
    plot = plotted({TRACE: Recording(rows.times, columns)})
    assert (plot.overshoot, plot.settling, plot.band) == (None, None, None)
    assert [each.part for each in plot.lacking] == ["overshoot"]


def test_of_a_feedback_beyond_its_span_nothing_is_measured():
    """In psi under the heading bar: 45 to 85 bar of a span of 200 psi."""
    rows = stepped(0.5)[TRACE]
    columns = {**rows.columns, "feedback": Column("bar", rows.columns["feedback"].values)}
    plot = plotted({TRACE: Recording(rows.times, columns)})
    assert (plot.overshoot, plot.settling, plot.band) == (None, None, None)
    assert [each.waits_for for each in plot.lacking] == ["trace.feedback"]
