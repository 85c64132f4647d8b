"""Draw-down against the meter.

Published example (H14): a well of 8 ft, 2.5 ft in 200 s, filling 1.0 ft in 240 s: inflow 94.0 gpm,
flow 376.0 gpm. Leaving the inflow out reads 282.0 gpm, 25 % low.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    derived,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q

RULE = "flow.drawdown"
H14 = {
    "diameter": q("8.00", "ft"), "level_start": q("6.0", "ft"), "level_end": q("3.5", "ft"),
    "time": q("200", "s"), "fill_rise": q("1.0", "ft"), "fill_time": q("240", "s"),
    "inflow_method": "fill_before", "pumps_running": 1, "frequency": q("43.3", "Hz"),
}  # fmt: skip

UNREAD = "no flow read at the frequency of the draw-down"


# At 1289 rpm the curve gives 130.3 ft at 282 gpm: 7.6 ft or 3.3 psi more than at the third point.
ON_THE_CURVE = {"282": {"/event/duty_points/2/discharge_pressure": q("88.3", "psi")}}


def drawn(metered: str, **test: object):
    """The booster's third point (43.3 Hz) with this reading of the meter, and a draw-down."""
    return changed(
        booster(),
        {"/event/drawdown_tests": [H14 | test], "/event/duty_points/2/flow": q(metered, "gpm")}
        | ON_THE_CURVE.get(metered, {}),
    )


def test_flow_of_the_published_example():
    found = derived(judged(drawn("376")), "flow.by-drawdown")
    assert found.shown.unit == "gpm"
    assert float(found.shown.value) == pytest.approx(376.0, abs=0.05)


@pytest.mark.parametrize(
    ("metered", "expected"),
    [
        # 10 % would be 418 and 342 gpm. Draw-down is known to 7.5 % (from memory), the meter to
        # 15 gpm and half a gallon: 11.2 % of 423 gpm, 12.1 % of 336 gpm together.
        ("376", []),
        ("423", []),  # -11.1 %
        ("430", [("review", "plain")]),  # -12.6 %
        ("336", []),  # +11.9 %
        ("332", [("review", "plain")]),  # +13.3 %
    ],
)
def test_against_the_meter(metered, expected):
    assert verdicts(drawn(metered), RULE) == expected


def test_the_trap_of_the_inflow():
    document = drawn("376", inflow_method="none")
    assert verdicts(document, RULE) == [("review", "inflow")]


@pytest.mark.parametrize(
    ("metered", "peak", "expected"),
    [
        # 282.0 gpm by level: 94 gpm are missing of 376 gpm, 282 of 564, which half the area fits.
        ("376", "90", "plain"),
        ("376", "100", "inflow"),
        ("564", None, "inflow_or_area"),
        ("564", "250", "area"),
        ("564", "300", "inflow_or_area"),
    ],
)
def test_no_more_is_laid_on_an_inflow_than_can_have_run_in(metered, peak, expected):
    """Continuity: a well does not lose more than runs in, nor does more than its peak run in."""
    document = drawn(metered, inflow_method="none")
    if peak:
        document = changed(document, {"/site/inflow_peak": q(peak, "gpm")})
    (found,) = of_rule(judged(document, accepted=[("curve.point", "/event/duty_points/2")]), RULE)
    assert found.variant == expected


def test_an_inflow_counted_although_it_was_shut_off():
    assert verdicts(drawn("282"), RULE) == [("review", "inflow_shut")]


@pytest.mark.parametrize(
    ("test", "expected"),
    [
        ({"diameter": q("16.00", "ft")}, "area"),  # radius read as diameter, and doubled: 4
        ({"diameter": q("4.00", "ft")}, "area"),  # radius for diameter
        ({"diameter": None, "plan_area": q("100.53", "ft2")}, "area"),  # two wells
    ],
)
def test_factors_of_the_area(test, expected):
    assert verdicts(drawn("376", **test), RULE) == [("review", expected)]


def test_only_points_at_the_same_frequency_are_compared():
    (missing,) = lacking(judged(drawn("376", frequency=q("50", "Hz"))), RULE)
    assert missing.because == UNREAD
    (missing,) = lacking(judged(drawn("376", frequency=q("43.9", "Hz"))), RULE)  # 0.6 Hz apart
    assert missing.because == UNREAD
    assert verdicts(drawn("430", frequency=q("43.8", "Hz")), RULE) == [("review", "plain")]


def test_a_draw_down_that_counts_no_pumps_is_of_one():
    assert verdicts(drawn("430", pumps_running=None), RULE) == [("review", "plain")]
    (missing,) = lacking(judged(drawn("430", pumps_running=2)), RULE)
    assert missing.because == UNREAD


