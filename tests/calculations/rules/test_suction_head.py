"""Suction head left over.

Booster, design point: required 11.3 ft at 1085.9 gpm of the curve, times 0.848 = 9.6 ft; wanted
9.6 + 1.97 = 11.6 ft. Air at 500 ft 14.432 psi (ISO 2533), vapour at 60 degF 0.256 psi (IF97),
velocity head in 7.98 in 0.64 ft, one psi 2.309 ft. The gauge sits 2 ft over the datum, where the
eye is.
"""

import pytest

from calculations.case import Missing
from calculations.derived.duty import npsh_available
from tests.calculations.building import (
    booster,
    case,
    changed,
    derived,
    in_metric,
    judged,
    lacking,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.stations import well
from tests.calculations.whole_stations import lift_station

AT = "/event/duty_points/0"
ONE = without(booster(), "/event/duty_points/2", "/event/duty_points/1")


def sucking(pressure: str, **site: object):
    """The booster with another suction pressure, and a discharge pressure that keeps its head."""
    raised = 85.0 + float(pressure) - 31.6
    return changed(
        ONE,
        {f"{AT}/suction_pressure": q(pressure, "psi"),
         f"{AT}/discharge_pressure": q(f"{raised:.1f}", "psi")} | site,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("pressure", "expected"),
    [
        # (14.432 - 0.256 + p) 2.309 + 0.64 + 2 ft: 11.6 ft at -10.30 psi, 9.6 ft at -11.17 psi.
        ("-10.2", []),
        ("-10.4", [("review", "small")]),
        ("-11.1", [("review", "small")]),
        ("-11.2", [("review", "small")]),  # short by 0.08 ft, of which 0.17 ft may be rounding
        ("-11.3", [("stop", "short")]),
    ],
)
def test_margin(pressure, expected):
    assert verdicts(sucking(pressure), "npsh.margin") == expected
    metric = [severity for severity, _ in verdicts(in_metric(sucking(pressure)), "npsh.margin")]
    if pressure != "-11.2":  # converted readings carry more digits, so no rounding is granted
        assert metric == [severity for severity, _ in expected]


@pytest.mark.parametrize(
    ("pressure", "expected"),
    [
        # Required 47.2 x 0.848 = 40 ft: 1.1 times that is 44 ft, more than 40 + 1.97 ft. Available
        # (14.432 - 0.256 + p) 2.309 + 0.64 + 2 ft: 44 ft at 3.74 psi.
        ("3.9", []),
        ("3.6", [("review", "small")]),
    ],
)
def test_of_a_large_required_head_the_share_counts(pressure, expected):
    rows = [row | {"npsh_required": q("47.2", "ft")} for row in ONE["pump"]["curve_points"]]
    document = changed(sucking(pressure), {"/pump/curve_points": rows})
    found = derived(judged(document), "npsh.available").si / 0.3048
    assert found == pytest.approx((14.176 + float(pressure)) * 2.309 + 2.64, abs=0.2)
    assert verdicts(document, "npsh.margin") == expected


def test_elevation_is_behind_it():
    """At 1,800 m the air weighs 81.5 kPa = 11.82 psi: 2.6 psi or 6.0 ft less."""
    assert verdicts(sucking("-8.0"), "npsh.margin") == []
    high = sucking("-8.0", **{"/site/elevation": q("1800", "m")})
    assert verdicts(high, "npsh.margin") == [("review", "small")]


@pytest.mark.parametrize(
    ("height", "feet"),
    # (14.432 - 0.256 + 31.6) 2.309 + 0.64 = 106.3 ft at the height of the eye; ISO 9906:2012, 3.2.
    [("-3.0", 103.3), ("0.0", 106.3), ("1.5", 107.8), ("5.0", 111.3)],
)
def test_the_gauge_s_height_over_the_eye_counts(height, feet):
    document = changed(ONE, {f"{AT}/suction_gauge_elevation": q(height, "ft")})
    assert derived(judged(document), "npsh.available").si / 0.3048 == pytest.approx(feet, abs=0.15)


def test_a_gauge_under_the_eye():
    """ISO 2533: 84.556 kPa at 1500 m; 4.247 kPa and 995.65 kg/m3 at 30 degC (IF97).

    (84.556 - 40 - 4.247) kPa / (rho g) = 4.128 m, less 1.5 m, 1.955 m/s in 7.981 in: 2.823 m.
    """
    document = changed(
        ONE,
        {"/site/elevation": q("1500", "m"), "/event/liquid_temperature": q("30", "degC"),
         f"{AT}/suction_pressure": q("-0.4", "bar"),
         f"{AT}/suction_gauge_elevation": q("-1.5", "m")},
    )  # fmt: skip
    assert derived(judged(document), "npsh.available").si == pytest.approx(2.823, abs=0.005)


@pytest.mark.parametrize(
    ("eye", "metres"), [("0", 2.823), ("1.2", 1.623), ("-0.8", 3.623), ("-1.5", 4.323)]
)
def test_the_eye_stands_where_the_set_says(eye, metres):
    """The same, with heights that count from another mark than the eye: the gauge 1.5 m below it.

    2.823 m at the mark; an eye 1.2 m over it has as much less, ISO 9906:2012, 3.2.
    """
    document = changed(
        ONE,
        {"/site/elevation": q("1500", "m"), "/event/liquid_temperature": q("30", "degC"),
         f"{AT}/suction_pressure": q("-0.4", "bar"), "/pump_set/eye_elevation": q(eye, "m"),
         f"{AT}/suction_gauge_elevation": q("-1.5", "m")},
    )  # fmt: skip
    assert derived(judged(document), "npsh.available").si == pytest.approx(metres, abs=0.005)


BRINE = {
    "/site/elevation": q("1500", "m"), "/event/liquid_temperature": q("30", "degC"),
    f"{AT}/suction_pressure": q("-0.4", "bar"), f"{AT}/suction_gauge_elevation": q("-1.5", "m"),
    "/site/liquid_temperature_max": q("40", "degC"), "/site/liquid_kind": "other",
}  # fmt: skip
"""The same suction, of a liquid that is not water."""


def test_another_liquid_boils_and_weighs_as_the_site_says():
    """1040 kg/m3; 6.50 kPa at 40 degC, where water has 7.385 kPa (IF97): 0.880 times.

    At 30 degC 0.880 times 4.247 are 3.738 kPa. (84.556 - 40 - 3.738) kPa / (1040 g) = 4.002 m,
    less 1.5 m, 1.955 m/s in 7.981 in: 2.697 m.
    """
    stated = {
        "/site/liquid_density": q("1040", "kg/m3"),
        "/site/liquid_vapour_pressure_absolute": q("6.50", "kPa"),
    }
    judgement = judged(changed(ONE, BRINE | stated))
    assert derived(judgement, "npsh.available").si == pytest.approx(2.697, abs=0.005)
    day = derived(judgement, "npsh.vapour-pressure").si
    assert day == pytest.approx(3738, abs=5)


@pytest.mark.parametrize(
    ("stated", "asked"),
    [
        ({"/site/liquid_density": q("1040", "kg/m3")}, "/site/liquid_vapour_pressure_absolute"),
        ({"/site/liquid_vapour_pressure_absolute": q("6.5", "kPa")}, "/site/liquid_density"),
    ],
)
def test_of_another_liquid_nothing_is_taken_for_granted(stated, asked):
    document = changed(ONE, BRINE | stated)
    assert not [each for each in judged(document).derived if each.id == "npsh.available"]
    with pytest.raises(Missing) as raised:
        npsh_available(case(document), AT)
    assert raised.value.places == (asked,)


def test_a_published_lift_from_the_surface():
    """H09: 1609.344 m, 20 degC, 2.0 m of lift, 0.6 m of loss: 5.684 m."""
    document = changed(
        ONE,
        {"/site/elevation": q("1609.344", "m"), "/site/suction_kind": "suction_lift",
         "/site/suction_level_low": q("-2", "m"), "/site/suction_level_high": q("-2", "m"),
         "/site/suction_loss": q("0.6", "m"), "/event/liquid_temperature": q("20", "degC"),
         "/sensors/1/tapping_elevation": q("0", "m"), f"{AT}/suction_level": q("-2", "m")},
    )  # fmt: skip
    document = without(
        document, f"{AT}/suction_pressure", f"{AT}/suction_gauge_elevation",
        "/site/suction_pressure_low", "/site/suction_pressure_high",
    )  # fmt: skip
    found = derived(judged(document), "npsh.available")
    assert found.si == pytest.approx(5.684, abs=0.002)
    assert found.shown.unit == "ft"


def test_required_head_is_needed():
    rows = [{"flow": each["flow"], "head": each["head"]} for each in ONE["pump"]["curve_points"]]
    document = changed(ONE, {"/pump/curve_points": rows})
    (missing,) = lacking(judged(document), "npsh.margin")
    assert missing.because == "no required NPSH at this flow"


def test_elevation_is_needed():
    (missing,) = lacking(judged(without(ONE, "/site/elevation")), "npsh.margin")
    assert missing.needs == ("/site/elevation",)


def test_a_vertical_turbine_hangs_near_the_floor_of_its_wet_well():
    """Water 10 ft under the datum and 8 ft over the floor: 32.7 + 8 ft, not 32.7 - 10 ft."""
    document = without(
        changed(
            ONE,
            {"/pump/type": "vertical_turbine", "/site/suction_kind": "wet_well",
             "/site/wet_well_floor": q("-18", "ft"), f"{AT}/suction_level": q("-10", "ft"),
             f"{AT}/discharge_pressure": q("48.8", "psi")},
        ),
        f"{AT}/suction_pressure", f"{AT}/suction_gauge_elevation", "/pump_set/suction_sensor",
    )  # fmt: skip
    found = derived(judged(document), "npsh.available").si / 0.3048
    assert found == pytest.approx((14.432 - 0.256) * 2.309 + 8, abs=0.1)


def test_margin_waits_for_the_depths_of_the_well():
    document = changed(well(), {"/site/pump_setting_depth": q("40", "ft")})
    assert {each.waits_for for each in lacking(judged(document), "npsh.margin")} == {"well.levels"}


def test_a_well_pump_of_unknown_depth_has_no_suction_head():
    document = without(well(), "/site/pump_setting_depth")
    needs = {each.needs for each in lacking(judged(document), "npsh.margin")}
    assert needs == {("/site/pump_setting_depth",)}


# -- points off the curve -------------------------------------------------------------------------

STARVED = sucking("-12.0")
"""(14.432 - 0.256 - 12.0) 2.309 + 0.64 + 2 = 7.7 ft against 9.6 ft."""


def test_cavitation_that_takes_head_does_not_hide_itself():
    """10 psi less on the discharge are 23.1 ft of 125.6 ft: 18 % under the curve."""
    document = changed(STARVED, {f"{AT}/discharge_pressure": q("31.4", "psi")})
    assert verdicts(document, "curve.point") == [("review", "outside")]
    assert verdicts(document, "npsh.margin") == [("stop", "short")]


def test_a_wrong_reading_says_nothing_of_suction_head():
    """1000 gpm are 227 m3/h: with the unit put right the point lies on the curve."""
    document = changed(STARVED, {f"{AT}/flow": q("227", "gpm")})
    assert verdicts(document, "curve.point") == [("review", "unit")]
    assert {each.waits_for for each in lacking(judged(document), "npsh.margin")} == {"curve.point"}


def test_a_wrong_reading_that_was_accepted_is_judged():
    document = changed(STARVED, {f"{AT}/flow": q("227", "gpm")})
    judgement = judged(document, accepted=[("curve.point", AT)])
    assert "curve.point" not in {each.waits_for for each in lacking(judgement, "npsh.margin")}


# -- lowest suction, highest temperature ----------------------------------------------------------


def lifting(feet: str, **site: object):
    """The booster without any reading, by hand, drawing from a level so far under the eye.

    Curve 1.00566 x 260 - 95 x^2 at 60 Hz (1775 of 1770 rpm), system 120 + 8 x^2: 1172 gpm. Loss
    1.5 x 1.172^2 = 2.06 ft. Vapour at 75 degF 0.430 psi (IF97), one psi 2.313 ft: available
    (14.432 - 0.430) 2.313 - 2.06 = 30.33 ft less the lift. Required, by the convex curve between
    10.0 ft at 1000 gpm and 13.5 ft at 1200 gpm, 12.7 to 13.0 ft; wanted 1.97 ft (0.6 m) more.
    """
    document = changed(
        ONE,
        {"/site/suction_kind": "suction_lift", "/site/suction_level_low": q(f"-{feet}", "ft"),
         "/site/suction_level_high": q("-5", "ft"), "/event/duty_points": [],
         "/event/settings/as_left/regulation": "hand_only"} | site,
    )  # fmt: skip
    return without(document, "/site/suction_pressure_low", "/site/suction_pressure_high")


@pytest.mark.parametrize(
    ("feet", "expected"),
    [
        ("15.0", []),  # 15.3 ft
        ("16.0", [("note", "small")]),  # 14.3 ft
        ("18.0", [("review", "short")]),  # 12.3 ft
        ("28.0", [("review", "short")]),
    ],
)
def test_lowest_suction(feet, expected):
    assert verdicts(lifting(feet), "npsh.lowest-suction") == expected
    metric = [severity for severity, _ in verdicts(in_metric(lifting(feet)), "npsh.lowest-suction")]
    assert metric == [severity for severity, _ in expected]


def test_the_lowest_suction_is_asked_for_the_same_margin():
    """15.3 ft are there, 12.7 ft or more needed: less than 1 m (3.28 ft) is left over."""
    judgement = judged(lifting("15.0"), limits={"npsh.margin.difference": 1.0})
    found = [each for each in judgement.findings if each.rule == "npsh.lowest-suction"]
    assert [(each.severity, each.variant) for each in found] == [("note", "small")]


def test_a_kept_pressure_draws_no_more_than_the_design_flow():
    """1000 gpm and 128 ft: s = 0.926, 9.6 ft required; 32.39 - 1.5 - 18 = 12.9 ft available."""
    kept = {"/event/settings/as_left/regulation": "closed_loop_in_drive"}
    assert verdicts(lifting("18.0", **kept), "npsh.lowest-suction") == []
    found = derived(judged(lifting("18.0", **kept)), "npsh.available-at-lowest-suction")
    assert found.si / 0.3048 == pytest.approx(12.9, abs=0.06)
    # wanted 9.6 + 1.97 = 11.6 ft
    assert verdicts(lifting("20.0", **kept), "npsh.lowest-suction") == [("note", "small")]
    assert verdicts(lifting("22.0", **kept), "npsh.lowest-suction") == [("review", "short")]


def test_suction_head_at_the_lowest_suction():
    found = derived(judged(lifting("15.0")), "npsh.available-at-lowest-suction")
    assert found.si / 0.3048 == pytest.approx(15.33, abs=0.06)
    assert found.shown.unit == "ft"


def test_a_hotter_liquid_leaves_less():
    """At 120 degF 1.693 psi (IF97) and 988.6 kg/m3, 2.333 ft a psi: 27.66 ft less the lift."""
    hot = lifting("15.0", **{"/site/liquid_temperature_max": q("120", "degF")})
    assert verdicts(hot, "npsh.lowest-suction") == [("review", "short")]
    found = derived(judged(hot), "npsh.available-at-lowest-suction")
    assert found.si / 0.3048 == pytest.approx(12.66, abs=0.06)


def test_lowest_suction_names_what_it_needs():
    for place in ("/site/suction_level_low", "/site/liquid_temperature_max", "/site/suction_loss"):
        (missing,) = lacking(judged(without(lifting("15.0"), place)), "npsh.lowest-suction")
        assert missing.needs == (place,)


def flooded(low: str, **site: object):
    """The same out of a tank over the pump, of which a suction pressure at the datum is known."""
    place = {"/site/suction_kind": "flooded_tank", "/site/suction_pressure_low": q(low, "psi"),
             "/site/suction_pressure_high": q("5", "psi")}  # fmt: skip
    document = without(lifting("15.0"), "/site/suction_level_low", "/site/suction_level_high")
    return changed(document, place | {"/sensors/1/tapping_elevation": q("0", "ft")} | site)


@pytest.mark.parametrize(
    ("psi", "expected"),
    [
        # 32.39 ft of the air less the vapour; a psi is 2.313 ft, the losses are in what was read
        ("-7.0", []),  # 16.2 ft
        ("-8.0", [("note", "small")]),  # 13.9 ft
        ("-9.0", [("review", "short")]),  # 11.6 ft
    ],
)
def test_a_vacuum_before_a_flooded_tank_has_the_losses_in_it(psi, expected):
    document = flooded(psi)
    assert verdicts(document, "npsh.lowest-suction") == expected
    found = derived(judged(document), "npsh.available-at-lowest-suction")
    assert found.si / 0.3048 == pytest.approx(32.39 + 2.313 * float(psi), abs=0.06)
    unknown = without(document, "/site/suction_loss")
    assert verdicts(unknown, "npsh.lowest-suction") == expected


def test_a_pressure_of_a_flooded_tank_over_the_pump_loses_what_the_pipe_takes():
    """2 psi are 4.63 ft over the eye; 1.5 x 1.172^2 = 2.06 ft are lost: 34.96 ft."""
    found = derived(judged(flooded("2")), "npsh.available-at-lowest-suction")
    assert found.si / 0.3048 == pytest.approx(32.39 + 4.63 - 2.06, abs=0.08)
    (missing,) = lacking(judged(without(flooded("2"), "/site/suction_loss")), "npsh.lowest-suction")
    assert missing.needs == ("/site/suction_loss",)


def test_a_known_level_of_a_tank_comes_before_its_pressure():
    levels = {f"/site/suction_level_{end}": q("4.63", "ft") for end in ("low", "high")}
    found = derived(judged(flooded("-9", **levels)), "npsh.available-at-lowest-suction")
    assert found.si / 0.3048 == pytest.approx(32.39 + 4.63 - 2.06, abs=0.08)


def test_a_vacuum_while_it_runs_does_not_raise_what_holds_the_flow_back():
    """Nothing flows: the tank stands at the pump at least, whatever was read while it ran."""
    zero = {f"/site/suction_pressure_{end}": q("0", "psi") for end in ("low", "high")}
    known = "speed.zero-flow-at-lowest-suction"
    kept = {"/event/settings/as_left/regulation": "closed_loop_in_drive"}
    at_rest = derived(judged(flooded("0", **kept | zero)), known)
    assert derived(judged(flooded("-9", **kept)), known).si == pytest.approx(at_rest.si)


def test_where_nothing_flows_no_suction_head_is_judged():
    """261.5 ft at no flow do not reach 300 ft."""
    lifts = {"/site/static_lift_high": q("300", "ft"), "/site/static_lift_low": q("290", "ft"),
             "/site/system_design_head": q("310", "ft")}  # fmt: skip
    (missing,) = lacking(judged(lifting("15.0", **lifts)), "npsh.lowest-suction")
    assert missing.because == "nothing flows at the lowest suction"


def test_at_no_flow_no_suction_head_is_wanted():
    """A closed valve at 1630 rpm, whatever the point is called: 126.7 psi at the gauge."""
    shut = {f"{AT}/flow": q("0", "gpm"), f"{AT}/purpose": "minimum",
            f"{AT}/discharge_pressure": q("126.7", "psi")}  # fmt: skip
    document = changed(ONE, shut)
    assert verdicts(document, "npsh.margin") == []
    assert lacking(judged(document), "npsh.margin") == []


def test_margin_waits_for_a_speed_that_the_motor_cannot_turn_at():
    """A tachometer that counted two marks: four times the suction head would be needed."""
    document = changed(ONE, {f"{AT}/speed": q("3400", "rpm"), f"{AT}/speed_measured": True})
    assert verdicts(document, "speed.measured") == [("review", "above")]
    assert verdicts(document, "npsh.margin") == []
    assert {each.waits_for for each in lacking(judged(document), "npsh.margin")} == {
        "speed.measured"
    }


@pytest.mark.parametrize(
    ("stated", "expected"),
    [("9.9", []), ("11.5", [("review", "small")]), ("12.0", [("stop", "short")])],
)
def test_a_level_has_no_gauge_that_is_rounded(stated, expected):
    """Air at 85 m 100.31 kPa (ISO 2533), vapour at 15 degC 1.71 kPa (IF97), 9.798 kPa a metre:
    10.06 m, and 1.0 m over the eye at the floor, 11.06 m. Required at 1409 of 1460 rpm 93.14 % of
    what is stated: 9.22, 10.71 and 11.18 m.
    """
    station = lift_station()
    rows = [row | {"npsh_required": q(stated, "m")} for row in station["pump"]["curve_points"]]
    points = station["event"]["duty_points"][:1]
    document = changed(station, {"/pump/curve_points": rows, "/event/duty_points": points})
    assert verdicts(document, "npsh.margin") == expected
