"""Charts of courses: % of the first record with what is noise; errors and drift of a sensor."""

from datetime import UTC, datetime

import pytest

from calculations.courses.course import Change, Course
from calculations.courses.sensors import Errors, SensorCourse
from records.documents.charts import courses, drifts
from records.documents.charts.drawing import svg
from records.documents.charts.looks import PAPER, SCREEN
from records.documents.charts.spec import Instant, Line, Marks
from records.documents.trending.told import PumpSetTrends, Recorded, SensorTrends

RECORDS = tuple(
    Recorded(f"r{year}", year - 2022, datetime(year, 3, 2, 9, tzinfo=UTC), f"{year}-03-02")
    for year in range(2023, 2026)
)
HEAD = Course("head", (("pump", "K-1"),), (
    Change(0, "/event/duty_points/0", 38.0, 38.0),
    Change(1, "/event/duty_points/0", 36.0, 37.62, -0.01, 0.024),
    Change(2, "/event/duty_points/0", 35.0, 36.822, -0.031, 0.024),
))  # fmt: skip


def pump_set(*listed):
    return PumpSetTrends("P-1", RECORDS, listed or (HEAD,), "m")


def layers(drawn, kind, panel=0):
    return [each for each in drawn.chart.panels[panel].layers if isinstance(each, kind)]


def test_each_record_in_percent_of_the_first_with_its_noise():
    drawn = courses.figure(pump_set())
    [marks] = layers(drawn, Marks)
    assert [y for _, y in marks.points] == pytest.approx([100, 99, 96.9])
    [bars] = layers(drawn, Line)
    ends = [y for bar in bars.stretches for _, y in bar]
    assert ends == pytest.approx([96.6, 101.4, 94.5, 99.3])


def test_words_and_table_say_what_is_drawn():
    drawn = courses.figure(pump_set())
    assert drawn.alt == (
        "Head (pump K-1) on 2025-03-02: 3.1 % lower than at the first record, of 2023-03-02 at the"
        " same speed; the readings are good to ±2.4 %, so this is more than noise."
    )
    assert drawn.rows == (
        ("Head, m: pump K-1",),
        ("1", "2023-03-02", "38.00", "38.00", "", "", "first record"),
        ("2", "2024-03-02", "36.00", "37.62", "−1.0", "2.4", "may be noise"),
        ("3", "2025-03-02", "35.00", "36.82", "−3.1", "2.4", "lower"),
    )


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (0.0012, "0.1 % higher than"),
        (-0.0006, "0.1 % lower than"),
        (0.0004, "less than 0.1 % higher than"),
        (-0.0004, "less than 0.1 % lower than"),
        (0.0, "the same as"),
    ],
)
def test_nothing_is_told_to_be_higher_by_nothing(change, told):
    """By the last digit that is told, 0.1 %."""
    course = Course("head", HEAD.things, (
        HEAD.changes[0], Change(1, "/event/duty_points/0", 38.0, 38.0, change, 0.024),
    ))  # fmt: skip
    drawn = courses.figure(pump_set(course))
    assert f"on 2024-03-02: {told} at the first record, of 2023-03-02" in drawn.alt


def test_what_is_compared_once_only_is_not_drawn():
    alone = Course("head", HEAD.things, HEAD.changes[:1])
    assert courses.figure(pump_set(alone)) is None


def test_another_pump_is_another_series_with_a_line_at_its_first_record():
    other = Course("head", (("pump", "K-2"),), (Change(2, "", 40.0, 40.0),), anew=True)
    drawn = courses.figure(pump_set(Course("head", HEAD.things, HEAD.changes[:2]), other))
    first, second = layers(drawn, Marks)
    assert (first.label, second.label) == ("Pump K-1", "Pump K-2")
    assert first.shape != second.shape
    assert [each.at for each in layers(drawn, Instant)] == [RECORDS[2].at.timestamp()]


def test_insulation_in_what_it_is():
    course = Course("insulation", (("motor", "M-1"),),
                    (Change(0, "", 2e9, 1.5e9), Change(1, "", 9e8, 7e8, -0.533, 0.1)))  # fmt: skip
    [panel] = courses.figure(pump_set(course)).chart.panels
    assert (panel.y.unit, panel.y.scale) == ("MΩ", "log")
    [marks] = [each for each in panel.layers if isinstance(each, Marks)]
    assert [y for _, y in marks.points] == pytest.approx([1500, 700])


# -- a sensor ---------------------------------------------------------------------------------

DRIFTING = SensorCourse("S-1", (
    Errors(0, -0.0002, -0.0002, False, 0.0025),
    Errors(1, 0.0013, 0.0, True, 0.0025, 0.0015, 0.0004),
    Errors(2, 0.0008, 0.0008, False, 0.0025, 0.0023, 0.0006),
))  # fmt: skip


def sensor(*listed):
    return SensorTrends("PT-1", RECORDS, listed or (DRIFTING,))


def test_errors_and_drift_in_percent_of_span():
    drawn = drifts.figure(sensor())
    found, left = layers(drawn, Marks)
    assert [y for _, y in found.points] == pytest.approx([-0.02, 0.13, 0.08])
    assert [y for _, y in left.points] == pytest.approx([0.0])  # where it was adjusted
    [drift] = layers(drawn, Marks, 1)
    assert [y for _, y in drift.points] == pytest.approx([0, 0.15, 0.23])
    assert drawn.rows[2] == ("2", "2024-03-02", "+0.13", "+0.00", "+0.15", "0.04", "drifts up")


def test_a_replaced_transmitter_has_its_line():
    other = SensorCourse("S-2", (Errors(2, 0.001, 0.001, False, 0.0025),), "replaced")
    drawn = drifts.figure(sensor(DRIFTING, other))
    assert [each.label for each in layers(drawn, Instant)] == ["Another transmitter"]
    assert ("Transmitter S-2: another transmitter",) in drawn.rows


def test_nothing_verified_is_not_drawn():
    assert drifts.figure(SensorTrends("PT-1", RECORDS, ())) is None


@pytest.mark.parametrize("look", [PAPER, SCREEN])
def test_page_and_paper_are_drawn_from_one_specification(look):
    for drawn in (courses.figure(pump_set()), drifts.figure(sensor())):
        text = svg(drawn.chart, look, drawn.alt)
        assert text.startswith("<svg")
        assert "style=" not in text
        assert "#" not in text  # no colour of its own: black and white, light and dark
