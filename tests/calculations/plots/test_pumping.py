"""Pump and system as they are plotted, by the figures of the ordinary station.

Its curve is H = 260 - 95 (Q / 1000)^2 in ft and gpm up to 1350 gpm at 1770 rpm; the motor turns
1775 rpm at 60 Hz and 60 hp. Affinity laws (HI engineering data, equation 1.B.6): Q ~ n, H ~ n^2.

Slip in proportion to the torque: 25 rpm at that of 60 hp and 1775 rpm. At no flow the pump asks for
0.380 of it at 1770 rpm (45 % of the 0.844 at 1000 gpm, from memory), at the curve's end for 0.708
(1350 gpm x 86.9 ft / 3960 / 0.70 = 42.3 hp), and with the square of the speed.
"""

from itertools import pairwise

import pytest

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import case_of
from calculations.plots.pumping import PumpPlot, pump_plot
from calculations.units import from_si, to_si
from tests.calculations.building import booster, changed, judged, without
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import lift_station

LEFT = "/event/settings/as_left"
# A head of 1 psi of water near 60 degF, in ft: 2.31 (water tables; 0.1 % for other temperatures).
FEET_PER_PSI = 2.31
# At 60 Hz over the curve's speed: 1800 - 25 x 0.380 (1790.3 / 1770)^2, 1800 - 25 x 0.708 (...)^2.
AT_NO_FLOW, AT_END = 1790.28 / 1770, 1782.07 / 1770
# Water horsepower, gpm x ft / 3960, over the efficiency, at the points of the curve.
TORQUES = ((0, 0.380), (300, 0.637), (600, 0.784), (800, 0.841), (1000, 0.8445), (1200, 0.800),
           (1350, 0.708))  # fmt: skip


def plotted(document: Document) -> PumpPlot:
    return pump_plot(case_of(read(Subject, document)))


def feet(metres: float) -> float:
    return from_si(metres, "ft")


def gallons(flow: float) -> float:
    return from_si(flow, "gpm")


def parts(plot: PumpPlot) -> list[str]:
    return [each.part for each in plot.lacking]


def test_curves_at_minimum_and_at_rated_which_is_the_maximum_speed():
    plot = plotted(booster())
    assert [line.names for line in plot.curves] == [("minimum",), ("rated", "maximum")]
    lowest, rated = plot.curves
    assert (lowest.frequency, rated.frequency) == pytest.approx((36, 60))
    # 36 Hz: 1080 - 25 x 0.380 (1076.5 / 1770)^2 at no flow, 1080 - 25 x 0.708 (1073.5 / 1770)^2.
    assert (lowest.speed * 60, rated.speed * 60) == pytest.approx((1076.49, 1790.28), rel=1e-4)
    slow = (1076.49 / 1770, 1073.49 / 1770)
    for line, (begins, ends) in ((lowest, slow), (rated, (AT_NO_FLOW, AT_END))):
        (first, shut_off), (last, run_out) = line.points[0], line.points[-1]
        assert line.slips
        assert (gallons(first), feet(shut_off)) == pytest.approx((0, 260 * begins**2), rel=1e-4)
        expected = (1350 * ends, 86.9 * ends**2)
        assert (gallons(last), feet(run_out)) == pytest.approx(expected, rel=1e-4)
    assert plot.lacking == ()


def test_along_the_curve_heads_are_those_of_its_equation():
    rated = plotted(booster()).curves[1]
    for flow, head in rated.points:
        by_equation = 260 * _ratio(gallons(flow)) ** 2 - 95 * (gallons(flow) / 1000) ** 2
        # The points were rounded to 0.1 ft, and a curve through them is no parabola.
        assert feet(head) == pytest.approx(by_equation, abs=0.65)


def _ratio(gpm: float) -> float:
    """Speed at 60 Hz over the curve's, by straight lines between the torques of its points."""
    found = AT_END
    for _ in range(20):
        at = min(gpm / found, 1350)
        (q0, t0), (q1, t1) = next(pair for pair in pairwise(TORQUES) if at <= pair[1][0])
        torque = t0 + (t1 - t0) * (at - q0) / (q1 - q0)
        found = (1800 - 25 * torque * found**2) / 1770
    return found


