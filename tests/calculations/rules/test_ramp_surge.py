"""Ramps and surge in the main.

Raw water: wave 1233 m/s in 8 in of ductile iron with 0.25 in of wall (K 2.152 GPa at 60 degF, E 165
GPa from memory), 2 L / a = 1.483 s over 3000 ft. 700 gpm are 1.362 m/s: 171.2 m = 561.7 ft at once
(Joukowsky). The flow ends between 58.26 Hz (700 gpm at 200 ft) and 46.94 Hz (160 ft at no flow).
"""

import re

import pytest

from calculations.judging import finding_document
from calculations.rules.ramps import SURGE
from tests.calculations.building import (
    booster,
    changed,
    derived,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left, raw_water

MAIN = "/site/pipeline"
DOWN = f"{LEFT}/ramp_down_time"


def pumping(ramp: str, rating: str = "250", **more: object):
    document = changed(raw_water(), left(ramp_down_time=q(ramp, "s")) | more)
    return changed(document, {f"{MAIN}/pressure_rating": q(rating, "psi")})


@pytest.mark.parametrize(
    ("ramp", "rating", "expected"),
    [
        # 60 s: flow ends in 60 (58.09 - 46.48) / 60 = 11.61 s (test_surging): 561.7 x 1.483 / 11.61
        # = 71.75 ft over 154 ft at rest, 225.8 ft = 97.8 psi.
        ("60", "100", []),
        ("60", "97", [("stop", "over_rating")]),
        # 2 s: 0.38 s, less than 1.483 s: 561.7 + 154 = 715.7 ft = 310 psi.
        ("2", "312", []),
        ("2", "308", [("stop", "at_once")]),
    ],
)
def test_surge_over_the_rating(ramp, rating, expected):
    document = pumping(ramp, rating)
    assert verdicts(document, "ramp.surge") == expected
    assert verdicts(in_metric(document), "ramp.surge") == expected


def test_the_remedy_is_the_shortest_ramp():
    """97 psi leave 70.0 ft: 1.483 x 561.7 / 70.0 = 11.9 s of flow, 61.5 s of ramp."""
    (finding,) = of_rule(judged(pumping("60", "97")), "ramp.surge")
    remedy = SURGE.remedy(finding)
    assert re.fullmatch(r"Set the ramp down to about [\d.]+ s or more, and .*", remedy)
    assert float(remedy.split()[6]) == pytest.approx(61.5, abs=0.3)


@pytest.mark.parametrize(
    ("rating", "said"),
    [
        # 154 ft at rest, 0.4331 psi/ft: 66.70 psi. 69 psi leave 5.31 ft: 1.483 x 561.7 / 5.31 =
        # 156.9 s of flow, 811 s of ramp; 67 psi leave 0.69 ft and would take 6,200 s.
        ("69", "Set the ramp down to about 810 s or more, longer than a pump is usually stopped"),
        ("67", "No ramp of a drive is long enough: stop in another way, and"),
    ],
)
def test_no_ramp_is_proposed_that_no_drive_has(rating, said):
    judgement = judged(pumping("60", rating))
    (finding,) = of_rule(judgement, "ramp.surge")
    assert (finding.severity, finding.variant) == ("stop", "over_rating")
    assert SURGE.remedy(finding).startswith(said)
    told = [each.id for each in judgement.derived]
    assert ("surge.shortest-ramp" in told) is said.startswith("Set")


@pytest.mark.parametrize(
    ("height", "expected"),
    [
        # The grade falls from 154 ft by 71.75 ft to 82.25 ft; 32.7 ft below that water boils.
        ("82", []),
        ("83", [("review", "vacuum")]),
        ("112", [("review", "vacuum")]),
        ("115", [("review", "separates")]),
    ],
)
def test_low_pressure_at_the_high_point(height, expected):
    document = pumping("60", **{f"{MAIN}/high_point_elevation": q(height, "ft")})
    assert verdicts(document, "ramp.surge") == expected


SWAPPED = {"/site/static_lift_low": q("160", "ft"), "/site/static_lift_high": q("150", "ft")}


def test_lifts_in_each_others_place_leave_the_high_point_open():
    """From 144 or 154 ft it falls by some 70 ft, below 112 ft: which of both is asked first."""
    document = pumping("60", **SWAPPED, **{f"{MAIN}/high_point_elevation": q("112", "ft")})
    judgement = judged(document)
    assert of_rule(judgement, "ramp.surge") == []
    (waiting,) = lacking(judgement, "ramp.surge")
    (swapped,) = of_rule(judgement, "site.order")
    assert waiting.waits_for == "site.order"
    accepted = judged(document, accepted={(swapped.rule, swapped.subject)})
    assert [each.severity for each in of_rule(accepted, "ramp.surge")] == ["review"]


def test_lifts_in_each_others_place_hide_no_burst_pipe():
    """144 ft at rest and 70 ft more are 93 psi, whichever of both is the higher."""
    assert verdicts(pumping("60", "80", **SWAPPED), "ramp.surge") == [("stop", "over_rating")]


@pytest.mark.parametrize(
    ("ramp", "height", "remedy"),
    [
        # 154 - 90 = 64 ft may be lost: 1.483 x 561.7 / 64 = 13.02 s of flow, of 11.61 s in 60 s.
        ("60", "90", "Set the ramp down to about 67.3 s or more"),
        # 144 ft leave 10 ft: 83.3 s of flow, 430.5 s of ramp
        (
            "60",
            "144",
            "Set the ramp down to about 431 s or more, longer than a pump is usually stopped",
        ),
        ("60", "160", "No ramp keeps it there: the high point lies above the grade at rest"),
    ],
)
def test_the_remedy_of_low_pressure_names_the_ramp_that_passes(ramp, height, remedy):
    document = pumping(ramp, **{f"{MAIN}/high_point_elevation": q(height, "ft")})
    (finding,) = of_rule(judged(document), "ramp.surge")
    assert str(finding_document(finding, "")["remedy"]).startswith(remedy)
    assert "wherever along the main it is" in str(finding_document(finding, "")["sentence"])
    if height == "90":
        cured = changed(document, {DOWN: q("70", "s")})
        assert verdicts(cured, "ramp.surge") == []


@pytest.mark.parametrize(
    ("height", "expected"),
    [
        # At rest the grade lies 150 ft over -2 ft to 160 ft over -6 ft: 148 to 154 ft, where the
        # outlet is; a tank holds its level. 3.3 ft more or less count as well.
        ("144", [("review", "separates")]),
        ("145", []),
        ("154", []),
        ("157", []),
        ("160", [("note", "separates")]),  # a summit: no ramp is at fault
    ],
)
def test_an_outlet_is_no_high_point(height, expected):
    document = pumping("60", **{f"{MAIN}/high_point_elevation": q(height, "ft")})
    assert verdicts(document, "ramp.surge") == expected


HIGH = {f"{MAIN}/high_point_elevation": q("40", "ft")}
OPEN = {"/site/surge_protection": "none"}
LONG = {f"{MAIN}/length": q("4100", "ft")}  # the wave is back after 2.03 s
SHORT = {f"{MAIN}/length": q("3900", "ft")}  # and after 1.93 s, when sets still run down


@pytest.mark.parametrize("more", [{}, left(stop_mode="coast"), OPEN])
@pytest.mark.parametrize(("rating", "told"), [("66.5", True), ("67.0", False), ("40", True)])
def test_a_main_that_is_rated_below_its_pressure_at_rest(rating, told, more):
    """160 ft over -6 ft are 154 ft, of which 2.309 ft are 1 psi: 66.7 psi without any surge."""
    document = pumping("60", rating, **more)
    found = of_rule(judged(document), "ramp.surge")
    assert (("review", "at_rest") in [(each.severity, each.variant) for each in found]) is told
    if told:
        (alone,) = found
        assert alone.subject == f"{MAIN}/pressure_rating"
        assert verdicts(in_metric(document), "ramp.surge") == [("review", "at_rest")]


@pytest.mark.parametrize(
    ("rating", "expected"),
    [
        # Full to the summit at 187 ft: 81.0 psi at 2.309 ft a psi, though the outlet asks for 66.7.
        ("80.5", ("review", "at_rest")),
        # 193 ft over -6 ft are lifted from 1388.5 sqrt(193 / 160) = 1525.0 rpm on, and 7.1 rpm of
        # slip, 51.07 Hz, so that the flow ends within 7.02 s: 561.7 x 1.483 / 7.02 = 118.7 ft over
        # 187 ft are 132.4 psi.
        ("81.5", ("stop", "over_rating")),
        ("131", ("stop", "over_rating")),
        ("134", ("note", "separates")),
    ],
)
def test_a_main_stands_full_to_a_summit_above_its_outlet(rating, expected):
    """Hydrostatics; Joukowsky and Michaud as above."""
    high = {f"{MAIN}/high_point_elevation": q("187", "ft")}
    (found,) = of_rule(judged(pumping("60", rating, **high)), "ramp.surge")
    assert (found.severity, found.variant) == expected
    if found.variant == "at_rest":
        assert SURGE.sentence(found).startswith("At rest the high point of the main alone puts 8")


@pytest.mark.parametrize("protection", ["air_vessel", "one_way_tank", "flywheel"])
def test_what_softens_a_surge_is_left_to_a_study(protection):
    fitted = {"/site/surge_protection": protection, f"{MAIN}/high_point_elevation": q("115", "ft")}
    assert verdicts(pumping("60", **fitted), "ramp.surge") == []
    (missing,) = lacking(judged(pumping("60", **fitted)), "ramp.surge")
    assert missing.needs == ("/site/surge_protection",)
    low = pumping("60", **{"/site/surge_protection": protection})
    assert lacking(judged(low), "ramp.surge") == []  # nothing to soften


@pytest.mark.parametrize(
    ("rating", "main", "expected"),
    [
        # 561.7 + 154 ft = 310 psi, whatever the length.
        ("250", LONG, [("review", "power_failure")]),
        ("308", LONG, [("review", "power_failure")]),
        ("312", LONG, []),
        ("250", SHORT, [("note", "power_failure")]),
        ("312", SHORT, []),
        # 900 ft: back after 0.446 s; no set runs down within 0.5 s (common practice), and
        # 561.7 x 0.446 / 0.5 + 154 ft = 284 psi.
        ("280", {f"{MAIN}/length": q("900", "ft")}, [("note", "power_failure")]),
        ("288", {f"{MAIN}/length": q("900", "ft")}, []),
        ("308", {f"{MAIN}/length": q("1020", "ft")}, [("note", "power_failure")]),  # 0.505 s
        # 100 ft: 62 + 154 ft = 94 psi
        ("96", {f"{MAIN}/length": q("100", "ft")}, []),
    ],
)
def test_a_power_failure_ignores_the_ramp(rating, main, expected):
    assert verdicts(pumping("60", rating, **OPEN, **main), "ramp.surge") == expected


def test_what_a_power_failure_may_reach_has_a_limit():
    (finding,) = of_rule(judged(pumping("60", **OPEN)), "ramp.surge")
    assert finding.parameters["reflection"] == "1.48 s"
    assert (finding.limit, finding.subject) == ("at most 250 psi", "/site/surge_protection")


@pytest.mark.parametrize(
    ("height", "wave", "main", "expected"),
    [
        # The grade of 154 ft falls by far more than the 32.7 ft at which water boils.
        ("40", "1233", LONG, [("review", "power_failure_separates")]),
        ("40", "1233", SHORT, []),
        # At 100 m/s: 13.89 m = 45.6 ft at once: 154 - 45.6 = 108.4 ft, 75.7 ft where water boils.
        ("107", "100", {}, []),
        ("110", "100", {}, [("note", "power_failure_vacuum")]),
        ("139", "100", {}, [("note", "power_failure_vacuum")]),
        ("143", "100", {}, [("review", "power_failure_separates")]),
        ("150", "1233", LONG, []),  # the outlet
    ],
)
def test_a_power_failure_at_the_high_point(height, wave, main, expected):
    """A ramp of 900 s softens nothing of it."""
    high = {f"{MAIN}/high_point_elevation": q(height, "ft")}
    speed = {"/site/wave_speed_override": q(wave, "m/s")}
    document = pumping("900", "350", **OPEN, **main, **high, **speed)
    assert verdicts(document, "ramp.surge") == expected


@pytest.mark.parametrize(
    ("rating", "more", "expected"),
    [
        ("250", LONG, [("stop", "coast")]),
        ("312", LONG, []),
        ("250", SHORT, [("note", "coast")]),
        ("312", LONG | HIGH, [("review", "coast_separates")]),
        ("312", SHORT | HIGH, []),
        ("312", LONG | OPEN, []),
        ("250", LONG | OPEN, [("stop", "coast")]),  # told once
    ],
)
def test_coasting_is_as_sudden_as_a_power_failure(rating, more, expected):
    document = changed(pumping("60", rating, **more), left(stop_mode="coast"))
    found = of_rule(judged(document), "ramp.surge")
    assert [(each.severity, each.variant) for each in found] == expected
    assert not any("amping" in finding_document(each, "")["sentence"] for each in found)


@pytest.mark.parametrize(
    ("height", "flow", "coasting", "failing"),
    [
        # The grade at rest is at 154 ft; the liquid passes a summit at the air's pressure. At 100
        # m/s 700 gpm are 45.6 ft, more than the 32.7 ft to the vapour; 350 gpm are 22.8 ft.
        ("170", "700", ("review", "coast_separates"), ("review", "power_failure_separates")),
        ("170", "350", ("note", "summit"), ("note", "summit")),
        # 36 ft over the grade the column parts at every stop, however gently.
        ("190", "350", ("note", "summit"), ("note", "summit")),
    ],
)
def test_a_summit_parts_by_a_sudden_stop_only_where_the_drop_does_it(
    height, flow, coasting, failing
):
    """Joukowsky, a v / g; hydrostatics of the summit over the grade at rest."""
    given = {f"{MAIN}/high_point_elevation": q(height, "ft"),
             "/site/wave_speed_override": q("100", "m/s"),
             "/site/system_design_flow": q(flow, "gpm")}  # fmt: skip
    coast = changed(pumping("60", "350", **given), left(stop_mode="coast"))
    assert verdicts(coast, "ramp.surge") == [coasting]
    power = verdicts(pumping("900", "350", **OPEN, **given), "ramp.surge")
    assert power[-1] == failing


def test_a_summit_falls_to_what_the_grade_leaves_of_it():
    """16 ft over the grade: 6.93 psi at 0.4331 psi/ft; a drop of 22.8 ft: 9.87 psi."""
    given = {f"{MAIN}/high_point_elevation": q("170", "ft"),
             "/site/wave_speed_override": q("100", "m/s"),
             "/site/system_design_flow": q("350", "gpm")}  # fmt: skip
    coast = changed(pumping("60", "350", **given), left(stop_mode="coast"))
    (finding,) = of_rule(judged(coast), "ramp.surge")
    (lowest,) = finding.compared
    assert lowest.shown.value == "-9.9"  # two digits of an estimate


def test_coasting_needs_no_ramp_down_time():
    coasting = changed(pumping("60", "250", **LONG), left(stop_mode="coast"))
    assert verdicts(without(coasting, DOWN), "ramp.surge") == [("stop", "coast")]
    (missing,) = lacking(judged(without(pumping("60"), DOWN)), "ramp.surge")
    assert missing.needs == (DOWN,)


@pytest.mark.parametrize(
    ("more", "compared"),
    [(left(stop_mode="coast"), ["lowest"]), (OPEN, ["lowest"]), ({}, ["ramp", "lowest"])],
)
def test_the_ramp_is_compared_only_where_it_is_the_cause(more, compared):
    high = {f"{MAIN}/high_point_elevation": q("110", "ft")}
    ramp = "900" if more == OPEN else "20"
    speed = {"/site/wave_speed_override": q("100", "m/s")} if more == OPEN else {}
    (found,) = of_rule(judged(pumping(ramp, "350", **LONG, **high, **speed, **more)), "ramp.surge")
    assert [each.name for each in found.compared] == compared


@pytest.mark.parametrize(
    ("height", "expected"),
    [
        # 250 psi are 577.6 ft, 423.6 ft over rest: a surge of 561.7 ft at once is 1.326 times it,
        # 1.483 x 1.326 = 1.966 s of flow, 1.966 x 60 / 11.61 = 10.16 s of ramp.
        (None, 10.16),
        # 54 ft over the air's pressure: 10.40 times, 15.4 s of flow, 79.7 s of ramp.
        ("100", 79.7),
        ("150", 10.16),  # the outlet
    ],
)
def test_the_shortest_ramp_heeds_rating_and_high_point(height, expected):
    high = {} if height is None else {f"{MAIN}/high_point_elevation": q(height, "ft")}
    found = derived(judged(pumping("60", **high)), "surge.shortest-ramp")
    assert found.si == pytest.approx(expected, rel=0.01)


def test_published_surge():
    """H13a, H13e: 300 mm ductile iron, 7.6 mm wall, 1.5 m/s, 2400 m at 20 degC: 1199.9 m/s,
    183.5 m, 4.00 s; stopped in 20 s 36.7 m. (K 2.19 GPa there, 2.1934 GPa by IAPWS-95 here.)
    """
    document = changed(
        raw_water(),
        {f"{MAIN}/length": q("2400", "m"), f"{MAIN}/inside_diameter": q("300", "mm"),
         f"{MAIN}/wall_thickness": q("7.6", "mm"), "/event/liquid_temperature": q("20", "degC"),
         "/site/system_design_flow": q("381.7035", "m3/h"), "/pump/curve_points": [
             {"flow": q(flow, "m3/h"), "head": q(head, "m")}
             for flow, head in (("0", "101.6"), ("200", "92"), ("400", "61"))]},
    )  # fmt: skip
    judgement = judged(document)
    assert derived(judgement, "surge.wave-speed").si == pytest.approx(1199.9, abs=1.0)
    assert derived(judgement, "surge.instant-stop-head").si == pytest.approx(183.5, abs=0.3)
    assert derived(judgement, "surge.reflection-time").si == pytest.approx(4.00, abs=0.01)
    stopped = derived(judgement, "surge.flow-stop-time").si
    rise = derived(judgement, "surge.ramp-head-rise").si
    assert rise * stopped == pytest.approx(36.7 * 20, rel=0.003)  # straight line: rise ~ 1 / t


def test_published_time_in_which_the_flow_ends():
    """H13f: 20 s from full speed, 150 ft of 333.33 ft: 6.58 s; the motor does not slip."""
    rows = [("0", "333.33"), ("500", "320"), ("1000", "280")]
    curve = [{"flow": q(flow, "gpm"), "head": q(head, "ft")} for flow, head in rows]
    document = changed(
        raw_water(),
        {"/pump/curve_points": curve, "/pump/rated_speed": q("1800", "rpm"),
         "/motor/ratings/1/speed": q("1800", "rpm"), "/motor/ratings/0/speed": q("1800", "rpm"),
         "/motor/kind": "synchronous_reluctance",
         "/site/static_lift_high": q("150", "ft"), "/site/static_lift_low": q("150", "ft"),
         "/site/system_design_flow": q("500", "gpm"), "/site/system_design_head": q("320", "ft")}
        | left(ramp_down_time=q("20", "s")),
    )  # fmt: skip
    assert derived(judged(document), "surge.flow-stop-time").si == pytest.approx(6.58, abs=0.01)


@pytest.mark.parametrize(
    ("arrangement", "running"), [("alternating", 2), ("duty_standby", 1), ("single", 1)]
)
def test_the_flow_of_the_pumps_that_may_run_ends(arrangement, running):
    group = left(pump_arrangement=arrangement, pumps_in_group=2)
    told = changed(pumping("60"), left(pumps_maximum_running=running))
    of_group = changed(pumping("60"), group)
    times = [derived(judged(each), "surge.flow-stop-time").si for each in (told, of_group)]
    assert times[0] == times[1]
    assert (times[0] == pytest.approx(11.61, abs=0.02)) is (running == 1)


def test_a_recorded_wave_speed_counts():
    document = changed(raw_water(), {"/site/wave_speed_override": q("1000", "m/s")})
    assert derived(judged(document), "surge.wave-speed").si == 1000


@pytest.mark.parametrize(
    ("removed", "needs"),
    [
        (f"{MAIN}/pressure_rating", f"{MAIN}/pressure_rating"),
        (f"{MAIN}/wall_thickness", f"{MAIN}/wall_thickness"),
    ],
)
def test_surge_names_what_it_lacks(removed, needs):
    (missing,) = lacking(judged(without(raw_water(), removed)), "ramp.surge")
    assert missing.needs == (needs,)


def test_no_main_no_surge():
    assert lacking(judged(booster()), "ramp.surge") == []


def coasting(inertia: str):
    each = {f"/{part}/inertia": q(inertia, "kg.m2") for part in ("pump", "motor")}
    return changed(raw_water(), left(stop_mode="coast") | each)


@pytest.mark.parametrize(
    ("inertia", "expected", "taken"),
    [
        # At 58.26 Hz 1718.7 rpm, 34.1 kW: J (2 pi 28.64 / s)^2 / P (58.26 / 46.94 - 1)
        # = 0.229 s for each kg m2 of both together; equation of rotation. 2 L / a = 1.483 s
        ("0.5", [("stop", "coast_at_once")], 0.229),
        ("3", [("stop", "coast_at_once")], 1.37),
        # 1.83 s: 171.2 m x 1.483 / 1.83 = 139 m over the rest of about 160 ft: 265 psi of 250
        ("4", [("review", "coast_slow")], 1.83),
        # 4.6 s: 55 m, 147 psi
        ("10", [], None),
    ],
)
def test_a_pump_that_coasts_is_judged_by_its_inertia(inertia, expected, taken):
    document = coasting(inertia)
    assert verdicts(document, "ramp.surge") == expected
    if taken:
        (finding,) = of_rule(judged(document), "ramp.surge")
        told = float(finding.parameters["taken"].split()[0])
        assert told == pytest.approx(taken, rel=0.04)


def test_without_the_inertia_the_flow_ends_at_once():
    document = without(coasting("10"), "/motor/inertia")
    assert [variant for _, variant in verdicts(document, "ramp.surge")] == ["coast"]
