"""The speed range: order, and what pump and motor permit.

The booster's pump takes most at 1000 gpm and 165 ft: 1000 x 165 / 3961.4 / 0.825 = 50.49 hp at
1770 rpm (3961.4 gpm ft per hp at 20 degC: facts of water), 50.49 (1775 / 1770)^3 = 50.92 hp at
60 Hz. Limits of 100 and 105 %: from memory.
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
from tests.calculations.building_plates import Document, q
from tests.calculations.stations import eighty_seven_hertz, well
from tests.calculations.whole_stations import LEFT, left, raw_water


def ranged(minimum: str, maximum: str, **more: object) -> Document:
    frequencies = left(minimum_frequency=q(minimum, "Hz"), maximum_frequency=q(maximum, "Hz"))
    return changed(booster(), frequencies | more)


# -- speed.order --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minimum", "maximum", "expected"),
    [
        ("36", "60", []),
        ("59.9", "60", []),
        ("60", "60", [("stop", "equal")]),
        ("60.1", "60", [("stop", "reversed")]),
    ],
)
def test_minimum_lies_below_maximum(minimum, maximum, expected):
    assert verdicts(ranged(minimum, maximum), "speed.order") == expected


@pytest.mark.parametrize(
    ("bands", "expected"),
    [
        ([("40", "4"), ("52", "6")], []),
        ([("42", "12"), ("54", "12")], [("stop", "skipped")]),  # 36 to 48 and 48 to 60 Hz
        ([("42", "12"), ("54", "11.8")], []),  # 48.0 to 48.1 Hz is left
        # A band that reaches 5 Hz beyond the maximum of 60 Hz takes nothing of 36 to 37 Hz.
        ([("51", "28")], []),
        ([("50.5", "29")], [("stop", "skipped")]),
    ],
)
def test_skip_bands_leave_a_range(bands, expected):
    written = [{"centre": q(centre, "Hz"), "width": q(width, "Hz")} for centre, width in bands]
    document = changed(booster(), left(skip_bands=written))
    assert verdicts(document, "speed.order") == expected


@pytest.mark.parametrize("known", ["centre", "width"])
def test_half_a_skip_band_takes_nothing_away(known):
    document = changed(booster(), left(skip_bands=[{known: q("48", "Hz")}]))
    (missing,) = lacking(judged(document), "speed.order")
    assert missing.needs == (f"{LEFT}/skip_bands/0",)


def test_order_names_what_it_lacks():
    document = without(booster(), f"{LEFT}/maximum_frequency")
    (missing,) = lacking(judged(document), "speed.order")
    assert missing.needs == (f"{LEFT}/maximum_frequency",)


def test_a_fixed_speed_set_has_no_range():
    document = without(changed(booster(), {"/pump_set/drive": None}), "/drive", "/event/settings")
    judgement = judged(document)
    assert not lacking(judgement, "speed.order")
    assert not lacking(judgement, "loop.action")


# -- speed.skip-bands -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("centre", "width", "expected"),
    [
        ("51.5", "6", []),  # 48.5 to 54.5 Hz: between the points of 48.2 and 54.9 Hz
        ("51.7", "6.8", [("review", "point")]),  # 48.3 to 55.1 Hz
        ("48", "4", [("review", "point")]),  # the normal point
        ("48.2", "0.1", []),  # 48.15 to 48.25 Hz: within half of the reading's last digit
        ("43", "4", [("note", "point")]),  # that at minimum flow alone
        ("46", "6", [("review", "point")]),  # both
        ("55.3", "0.8", []),  # 54.9 to 55.7 Hz: at its end
    ],
)
def test_no_point_was_read_inside_a_skip_band(centre, width, expected):
    """Definition of a skip band; common practice."""
    bands = [{"centre": q(centre, "Hz"), "width": q(width, "Hz")}]
    assert verdicts(changed(booster(), left(skip_bands=bands)), "speed.skip-bands") == expected


def test_each_band_is_told_once_and_half_a_band_is_asked_for_elsewhere():
    bands = [
        {"centre": q("48", "Hz")},
        {"centre": q("46", "Hz"), "width": q("6", "Hz")},
        {"centre": q("55", "Hz"), "width": q("2", "Hz")},
    ]
    judgement = judged(changed(booster(), left(skip_bands=bands)))
    found = of_rule(judgement, "speed.skip-bands")
    assert [each.subject for each in found] == [f"{LEFT}/skip_bands/{index}" for index in (1, 2)]
    assert [str(each.parameters["frequency"]) for each in found] == ["48.2 Hz", "54.9 Hz"]


def test_a_closed_valve_may_be_tried_inside_a_skip_band():
    bands = left(skip_bands=[{"centre": q("43", "Hz"), "width": q("2", "Hz")}])
    document = changed(booster(), bands | {"/event/duty_points/2/purpose": "shut_off"})
    assert verdicts(document, "speed.skip-bands") == []


# -- speed.minimum-permitted ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minimum", "expected"), [("30", []), ("30.0", []), ("29.9", [("review", "pump")])]
)
def test_minimum_of_the_pump(minimum, expected):
    assert verdicts(ranged(minimum, "60"), "speed.minimum-permitted") == expected


def test_minimum_of_the_bearing_counts_where_it_is_higher():
    document = changed(well(), left(minimum_frequency=q("33", "Hz")))
    document = changed(document, {"/pump/bearing_frequency": q("35", "Hz")})
    assert verdicts(document, "speed.minimum-permitted") == [("review", "bearing")]


@pytest.mark.parametrize(
    ("minimum", "expected"), [("30", []), ("29.9", [("review", "submersible")])]
)
def test_a_well_pump_without_figures_gets_30_hertz(minimum, expected):
    """30 Hz: from memory, common practice of well pumps."""
    document = without(
        changed(well(), left(minimum_frequency=q(minimum, "Hz"))),
        "/pump/minimum_frequency_permitted", "/pump/bearing_frequency",
    )  # fmt: skip
    assert verdicts(document, "speed.minimum-permitted") == expected


def test_another_pump_without_figures_is_not_judged():
    document = without(booster(), "/pump/minimum_frequency_permitted")
    (missing,) = lacking(judged(document), "speed.minimum-permitted")
    assert missing.needs == ("/pump/minimum_frequency_permitted",)


# -- speed.maximum-speed --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("maximum", "expected"),
    [
        ("60.8", []),  # 60.8 / 60 x 1775 = 1798.7 rpm of 1800 rpm
        ("60.86", []),  # 1800.4 rpm
        ("60.9", [("stop", "pump")]),  # 1801.6 rpm; 1800.5 rpm and 0.03 % are rounding
    ],
)
def test_highest_speed_of_the_pump(maximum, expected):
    assert verdicts(ranged("36", maximum), "speed.maximum-speed") == expected


@pytest.mark.parametrize(
    ("permitted", "expected"),
    [("60", []), ("59.99", [("stop", "motor")]), ("59.9", [("stop", "motor")])],
)
def test_highest_frequency_of_the_motor(permitted, expected):
    document = changed(booster(), {"/motor/maximum_frequency": q(permitted, "Hz")})
    assert verdicts(document, "speed.maximum-speed") == expected


def test_power_is_not_judged_before_the_speed_is_right():
    (waiting,) = lacking(judged(ranged("36", "600")), "speed.maximum-power")
    assert waiting.waits_for == "speed.maximum-speed"


# -- speed.maximum-power --------------------------------------------------------------------------

RULE = "speed.maximum-power"

FAST = {"/pump/maximum_speed_permitted": q("2000", "rpm")}


@pytest.mark.parametrize(
    ("maximum", "expected"),
    [
        # 950 gpm x 174.3 ft / (3960 x 82.1 %) x (1775 / 1770)^3 = 51.3 hp between two points of the
        # curve, times (f / 60)^3, against 60 hp and the rounding of "60", 0.83 %.
        ("63.3", []),  # 60.2 hp
        ("63.7", [("review", "dry")]),  # 61.4 hp, 102.3 %
        ("64.3", [("review", "dry")]),  # 63.1 hp, 105.2 %, of which 0.83 % may be rounding
        ("64.7", [("stop", "dry")]),  # 64.3 hp, 107.2 %
    ],
)
def test_power_at_the_maximum_frequency(maximum, expected):
    without_reserve = {"/motor/service_factor": q("1.0", "1")}
    assert verdicts(ranged("36", maximum, **FAST, **without_reserve), RULE) == expected


@pytest.mark.parametrize(
    ("factor", "maximum", "expected"),
    [
        # 61.4 and 63.1 hp of 60 hp: 102.3 and 105.2 %.
        ("1.15", "63.7", [("note", "service_factor")]),
        ("1.03", "63.7", [("note", "service_factor")]),
        ("1.02", "63.7", [("review", "dry")]),
        ("1.15", "64.3", [("note", "service_factor")]),
        # 64.3 and 71.1 hp, 107.2 and 118.5 %: no overload is certain while the reserve covers it.
        ("1.15", "64.7", [("review", "service_factor")]),
        ("1.06", "64.7", [("stop", "dry")]),
        ("1.15", "66.9", [("stop", "dry")]),
    ],
)
def test_a_service_factor_of_the_supply_is_a_reserve(factor, maximum, expected):
    """MG 1 Parts 30, 31, from memory: it is a reserve that a drive's harmonics take part of."""
    given = {"/motor/service_factor": q(factor, "1")}
    assert verdicts(ranged("36", maximum, **FAST, **given), RULE) == expected