@pytest.mark.parametrize("frequency", ["36", "48", "60"])
def test_lines_end_at_no_flow_where_the_derived_values_say(frequency):
    """Their sources and hand-worked values are tested where they are derived."""
    document = changed(booster(), {f"{LEFT}/minimum_frequency": q("30", "Hz"),
                                   f"{LEFT}/maximum_frequency": q(frequency, "Hz")})  # fmt: skip
    (line,) = (each for each in plotted(document).curves if "maximum" in each.names)
    said = {each.id: each.si for each in judged(document).derived}
    # 33 psi of suction at 2 ft, read at 3 ft: test_speed_values.
    before = to_si(33, "psi") - to_si(1, "ft") / to_si(FEET_PER_PSI, "ft") * to_si(1, "psi")
    added = said["pressure.shut-off-at-maximum-speed"] - before
    assert feet(line.points[0][1]) == pytest.approx(from_si(added, "psi") * FEET_PER_PSI, rel=2e-3)


def test_the_line_of_the_zero_flow_frequency_begins_at_the_set_point():
    said = {each.id: each.si for each in judged(booster()).derived}
    begins = said["speed.zero-flow-at-lowest-suction"]
    plot = plotted(changed(booster(), {f"{LEFT}/minimum_frequency": q(f"{begins:.4f}", "Hz")}))
    assert plot.curves[0].points[0][1] == pytest.approx(plot.kept, rel=1e-4)


def test_the_line_of_the_highest_frequency_meets_the_system_where_the_derived_values_say():
    plot = plotted(booster())
    said = {each.id: each.si for each in judged(booster()).derived}
    flow = said["system.flow-at-maximum-speed"]
    heads = [_at(line.points, flow) for line in (plot.curves[-1], plot.systems[0])]
    assert heads[0] == pytest.approx(heads[1], rel=1e-3)


def _at(points, flow):
    (q0, h0), (q1, h1) = next(pair for pair in pairwise(points) if flow <= pair[1][0])
    return h0 + (h1 - h0) * (flow - q0) / (q1 - q0)


def test_a_curve_of_another_speed_than_the_motors_is_drawn_as_it_was_taken():
    """1750 rpm, 1.4 % off: no frequency belongs to it, and nothing slips."""
    document = changed(booster(), {"/pump/rated_speed": q("1750", "rpm")})
    (line,) = (each for each in plotted(document).curves if "rated" in each.names)
    assert (line.names, line.frequency, line.slips) == (("rated",), None, False)
    assert line.speed * 60 == pytest.approx(1750)
    assert feet(line.points[0][1]) == pytest.approx(260)


def test_an_axial_pump_is_slowest_at_no_flow_and_a_synchronous_motor_never():
    """1.3 times the 0.844 of best efficiency, from memory: 1800 - 25 x 1.098 (1772.5 / 1770)^2."""
    axial = plotted(changed(booster(), {"/pump/type": "axial_or_mixed_flow"})).curves[-1]
    assert axial.slips
    assert axial.speed * 60 == pytest.approx(1772.5, abs=0.1)
    rating = {f"/motor/ratings/{each}/speed": q("1800", "rpm") for each in (0, 1)}
    kind = {"/motor/kind": "synchronous_reluctance", "/pump/rated_speed": q("1800", "rpm")}
    locked = plotted(changed(booster(), rating | kind)).curves[-1]
    assert not locked.slips
    assert locked.speed * 60 == pytest.approx(1800)
    assert feet(locked.points[0][1]) == pytest.approx(260)


@pytest.mark.parametrize(("rpm", "names"), [("1767", 1), ("1765", 2)])
def test_how_far_a_curve_may_be_from_the_motors_speed(rpm, names):
    """Half a percent: 1775 / 1767 is 1.0045, 1775 / 1765 is 1.0057; no source."""
    plot = plotted(changed(booster(), {"/pump/rated_speed": q(rpm, "rpm")}))
    assert len([each for each in plot.curves if "minimum" not in each.names]) == names


def test_a_maximum_apart_from_the_rated_speed_is_a_line_of_its_own():
    plot = plotted(changed(booster(), {f"{LEFT}/maximum_frequency": q("54", "Hz")}))
    assert [line.names for line in plot.curves] == [("minimum",), ("maximum",), ("rated",)]
    # 1620 - 25 x 0.380 (1612.1 / 1770)^2.
    expected = 260 * (1612.12 / 1770) ** 2
    assert feet(plot.curves[1].points[0][1]) == pytest.approx(expected, rel=1e-4)


