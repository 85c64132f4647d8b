"""What the drive can give at its place; D01 for the factors that multiply."""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import (
    booster,
    changed,
    derived,
    in_metric,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document
from tests.calculations.stations import high_site, settings

RATED = "drive.rated-current"
SINGLE = "drive.single-phase-input"
CARRIER = "drive.carrier-derating"
ENVIRONMENT = "drive.environment"
NORMAL = "/drive/rated_current_normal_duty"
HEAVY = "/drive/rated_current_heavy_duty"


def rated(amperes: str, **more: object) -> Document:
    """The booster (plate 68.7 A, 60.7 A expected at most) with another drive."""
    return changed(booster(), {NORMAL: q(amperes, "A")} | more)


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        ("77", []),
        ("68.7", []),
        ("68.5", [("review", "rated")]),  # half a last digit of 68.7 is 0.05
        # 60.7 A expected at most, 5 % of it in doubt: 57.6 A
        ("58.0", [("review", "rated")]),
        ("57.0", [("stop", "rated_load")]),
    ],
)
def test_boundaries_of_the_rated_current(amperes: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(rated(amperes), RATED) == expected
    assert verdicts(in_metric(rated(amperes)), RATED) == expected


def test_factors_multiply() -> None:
    # D01: 65 A, 1500 m and 45 degC: 65 x 0.95 x 0.95 = 58.66 A
    place = {"/site/elevation": q("1500", "m"), "/drive/ambient_at_drive": q("45", "degC")}
    value = derived(judged(rated("65", **place)), "drive.available-current")
    assert value.si == pytest.approx(58.66, abs=0.01)


@pytest.mark.parametrize(
    ("amperes", "elevation", "air", "variant"),
    [
        # plate 68.7 A; 60.7 A expected at most, with 5 % of doubt 63.7 A
        ("72", "1500", "35", "altitude_fits"),  # 72 x 0.95 = 68.4
        ("72", "0", "45", "ambient_fits"),  # 72 x 0.95 = 68.4
        ("75", "1500", "45", "ambient_fits"),  # 71.3 after altitude, 67.7 after both
        ("69", "2000", "35", "altitude"),  # 69 x 0.90 = 62.1
        ("69", "0", "50", "ambient"),  # 69 x 0.90 = 62.1
        ("65", "1500", "45", "rated"),  # too small before any factor
    ],
)
def test_the_factor_that_tips_it_is_named(
    amperes: str, elevation: str, air: str, variant: str
) -> None:
    place = {"/site/elevation": q(elevation, "m"), "/drive/ambient_at_drive": q(air, "degC")}
    ((_, found),) = verdicts(rated(amperes, **place), RATED)
    assert found == variant


def test_1800_m_takes_8_percent() -> None:
    assert verdicts(high_site(), RATED) == []  # 77 x 0.92 = 70.8 A
    assert verdicts(changed(high_site(), {NORMAL: q("74", "A")}), RATED) == [
        ("note", "altitude_fits")
    ]


def test_the_drives_own_derating_goes_first() -> None:
    own = {"/drive/derating_start_altitude": q("2000", "m")}
    document = changed(high_site(), own | {NORMAL: q("74", "A")})
    assert verdicts(document, RATED) == []
    steep = {"/drive/derating_per_K": q("2.5", "%"), "/drive/ambient_at_drive": q("45", "degC")}
    assert verdicts(rated("77", **steep), RATED) == [("note", "ambient_fits")]  # 67.4 A


def test_the_highest_current_read_counts_as_load() -> None:
    # 66 A were read: 64 A do not carry it, though 57.5 A were expected.
    read = {"/event/duty_points/0/currents_drive_output": [q("66.0", "A")] * 3}
    assert verdicts(changed(rated("64"), read), RATED) == [("stop", "rated_load")]


def test_the_duty_decides_which_rating_counts() -> None:
    heavy = {HEAVY: q("60", "A")}
    assert verdicts(rated("77", **heavy), RATED) == []  # set for normal duty
    chosen = changed(rated("77", **heavy), settings({"duty_class": "heavy"}))
    assert verdicts(chosen, RATED) == [("review", "rated")]
    unknown = changed(rated("77", **heavy), settings({"duty_class": "unknown"}))
    (missing,) = lacking(judged(unknown), RATED)
    assert missing.needs == ("/event/settings/as_left/duty_class",)
    (missing,) = lacking(judged(without(chosen, HEAVY)), RATED)
    assert missing.needs == (HEAVY,)


def test_an_unknown_factor_is_named_unless_it_fails_anyway() -> None:
    document = without(booster(), "/drive/ambient_at_drive")
    (missing,) = lacking(judged(document), RATED)
    assert missing.needs == ("/drive/ambient_at_drive",)
    assert verdicts(changed(document, {NORMAL: q("65", "A")}), RATED) == [("review", "rated")]


# -- environment --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("air", "limit", "fires"),
    [
        ("50", "50", False),
        ("51", "50", True),
        ("55", None, False),  # common practice where the drive states none
        ("56", None, True),
    ],
)
def test_boundaries_of_the_air(air: str, limit: str | None, fires: bool) -> None:
    document = changed(booster(), {"/drive/ambient_at_drive": q(air, "degC")})
    if limit is None:
        document = without(document, "/drive/ambient_max")
    else:
        document = changed(document, {"/drive/ambient_max": q(limit, "degC")})
    assert verdicts(document, ENVIRONMENT) == ([("review", "hot")] if fires else [])
    if fires:
        (waiting,) = lacking(judged(document), RATED)
        assert waiting.waits_for == ENVIRONMENT
        (found,) = of_rule(judged(document), ENVIRONMENT)
        stated = "" if limit else " (common practice, the drive states none)"
        assert found.parameters["assumed"] == stated


