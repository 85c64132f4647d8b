"""The drive's scaling of the feedback against the range of the sensor.

6 ft of water are 2.60 psi (T06).
"""

import pytest

from calculations.rules.loop_signal import SCALING, SIGNAL_TYPE
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
from tests.calculations.rules.test_loop_signal import scaled
from tests.calculations.whole_stations import (
    LEFT,
    booster_in_percent,
    left,
    lift_station,
    raw_water,
    shifted_booster,
)


@pytest.mark.parametrize(
    ("upper", "verdict"),
    [
        ("200", []),
        ("202", []),  # 1 % of span
        ("202.1", [("review", "plain")]),
        ("210", [("review", "plain")]),  # 5 %
        ("210.1", [("stop", "plain")]),
        ("190", [("review", "plain")]),
        ("189.9", [("stop", "plain")]),
        ("150", [("stop", "plain")]),
    ],
)
def test_error_of_the_scaling(upper, verdict):
    document = scaled("0", upper)
    assert verdicts(document, "loop.scaling") == verdict
    # Converted figures have digits of their own, in which slips are found by chance.
    metric = [severity for severity, _ in verdicts(in_metric(document), "loop.scaling")]
    assert metric == [severity for severity, _ in verdict]


def test_numbers_of_the_scaling():
    """150 psi for the 200 psi of 20 mA, where the error is largest."""
    (found,) = of_rule(judged(scaled("0", "150")), "loop.scaling")
    told = {"range_low": "0 psi", "range_high": "200 psi", "lower": "0 psi", "upper": "150 psi",
            "indicated": "150 psi", "true": "200 psi", "error": "-25 %"}  # fmt: skip
    assert told.items() <= found.parameters.items()
    assert found.limit == "1 % review, 5 % stop, of span"


def test_a_wide_tolerance_of_the_sensor_is_granted():
    wide = {"/sensors/0/tolerance_percent_of_span": q("3", "%")}
    assert verdicts(changed(scaled("0", "205"), wide), "loop.scaling") == []
    assert verdicts(changed(scaled("0", "207"), wide), "loop.scaling") == [("review", "plain")]


@pytest.mark.parametrize(
    ("lower", "upper", "unit", "variant", "read"),
    [
        ("0", "200", "bar", "unit", "200 psi"),
        ("0", "13.8", "psi", "unit", "13.8 bar"),
        ("0", "1379", "psi", "unit", "1379 kPa"),
        ("200", "0", "psi", "swapped", ""),
        ("0", "20", "psi", "digits", "200 psi instead of 20 psi"),
    ],
)
def test_slips_are_named_first(lower, upper, unit, variant, read):
    (finding,) = of_rule(judged(scaled(lower, upper, unit)), "loop.scaling")
    assert (finding.severity, finding.variant) == ("stop", variant)
    assert finding.parameters["read"] == read


def test_ends_are_swapped_also_where_the_range_does_not_begin_at_nothing():
    ranged = {"/sensors/0/lower_range_value": q("40", "psi")}
    (finding,) = of_rule(judged(changed(scaled("200", "40"), ranged)), "loop.scaling")
    assert finding.variant == "swapped"


def test_what_the_cell_can_do_is_not_what_it_is_set_to():
    document = changed(scaled("0", "300"), {"/sensors/0/range_limit_high": q("300", "psi")})
    assert verdicts(document, "loop.scaling") == [("stop", "cell")]


def test_the_remedy_gives_the_scaling():
    (finding,) = of_rule(judged(scaled("0", "150")), "loop.scaling")
    assert (finding.parameters["fit_low"], finding.parameters["fit_high"]) == ("0 psi", "200 psi")


@pytest.mark.parametrize("station", [shifted_booster, booster_in_percent, lift_station])
def test_legitimate_scalings_are_silent(station):
    """Shifted for the tapping's height, in %, and levels from the floor of the well."""
    assert verdicts(station(), "loop.scaling") == []


def test_a_scaling_that_forgets_the_height():
    """20 ft are 8.66 psi at 60 degF: 4.3 % of span to one side, 8.7 % with the wrong sign."""
    high = left(set_point_datum="pump_datum") | {"/sensors/0/tapping_elevation": q("20", "ft")}
    own = changed(scaled("0", "200"), high)
    assert verdicts(own, "loop.scaling") == [("review", "own_range")]
    (finding,) = of_rule(judged(own), "loop.scaling")
    assert "correct its datum" in SCALING.remedy(finding)
    wrong = changed(scaled("-8.66", "191.34"), high)
    assert verdicts(wrong, "loop.scaling") == [("stop", "height")]
    right = changed(scaled("8.66", "208.66"), high)
    assert verdicts(right, "loop.scaling") == []


