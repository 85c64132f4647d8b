"""The drive's own overload; O01 to O03: NFPA 70 430.32 for 57.6 A."""

import pytest

from calculations.findings import Judgement
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
from tests.calculations.stations import LEFT, settings, well

RULE = "drive.overload-setting"


def set_to(current: str, unit: str = "A", **site: str) -> Document:
    """The booster (68.7 A, service factor 1.15) with another overload."""
    document = changed(booster(), settings({"overload_current": q(current, unit)}))
    return changed(document, {f"/site/{name}": value for name, value in site.items()})


@pytest.mark.parametrize(
    ("current", "practice", "severity"),
    [
        ("68.7", "us_nec", []),
        ("72.1", "us_nec", []),  # 104.9 %
        ("72.4", "us_nec", ["review"]),  # 105.4 %
        ("85.8", "us_nec", ["review"]),  # 124.9 %; 1.25 x 68.7 = 85.9 A
        ("86.2", "us_nec", ["stop"]),  # 125.5 %
        ("75.4", "iec", ["review"]),  # 109.8 %
        ("76.0", "iec", ["stop"]),  # 110.6 %
        ("76.0", "us_nec", ["review"]),
        ("85.8", "canadian", ["review"]),  # 28-306: the shares of the United States, from memory
        ("86.2", "canadian", ["stop"]),
    ],
)
def test_boundaries(current: str, practice: str, severity: list[str]) -> None:
    document = set_to(current, electrical_practice=practice)
    assert [each for each, _ in verdicts(document, RULE)] == severity
    assert verdicts(in_metric(document), RULE) == verdicts(document, RULE)


def test_without_service_factor_the_limit_is_115_percent() -> None:
    # 1.15 x 68.7 = 79.0 A (430.32(A)(1), "all other motors")
    plain = {"/motor/service_factor": q("1.0", "1")}
    assert [s for s, _ in verdicts(changed(set_to("78.8"), plain), RULE)] == ["review"]
    assert [s for s, _ in verdicts(changed(set_to("79.4"), plain), RULE)] == ["stop"]


def test_percent_counts_from_the_plate() -> None:
    assert verdicts(set_to("100", "%"), RULE) == []
    assert verdicts(set_to("110", "%"), RULE) == [("review", "over")]
    assert verdicts(set_to("130", "%"), RULE) == [("stop", "over")]


@pytest.mark.parametrize(
    ("current", "variant"),
    [
        ("79", "service_factor"),  # 1.15 x 68.7
        ("85.8", "separate"),  # 1.25 x 68.7
        ("77", "table"),  # the code's 77 A for 60 hp at 460 V
        ("96.3", "table"),  # 1.25 x 77 A, the trap of O03
        ("90", "over"),
    ],
)
def test_where_a_high_figure_comes_from(current: str, variant: str) -> None:
    ((_, found),) = verdicts(set_to(current), RULE)
    assert found == variant


def test_the_code_s_table_explains_nothing_elsewhere() -> None:
    found = of_rule(judged(set_to("77", electrical_practice="iec")), RULE)
    assert [each.variant for each in found] == ["over"]