def test_a_point_with_another_pump_beside_it_is_another_flow():
    beside = {"/event/duty_points/2/other_pumps_running": 1}
    (missing,) = lacking(judged(changed(drawn("376"), beside)), RULE)
    assert missing.because == UNREAD


def test_a_draw_down_is_not_compared_with_itself():
    document = changed(drawn("376"), {"/event/duty_points/2/flow_method": "drawdown"})
    assert lacking(judged(document), RULE) != []


def test_filling_is_needed_where_it_was_measured():
    (missing,) = lacking(judged(drawn("376", fill_time=None)), RULE)
    assert missing.needs == ("/event/drawdown_tests/0/fill_time",)


def test_no_draw_down_nothing_to_say():
    assert lacking(judged(without(booster(), "/event/duty_points")), RULE) == []


def test_at_fixed_speed_the_open_point_is_compared():
    """No frequency decides there; a throttled point has less flow and says nothing."""
    throttled = {"/pump_set/drive": None, "/event/duty_points/0/flow_method": "drawdown"}
    fixed = changed(drawn("376"), throttled)
    fixed = without(fixed, "/drive", "/event/settings")
    (missing,) = lacking(judged(fixed), RULE)
    assert missing.because == UNREAD
    opened = changed(fixed, {"/event/duty_points/2/purpose": "maximum"})
    assert lacking(judged(opened), RULE) == []


def test_draw_down_waits_for_the_point():
    document = changed(drawn("376"), {"/event/duty_points/2/flow": q("1720", "gpm")})
    (waiting,) = lacking(judged(document), RULE)
    assert waiting.waits_for == "curve.point"


def test_a_level_that_rose_is_no_flow():
    document = drawn("376", level_start=q("3.5", "ft"), level_end=q("6.0", "ft"))
    (missing,) = lacking(judged(document), RULE)
    assert missing.because == "no flow"


def test_without_flow_at_the_meter_there_is_nothing_to_compare():
    """At 1289 rpm and no flow the curve gives 137.9 ft: 91.7 psi at the gauge."""
    shut = {"/event/duty_points/2/discharge_pressure": q("91.7", "psi")}
    (missing,) = lacking(judged(changed(drawn("0"), shut)), RULE)
    assert missing.because == "no flow"


# -- without a meter ------------------------------------------------------------------------------
#
# A well of 3.00 m (7.07 m2) and a pump of 30.0 L/s at 16.0 m, 1455 rpm: 0.50 m in 196 s with 12.0
# L/s flowing in (0.20 m in 118 s) is 7.07 (0.50/196 + 0.20/118) = 18.0 + 12.0 = 30.0 L/s.

WELL = {
    "plan_area": q("7.07", "m2"), "level_start": q("2.00", "m"), "level_end": q("1.50", "m"),
    "time": q("196", "s"), "inflow_method": "fill_before", "fill_rise": q("0.20", "m"),
    "fill_time": q("118", "s"), "pumps_running": 1, "frequency": q("50", "Hz"),
}  # fmt: skip
STRAPPED = {
    "purpose": "normal", "frequency": q("50.0", "Hz"), "flow": q("30.0", "L/s"),
    "flow_method": "strap_on", "other_pumps_running": 0,
}  # fmt: skip
PUMP = {
    "rated_speed": q("1455", "rpm"), "rated_flow": q("30", "L/s"), "type": "submersible_sewage",
    "curve_points": [
        {"flow": q(flow, "L/s"), "head": q(head, "m")}
        for flow, head in (("0", "25.0"), ("10", "24.0"), ("20", "21.0"), ("30", "16.0"),
                           ("38", "10.56"))
    ],
}  # fmt: skip
MOTOR = {
    "kind": "induction", "poles": 4, "rating_in_use": 0,
    "ratings": [{"frequency": q("50", "Hz"), "speed": q("1455", "rpm"), "power": q("7.5", "kW")}],
}  # fmt: skip
SITE = {
    "kind": "lift_station", "wet_well_area": q("7.07", "m2"),
    "static_lift_low": q("9.4", "m"), "static_lift_high": q("11.1", "m"),
    "system_design_flow": q("30", "L/s"), "system_design_head": q("16", "m"),
}  # fmt: skip


def well(points: object = (STRAPPED,), **test: object):
    """A lift station without a meter, with this draw-down; None leaves a field out."""
    given = {name: value for name, value in (WELL | test).items() if value is not None}
    event = {"drawdown_tests": [given], "duty_points": list(points)}
    return {"site": SITE, "pump": PUMP, "motor": MOTOR, "event": event}


