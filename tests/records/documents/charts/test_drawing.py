"""A chart as SVG: whole, the same every time, safe with any text, within its edges."""

import re
import xml.etree.ElementTree as ElementTree

import pytest

from records.documents.charts import history, pump_curves, sensor_errors, step_answers
from records.documents.charts.drawing import svg
from records.documents.charts.looks import PAPER, SCREEN
from records.documents.charts.spec import Axis, Band, Chart, Level, Line, Marks, Panel
from tests.records.documents.charts import plots

SVG = "{http://www.w3.org/2000/svg}"
FIGURES = {
    "pump": pump_curves.figure(plots.pump(), pump_curves.Units("m3/h", "m"), ["design"]),
    "errors": sensor_errors.figure(plots.errors()),
    "step": step_answers.figure(plots.step(), "bar", "Discharge pressure"),
    "history": history.figure(
        [plots.visit(1, 2025, 1.0, 0.67, 1e9), plots.visit(2, 2026, 0.9, 0.6, 2e9)], None
    ),
}
LOOKS = {"paper": PAPER, "screen": SCREEN}
HOSTILE = (
    "<script>&\"' \N{RIGHT-TO-LEFT OVERRIDE}evil שלום \N{GRINNING FACE} 水\x00\x1b" + "w" * 300
)


def chart(label: str) -> Chart:
    marks = Marks(label, ((0, 1), (1, 2)), "disc", (label, "2"))
    return Chart(Axis(label, label), (Panel(Axis(label, label), (marks,)),))


def parsed(drawn: str) -> ElementTree.Element:
    return ElementTree.fromstring(drawn)  # noqa: S314 - our own


def texts(drawn: str) -> list[str]:
    return ["".join(each.itertext()) for each in parsed(drawn).iter(f"{SVG}text")]


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
@pytest.mark.parametrize("figure", FIGURES.values(), ids=FIGURES)
def test_it_is_whole_has_no_style_and_no_id_and_is_the_same_every_time(figure, look):
    drawn = svg(figure.chart, look, figure.alt)
    parsed(drawn)
    # What a policy without inline styles refuses, and what two charts of a page would share.
    assert not re.search(r"\b(style|id|on\w+|href)=|<style|<script|url\(", drawn)
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', drawn)) == {"none", "currentColor"}
    assert "nan" not in drawn
    assert "inf" not in re.sub(r'aria-label="[^"]*"', "", drawn)
    assert svg(figure.chart, look, figure.alt) == drawn


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
@pytest.mark.parametrize("figure", FIGURES.values(), ids=FIGURES)
def test_everything_lies_inside(figure, look):
    root = parsed(svg(figure.chart, look))
    _, _, width, height = map(float, root.get("viewBox").split())
    for line in root.iter(f"{SVG}polyline"):
        for pair in line.get("points").split():
            x, y = map(float, pair.split(","))
            assert 0 <= x <= width
            assert 0 <= y <= height
    for words in root.iter(f"{SVG}text"):
        x, wide = float(words.get("x")), look.width_of("".join(words.itertext()))
        start = {None: x, "middle": x - wide / 2, "end": x - wide}[words.get("text-anchor")]
        assert start >= -0.5
        assert start + wide <= width + 0.5
        assert 0 <= float(words.get("y")) <= height


def test_a_value_stands_where_its_axis_says():
    line = Line("", (((0.0, 0.0), (10.0, 100.0)),))
    drawn = svg(Chart(Axis("x"), (Panel(Axis("y", include=(0.0, 100.0)), (line,)),)), PAPER)
    root = parsed(drawn)
    ticks = {"".join(t.itertext()): t for t in root.iter(f"{SVG}text")}
    [curve] = [p for p in root.iter(f"{SVG}polyline") if p.get("stroke-width") == "1"]
    (_, low), (right, high) = (map(float, pair.split(",")) for pair in curve.get("points").split())
    # The horizontal axis ends with its data; words of the vertical one stand a little lower than
    # the line that they belong to, by the same little everywhere.
    assert right == float(ticks["10"].get("x"))
    down = float(ticks["100"].get("y")) - high
    assert 0 < down < PAPER.line
    at_40 = low + 0.4 * (high - low)
    assert float(ticks["40"].get("y")) == pytest.approx(at_40 + down, abs=0.02)


def test_a_level_stretch_is_drawn_by_its_ends():
    level = tuple((float(x), 1.0 if x < 90 else 2.0) for x in range(100))
    drawn = svg(Chart(Axis("x"), (Panel(Axis("y"), (Line("", (level,)),)),)), PAPER)
    [curve] = re.findall(r'points="([^"]*)"[^>]*stroke-width="1"', drawn)
    # First and last at 1, first and last at 2.
    assert len(curve.split()) == 4


def test_on_a_screen_it_is_one_picture_with_words():
    drawn = svg(FIGURES["errors"].chart, SCREEN, 'Error "x" <y> \N{RIGHT-TO-LEFT OVERRIDE}')
    root = parsed(drawn)
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'Error "x" <y> ‹U+202E›'
    assert "role" not in svg(FIGURES["errors"].chart, PAPER, "x")


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_whatever_stands_in_a_text_is_text(look):
    drawn = svg(chart(HOSTILE), look, HOSTILE)
    parsed(drawn)
    assert "<script" not in drawn
    assert "\N{RIGHT-TO-LEFT OVERRIDE}" not in drawn
    assert "‹U+202E›" in drawn


def test_what_no_face_has_is_a_code_on_paper_and_itself_on_a_screen():
    on_paper, on_screen = (" ".join(texts(svg(chart("שלום 水"), look))) for look in (PAPER, SCREEN))
    assert "‹U+05E9 U+05DC U+05D5 U+05DD›" in on_paper
    assert "水" in on_paper
    assert "שלום 水" in on_screen


def test_a_long_label_is_broken_and_then_cut():
    label = "a label of words that goes on and on " * 9
    lines = [words for words in texts(svg(chart(label), PAPER)) if words in label or words == "…"]
    assert "…" in lines
    drawn = svg(Chart(Axis("x"), (Panel(Axis("y"), (Level("w" * 90, 1.0),)),)), PAPER)
    broken = [words for words in texts(drawn) if set(words) == {"w"}]
    assert sum(map(len, broken)) <= 90
    assert max(map(len, broken)) < 30


def test_labels_that_are_the_same_stand_once_in_the_legend():
    layers = (Marks("Point", ((0, 1),)), Marks("Point", ((1, 2),)), Band("", 0, 1))
    drawn = svg(Chart(Axis("x"), (Panel(Axis("y"), layers),)), PAPER)
    assert texts(drawn).count("Point") == 1


def test_nothing_to_draw_is_an_empty_field_with_axes():
    drawn = svg(Chart(Axis("x"), (Panel(Axis("y"), ()),)), PAPER)
    parsed(drawn)
    assert {"x", "y"} <= set(texts(drawn))


def test_the_words_of_one_drawing_in_the_order_of_reading():
    line = Line("A", (((0.0, 0.0), (10.0, 10.0)),), "dashed")
    drawn = svg(Chart(Axis("t", "s"), (Panel(Axis("p", "bar"), (line,), 0.2),)), PAPER)
    assert texts(drawn) == [
        "p, bar", "0", "5", "10", "0", "2", "4", "6", "8", "10", "t, s", "A",
    ]  # fmt: skip