@pytest.mark.parametrize(
    ("power", "expected"),
    [
        # 66 hp at the end of the curve; what the lowest lift lets flow takes 57 hp at most.
        ("64", [("note", "dry_at_run_out")]),  # 103 %
        ("60", [("review", "dry_at_run_out")]),  # 110 %
    ],
)
def test_run_out_that_the_lift_keeps_away_is_told_by_how_far_it_goes(power, expected):
    curve = {f"/pump/curve_points/{index}/shaft_power": q(each, "hp")
             for index, each in ((3, "50"), (4, "66"))}  # fmt: skip
    plate = {"/motor/ratings/1/power": q(power, "hp"), "/motor/service_factor": q("1", "1")}
    # The plate's current goes with its power, so that it agrees with itself.
    amperes = q(f"{68.7 * float(power) / 60:.1f}", "A")
    document = changed(raw_water(), curve | plate | {"/motor/ratings/1/current": amperes})
    assert verdicts(document, RULE) == expected
    estimated = changed(document, {"/pump/curve_origin": "estimated"})
    assert verdicts(estimated, RULE) == [("note", "dry_at_run_out")]


SIXTY = {"/motor/ratings/1/power": q("60", "hp"), "/motor/service_factor": q("1", "1")}


def test_a_lift_that_holds_the_flow_back_makes_a_review_of_a_stop():
    """The raw-water pump runs out to 794 gpm at 60 Hz and the lowest lift; to the end of its curve
    only into an empty or burst main.
    """
    curve = {f"/pump/curve_points/{index}/shaft_power": q(power, "hp")
             for index, power in ((3, "50"), (4, "66"))}  # fmt: skip
    document = changed(raw_water(), curve | SIXTY)
    assert verdicts(document, RULE) == [("review", "dry_at_run_out")]
    (finding,) = of_rule(judged(document), RULE)
    assert "reached" in {each.name for each in finding.compared}
    low = changed(document, {"/site/static_lift_low": q("20", "ft")})
    assert verdicts(low, RULE) == [("stop", "dry")]