@pytest.mark.parametrize(
    ("lower", "upper", "variant"),
    [
        # 8.66 psi of height; a scaling shifted by 5 % less of it, and one whose span is 1 % wide.
        ("0.40", "200.40", "height"),
        ("0.47", "200.47", "plain"),
        ("0", "201.9", "height"),
        ("0", "202.1", "plain"),
    ],
)
def test_a_height_explains_a_shift_of_its_size(lower, upper, variant):
    high = left(set_point_datum="pump_datum") | {"/sensors/0/tapping_elevation": q("20", "ft")}
    found = verdicts(changed(scaled(lower, upper), high), "loop.scaling")
    assert [each for _, each in found] == [variant]


@pytest.mark.parametrize(
    ("zero", "expected"),
    [
        # The floor lies at -6 m, the zero at -5.8: the drive shows 0.2 m there, as it should.
        ("-5.8", []),
        ("5.8", [("stop", "zero")]),
        ("5.9", [("stop", "plain")]),  # 0.1 m of 5 m of span off by its own
    ],
)
def test_a_zero_with_its_sign_turned(zero, expected):
    """Levels count from the floor: nobody is sent to scale the drive to 11.8 m."""
    below = {
        "/site/wet_well_floor": q("-6.0", "m"), "/sensors/0/zero_elevation": q(zero, "m"),
        "/sensors/0/lower_range_value": q("0", "m"), "/sensors/0/upper_range_value": q("5", "m"),
    }  # fmt: skip
    drive = left(level_reference="floor", feedback_at_lower_signal=q("0.2", "m"),
                 feedback_at_upper_signal=q("5.2", "m"))  # fmt: skip
    document = changed(lift_station(), below | drive)
    assert verdicts(document, "loop.scaling") == expected
    for finding in of_rule(judged(document), "loop.scaling"):
        if finding.variant == "zero":
            assert finding.parameters["read"] == "-5.8 m"


@pytest.mark.parametrize(("elevation", "variant"), [("2300", "atmosphere"), ("2400", "plain")])
def test_thin_air_is_still_an_atmosphere(elevation, variant):
    """ISO 2533: 75.6 % of 101.3 kPa at 2,300 m, 74.6 % at 2,400 m; a quarter less, no source."""
    absolute = {"/sensors/0/reference": "absolute", "/site/elevation": q(elevation, "m")}
    found = verdicts(changed(booster(), absolute), "loop.scaling")
    assert [each for _, each in found] == [variant]


def test_either_datum_is_right_where_none_is_recorded():
    shifted = without(shifted_booster(), f"{LEFT}/set_point_datum")
    plain = without(booster(), f"{LEFT}/set_point_datum")
    assert verdicts(shifted, "loop.scaling") == []
    assert verdicts(plain, "loop.scaling") == []


def test_only_the_width_counts_at_a_datum_of_unknown_height():
    """The set point counts at the header, whose height nobody recorded."""
    document = changed(scaled("12", "212"), left(set_point_datum="header"))
    assert verdicts(document, "loop.scaling") == []
    narrow = changed(scaled("12", "192"), left(set_point_datum="header"))
    assert [severity for severity, _ in verdicts(narrow, "loop.scaling")] == ["review"]


NO_HEIGHT = without(shifted_booster(), f"{LEFT}/set_point_datum", "/sensors/0/tapping_elevation")
"""Nothing tells what the height of the tapping adds to the sensor's 0 to 200 psi."""


@pytest.mark.parametrize(
    ("expected", "load", "change", "error"),
    [
        # 4 to 20 mA are 20 to 100 % of 20 mA; over 250 ohm 1 to 5 V, 10 to 50 % of 10 V.
        ("0-20 mA", None, "160 psi", "-20 %"),
        ("0-10 V", "250", "80 psi", "-60 %"),
    ],
)
def test_another_signal_invents_no_height(expected, load, change, error):
    """A gauge on site shows neither of two values that rest on a height that nobody recorded."""
    changes = left(feedback_signal=expected)
    if load:
        changes |= {"/sensors/0/loop_load": q(load, "ohm")}
    document = changed(NO_HEIGHT, changes)
    (finding,) = of_rule(judged(document), "loop.signal-type")
    assert (finding.severity, finding.parameters["error"]) == ("stop", error)
    assert (finding.parameters["change"], finding.parameters["range"]) == (change, "200 psi")
    assert "true" not in {each.name for each in finding.compared}
    assert f"a change of {change}" in SIGNAL_TYPE.sentence(finding)
    (metric,) = of_rule(judged(in_metric(document)), "loop.signal-type")
    assert metric.parameters["error"] == error