def test_the_system_at_both_ends_of_the_suction():
    plot = plotted(booster())
    assert [line.ends for line in plot.systems] == [("low",), ("high",)]
    # 120 ft of lift and 128 ft at 1000 gpm: 8 ft of friction; the lowest lift is 115 ft.
    lowest, highest = plot.systems
    assert [feet(line.points[0][1]) for line in plot.systems] == pytest.approx([120, 115])
    at_end = gallons(lowest.points[-1][0])
    assert at_end == pytest.approx(1350 * AT_END, rel=1e-4)
    friction = 8 * (at_end / 1000) ** 2
    ends = [feet(line.points[-1][1]) for line in (lowest, highest)]
    assert ends == pytest.approx([120 + friction, 115 + friction])


def test_the_set_point_is_the_head_that_it_asks_for_at_no_flow():
    # 85 psi at 3 ft, out of 30 psi at the suction sensor's 2 ft.
    assert feet(plotted(booster()).kept) == pytest.approx(55 * FEET_PER_PSI + 1, rel=2e-3)


def test_where_no_pressure_is_kept_there_is_no_set_point_and_nothing_lacks():
    plot = plotted(lift_station())
    assert plot.kept is None
    assert "set point" not in parts(plot)


def test_measured_points_stand_beside_what_the_curve_gives():
    plot = plotted(booster())
    assert [each.index for each in plot.measured] == [0, 1, 2]
    assert [gallons(each.flow) for each in plot.measured] == pytest.approx([1000, 700, 400])
    # Heads of the station's duty points, by hand: see `building_event.duty_points`.
    heads = [feet(each.head) for each in plot.measured]
    assert heads == pytest.approx([125.6, 123.8, 122.7], abs=0.15)
    assert [each.head / each.curve_head for each in plot.measured] == pytest.approx(
        [1, 1, 1], abs=0.01
    )


def test_several_equal_pumps_add_their_flows_at_equal_head():
    several = {f"{LEFT}/pump_arrangement": "lead_lag", f"{LEFT}/pumps_maximum_running": 2}
    plot = plotted(changed(booster(), several))
    one, both = plot.curves[-2:]
    assert (one.pumps, both.pumps) == (1, 2)
    for (flow, head), (sum_of_flows, same) in zip(one.points, both.points, strict=False):
        assert (sum_of_flows, same) == pytest.approx((2 * flow, head))
    # Both meet the lowest system curve near 260 - 95 (Q / 2000)^2 = 115 + 8 (Q / 1000)^2.
    met = 1000 * (145 / (95 / 4 + 8)) ** 0.5
    assert met < gallons(both.points[-1][0]) < 1.16 * met


def test_all_pumps_run_at_the_highest_speed():
    several = {f"{LEFT}/pump_arrangement": "lead_lag", f"{LEFT}/pumps_maximum_running": 2,
               f"{LEFT}/maximum_frequency": q("66", "Hz")}  # fmt: skip
    lowest, rated, highest, all_of_them = plotted(changed(booster(), several)).curves
    assert (lowest.names, rated.names) == (("minimum",), ("rated",))
    assert (highest.names, highest.pumps) == (("maximum",), 1)
    assert (all_of_them.names, all_of_them.pumps) == (("maximum",), 2)


def test_on_a_steep_system_all_pumps_are_drawn_as_far_as_one():
    """260 - 95 (Q / 2000)^2 = 115 + 130 (Q / 1000)^2 at 971 gpm; one pump goes to 1354 gpm."""
    several = {f"{LEFT}/pump_arrangement": "lead_lag", f"{LEFT}/pumps_maximum_running": 2,
               "/site/system_design_head": q("250", "ft")}  # fmt: skip
    both = plotted(changed(booster(), several)).curves[-1]
    assert both.pumps == 2
    # 675 gpm of each: 0.805 of rated torque, 1800 - 25 x 0.805 (1779.7 / 1770)^2.
    assert gallons(both.points[-1][0]) == pytest.approx(1350 * 1779.65 / 1770, rel=1e-4)


def test_how_many_may_run_that_nobody_knows_is_one():
    lines = plotted(without(booster(), f"{LEFT}/pump_arrangement")).curves
    assert [line.pumps for line in lines] == [1, 1]


