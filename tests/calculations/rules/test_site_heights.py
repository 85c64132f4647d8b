"""Heights of a site count from the pump; elevations over the sea are told as such."""

import pytest

from calculations.judging import finding_document
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
from tests.calculations.stations import high_site, well
from tests.calculations.test_machines_by_hand import out_of_a_pond
from tests.calculations.whole_stations import left, lift_station, raw_water

RULE = "site.datum"


@pytest.mark.parametrize(
    "station", [booster, raw_water, lift_station, well, high_site, out_of_a_pond]
)
def test_heights_beside_the_pump_are_in_order(station):
    judgement = judged(station())
    assert of_rule(judgement, RULE) == lacking(judgement, RULE) == []


def lifted(low: str, high: str, elevation: str = "1200"):
    """A pump that lifts from a pond, with the pond's levels and the site over the sea [m]."""
    levels = {"/site/suction_level_low": q(low, "m"), "/site/suction_level_high": q(high, "m")}
    return changed(out_of_a_pond(), levels | {"/site/elevation": q(elevation, "m")})


@pytest.mark.parametrize(
    ("low", "high", "elevation", "expected"),
    [
        ("-4.2", "-3.0", "1200", []),
        ("-4.2", "-3.0", "-4", []),
        ("1195.8", "1197.0", "1200", [("review", "sea")]),
        ("11.5", "12.5", "16.0", [("review", "sea")]),
        ("11.5", "12.5", "22.6", [("review", "lift")]),  # more than 10 m apart
        ("-4.2", "0.5", "1200", []),  # full for once
        ("0.1", "0.5", "1200", [("review", "lift")]),
        ("0", "0.5", "1200", []),
        ("1095.8", "1097.0", "1200", [("review", "high")]),  # over a bench mark
        ("50.1", "50.1", "1200", [("review", "high")]),
        ("50", "50", "1200", [("review", "lift")]),
    ],
)
def test_what_is_lifted_lies_below_the_pump(low, high, elevation, expected):
    document = lifted(low, high, elevation)
    assert verdicts(document, RULE) == expected
    assert verdicts(in_metric(document), RULE) == expected


@pytest.mark.parametrize(
    ("eye", "expected"),
    [
        # The well's highest level is 3.6 m below its cover, from which heights count.
        ("4.5", [("review", "dry")]),
        ("0.3", [("review", "dry")]),
        ("-3.5", [("review", "dry")]),
        ("-3.6", []),
        ("-4.5", []),
        # Its floor lies 5.0 m below the cover; a pit may reach 1 m lower.
        ("-6.0", []),
        ("-6.2", [("review", "sunk")]),
        ("-45", [("review", "sunk")]),
    ],
)
def test_a_pump_in_the_liquid_does_not_hang_over_it(eye, expected):
    document = changed(lift_station(), {"/pump_set/eye_elevation": q(eye, "m")})
    judgement = judged(document)
    assert [(each.severity, each.variant) for each in of_rule(judgement, RULE)] == expected
    assert {each.rule for each in judgement.findings if each.severity == "stop"} == set()
    if expected:
        assert {each.waits_for for each in lacking(judgement, "npsh.margin")} == {RULE}


def test_a_dry_pump_may_stand_over_the_liquid():
    eye = {"/pump_set/eye_elevation": q("1.0", "m")}
    assert verdicts(changed(lifted("-4.2", "-3.0"), eye), RULE) == []


@pytest.mark.parametrize(("level", "expected"), [("0.1", [("review", "lift")]), ("-0.1", [])])
def test_one_level_above_the_pump_is_no_suction_lift(level, expected):
    """The lowest alone, where nobody knows the highest."""
    document = without(lifted(level, "0"), "/site/suction_level_high")
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize(
    ("eye", "low", "expected"),
    [
        ("1.0", "0.9", []),
        ("1.0", "1.0", []),
        ("1.0", "1.1", [("review", "lift")]),
        ("-3.0", "-2.9", [("review", "lift")]),  # a pump in a pit under the mark
        ("1204", "-4.2", [("review", "sea")]),
        ("50.1", "-4.2", [("review", "high")]),
    ],
)
def test_heights_from_another_mark_than_the_eye(eye, low, expected):
    document = changed(lifted(low, low), {"/pump_set/eye_elevation": q(eye, "m")})
    assert verdicts(document, RULE) == expected
    assert verdicts(in_metric(document), RULE) == expected