@pytest.mark.parametrize(
    "unknown",
    [
        {"/site/system_design_flow": None},
        {"/site/system_curve_points": [{"flow": q(flow, "gpm"), "head": q(head, "ft")}
                                       for flow, head in (("0", "155"), ("700", "120"))]},
    ],
)  # fmt: skip
def test_where_no_flow_on_the_system_is_known_the_end_of_the_curve_counts(unknown):
    """No design flow, or a system that asks for less head with more flow."""
    curve = {f"/pump/curve_points/{index}/shaft_power": q(power, "hp")
             for index, power in ((3, "50"), (4, "66"))}  # fmt: skip
    assert verdicts(changed(raw_water(), curve | SIXTY | unknown), RULE) == [("stop", "dry")]


def test_an_estimated_curve_stops_nobody():
    document = ranged("36", "64.7", **FAST, **{"/pump/curve_origin": "estimated"})
    assert verdicts(document, "speed.maximum-power") == [("review", "dry")]


def test_a_service_factor_counts_on_a_drive_only_where_the_plate_says_so():
    """MG 1 Parts 30, 31, from memory: 1.15 on the plate is 1.0 on a drive."""
    document = ranged("36", "64.7", **FAST)
    assert verdicts(document, "speed.maximum-power") == [("review", "service_factor")]
    stated = changed(document, {"/motor/inverter_service_factor": q("1.15", "1")})
    assert verdicts(stated, "speed.maximum-power") == []