@pytest.mark.parametrize("points", [(STRAPPED,), ()], ids=["strapped on", "curves"])
@pytest.mark.parametrize(
    ("test", "expected"),
    [
        ({}, []),
        ({"plan_area": None}, []),  # that of the site
        ({"plan_area": None, "diameter": q("3.00", "m")}, []),
        # 3.27 min and 1.97 min as seconds: 7.07 (0.50/3.27 + 0.20/1.97) = 1799 L/s.
        ({"time": q("3.27", "s"), "fill_time": q("1.97", "s")}, "minutes"),
        ({"time": q("3.27", "s")}, "minutes"),  # 1081 + 12.0 L/s
        ({"time": q("0.0545", "min")}, "plain"),  # the same time, entered as minutes already
        ({"inflow_method": "none"}, "inflow"),  # 18.0 L/s, 40 % low
        ({"plan_area": q("76.1", "m2")}, "area_unit"),  # 7.07 m2 are 76.1 ft2
        ({"plan_area": q("3.53", "m2")}, "area_registered"),  # half of it
        ({"plan_area": q("6.5", "m2")}, []),  # benching takes 8 %; 27.6 L/s
        ({"time": q("98", "s"), "fill_time": q("59", "s")}, "area"),  # 60 L/s: another well as well
    ],
)  # fmt: skip
def test_a_lift_station_without_a_meter(points, test, expected):
    """The meter strapped on, else the curves: 30.0 L/s at 50 Hz, by either."""
    found = verdicts(well(points, **test), RULE)
    assert found == ([("review", expected)] if expected else [])
    assert lacking(judged(well(points, **test)), RULE) == []


def test_an_area_is_questioned_once():
    """Two tests with half of the area of 7.07 m2; with another area the second is told as well."""
    first, second = {"plan_area": q("3.53", "m2")}, {"plan_area": q("3.00", "m2")}
    document = well((STRAPPED,), **first)
    (test,) = document["event"]["drawdown_tests"]
    twice = changed(document, {"/event/drawdown_tests": [test, dict(test)]})
    assert verdicts(twice, RULE) == [("review", "area_registered")]
    (waiting,) = lacking(judged(twice), RULE)
    assert waiting.subject == "/event/drawdown_tests/1"
    other = changed(document, {"/event/drawdown_tests": [test, test | second]})
    assert verdicts(other, RULE) == [("review", "area_registered")] * 2


@pytest.mark.parametrize(
    ("stated", "told"), [("5.65", True), ("5.66", False), ("8.48", False), ("8.49", True)]
)
def test_the_area_of_the_test_is_that_of_the_register_to_a_fifth(stated, told):
    """0.8 and 1.2 times 7.07 m2 are 5.656 and 8.484 m2: common practice."""
    found = verdicts(well(plan_area=q(stated, "m2")), RULE)
    assert (("review", "area_registered") in found) is told


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [("2.72", "plain"), ("2.73", "minutes"), ("4.08", "minutes"), ("4.09", "plain")],
)
def test_minutes_explain_a_flow_to_a_fifth(seconds, expected):
    """3535 L / (30.0 - 12.0) L/s are 196.2 s: of them 1/72 and 1/48, 2.725 s and 4.088 s."""
    assert verdicts(well(time=q(seconds, "s")), RULE) == [("review", expected)]


def test_the_minutes_are_said():
    (found,) = of_rule(judged(well(time=q("3.27", "s"), fill_time=q("1.97", "s"))), RULE)
    assert found.parameters["read"] == "3.27 min"
    assert [str(each.shown) for each in found.compared] == ["1799 L/s", "30 L/s"]


def test_the_area_is_said_in_the_other_unit():
    (found,) = of_rule(judged(well(plan_area=q("76.1", "m2"))), RULE)
    assert found.parameters["read"] == "76.1 ft2"


def test_of_points_at_one_frequency_the_least_throttled_one_is_compared():
    """24.0 L/s were read with the valve half closed; a draw-down has it open."""
    throttled = STRAPPED | {"flow": q("24.0", "L/s")}
    assert verdicts(well((throttled, STRAPPED)), RULE) == []
    assert verdicts(well((STRAPPED, throttled)), RULE) == []


def test_with_neither_a_flow_nor_the_mains_curve_it_is_not_judged():
    document = well(())
    bare = without(document, "/site/system_design_flow")
    (missing,) = lacking(judged(bare), RULE)
    assert missing.because == UNREAD
    assert "/site/system_design_flow" in missing.needs


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [
        ("379", []),  # 9.33 + 12.0 = 21.3 L/s
        ("402", [("review", "plain")]),  # 8.79 + 12.0 = 20.8 L/s
        ("119", []),  # 29.7 + 12.0 = 41.7 L/s
        ("118", [("review", "inflow_shut")]),  # 30.0 + 12.0 = 41.9 L/s
    ],
)
def test_the_main_decides_at_which_end_of_the_levels(seconds, expected):
    """Curves: 30.4 L/s at the highest lift, 32.2 L/s at the lowest; 30 % below is 21.3, above
    41.8 L/s. A motor at three quarters of its torque (common practice, no source) turns at
    1500 - 45 x 0.75 (1465.8 / 1455)^2 = 1465.8 rpm: 25.37 - Q2/100 = 9.4 + 4.9 (Q/30)2 in L/s,
    15.97 / 0.01544."""
    assert verdicts(well((), time=q(seconds, "s")), RULE) == expected