def test_the_eye_is_told_where_it_is_stated():
    document = changed(lifted("1.5", "2.0"), {"/pump_set/eye_elevation": q("1.0", "m")})
    (finding,) = of_rule(judged(document), RULE)
    assert (
        "stands at 1.5 m, above the pump's eye at 1.0 m"
        in finding_document(finding, "")["sentence"]
    )
    (finding,) = of_rule(judged(lifted("1.5", "2.0")), RULE)
    assert "above the datum, the pump's eye" in finding_document(finding, "")["sentence"]


@pytest.mark.parametrize(
    ("kind", "level", "expected"),
    [
        ("flooded_tank", "12", []),
        ("flooded_tank", "50", []),
        ("flooded_tank", "51", [("review", "high")]),
        ("flooded_tank", "1203", [("review", "sea")]),
        ("wet_well", "51", [("review", "high")]),
    ],
)
def test_a_tank_may_stand_above_the_pump(kind, level, expected):
    document = changed(lifted(level, level), {"/site/suction_kind": kind})
    assert verdicts(document, RULE) == expected


def tank(level: str, elevation: str, *gauges: tuple[str, str], high: str = ""):
    """A tank [m], a site [m over the sea], and suction gauges: pressure [bar] and height [m]."""
    document = changed(lifted(level, high or level, elevation), {
        "/site/suction_kind": "flooded_tank",
        "/event/duty_points": [
            {"suction_pressure": q(read, "bar"), "suction_gauge_elevation": q(at, "m")}
            for read, at in gauges
        ],
    })  # fmt: skip
    return without(document, *(() if gauges else ("/event/duty_points",)))


@pytest.mark.parametrize(
    ("document", "expected"),
    [
        # By hand, 0.0981 bar/m, 0.6 m lost: 12 m of water over a gauge 0.5 m up are 1.07 bar.
        (tank("12", "15"), []),  # nothing tells: tanks stand 12 m up in towns by the sea
        (tank("12", "15", ("1.07", "0.5")), []),
        (tank("12", "15", ("0.10", "0.5")), []),  # 1.5 m seen, 9.9 m too little: within 10 m
        (tank("12", "15", ("0.05", "0.5")), [("review", "sea")]),  # 1.0 m seen: 10.4 m too little
        (tank("12", "15", ("0.05", "0.5"), ("1.07", "0.5")), []),  # the better gauge counts
        (tank("12", "22.5", ("0.05", "0.5")), []),  # 10.5 m apart: the gauge may be wrong
        (tank("38", "40", ("0.20", "0.5")), [("review", "sea")]),
        (tank("38", "40", ("3.65", "0.5")), []),
        # 60 m up: the gauge bears it out, or does not, or nobody read it.
        (tank("60", "400", ("5.80", "0.5")), []),
        (tank("60", "400", ("0.20", "0.5")), [("review", "high")]),
        (tank("60", "400"), [("review", "high")]),
        # All share the sea: 38.5 m of water over a gauge at 37 m show 0.15 bar and agree with it.
        (tank("38.5", "36", ("0.14", "37")), [("review", "sea")]),
        (tank("38.5", "20", ("0.14", "37")), [("review", "gauge")]),  # elevation off a rough map
        (tank("16", "600", ("0.14", "15")), []),
        (tank("16.1", "600", ("0.14", "15.1")), [("review", "gauge")]),
    ],
)  # fmt: skip
def test_suction_gauges_tell_a_level_over_the_sea_from_a_high_tank(document, expected):
    assert verdicts(document, RULE) == expected
    assert verdicts(in_metric(document), RULE) == expected


def test_a_gauge_that_counts_from_elsewhere_is_told_by_its_own_height():
    (found,) = of_rule(judged(tank("38.5", "20", ("0.14", "37"))), RULE)
    assert found.subject == "/event/duty_points/0/suction_gauge_elevation"
    assert found.limit == "at most 15 m"


def test_a_tapping_over_the_sea_is_told_where_a_main_feeds_the_pump():
    """The booster stands at 500 ft, its gauge beside the pump."""
    over_the_sea = {"/sensors/0/tapping_elevation": q("503", "ft")}
    judgement = judged(changed(booster(), over_the_sea))
    (found,) = of_rule(judgement, RULE)
    assert found.subject == "/sensors/0/tapping_elevation"
    assert [(each.name, each.shown.value) for each in found.compared] == [
        ("height", "503"), ("elevation", "500"),
    ]  # fmt: skip
    assert found.limit == "more than 32.8 ft from the elevation"


