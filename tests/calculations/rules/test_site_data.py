"""Ranges of the site in order, and a system curve that can be.

Raw water: lift 150 to 160 ft, design point 700 gpm at 200 ft.
"""

import pytest

from calculations import catalogue
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
from tests.calculations.test_machines_by_hand import out_of_a_pond
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


def test_of_two_temperatures_nothing_tells_which_stands_in_another_unit():
    """5 degC to 79 degC rise; 79 degF may have been meant, and 41 degC as well."""
    given = {"liquid_temperature_min": q("41", "degF"), "liquid_temperature_max": q("79", "degC")}
    document = changed(raw_water(), {f"/site/{name}": value for name, value in given.items()})
    assert verdicts(document, ORDER) == []


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


def of_order(changes, station=raw_water):
    return [(each.variant, each.subject.rsplit("/", 1)[1], each.parameters.get("meant"))
            for each in of_rule(judged(changed(station(), changes)), ORDER)]  # fmt: skip


@pytest.mark.parametrize(
    ("low", "high", "meant"),
    [
        # 150 m are 492 ft; as entered 148 m lie between 150 ft (45.7 m) and 194 m.
        (q("150", "ft"), q("194", "m"), ("static_lift_low", "150 m")),
        (q("45.7", "m"), q("160", "ft"), None),  # 150 ft: in feet it would be far below
        (q("150", "ft"), q("48.8", "m"), None),  # 160 ft: 150 m would be above it
        (q("150", "ft"), q("160", "ft"), None),
        (q("150", "ft"), q("525", "ft"), None),  # one unit throughout
        # The highest of the two: 160 m for 160 ft, above 45.7 m.
        (q("150", "ft"), q("160", "m"), ("static_lift_low", "150 m")),
    ],
)
def test_one_end_of_a_range_in_another_unit(low, high, meant):
    ends = {"/site/static_lift_low": low, "/site/static_lift_high": high}
    assert of_order(ends) == ([("unit", *meant)] if meant else [])


@pytest.mark.parametrize(
    ("low", "meant"),
    [("12", "12 m"), ("12.1", None)],  # 12 m = 39.37 ft
)
def test_in_the_unit_of_the_other_end_it_still_rises(low, meant):
    ends = {"/site/static_lift_low": q(low, "ft"), "/site/static_lift_high": q("12", "m")}
    assert of_order(ends) == ([("unit", "static_lift_low", meant)] if meant else [])


WELL = {"wet_well_floor": "-9", "inlet_invert": "-3", "suction_level_low": "-8",
        "suction_level_high": "-4", "overflow_level": "-1"}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, []),
        ({"wet_well_floor": "-8"}, []),  # pumped down to the floor
        ({"wet_well_floor": "-7.9"}, [("levels", "suction_level_low", None)]),
        ({"overflow_level": "-4.1"}, [("levels", "overflow_level", None)]),
        ({"overflow_level": "-4", "inlet_invert": "-5"}, []),
        ({"inlet_invert": "-0.9"}, [("levels", "overflow_level", None)]),
        ({"inlet_invert": "-9.1"}, [("levels", "inlet_invert", None)]),
        ({"suction_level_low": "-3"}, [("reversed", "suction_level_low", None)]),  # told once
    ],
)
def test_heights_of_a_wet_well_rise(changes, expected):
    heights = {f"/site/{name}": q(value, "m") for name, value in (WELL | changes).items()}
    assert of_order(heights, lift_station) == expected


@pytest.mark.parametrize(
    ("name", "odd"),
    [
        ("wet_well_floor", q("-9", "ft")),  # -2.7 m: above the lowest level
        ("inlet_invert", q("-3", "ft")),  # -0.9 m: above the overflow
        ("suction_level_high", q("-4", "ft")),  # -1.2 m
        ("overflow_level", q("-1", "ft")),
    ],
)
def test_a_height_in_another_unit_than_the_others(name, odd):
    heights = {f"/site/{each}": q(value, "m") for each, value in WELL.items()}
    found = of_order(heights | {f"/site/{name}": odd}, lift_station)
    assert [each[0] for each in found] in (["unit"], ["levels"])
    assert found[0][1] == name


def test_two_units_are_told_beside_the_order():
    """-9 ft are -2.7 m, above -8 m."""
    heights = {f"/site/{each}": q(value, "m") for each, value in WELL.items()}
    document = changed(lift_station(), heights | {"/site/wet_well_floor": q("-9", "ft")})
    (found,) = of_rule(judged(document), ORDER)
    assert found.variant == "levels"
    assert catalogue.rule(ORDER).sentence(found).startswith("Two units are mixed. The heights")
    alike = changed(document, {"/site/wet_well_floor": q("-2.7", "m")})
    assert "Two units" not in catalogue.rule(ORDER).sentence(of_rule(judged(alike), ORDER)[0])


def test_what_is_said_of_another_unit():
    ends = {"/site/static_lift_low": q("150", "ft"), "/site/static_lift_high": q("194", "m")}
    (found,) = of_rule(judged(changed(raw_water(), ends)), ORDER)
    assert catalogue.rule(ORDER).sentence(found) == (
        "Probably the static lift low is 150 m, not 150 ft: it stands in another unit than what "
        "belongs to it (static lift low 150 ft, static lift high 194 m), and in theirs it lies "
        "nearer to it."
    )


def test_of_two_ends_in_two_units_either_may_be_wrong():
    """The lower one is named, and the pressure at the higher one waits for the answer as well:
    9.5 m stand 6.6 m or 9.4 psi over 9.5 ft."""
    ends = {"/site/suction_level_low": q("4.5", "ft"), "/site/suction_level_high": q("9.5", "m"),
            "/site/discharge_pressure_limit": q("130", "psi")}  # fmt: skip
    alone = without(raw_water(), "/site/wet_well_floor", "/site/overflow_level")
    judgement = judged(changed(alone, ends))
    assert [each.subject for each in of_rule(judgement, ORDER)] == ["/site/suction_level_low"]
    assert lacking(judgement, "speed.maximum-pressure")[0].waits_for == ORDER


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


def test_depths_of_a_pond_that_are_entered_as_heights_are_told():
    """4 m and 5 m below the pump, without their sign: this rule and that of the datum never wait
    for each other."""
    levels = {"/site/suction_level_low": q("4", "m"), "/site/wet_well_floor": q("5", "m")}
    judgement = judged(changed(without(out_of_a_pond(), "/site/suction_level_high"), levels))
    (found,) = of_rule(judgement, ORDER)
    assert (found.variant, found.subject) == ("levels", "/site/suction_level_low")
    assert [each.waits_for for each in lacking(judgement, "site.datum")] == [ORDER]


def test_where_heights_over_the_sea_were_accepted_their_order_is_judged():
    """A pond from 1195.8 to 1197 m whose floor is at 1196 m."""
    heights = {"suction_level_low": "1195.8", "suction_level_high": "1197"}
    given = heights | {"wet_well_floor": "1196"}
    document = changed(
        out_of_a_pond(), {f"/site/{name}": q(value, "m") for name, value in given.items()}
    )
    judgement = judged(document)
    (datum,) = of_rule(judgement, "site.datum")
    assert [each.waits_for for each in lacking(judgement, ORDER)] == ["site.datum"]
    accepted = judged(document, accepted=[(datum.rule, datum.subject)])
    assert [each.variant for each in of_rule(accepted, ORDER)] == ["levels"]


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
