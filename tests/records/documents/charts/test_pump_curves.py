"""The chart of pump and system: the numbers of the plot, in the units that are shown."""

from dataclasses import replace

import pytest

from calculations.plots.pumping import SystemLine
from records.documents.charts.pump_curves import Units, figure
from records.documents.charts.spec import Level, Line, Marks
from tests.records.documents.charts import plots

METRIC = Units("m3/h", "m")
PURPOSES = ["design", "normal", "minimum"]
DRAWN = figure(plots.pump(), METRIC, PURPOSES)


def layers(kind, drawn=DRAWN):
    [panel] = drawn.chart.panels
    return {spaced(layer.label): layer for layer in panel.layers if isinstance(layer, kind)}


def spaced(words: str) -> str:
    return words.replace("\N{NO-BREAK SPACE}", " ")


def test_every_line_holds_the_points_of_its_curve():
    drawn = layers(Line)
    assert list(drawn) == [
        "Minimum speed (40 Hz, 1200 rpm)",
        "Rated and maximum speed (50 Hz, 1500 rpm)",
        "2 equal pumps at rated and maximum speed (50 Hz, 1500 rpm)",
        "System, lowest suction",
    ]
    slow, rated, both, system = (line.stretches[0] for line in drawn.values())
    # 0.01 m3/s are 36 m3/h; H = 40 - 10000 Q^2, and by the affinity laws 0.64 of it at 0.8 Q.
    for seen, head in zip(rated, (40, 39, 36, 31, 24), strict=True):
        assert seen[1] == pytest.approx(head)
    assert rated[-1][0] == pytest.approx(144)
    assert slow[-1] == pytest.approx((0.8 * 144, 0.64 * 24))
    assert both[-1] == pytest.approx((288, 24))
    assert system == (pytest.approx((0, 20)), pytest.approx((288, 32.8)))


def test_no_two_lines_look_the_same():
    looks = [(line.dash, line.bold) for line in layers(Line).values()]
    assert len(set(looks)) == len(looks)


def test_set_point_and_points():
    [level] = layers(Level).values()
    assert level.at == pytest.approx(22)
    [marks] = layers(Marks).values()
    assert marks.points == (pytest.approx((108, 30.69)), pytest.approx((36, 24)))
    # Numbers as in the table of duty points: the second one could not be computed.
    assert marks.names == ("1", "3")


def test_axes_say_what_and_in_which_unit():
    [panel] = DRAWN.chart.panels
    assert (DRAWN.chart.x.title, DRAWN.chart.x.unit) == ("Flow", "m³/h")
    assert (panel.y.title, panel.y.unit) == ("Head", "m")


def test_in_us_units():
    drawn = figure(plots.pump(), Units("gpm", "ft"), PURPOSES)
    [marks] = layers(Marks, drawn).values()
    # 0.03 m3/s are 475.5 US gpm, 30.69 m are 100.7 ft (gallon of 231 in3, foot of 0.3048 m).
    assert marks.points[0] == pytest.approx((475.51, 100.69), abs=0.01)
    assert "475.5 gpm" not in drawn.alt
    assert "476 gpm, 101 ft" in drawn.alt


def test_words_say_what_is_seen():
    alt = spaced(DRAWN.alt)
    for said in (
        "Minimum speed (40 Hz, 1200 rpm): 25.6 m at no flow, 15.4 m at 115 m³/h.",
        "System, lowest suction: 20 m at no flow, 32.8 m at 288 m³/h.",
        "The set point asks for 22 m at no flow.",
        # 30.69 / 31.0
        "Measured, point 1 (design): 108 m³/h, 30.7 m, 99.0 % of the head of the curve",
        "Measured, point 3 (minimum): 36 m³/h, 24 m.",
    ):
        assert said in alt


def test_the_table_holds_the_same_values():
    rows = [tuple(map(spaced, row)) for row in DRAWN.rows]
    assert DRAWN.heads == ("Flow, m³/h", "Head, m", "Of the curve", "Point")
    at = rows.index(("Rated and maximum speed (50 Hz, 1500 rpm)",))
    assert rows[at + 1 : at + 3] == [("0", "40", "", ""), ("144", "24", "", "")]
    assert ("108", "30.69", "99.0 %", "1 (design)") in rows
    assert rows[-1] == ("36", "24", "", "3 (minimum)")


def test_what_is_not_there_is_not_drawn():
    bare = replace(plots.pump(), systems=(), kept=None, measured=())
    drawn = figure(bare, METRIC, [])
    assert len(layers(Line, drawn)) == 3
    assert not layers(Level, drawn)
    assert not layers(Marks, drawn)
    assert "set point" not in drawn.alt


def test_many_points_have_no_numbers_beside_them():
    many = tuple(replace(plots.pump().measured[0], index=index) for index in range(21))
    [marks] = layers(Marks, figure(replace(plots.pump(), measured=many), METRIC, [])).values()
    assert (len(marks.points), marks.names, marks.label) == (21, (), "Measured")


def test_one_system_at_all_levels_is_called_the_system():
    same = replace(plots.pump(), systems=(SystemLine(("low", "high"), ((0, 20), (0.08, 32.8))),))
    assert "System" in layers(Line, figure(same, METRIC, []))


def test_a_fixed_speed_has_no_frequency():
    line = replace(plots.pump().curves[1], names=("rated",), frequency=None)
    drawn = figure(replace(plots.pump(), curves=(line,)), METRIC, [])
    assert "Rated speed (1500 rpm)" in layers(Line, drawn)