@pytest.mark.parametrize("side", ["suction", "discharge"])
def test_a_gauge_over_the_sea_is_told_and_leaves_no_suction_head(side):
    """31.6 psi beside a pump, entered 502 ft over it, would be 600 ft of suction head."""
    place = f"/event/duty_points/1/{side}_gauge_elevation"
    judgement = judged(changed(booster(), {place: q("502", "ft")}))
    (found,) = of_rule(judgement, RULE)
    assert (found.subject, found.variant) == (place, "sea")
    assert not [each for each in judgement.derived if each.id == "npsh.available"]
    (waiting,) = lacking(judgement, "curve.point")
    assert (waiting.subject, waiting.waits_for) == ("/event/duty_points/1", RULE)
    assert of_rule(judgement, "curve.point") == []
    taken = judged(changed(booster(), {place: q("502", "ft")}), accepted=[(RULE, place)])
    assert [each.subject for each in of_rule(taken, "curve.point")] == ["/event/duty_points/1"]
    beside = judged(changed(booster(), {place: q("12", "ft")}))
    assert of_rule(beside, RULE) == []


@pytest.mark.parametrize(("location", "expected"), [("remote", []), ("header", ["sea"])])
def test_a_remote_sensor_may_stand_as_high_as_the_site_lies(location, expected):
    """70 ft above a pump that stands 60 ft over the sea: ordinary in a town on a hill."""
    document = changed(booster(), {
        "/sensors/0/location": location, "/sensors/0/tapping_elevation": q("70", "ft"),
        "/site/elevation": q("60", "ft"),
    })  # fmt: skip
    assert [variant for _, variant in verdicts(document, RULE)] == expected


def measured(document, level: str):
    """One duty point, by the level of the pond [m] and a gauge beside the pump."""
    point = {
        "frequency": q("50", "Hz"), "flow": q("40", "L/s"), "suction_level": q(level, "m"),
        "discharge_pressure": q("2.0", "bar"), "discharge_gauge_elevation": q("0", "m"),
    }  # fmt: skip
    return changed(document, {"/event/duty_points": [point]})


def test_nothing_is_computed_from_such_heights():
    """1196 m over the sea would leave 1204 m of suction head, and no shortage."""
    judgement = judged(measured(lifted("1195.8", "1197.0"), "1196"))
    waiting = {each.rule for each in judgement.not_evaluated if each.waits_for == RULE}
    assert {"npsh.lowest-suction", "npsh.margin"} <= waiting
    assert not [each for each in judgement.derived if each.id == "npsh.available"]
    beside = judged(measured(lifted("-4.2", "-3.0"), "-4.0"))
    assert [each for each in beside.derived if each.id == "npsh.available"]


def test_an_accepted_height_is_reckoned_with():
    """A tank 60 m above the pump."""
    document = changed(lifted("60", "60"), {"/site/suction_kind": "flooded_tank"})
    assert verdicts(document, RULE) == [("review", "high")]
    accepted = judged(document, accepted={(RULE, "/site/suction_level_high")})
    assert not [each for each in accepted.not_evaluated if each.waits_for == RULE]


def test_depths_and_a_datum_at_the_pump_wait_for_heights_over_the_sea():
    """A depth counts from the datum, a gauge by the map does not: their difference is no head."""
    document = changed(well(), {"/site/elevation": q("25", "m")} | {
        f"/event/duty_points/{index}/discharge_gauge_elevation": q("25.6", "m")
        for index, _ in enumerate(well()["event"]["duty_points"])
    })  # fmt: skip
    assert verdicts(document, "site.datum") == [("review", "sea")]
    assert verdicts(document, "curve.point") == []
    shifted = changed(booster(), left(set_point_datum="pump_datum") | {
        "/site/elevation": q("25", "m"), "/sensors/0/tapping_elevation": q("25.6", "m"),
    })  # fmt: skip
    assert verdicts(shifted, "loop.scaling") == []
    assert [each.waits_for for each in lacking(judged(shifted), "loop.scaling")] == ["site.datum"]
