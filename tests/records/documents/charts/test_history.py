"""The chart of a pump set's visits: only what comes twice, exchanges of the pump shown."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from records.documents.charts.history import figure
from records.documents.charts.spec import Instant, Marks
from records.documents.charts.visits import Visit, VisitPoint, visit_of
from tests.records.documents import sample
from tests.records.documents.charts.plots import visit

TWO = [visit(1, 2025, 1.01, 0.668, 1.83e9), visit(4, 2026, 0.94, 0.622, 1.17e9)]


def marks(drawn, panel):
    return [each for each in drawn.chart.panels[panel].layers if isinstance(each, Marks)]


def test_head_efficiency_and_insulation_over_the_days():
    drawn = figure(TWO, UTC)
    titles = [panel.y.title for panel in drawn.chart.panels]
    assert titles == ["Head", "Efficiency, wire to water", "Insulation at 40 °C"]
    values = [[y for _, y in each.points] for panel in range(3) for each in marks(drawn, panel)]
    assert values == [pytest.approx([101, 94]), pytest.approx([66.8, 62.2]),
                      pytest.approx([1830, 1170])]  # fmt: skip
    days = [x for x, _ in marks(drawn, 0)[0].points]
    assert days == [datetime(year, 6, 10, 9, tzinfo=UTC).timestamp() for year in (2025, 2026)]


def test_one_visit_is_no_history():
    assert figure(TWO[:1], UTC) is None


def test_a_value_that_only_one_visit_has_gets_no_panel():
    without = Visit(9, TWO[1].at, "K-1", "M-1", (VisitPoint(0, "design", 0.94, None),), None)
    [panel] = figure([TWO[0], without], UTC).chart.panels
    assert panel.y.title == "Head"
    nothing = Visit(9, TWO[1].at, "K-1", "M-1", (), None)
    assert figure([TWO[0], nothing], UTC) is None


def test_points_of_another_purpose_are_not_joined():
    other = Visit(2, TWO[1].at, "K-1", "M-1", (VisitPoint(0, "minimum", 0.97, 0.4),), None)
    first, second = marks(figure([TWO[0], other], UTC), 0)
    assert (first.label, second.label) == ("Design point", "Minimum point")
    assert (len(first.points), len(second.points)) == (1, 1)
    assert first.shape != second.shape


def test_another_pump_is_shown_and_not_joined_with_the_one_before():
    after = visit(7, 2027, 1.0, 0.66, 2e9, pump="K-2")
    drawn = figure([*TWO, after], UTC)
    assert [len(each.points) for each in marks(drawn, 0)] == [2, 1]
    [exchange] = [each for each in drawn.chart.panels[0].layers if isinstance(each, Instant)]
    assert exchange.at == after.at.timestamp()
    assert "From 2027-06-10 on it is another pump." in drawn.alt


def test_words_and_table():
    drawn = figure([*TWO[:1], visit(None, 2026, 0.94, 0.622, 1.17e9)], UTC)
    assert "2 visits from 2025-06-10 to 2026-06-10." in drawn.alt
    assert "Head, design point: from 101 to 94 % of the curve's." in drawn.alt
    assert "from 1830 to 1170 MΩ" in drawn.alt
    assert drawn.rows == (
        ("1", "2025-06-10", "Design point", "", "101.0", "66.8", "1830", "K-1"),
        ("this visit", "2026-06-10", "Design point", "", "94.0", "62.2", "1170", "K-1"),
    )


def test_days_are_the_stations_own():
    late = Visit(2, datetime(2026, 1, 1, 2, tzinfo=UTC), "K-1", "M-1", TWO[0].points, 1e9)
    drawn = figure([TWO[0], late], timezone(timedelta(hours=-8)))
    assert drawn.rows[-1][1] == "2025-12-31"


def test_a_record_is_read_as_a_visit():
    record = sample.record()
    seen = visit_of(record)
    assert (seen.number, seen.pump_serial, seen.motor_serial) == (7, "K71-0042", "W60-1187")
    assert [point.purpose for point in seen.points] == ["design", "normal", "minimum"]
    derived = {(each["id"], each["subject"]): each for each in record["judgement"]["derived"]}
    head, curve = (float(derived[name, "/event/duty_points/0"]["value"])
                   for name in ("duty.total-head", "duty.curve-head"))  # fmt: skip
    assert seen.points[0].of_curve == pytest.approx(head / curve)
    # 31.9 kW at the input; 125.6 ft and 1000 gpm are 23.6 kW in the water: 74 %.
    assert seen.points[0].efficiency == pytest.approx(0.74, abs=0.01)


def test_two_points_of_one_purpose_are_two_series():
    """45 and 30 m3/h, entered in another order at the second visit, are never joined."""

    def at(number, year, *points):
        return Visit(number, datetime(year, 6, 10, 9, tzinfo=UTC), "K-1", "M-1", points, None)

    def read(index, nth, efficiency):
        return VisitPoint(index, "normal", None, efficiency, nth, ("45 m3/h", "30 m3/h")[nth])

    two = [at(1, 2025, read(0, 0, 0.62), read(1, 1, 0.52)),
           at(4, 2026, read(0, 1, 0.51), read(1, 0, 0.61))]  # fmt: skip
    drawn = figure(two, UTC)
    series = {each.label: [y for _, y in each.points] for each in marks(drawn, 0)}
    assert series == {"Normal point": pytest.approx([62, 61]),
                      "Normal point 2": pytest.approx([52, 51])}  # fmt: skip
    assert [row[2:4] for row in drawn.rows[:2]] == [
        ("Normal point", "45\N{NO-BREAK SPACE}m³/h"),
        ("Normal point 2", "30\N{NO-BREAK SPACE}m³/h"),
    ]


def test_points_of_one_purpose_are_told_apart_by_their_flow():
    def read(flow):
        return {"purpose": "normal", "flow": {"value": flow, "unit": "m3/h"}}

    event = {"performed_at": "2026-06-10T09:00:00Z", "duty_points": [read("30"), read("45")]}
    found = visit_of({"event": event})
    assert [(each.nth, each.flow) for each in found.points] == [(1, "30 m3/h"), (0, "45 m3/h")]


def test_points_at_other_flows_are_marked_and_not_joined():
    """By affinity 90 m3/h at 50 Hz are 72 at 40 Hz; 72 at 50 Hz is another point of the curve."""

    def at(year, hertz, flow, efficiency):
        point = VisitPoint(0, "design", None, efficiency, volume=flow / 3600, frequency=hertz)
        return Visit(year, datetime(year, 6, 10, 9, tzinfo=UTC), "K-1", "M-1", (point,), None)

    drawn = figure([at(2024, 50, 90, 0.7), at(2025, 40, 72, 0.69), at(2026, 50, 72, 0.6)], UTC)
    assert [[round(y) for _, y in each.points] for each in marks(drawn, 0)] == [[70, 69], [60]]