@pytest.mark.parametrize(
    ("maximum", "expected"),
    [
        # 69 hp: 50.92 hp (f / 60)^3 are 63.8 hp at 64.7 Hz and 71.1 hp at 67.1 Hz, 103.1 %.
        ("64.7", []),
        ("67.1", [("review", "immersed")]),
    ],
)
def test_a_service_factor_counts_for_an_immersed_motor(maximum, expected):
    document = ranged("36", maximum, **FAST, **{"/motor/immersed": True})
    assert verdicts(document, "speed.maximum-power") == expected


def test_a_motor_stretched_to_87_hertz_gives_more_power():
    """22 kW at 50 Hz are 38.3 kW at 87 Hz: its pump takes 38.0 kW there."""
    assert verdicts(eighty_seven_hertz(), "speed.maximum-power") == []
    plain = changed(eighty_seven_hertz(), {"/motor/extended_constant_torque": False})
    assert verdicts(plain, "speed.maximum-power") == [("stop", "dry")]


@pytest.mark.parametrize(
    ("maximum", "expected"),
    [
        # Torque is kept to 50 x 400 / 230 = 86.96 Hz, where 22 kW are 38.26 kW; the pump takes
        # 38.0 kW at 87 Hz, and with the cube of its speed 38.3 kW at 87.2, 40.2 at 88.6 Hz, 41.0
        # at 89.2 Hz, which 22 kW x 89.2 / 50 = 39.2 kW would nearly carry.
        ("87", []),
        ("88.4", [("review", "dry")]),
        ("89.2", [("stop", "dry")]),
    ],
)
def test_a_stretched_motor_gives_no_more_beyond_where_its_torque_is_kept(maximum, expected):
    document = changed(eighty_seven_hertz(), left(maximum_frequency=q(maximum, "Hz")))
    assert verdicts(document, "speed.maximum-power") == expected


def bare(horsepower="60", **settings):
    """The booster's curve with head and flow alone, and another motor."""
    points = [{"flow": point["flow"], "head": point["head"]}
              for point in booster()["pump"]["curve_points"]]  # fmt: skip
    return changed(
        booster(),
        {"/pump/curve_points": points, "/motor/ratings/1/power": q(horsepower, "hp")}
        | left(**settings),
    )


def test_power_needs_a_curve_with_power_or_efficiency():
    (missing,) = lacking(judged(bare()), "speed.maximum-power")
    assert (missing.needs, missing.because) == (
        ("/pump/curve_points",), "shaft power or efficiency of its points, the last one's too",
    )  # fmt: skip


# Of which nothing is left to hold another power of the plate against.
UNBALANCED = {f"/motor/ratings/{index}/{what}": None
              for index in (0, 1) for what in ("current", "efficiency")}  # fmt: skip


@pytest.mark.parametrize(
    ("horsepower", "expected"),
    [
        # Q (260 - 95 (Q / 1000)^2): most at the last point, 1350 gpm and 86.9 ft, or before it, at
        # 955 gpm and 173 ft: 41.9 hp of water, 44.1 hp of a pump with 95 %.
        ("45", []),
        ("43", [("review", "water")]),
        ("41", [("stop", "water")]),
    ],
)
def test_the_water_alone_may_be_too_much(horsepower, expected):
    judgement = judged(changed(bare(horsepower), UNBALANCED))
    found = [(each.severity, each.variant) for each in of_rule(judgement, "speed.maximum-power")]
    assert found == expected
    assert lacking(judgement, "speed.maximum-power")  # the rest is not known