@pytest.mark.parametrize(
    ("current", "expected"),
    [
        # Highest reading 52.7 A; 60.5 A to expect at maximum frequency, less 5 %: 57.5 A.
        ("58.0", []),
        ("57.7", []),
        ("57.0", [("review", "low")]),
        ("52.0", [("review", "trips")]),
    ],
)
def test_too_low_trips_in_service(current: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(set_to(current), RULE) == expected


def test_below_the_plate_is_silent_where_nothing_is_known_of_the_load() -> None:
    document = without(set_to("50"), "/pump/curve_points", "/event/duty_points")
    assert verdicts(document, RULE) == []


def test_an_immersed_motor_goes_by_its_service_factor_current() -> None:
    # 96.0 A is the setting: 84.1 A suits the load, 101.2 A is 105.4 %. What is refused goes by the
    # full-load current of the plate (NFPA 70 430.32(A)(1)): 1.25 x 84.1 A = 105.1 A.
    for current, severity in (
        ("96.0", []), ("84.1", []), ("101.2", ["review"]), ("104.9", ["review"]),
        ("105.7", ["stop"]), ("121", ["stop"]),
    ):  # fmt: skip
        document = changed(well(), settings({"overload_current": q(current, "A")}))
        assert [each for each, _ in verdicts(document, RULE)] == severity


def well_of_57_amperes(overload: str, **more: Document) -> Document:
    """57 A at full load, 64 A at the service factor."""
    plate = {
        "/motor/ratings/0/current": q("57", "A"),
        "/motor/service_factor_current": q("64", "A"),
    }
    left = {"motor_current": q("57", "A"), "overload_current": q(overload, "A")}
    return changed(well(), plate | settings(left) | more)


def test_both_limits_of_an_immersed_motor_are_one() -> None:
    # 1.25 x 57 = 71.25 A (430.32(A)(1)), not 1.25 x 64 = 80 A: 78 A is beyond.
    judgement = judged(well_of_57_amperes("64"))
    for limit in ("drive.overload-refused-above", "motor.separate-overload-limit"):
        assert derived(judgement, limit).si == pytest.approx(71.25)
    assert derived(judgement, "drive.overload-setting").si == 64


def test_the_service_factor_current_is_called_by_its_name() -> None:
    document = without(well_of_57_amperes("78"), "/pump/curve_points", "/event/duty_points")
    (found,) = of_rule(judged_of_a_plate_in_balance(document), RULE)
    assert found.severity == "stop"
    assert "of the service-factor current of 64 A" in finding_document(found, "")["sentence"]


def judged_of_a_plate_in_balance(document: Document) -> Judgement:
    """The well's plate with the power that 57 A mean: 57 / 84.1 x 60 hp = 40.7 hp."""
    power = {"/motor/ratings/0/power": q("40.7", "hp")}
    return judged(changed(document, power | settings({"motor_power": q("40.7", "hp")})))


def test_what_the_plate_says_itself_is_never_refused() -> None:
    # Without a service factor of 1.15, 1.15 x 57 = 65.6 A; 68 A printed are more.
    plain = {"/motor/service_factor": q("1.0", "1"), "/motor/service_factor_current": q("68", "A")}
    judgement = judged(well_of_57_amperes("68", **plain))
    assert derived(judgement, "drive.overload-refused-above").si == 68


def test_one_wrong_figure_for_both_is_told_once() -> None:
    both = {"motor_current": q("137", "A"), "overload_current": q("137", "A")}
    judgement = judged(changed(booster(), settings(both)))
    serious = [each.rule for each in judgement.findings]
    assert serious == ["drive.motor-current"]
    (waiting,) = lacking(judgement, RULE)
    assert waiting.waits_for == "drive.motor-current"


def test_the_graver_of_two_is_not_hidden() -> None:
    # 83 A is 120.8 %: a question as motor current, over 115 % as overload without service factor.
    both = {"motor_current": q("83", "A"), "overload_current": q("83", "A")}
    document = changed(booster(), settings(both) | {"/motor/service_factor": q("1.0", "1")})
    assert [each for each, _ in verdicts(document, RULE)] == ["stop"]


def test_an_unknown_practice_is_judged_by_the_most_generous() -> None:
    document = without(set_to("86.2"), "/site/electrical_practice")
    assert [each for each, _ in verdicts(document, RULE)] == ["stop"]
    document = without(set_to("76.0"), "/site/electrical_practice")
    assert [each for each, _ in verdicts(document, RULE)] == ["review"]


def test_values_for_57_6_amperes() -> None:
    # O01: setting 57.6 A; 1.25 x 57.6 = 72.00 A for a separate device
    plate = {"/motor/ratings/1/current": q("57.6", "A")}
    judgement = judged(changed(booster(), plate))
    assert derived(judgement, "drive.overload-setting").shown.value == "57.6"
    assert derived(judgement, "drive.overload-refused-above").shown.value == "72"
    assert derived(judgement, "motor.separate-overload-limit").shown.value == "72"


def test_a_missing_setting_is_named() -> None:
    (missing,) = lacking(judged(without(booster(), f"{LEFT}/overload_current")), RULE)
    assert missing.needs == (f"{LEFT}/overload_current",)


def test_a_motor_that_may_be_immersed_may_be_set_to_its_service_factor_current() -> None:
    """78 A are 113.5 % of 68.7 A: the service factor of 1.15 explains it for an immersed motor."""
    document = changed(booster(), {"/event/settings/as_left/overload_current": q("78", "A")})
    assert verdicts(document, "drive.overload-setting") == [("review", "service_factor")]
    unsaid = without(document, "/motor/immersed")  # cooled by a fan on its shaft: dry
    assert verdicts(unsaid, "drive.overload-setting") == [("review", "service_factor")]
    unknown = changed(unsaid, {"/motor/cooling": "other"})
    (missing,) = lacking(judged(unknown), "drive.overload-setting")
    assert missing.needs == ("/motor/immersed", "/motor/service_factor_current")
    printed = changed(unknown, {"/motor/service_factor_current": q("79", "A")})
    (missing,) = lacking(judged(printed), "drive.overload-setting")
    assert missing.needs == ("/motor/immersed",)
    more = changed(unknown, {"/event/settings/as_left/overload_current": q("90", "A")})
    assert verdicts(more, "drive.overload-setting") == [("stop", "over")]


@pytest.mark.parametrize(("current", "silent"), [("79.4", True), ("80.2", False)])
def test_how_near_its_service_factor_may_explain_it(current, silent):
    """1.15 x 68.7 A and 1 % more are 79.8 A; half of the last digits is 0.2 % besides."""
    over = {"/event/settings/as_left/overload_current": q(current, "A"), "/motor/cooling": "other"}
    document = changed(without(booster(), "/motor/immersed"), over)
    assert bool(lacking(judged(document), RULE)) is silent
    assert bool(verdicts(document, RULE)) is not silent


@pytest.mark.parametrize(
    ("build", "tells"),
    [
        ({"/motor/cooling": "shaft_fan"}, True),
        ({"/motor/cooling": "separate_fan"}, True),
        ({"/motor/cooling": "non_ventilated"}, False),
        ({"/motor/cooling": None}, True),  # on a vertical multistage pump
        ({"/motor/cooling": None, "/pump/type": "other"}, False),
        ({"/motor/cooling": None, "/pump/type": "other", "/motor/enclosure": "open_drip_proof"},
         True),
        ({"/motor/cooling": "immersed"}, False),
        ({"/motor/cooling": "jacket"}, False),
        ({"/motor/enclosure": "submersible"}, False),
        ({"/pump/type": "submersible_sewage"}, False),
    ],
)  # fmt: skip
def test_what_the_build_shows_needs_no_word_of_the_liquid(
    build: dict[str, object], tells: bool
) -> None:
    """78 A on 68.7 A, the service factor, where nobody said whether the motor is immersed."""
    over = {"/event/settings/as_left/overload_current": q("78", "A")}
    document = changed(without(changed(booster(), over), "/motor/immersed"), build)
    expected = [("review", "service_factor")] if tells else []
    assert verdicts(document, "drive.overload-setting") == expected
    assert bool(lacking(judged(document), "drive.overload-setting")) is not tells