def test_another_signal_at_a_known_height_tells_what_is_shown():
    """At 0 psi 4 mA are 20 % of 20 mA, 40 psi."""
    document = changed(booster(), left(feedback_signal="0-20 mA"))
    (finding,) = of_rule(judged(document), "loop.signal-type")
    assert "shows 40 psi where 0 psi is true" in SIGNAL_TYPE.sentence(finding)


def test_a_width_at_an_unknown_height_is_told_as_a_width():
    """250 psi wide instead of 200: 25 % of span, and what to set depends on the height."""
    ends = {"lower": "5.2", "upper": "255.2"}
    document = changed(
        NO_HEIGHT,
        left(**{f"feedback_at_{end}_signal": q(value, "psi") for end, value in ends.items()}),
    )
    (finding,) = of_rule(judged(document), "loop.scaling")
    assert finding.parameters["error"] == "+25 %"
    assert "a change of 250 psi over the sensor's whole range of 200 psi" in SCALING.sentence(
        finding
    )
    assert "height of the tapping" in SCALING.remedy(finding)


def test_an_absolute_cell_scaled_as_if_it_were_gauge():
    """At 500 ft 14.43 psi of air (ISO 2533): 7.2 % of a span of 200 psi."""
    absolute = {"/sensors/0/reference": "absolute"}
    assert verdicts(changed(booster(), absolute), "loop.scaling") == [("stop", "atmosphere")]
    right = changed(scaled("-14.43", "185.57"), absolute)
    assert verdicts(right, "loop.scaling") == []
    unknown = without(changed(booster(), absolute), "/site/elevation")
    (missing,) = lacking(judged(unknown), "loop.scaling")
    assert missing.needs == ("/site/elevation",)


def test_a_sealed_cell_at_1800_metres_reads_two_tenths_of_a_bar_low():
    """101.3 - 81.5 kPa = 19.8 kPa (ISO 2533, 1,800 m) of a span of 10 bar: 2 %."""
    sealed = {
        "/sensors/0/reference": "sealed_gauge", "/sensors/0/lower_range_value": q("0", "bar"),
        "/sensors/0/upper_range_value": q("10", "bar"), "/site/elevation": q("1800", "m"),
    }  # fmt: skip
    (finding,) = of_rule(judged(changed(scaled("0", "10", "bar"), sealed)), "loop.scaling")
    assert finding.severity == "review"
    assert finding.parameters["error"] == "-1.98 %"


def test_a_level_in_units_of_pressure():
    """0.4899 bar are 5.00 m of water at 15 degC (999.1 kg/m3): 0.1 and 5.1 m over the floor."""
    pressure = {
        "/sensors/0/lower_range_value": q("0", "bar"),
        "/sensors/0/upper_range_value": q("0.49", "bar"),
    }
    assert verdicts(changed(lift_station(), pressure), "loop.scaling") == []


def test_no_loop_no_scaling():
    assert lacking(judged(raw_water()), "loop.scaling") == []


def test_a_shift_is_left_open_where_height_or_reference_is_not_known():
    """12 ft of water in the scaling are right for the datum of the pump; here nothing tells it."""
    open_ = without(shifted_booster(), f"{LEFT}/set_point_datum", "/sensors/0/tapping_elevation")
    assert verdicts(open_, "loop.scaling") == []
    assert verdicts(open_, "sensor.error-as-left") == []
    level = without(lift_station(), f"{LEFT}/level_reference")
    assert verdicts(level, "loop.scaling") == []
    wide = changed(open_, {f"{LEFT}/feedback_at_upper_signal": q("255.2", "psi")})
    assert verdicts(wide, "loop.scaling") != []


def test_the_suction_sensor_is_not_taken_for_the_regulating_one():
    """Which sensor regulates is not said, what PT-101 measures and where PT-100 sits neither."""
    document = without(
        booster(), "/pump_set/regulating_sensor", "/sensors/0/quantity", "/sensors/1/location"
    )
    assert verdicts(document, "loop.scaling") == []
    assert "loop.scaling" in {each.rule for each in judged(document).not_evaluated}


def test_a_sensor_of_which_nothing_is_known_may_be_the_regulating_one():
    document = without(
        booster(), "/pump_set/regulating_sensor", "/pump_set/suction_sensor",
        "/sensors/0/quantity", "/sensors/1/location",
    )  # fmt: skip
    assert verdicts(document, "loop.scaling") == []