def test_power_is_asked_for_up_to_the_end_of_the_curve():
    """A power up to best efficiency says nothing of run-out, where a radial pump takes most."""
    points = booster()["pump"]["curve_points"]
    last = f"/pump/curve_points/{len(points) - 1}"
    document = changed(booster(), {f"{last}/efficiency": None, f"{last}/shaft_power": None})
    assert verdicts(document, "speed.maximum-power") == []
    assert lacking(judged(document), "speed.maximum-power")
    # What is known already to be too much is told all the same.
    small = changed(document, {"/motor/ratings/1/power": q("45", "hp")} | UNBALANCED)
    assert verdicts(small, "speed.maximum-power") == [("review", "service_factor")]


AXIAL = [("0", "60", "75"), ("3600", "38", "56"), ("6000", "28", "52"), ("7700", "20", "47"),
         ("9500", "9", "38")]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "least", "expected"),
    [
        # 56 hp at 3600 gpm are the most; 60 hp.
        ("axial_or_mixed_flow", "3600", []),
        # At 1000 gpm still some 69 hp: 75 - (75 - 56) 1000 / 3600, and the curve sags.
        ("axial_or_mixed_flow", "1000", [("review", "service_factor")]),
        ("axial_or_mixed_flow", None, [("stop", "dry")]),  # nobody says where it must not run
        ("end_suction", "3600", [("stop", "dry")]),
    ],
)
def test_an_axial_pumps_motor_is_not_chosen_for_a_closed_valve(kind, least, expected):
    points = [{"flow": q(flow, "gpm"), "head": q(head, "ft"), "shaft_power": q(power, "hp")}
              for flow, head, power in AXIAL]  # fmt: skip
    pump = {"/pump/curve_points": points, "/pump/type": kind, "/pump/rated_flow": q("7000", "gpm"),
            "/pump/rated_head": q("23.5", "ft"), "/pump/best_efficiency_flow": None,
            "/pump/minimum_continuous_flow": least and q(least, "gpm")}  # fmt: skip
    assert verdicts(changed(booster(), pump), "speed.maximum-power") == expected


def test_a_stretched_rating_slips_as_little_as_at_its_own_frequency():
    """22 kW, 1470 rpm at 50 Hz, run to 87 Hz: 2609 - 30 = 2579 rpm, not 1470 x 1.74 = 2558 rpm.

    Shut-off 260 ft at 2580 rpm; zero flow is at 2580 sqrt(128 / 260) = 1810.2 rpm. There 0.45 x
    37.7 kW at 2580 rpm, 0.439 of the torque of 22 kW at 1470 rpm, slips 30 x 0.439 x 0.492 = 6.5
    rpm.
    """
    judgement = judged(eighty_seven_hertz())
    kept = derived(judgement, "speed.zero-flow-at-lowest-suction").si
    # 85 psi - 30 psi at 60 degF (2.309 ft per psi) and 1 ft of height: 128 ft of 260 ft.
    assert kept == pytest.approx((1810.2 + 6.5) / 30, abs=0.03)


def test_a_motor_without_extended_torque_gives_its_rated_power_above_its_frequency() -> None:
    """Above it the pump's power goes with the cube (HI engineering data, equation 1.B.6).

    "No" said aloud means the same as nothing said.
    """
    for said in (False, None):
        document = changed(booster(), {"/motor/extended_constant_torque": said})
        value = derived(judged(document), "speed.highest-for-motor-power").si
        # test_speed_values
        assert value == pytest.approx(63.22, abs=0.05)


@pytest.mark.parametrize(("horsepower", "hertz"), [(40, 53.14), (50, 59.26)])
def test_a_motor_that_is_too_small_at_its_rated_speed_carries_its_pump_below_it(
    horsepower, hertz
) -> None:
    """The motor's power goes with the frequency, the pump's 50.85 hp with the cube of its speed.

    x = n / 1770 rpm: 50.85 x^3 = P f / 60, f = 59 x + 25 / 30 T x^2, T = 50.85 / P x 1775 / 1770.
    40 hp: T = 1.275, x = 0.8865, f = 52.30 + 0.835.
    50 hp: T = 1.020, x = 0.9903, f = 58.43 + 0.834.
    """
    document = changed(booster(), {"/motor/ratings/1/power": q(str(horsepower), "hp")})
    value = derived(judged(document), "speed.highest-for-motor-power").si
    assert value == pytest.approx(hertz, abs=0.05)
