"""Ranges of the site in order, and a system curve that can be.

Raw water: lift 150 to 160 ft, design point 700 gpm at 200 ft.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.stations import well
from tests.calculations.whole_stations import lift_station, raw_water

ORDER, SYSTEM = "site.order", "system.curve"


def curve(*points):
    """Points of the system curve, gpm and ft."""
    listed = [{"flow": q(flow, "gpm"), "head": q(head, "ft")} for flow, head in points]
    return changed(raw_water(), {"/site/system_curve_points": listed})


@pytest.mark.parametrize("station", [booster, raw_water, lift_station, well])
def test_an_ordinary_site_is_in_order(station):
    judgement = judged(station())
    for rule in (ORDER, SYSTEM):
        assert of_rule(judgement, rule) == lacking(judgement, rule) == []


# -- order --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("static_lift_low", q("160", "ft"), []),
        ("static_lift_low", q("160.1", "ft"), [("review", "reversed")]),
        ("suction_level_low", q("-2", "ft"), []),
        ("suction_level_low", q("-1.9", "ft"), [("review", "reversed")]),
        ("liquid_temperature_min", q("75", "degF"), []),
        ("liquid_temperature_min", q("25", "degC"), [("review", "reversed")]),  # 77 degF
    ],
)
def test_lowest_and_highest(name, value, expected):
    document = changed(raw_water(), {f"/site/{name}": value})
    assert verdicts(document, ORDER) == expected
    assert verdicts(in_metric(document), ORDER) == expected


@pytest.mark.parametrize(
    ("least", "average", "peak", "count"),
    [("2", "5", "9", 0), ("2", "2", "2", 0), ("9", "5", "2", 1), ("2", "9", "5", 1),
     ("6", None, "5", 1)],
)  # fmt: skip
def test_inflows_rise(least, average, peak, count):
    inflows = {"inflow_minimum": least, "inflow_average": average, "inflow_peak": peak}
    given = {f"/site/{name}": q(value, "gpm") for name, value in inflows.items() if value}
    document = without(raw_water(), *(f"/site/{n}" for n in inflows if n in raw_water()["site"]))
    assert len(verdicts(changed(document, given), ORDER)) == count


def test_both_ends_are_named():
    document = changed(booster(), {"/site/suction_pressure_low": q("34", "psi")})
    judgement = judged(document)
    (found,) = of_rule(judgement, ORDER)
    assert found.subject == "/site/suction_pressure_low"
    assert {each.name for each in found.compared} == {"lowest", "highest"}
    assert [each.rule for each in judgement.findings if each.severity != "note"] == [ORDER]
    assert lacking(judgement, "loop.sleep-order")[0].waits_for == ORDER


@pytest.mark.parametrize(
    ("low", "high"), [(q("3", "ft"), q("0.9144", "m")), (q("0.9144", "m"), q("3", "ft"))]
)
@pytest.mark.parametrize("name", ["static_lift", "suction_level"])
def test_the_same_height_in_two_units_is_one_height(name, low, high):
    """3 ft are 0.9144 m: nobody waits for a finding that there is not."""
    ends = {f"/site/{name}_low": low, f"/site/{name}_high": high}
    judgement = judged(changed(raw_water(), ends))
    assert of_rule(judgement, ORDER) == []
    assert not [each for each in judgement.not_evaluated if each.waits_for == ORDER]


def test_half_a_range_is_no_range():
    document = without(booster(), "/site/suction_pressure_high")
    assert verdicts(document, ORDER) == []


# -- system -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("points", "expected"),
    [
        ((("0", "155"), ("350", "165"), ("700", "200")), []),
        ((("0", "160"), ("350", "160"), ("700", "200")), []),  # flat is not falling
        ((("0", "160"), ("350", "159"), ("700", "200")), []),  # within the last digits
        ((("0", "160"), ("350", "158"), ("700", "200")), [("review", "falls")]),
        ((("0", "155"), ("350", "210"), ("700", "200")), [("review", "falls")]),
        ((("0", "130.1"), ("700", "200")), []),  # 150 - 10 % of 200
        ((("0", "129.9"), ("700", "200")), [("review", "lift")]),
        ((("0", "179.9"), ("700", "200")), []),  # 160 + 10 % of 200
        ((("0", "180.1"), ("700", "200")), [("review", "lift")]),
        ((("100", "100"), ("700", "200")), []),  # nothing is known of no flow
    ],
)
def test_system_curve(points, expected):
    document = curve(*points)
    assert verdicts(document, SYSTEM) == expected
    assert verdicts(in_metric(document), SYSTEM) == (
        expected if ("350", "159") not in points else [("review", "falls")]
    )


def test_the_point_that_falls_is_counted_as_people_count():
    (found,) = of_rule(judged(curve(("0", "155"), ("350", "210"), ("700", "200"))), SYSTEM)
    assert found.parameters["number"] == "3"


def test_what_rests_on_a_falling_system_curve_waits():
    judgement = judged(curve(("0", "155"), ("350", "210"), ("700", "200")))
    assert [each.rule for each in judgement.findings if each.severity != "note"] == [SYSTEM]
    for rule in ("main.velocity", "region.run-out", "npsh.lowest-suction"):
        assert lacking(judgement, rule)[0].waits_for == SYSTEM
    assert lacking(judgement, "speed.zero-flow") == []  # that rests on the lifts


def test_an_accepted_system_curve_is_used():
    document = curve(("0", "100"), ("700", "200"))
    (found,) = of_rule(judged(document), SYSTEM)
    judgement = judged(document, accepted=[(found.rule, found.subject)])
    assert not [each for each in judgement.not_evaluated if each.waits_for == SYSTEM]


@pytest.mark.parametrize(("head", "expected"), [("160", []), ("157", [("review", "design")])])
def test_a_design_head_below_the_lift(head, expected):
    document = changed(raw_water(), {"/site/system_design_head": q(head, "ft")})
    assert verdicts(document, SYSTEM) == expected


@pytest.mark.parametrize("end", ["low", "high"])
def test_a_curve_is_not_compared_with_half_of_the_lifts(end):
    document = without(curve(("0", "100"), ("700", "200")), f"/site/static_lift_{end}")
    assert verdicts(document, SYSTEM) == []


def test_a_kept_pressure_is_no_lift():
    """A booster's lifts and system count from where nobody says: a pressure is kept."""
    points = [{"flow": q("0", "gpm"), "head": q("60", "ft")},
              {"flow": q("1000", "gpm"), "head": q("128", "ft")}]  # fmt: skip
    document = changed(booster(), {"/site/system_curve_points": points})
    assert verdicts(document, SYSTEM) == []