def test_altitude_limit_of_the_drive() -> None:
    for limit, expected in (("2000", []), ("1500", [("review", "high")])):
        document = changed(high_site(), {"/drive/altitude_limit": q(limit, "m")})
        assert verdicts(document, ENVIRONMENT) == expected


# -- one phase ----------------------------------------------------------------------------------


def one_phase(**more: object) -> Document:
    """The booster's drive on a single phase."""
    supply = {"/site/supply_phases": 1, "/event/supply/line_voltages": [q("480", "V")]}
    return changed(booster(), supply | more)


def test_half_is_taken_where_the_drive_states_nothing() -> None:
    assert verdicts(one_phase(), SINGLE) == [("stop", "single_phase_load")]  # 38.5 A
    assert verdicts(one_phase(), RATED) == []
    enough = one_phase(**{NORMAL: q("140", "A")})
    assert verdicts(enough, SINGLE) == []  # 70 A


def test_the_drives_own_single_phase_rating_goes_first() -> None:
    stated = "/drive/rated_current_single_phase_supply"
    for amperes, expected in (("70", []), ("62", [("review", "single_phase")])):
        assert verdicts(one_phase(**{stated: q(amperes, "A")}), SINGLE) == expected


def test_a_drive_made_for_one_phase_is_no_question() -> None:
    judgement = judged(one_phase(**{"/drive/input_phases": "1"}))
    assert of_rule(judgement, SINGLE) == []
    assert lacking(judgement, SINGLE) == []
    assert of_rule(judgement, RATED) == []


# -- carrier ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("carrier", "expected"),
    [
        ("4", []),
        ("6", []),  # 77 x 0.9 = 69.3 A at 5 % per kHz
        ("7", [("review", "carrier")]),  # 65.5 A
        ("10", [("stop", "carrier_load")]),  # 53.9 A
    ],
)
def test_carrier_frequency(carrier: str, expected: list[tuple[str, str]]) -> None:
    document = changed(
        rated("77", **{"/drive/carrier_derating_per_khz": q("5", "%")}),
        settings({"carrier_frequency": q(carrier, "kHz")}),
    )
    assert verdicts(document, CARRIER) == expected
    assert verdicts(document, RATED) == []


def test_a_derating_that_is_not_known_is_named() -> None:
    document = changed(booster(), settings({"carrier_frequency": q("8", "kHz")}))
    (missing,) = lacking(judged(document), CARRIER)
    assert missing.needs == ("/drive/carrier_derating_per_khz",)
    assert lacking(judged(document), RATED) == []


