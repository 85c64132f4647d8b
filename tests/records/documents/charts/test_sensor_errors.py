"""The chart of a verification: errors in % of span in their tolerance."""

from dataclasses import replace

import pytest

from calculations.plots.errors import ErrorPoint
from records.documents.charts.sensor_errors import figure
from records.documents.charts.spec import Band, Marks
from tests.records.documents.charts import plots

DRAWN = figure(plots.errors())


def layers(kind, drawn=DRAWN):
    [panel] = drawn.chart.panels
    return {layer.label: layer for layer in panel.layers if isinstance(layer, kind)}


def test_as_found_and_as_left_up_and_down_are_told_apart_by_shape():
    drawn = layers(Marks)
    assert list(drawn) == ["As found, rising", "As found, falling", "As left, rising"]
    assert drawn["As found, rising"].points == (
        pytest.approx((0, 0.1)), pytest.approx((100, 0.6)),
    )  # fmt: skip
    assert drawn["As found, falling"].points == (pytest.approx((0, -0.2)),)
    shapes = [marks.shape for marks in drawn.values()]
    assert len(set(shapes)) == len(shapes)


def test_the_band_is_the_tolerance():
    [band] = layers(Band).values()
    assert (band.low, band.high) == pytest.approx((-0.5, 0.5))
    assert band.label == "Tolerance, ±0.5 % of span"


def test_words_say_the_worst_of_each_state():
    assert "tolerance ±0.5 %" in DRAWN.alt
    said = "As found: 3 points, errors from −0.2 % to +0.6 %, the largest +0.6 % at 100 % of span"
    assert f"{said}, rising." in DRAWN.alt
    assert "As left: 2 points, errors from 0 % to +0.1 %" in DRAWN.alt


def test_the_table_holds_every_point():
    assert DRAWN.rows == (
        ("As found",),
        ("Rising", "0", "+0.1"), ("Rising", "100", "+0.6"), ("Falling", "0", "−0.2"),
        ("As left",),
        ("Rising", "0", "0"), ("Rising", "100", "+0.1"),
    )  # fmt: skip


def test_a_reference_at_another_height_is_said():
    assert DRAWN.caption == ""
    assert "height of the reference" in figure(replace(plots.errors(), raised=True)).caption


def test_a_state_of_one_direction_has_no_other_in_the_legend():
    rising = {"as_left": (ErrorPoint(0.0, 0.0, True), ErrorPoint(0.5, 0.001, True))}
    assert list(layers(Marks, figure(replace(plots.errors(), states=rising)))) == [
        "As left, rising"
    ]