def test_where_the_pump_lifts_nothing_at_its_lowest_level_its_curves_are_not_compared():
    """25.0 m (1484.2 / 1455)^2 = 26.0 m at no flow, and 26.5 m to lift."""
    high = {"/site/static_lift_high": q("26.5", "m"), "/site/system_design_head": q("30", "m")}
    (missing,) = lacking(judged(changed(well(()), high)), RULE)
    assert (missing.because, of_rule(judged(changed(well(()), high)), RULE)) == (UNREAD, [])


@pytest.mark.parametrize(
    ("seconds", "fires"), [("196", False), ("201", True), ("77", False), ("75", True)]
)
def test_of_two_pumps_both_flows_count(seconds, fires):
    """Q = 2 q: 0.626 of rated torque (0.338 at no flow, 0.75 at 30 L/s) leave 1471.2 rpm.

    25 (1471.2 / 1455)2 - q2/100 = 11.1 + 4.9 (2 q / 30)2 gives 42.7 L/s, 9.4 m in place of 11.1 m
    45.1. 30 % below are 29.9, above 58.6 L/s; 18.0, 17.6, 45.9 and 47.1 L/s are drawn with 12.0
    more.
    """
    found = verdicts(well((), pumps_running=2, time=q(seconds, "s")), RULE)
    assert bool(found) is fires


def test_a_register_in_another_unit_is_told_by_the_flow_that_the_tests_own_area_gives():
    """7.07 ft2 for 7.07 m2 in the register: the test's gives the 30.0 L/s that were read."""
    document = changed(well(), {"/site/wet_well_area": q("7.07", "ft2")})
    (found,) = of_rule(judged(document), RULE)
    assert (found.variant, found.subject) == ("register_unit", "/site/wet_well_area")
    assert found.parameters["read"] == "7.07 m2"
    by_diameter = {"/event/drawdown_tests/0/diameter": q("3.00", "m")}
    document = without(changed(document, by_diameter), "/event/drawdown_tests/0/plan_area")
    assert verdicts(document, RULE) == [("review", "register_unit")]


def test_starts_wait_for_a_register_in_another_unit():
    """1.0 m of 7.07 ft2 are emptied in 22 s at 30 L/s: far more starts than 15 an hour."""
    levels = {
        "/event/settings/as_left/start_level": q("2.0", "m"),
        "/event/settings/as_left/stop_level": q("1.0", "m"),
        "/event/settings/as_left/minimum_frequency": q("45", "Hz"),
        "/event/settings/as_left/maximum_frequency": q("50", "Hz"),
        "/event/settings/as_left/regulation": "open_loop",
        "/site/wet_well_area": q("7.07", "ft2"),
        "/site/suction_kind": "wet_well",
    }
    document = changed(well(), levels)
    (waiting,) = lacking(judged(document), "well.starts")
    assert waiting.waits_for == RULE
    untested = without(document, "/event/drawdown_tests/0")
    assert of_rule(judged(untested), "well.starts")


AREA_ACCEPTED = [(RULE, "/event/drawdown_tests/0")]
HALF = {"plan_area": q("3.53", "m2")}


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        # 7.07 m2 give the 30.0 L/s that were read, 3.53 m2 half of it.
        (HALF, [("review", "area_registered"), ("review", "area")]),
        # 3.53 (0.50/98 + 0.20/59) = 30.0 L/s: by its own area it is what was read.
        (
            HALF | {"time": q("98", "s"), "fill_time": q("59", "s")},
            [("review", "area_registered")],
        ),
    ],
)
def test_once_an_area_was_accepted_the_next_test_is_judged_by_it(second, expected):
    """What is accepted blocks no longer; the first test goes on to say it."""
    document = well(**HALF)
    given = document["event"]["drawdown_tests"][0]
    twice = changed(document, {"/event/drawdown_tests": [given, given | second]})
    assert lacking(judged(twice), RULE)[0].waits_for == RULE
    after = judged(twice, accepted=AREA_ACCEPTED)
    assert lacking(after, RULE) == []
    assert [(each.severity, each.variant) for each in of_rule(after, RULE)] == expected