def test_the_rating_for_heavy_duty_alone_does_not_show_a_drive_too_small() -> None:
    """72 A for heavy duty say nothing of what the drive gives at normal duty."""
    alone = without(changed(booster(), {HEAVY: q("60", "A")}), "/drive/rated_current_normal_duty")
    (missing,) = lacking(judged(alone), RATED)
    assert missing.needs == ("/drive/rated_current_normal_duty",)
    enough = changed(alone, {HEAVY: q("72", "A")})
    assert verdicts(enough, RATED) == []


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        # 1500 m takes 5 %. At most 60.7 A are expected at 60 Hz, with 5 % of doubt 63.7 A.
        ("72", [("note", "altitude_fits")]),  # 68.4 A
        ("66.8", [("review", "rated")]),  # too small for the plate before any factor
    ],
)
def test_what_altitude_takes_is_no_question_where_the_load_fits(
    amperes: str, expected: list[tuple[str, str]]
) -> None:
    high = rated(amperes, **{"/site/elevation": q("1500", "m")})
    assert verdicts(high, RATED) == expected


def test_the_note_tells_what_is_expected_and_the_current_limit() -> None:
    document = rated("72", **{"/site/elevation": q("1500", "m")})
    (found,) = of_rule(judged(document), RATED)
    told = finding_document(found, "")
    assert "At 60 Hz 60.7 A is the highest current expected" in told["sentence"]
    assert "limit to 68.4 A at most" in str(told["remedy"])


def test_a_current_that_was_read_above_what_is_left_keeps_it_a_question() -> None:
    # 72 A x 0.95 = 68.4 A, 68.5 A read
    read = {"/event/duty_points/0/currents_drive_output": [q("68.5", "A")] * 3}
    high = rated("72", **{"/site/elevation": q("1500", "m")}, **read)
    assert verdicts(high, RATED) != [("note", "altitude_fits")]


def test_the_frequency_to_limit_to_is_one_that_then_fits() -> None:
    """By hand: T goes with n^2, I = In sqrt(0.16 + 0.84 t^2), In = 68.7 A.

    t = 0.850 at 1770 rpm, so 0.859 at the 1778.5 rpm of 60 Hz (test_load), 60.7 A. 500 m above
    1000 m at 5 % for each 100 m leave 51.5 A; 5 % of doubt off 49.1 A: t = sqrt((0.5087 - 0.16) /
    0.84) = 0.6443, at 1770 sqrt(0.6443 / 0.850) = 1541 rpm, and 16 rpm of slip: 51.9 Hz.
    """
    place = {"/site/elevation": q("1500", "m"), "/drive/derating_per_100m": q("5.0", "%")}
    document = rated("68.7", **place)
    (found,) = of_rule(judged(document), RATED)
    assert (found.severity, found.variant) == ("stop", "altitude_load")
    remedy = finding_document(found, "")["remedy"]
    assert "limit the maximum frequency to 51.5 Hz (60.7 A is expected at 60 Hz)" in remedy
    lowered = changed(document, {"/event/settings/as_left/maximum_frequency": q("51.5", "Hz")})
    assert verdicts(without_points(lowered), RATED) == [("note", "altitude_fits")]
    raised = changed(document, {"/event/settings/as_left/maximum_frequency": q("52.0", "Hz")})
    assert verdicts(without_points(raised), RATED) == [("review", "altitude")]


def without_points(document: Document) -> Document:
    """Without readings, which were taken at higher frequencies."""
    return without(document, "/event/duty_points")


def test_all_that_takes_from_the_current_is_named():
    """1800 m: 1 % per 100 m above 1000 m, 0.92; 46 degC: 1 % per K above 40 degC, 0.94; 8 kHz
    where 4 kHz are rated, 3 % a kHz: 0.88 (common practice, no source). 77 A become 58.6 A.
    """
    places = {
        "/site/elevation": q("1800", "m"),
        "/drive/ambient_at_drive": q("46", "degC"),
        "/drive/carrier_derating_per_khz": q("3", "%"),
        "/event/settings/as_left/carrier_frequency": q("8", "kHz"),
    }
    (found,) = of_rule(judged(changed(booster(), places)), "drive.rated-current")
    assert found.parameters["cause"] == (
        "Taken together at this altitude (0.92), in the air of its cabinet (0.94) and at this "
        "carrier frequency (0.88)"
    )
    assert found.parameters["available"] == "58.6 A"
    alone = {"/site/elevation": q("2200", "m")}  # 0.88: 67.8 A of 68.7 A
    (found,) = of_rule(judged(changed(booster(), alone)), "drive.rated-current")
    assert found.parameters["cause"] == "At this altitude (factor 0.88)"
