"""The chart of a recorded step: feedback, set point and its band, when it settled."""

from dataclasses import replace

import pytest

from calculations.plots.thinning import Thinned
from records.documents.charts.spec import Band, Instant, Level, Line
from records.documents.charts.step_answers import figure
from tests.records.documents.charts import plots

DRAWN = figure(plots.step(), "bar", "Discharge pressure")


def layers(kind, drawn=DRAWN, panel=0):
    return [each for each in drawn.chart.panels[panel].layers if isinstance(each, kind)]


def test_feedback_set_point_band_and_instants():
    aims, feedback = layers(Line)
    assert feedback.stretches[0][2] == pytest.approx((12, 5.1))
    assert aims.stretches[0] == ((0, 4), (10, 5), (60, 5))
    assert feedback.dash != aims.dash
    [band] = layers(Band)
    # 0.02 bar about 5 bar, from the step on.
    assert (band.low, band.high, band.start) == pytest.approx((4.98, 5.02, 10))
    assert [(each.name, each.at) for each in layers(Instant)] == [
        ("step", pytest.approx(10)), ("settled", pytest.approx(15)),
    ]  # fmt: skip


def test_the_frequency_has_a_panel_of_its_own_over_the_same_time():
    [line] = layers(Line, panel=1)
    assert line.stretches[0] == ((0, 40), (12, 48), (60, 45))
    assert [each.at for each in layers(Instant, panel=1)] == pytest.approx([10, 15])
    assert len(figure(replace(plots.step(), frequency=None), "bar", "x").chart.panels) == 1


def test_a_set_point_that_was_not_recorded_is_a_level():
    drawn = figure(replace(plots.step(), set_point=None), "bar", "Discharge pressure")
    assert [level.at for level in layers(Level, drawn)] == pytest.approx([5])
    without = replace(plots.step(), set_point=None, aim=None, band=None)
    assert not layers(Level, figure(without, "bar", "Discharge pressure"))


def test_words_say_step_settling_and_overshoot():
    for said in (
        "Discharge pressure over 60 s.",
        "Feedback from 4 bar to 5 bar, lowest 4 bar, highest 5.1 bar.",
        "The step was made at 10 s.",
        "It settled within 0.02 bar of the set point 5 s after the step.",
        "Overshoot 10 % of the step.",
        "Output frequency from 40 Hz to 45 Hz, lowest 40 Hz, highest 48 Hz.",
    ):
        assert said in DRAWN.alt


def test_a_loop_that_never_settled_is_said_to():
    drawn = figure(replace(plots.step(), settling=None), "bar", "Discharge pressure")
    assert "had not settled when the trace ended" in drawn.alt
    assert [each.name for each in layers(Instant, drawn)] == ["step"]


def test_without_measures_nothing_is_said_of_a_step():
    bare = replace(plots.step(), begin=None, settling=None, overshoot=None, band=None)
    drawn = figure(bare, "bar", "Discharge pressure")
    assert not layers(Instant, drawn)
    assert not layers(Band, drawn)
    assert "settled" not in drawn.alt


def test_what_was_left_out_is_said():
    assert DRAWN.caption == "5 samples, all drawn."
    long = Thinned(plots.step().feedback.stretches, 120_000, 340)
    caption = figure(replace(plots.step(), feedback=long), "bar", "x").caption
    assert caption == (
        "120000 samples; drawn are the lowest and the highest of each of 340 equal times."
    )


@pytest.mark.parametrize(("seconds", "unit", "last"), [(600, "s", 600), (1200, "min", 20),
                                                      (36_000, "h", 10)])  # fmt: skip
def test_long_traces_are_told_in_minutes_and_hours(seconds, unit, last):
    feedback = plots.thinned((0.0, 4e5), (float(seconds), 5e5))
    drawn = figure(replace(plots.step(), feedback=feedback), "bar", "x")
    assert drawn.chart.x.unit == unit
    assert layers(Line, drawn)[-1].stretches[0][-1][0] == pytest.approx(last)


def test_a_difference_of_temperature_is_no_temperature():
    # 2 K about 293.15 K (20 degC): the band is 2 degrees wide to each side, not 2 K below zero.
    warm = replace(plots.step(), feedback=plots.thinned((0.0, 283.15), (60.0, 293.15)),
                   set_point=None, aim=293.15, band=2.0)  # fmt: skip
    [band] = layers(Band, figure(warm, "degC", "Temperature"))
    assert (band.low, band.high) == pytest.approx((18, 22))


def test_the_table_tells_lowest_and_highest_of_equal_parts():
    assert DRAWN.heads[0] == "From, s"
    # 60 s in 24 parts of 2.5 s: 12 s lies in the fifth, which begins at 10 s.
    row = next(row for row in DRAWN.rows if row[0] == "10")
    assert row == ("10", "4", "5.1", "48", "48")
