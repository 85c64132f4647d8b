"""What a page's script reads values by: panels and axes of a drawing, on a screen alone."""

import html
import json
import re

import pytest

from records.documents.charts.drawing import svg
from records.documents.charts.looks import PAPER, SCREEN
from records.documents.charts.spec import Axis, Chart, Line, Panel

CHART = Chart(
    Axis("Flow", "L/s"),
    (
        Panel(Axis("Head", "m"), (Line("curve", (((0.0, 40.0), (30.0, 10.0)),)),)),
        Panel(Axis("Leak", "1", scale="log"), (Line("", (((0.0, 1.0), (30.0, 1000.0)),)),)),
    ),
)


def told(drawn):
    [text] = re.findall(r"data-fields=(\"[^\"]*\"|'[^']*')", drawn)
    return json.loads(html.unescape(text[1:-1]))


def test_a_drawn_point_reads_as_its_values():
    drawn = svg(CHART, SCREEN, "")
    head, leak = told(drawn)
    assert (head["x"]["title"], head["x"]["unit"], head["y"]["unit"]) == ("Flow", "L/s", "m")
    assert leak["y"]["scale"] == "log"
    lines = re.findall(r'<polyline points="([^"]*)" fill="none" stroke="currentColor" '
                       r'stroke-width="[^"]*" stroke-linejoin="round"/>', drawn)  # fmt: skip
    ends = [tuple(map(float, each.split()[-1].split(","))) for each in lines]
    read = []
    for field in (head, leak):
        for x, y in ends:
            if not field["top"] - 0.1 <= y <= field["bottom"] + 0.1:
                continue
            across = (x - field["left"]) / (field["right"] - field["left"])
            up = (field["bottom"] - y) / (field["bottom"] - field["top"])
            flow = field["x"]["low"] + across * (field["x"]["high"] - field["x"]["low"])
            value = field["y"]["low"] + up * (field["y"]["high"] - field["y"]["low"])
            read.append((flow, 10**value if field["y"]["scale"] == "log" else value))
    wanted = ((30.0, 10.0), (30.0, 1000.0))
    for flow, value in wanted:
        assert any(
            flow == pytest.approx(x, rel=0.01) and value == pytest.approx(y, rel=0.02)
            for x, y in read
        ), read


def test_paper_needs_none():
    assert "data-fields" not in svg(CHART, PAPER, "")