def test_without_datum_and_location_the_height_may_be_in_the_scaling():
    """Neither is known: the shift of 12 ft of water is right as well as none."""
    document = without(
        shifted_booster(), f"{LEFT}/set_point_datum", f"{LEFT}/set_point", "/sensors/0/location"
    )
    assert verdicts(document, "loop.scaling") == []


@pytest.mark.parametrize(
    ("lower", "upper", "variant"),
    # Shown from the wrong end, and 2.5 or 3.5 % of 200 psi beside it; common practice, no source.
    [("200", "0", "swapped"), ("205", "0", "swapped"), ("207", "0", "plain")],
)
def test_ends_that_are_swapped(lower, upper, variant):
    assert verdicts(scaled(lower, upper), "loop.scaling") == [("stop", variant)]


def test_a_height_of_nothing_explains_no_shift():
    level = changed(scaled("25", "225"), {"/sensors/0/tapping_elevation": q("0", "ft")})
    assert verdicts(level, "loop.scaling") == [("stop", "plain")]


def test_a_sensor_without_a_tolerance_is_granted_one_percent():
    loose = without(scaled("0", "204"), "/sensors/0/tolerance_percent_of_span")
    assert [each for each, _ in verdicts(loose, "loop.scaling")] == ["review"]


def test_the_scaling_to_set_is_told_in_its_own_unit():
    """200 psi are 13.79 bar."""
    (found,) = of_rule(judged(scaled("0", "10", "bar")), "loop.scaling")
    assert (found.parameters["fit_low"], found.parameters["fit_high"]) == ("0 bar", "13.79 bar")


@pytest.mark.parametrize("datum", ["pump_datum", "transmitter", None])
def test_half_of_the_signal_is_half_of_it_wherever_the_set_point_counts(datum):
    """4 + 16 x 0.5 = 12 mA, and nothing is wrong with a scaling in %."""
    ends = {"feedback_at_lower_signal": q("0", "%"), "feedback_at_upper_signal": q("100", "%")}
    given = left(set_point=q("50", "%"), set_point_datum=datum, **ends)
    document = changed(booster(), given | {"/sensors/0/tapping_elevation": q("40", "ft")})
    assert str(derived(judged(document), "sensor.signal-at-set-point").shown) == "12 mA"
    assert verdicts(document, "loop.scaling") == []


# -- what else explains it ------------------------------------------------------------------------


def test_the_range_of_another_sensor_is_named():
    """PT-100 at the suction has 0 to 60 psi, PT-101 0 to 200 psi."""
    (found,) = of_rule(judged(scaled("0", "60")), "loop.scaling")
    assert (found.severity, found.variant, found.parameters["read"]) == ("stop", "other", "PT-100")


@pytest.mark.parametrize(
    ("upper", "unit", "variant"),
    [
        # 407 inHg are 199.9 psi (0.491 psi each): within 0.2 %; 400 inHg, 196.5 psi, are not.
        ("407", "psi", "unit"),
        ("400", "psi", "plain"),
        # 138 mH2O for 13.79 bar are 1.9 % off, but people take 10 m for a bar.
        ("13.8", "bar", None),
    ],
)
def test_a_unit_that_nobody_takes_has_to_fit(upper, unit, variant):
    found = of_rule(judged(scaled("0", upper, unit)), "loop.scaling")
    assert [each.variant for each in found] == ([variant] if variant else [])


def lift_counted_from(reference: str):
    return changed(lift_station(), left(level_reference=reference))


def test_levels_that_count_from_elsewhere_are_told_once():
    """The floor is at -5.0 m: as elevations all levels lie 5 m too high, over the overflow."""
    told = judged(lift_counted_from("site_datum"))
    found = [each for each in told.findings if each.severity != "note"]
    assert [(each.rule, each.variant) for each in found] == [("loop.scaling", "reference")]
    assert found[0].parameters["read"] in ("the floor of the well", "the zero of the transmitter")


def test_levels_wait_for_no_scaling_that_nobody_judges():
    """A controller beside the drive acts on the level: the alarm at 2.2 m lies over the overflow
    at -2.2 m."""
    outside = left(regulation="speed_from_external_controller")
    told = judged(changed(lift_counted_from("site_datum"), outside))
    assert [each.variant for each in of_rule(told, "level.alarm-below-overflow")] == ["above"]
    assert not [each for each in told.not_evaluated if each.waits_for == "loop.scaling"]