def test_a_recorded_system_is_drawn_between_its_points():
    rows = [{"flow": q(flow, "gpm"), "head": q(head, "ft")}
            for flow, head in (("200", "120.5"), ("600", "123.0"), ("1000", "128.0"))]  # fmt: skip
    plot = plotted(changed(booster(), {"/site/system_curve_points": rows}))
    for line in plot.systems:
        (first, low), *_, (last, high) = line.points
        assert (gallons(first), gallons(last)) == pytest.approx((200, 1000))
        assert (feet(low), feet(high)) == pytest.approx((120.5, 128.0))
        assert gallons(line.points[len(line.points) // 2][0]) == pytest.approx(600, abs=20)


def test_a_pump_on_the_mains_has_a_speed_and_no_frequency():
    bare = without(booster(), "/drive", "/event/settings")
    (line,) = plotted(changed(bare, {"/pump_set/drive": None})).curves
    assert (line.names, line.frequency) == (("rated",), None)
    unknown = plotted(without(booster(), "/motor/ratings/1/frequency")).curves
    assert {each.frequency for each in unknown} == {None}


# -- what is missing ------------------------------------------------------------------------------


def test_without_a_curve_there_is_nothing_but_the_points():
    plot = plotted(without(booster(), "/pump/curve_points"))
    assert plot.curves == ()
    assert len(plot.measured) == 3
    assert plot.lacking[0].part == "pump curve"
    assert plot.lacking[0].needs == ("/pump/curve_points",)


def test_a_curve_that_contradicts_itself_waits_for_its_rule():
    plot = plotted(changed(booster(), {"/pump/curve_points/2/flow": q("300", "gpm")}))
    assert plot.curves == ()
    assert plot.lacking[0].waits_for == "curve.shape"


def test_a_minimum_that_was_not_set_leaves_the_other_lines():
    plot = plotted(without(booster(), f"{LEFT}/minimum_frequency"))
    assert [line.names for line in plot.curves] == [("rated", "maximum")]
    assert parts(plot) == ["minimum speed"]


def test_a_minimum_of_no_speed_is_told_and_a_crawl_is_drawn():
    still = plotted(changed(booster(), {f"{LEFT}/minimum_frequency": q("0", "Hz")}))
    assert [line.names for line in still.curves] == [("rated", "maximum")]
    assert [each.because for each in still.lacking] == ["the pump stands still"]
    crawling = plotted(changed(booster(), {f"{LEFT}/minimum_frequency": q("0.6", "Hz")}))
    # 18 rpm and next to no slip.
    assert gallons(crawling.curves[0].points[-1][0]) == pytest.approx(1350 * 18 / 1770, rel=1e-3)


def test_a_system_alone_has_no_end():
    plot = plotted(changed(without(booster(), "/pump/curve_points"), {"/event/duty_points": []}))
    assert plot.systems == ()
    because = {each.part: each.because for each in plot.lacking}
    assert because["system curve"] == "it is not known where the pump works"


def test_a_point_without_a_flow_is_told_and_the_others_stay():
    plot = plotted(without(booster(), "/event/duty_points/1/flow"))
    assert [each.index for each in plot.measured] == [0, 2]
    assert [(each.part, each.needs) for each in plot.lacking] == [
        ("point 2", ("/event/duty_points/1/flow",))
    ]


def test_a_system_that_is_not_known_is_told():
    unknown = ("/site/system_design_flow", "/site/system_design_head")
    plot = plotted(without(booster(), *unknown))
    assert plot.systems == ()
    assert parts(plot) == ["system curve"]
    assert set(plot.lacking[0].needs) == set(unknown)


def test_affinity_says_nothing_of_a_displacement_pump():
    plot = plotted(changed(booster(), {"/pump/type": "progressive_cavity"}))
    assert plot.curves == ()
    assert "do not hold" in plot.lacking[0].because


def test_a_flow_in_another_unit_is_the_same_plot():
    document = changed(booster(), {"/event/duty_points/0/flow": q("63.0902", "L/s")})
    # 1000 gpm are 63.0902 L/s (US gallon of 3.785411784 L).
    assert plotted(document).measured[0].flow == pytest.approx(to_si(1000, "gpm"), rel=1e-6)