@pytest.mark.parametrize(
    ("tolerance", "told"),
    # 0.06 m of 5 m are 1.2 %; from the transmitter's zero, 0.1 m lower, it would be 0.8 %.
    [("0.5", True), ("1.1", True), ("1.3", False)],
)
def test_what_the_sensor_may_be_off_is_no_other_reference(tolerance, told):
    """Nothing waits for a finding that is not made: high water at 4 m is over the overflow."""
    document = changed(lift_station(), left(
        feedback_at_lower_signal=q("0.04", "m"), feedback_at_upper_signal=q("5.04", "m"),
        high_level_alarm=q("4", "m"),
    ) | {"/sensors/0/tolerance_percent_of_span": q(tolerance, "%")})  # fmt: skip
    assert bool(verdicts(document, "loop.scaling")) is told
    assert bool(verdicts(document, "level.alarm-below-overflow")) is not told


def test_levels_as_they_are_recorded_stay_silent():
    assert verdicts(lift_counted_from("floor"), "loop.scaling") == []


def test_a_verification_tells_which_range_is_right():
    """The record has 0 to 100 psi; at 0, 50, 100, 150, 200 psi the signals are 4 to 20 mA."""
    told = judged(changed(booster(), {"/sensors/0/upper_range_value": q("100", "psi")}))
    found = [(each.rule, each.severity, each.variant) for each in told.findings]
    assert [each for each in found if "sensor." in each[0] or "loop." in each[0]] == [
        ("loop.scaling", "review", "verified")
    ]


NARROW = left(feedback_at_upper_signal=q("3", "m"))
"""LT-201 has 0 to 5 m, 0.1 to 5.1 m over the floor: its top would be shown 2.1 m too low."""


@pytest.mark.parametrize(
    ("changes", "unknown"),
    [
        (NARROW | left(level_reference="transmitter_zero"), "/sensors/0/zero_elevation"),
        (NARROW, f"{LEFT}/level_reference"),
    ],
)
def test_a_wrong_scaling_is_told_also_where_no_height_explains_it(changes, unknown):
    document = without(changed(lift_station(), changes), unknown)
    assert verdicts(document, "loop.scaling") == [("stop", "plain")]


def test_a_doubted_floor_keeps_no_wrong_scaling_back_that_does_not_count_from_it():
    """Zero at -4.9 m: -4.9 to 0.1 m over the datum, and the drive shows up to 3 m."""
    ends = {"feedback_at_lower_signal": q("-4.9", "m"), "feedback_at_upper_signal": q("3", "m")}
    wrong = left(level_reference="site_datum", **ends) | {"/site/wet_well_floor": q("5", "m")}
    document = changed(lift_station(), wrong)
    assert verdicts(document, "site.order") == [("review", "levels")]
    assert verdicts(document, "loop.scaling") == [("stop", "plain")]


def test_a_transmitter_that_was_adjusted_to_the_register_says_nothing_for_the_drive():
    """Found at 0 to 200 psi as the drive has it, left at the register's 0 to 100 psi: 25 psi are
    8 mA, which the drive shows as 50 psi."""
    at = "/event/sensor_verifications/0"
    applied, signals = ("0", "25", "50", "75", "100"), ("4.00", "8.00", "12.00", "16.00", "20.00")
    left_at = [
        {"direction": "up", "applied": q(pressure, "psi"), "signal": q(signal, "mA")}
        for pressure, signal in zip(applied, signals, strict=True)
    ]
    adjusted = {f"{at}/as_left": left_at, f"{at}/adjusted": "span"}
    ranged = {"/sensors/0/upper_range_value": q("100", "psi")}
    assert verdicts(changed(booster(), ranged), "loop.scaling") == [("review", "verified")]
    assert verdicts(changed(booster(), ranged | adjusted), "loop.scaling") == [("stop", "plain")]


def test_an_error_as_found_waits_for_no_scaling_that_nobody_judges():
    """The record has 0 to 100 psi: 100 psi give 12.02 mA, 50.1 psi of it. Without a loop in the
    drive its scaling, which would explain that, says nothing."""
    ranged = {"/sensors/0/upper_range_value": q("100", "psi")}
    document = changed(booster(), left(regulation="speed_from_external_controller") | ranged)
    (entry,) = of_rule(judged(document), "sensor.entry")
    told = judged(document, accepted=[(entry.rule, entry.subject)])
    assert [each.severity for each in of_rule(told, "sensor.error-as-found")] == ["note"]
    assert not [each for each in told.not_evaluated if each.waits_for == "loop.scaling"]
