"""Protections: proven, at their value, and all that the station needs. No published source."""

import pytest

from calculations.catalogue import rule
from tests.calculations.building import (
    booster,
    case,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.stations import well
from tests.calculations.whole_stations import booster_in_percent, left, lift_station

TESTS = "/event/protection_tests"


def functions_of(document) -> list[str]:
    return [each["function"] for each in document["event"]["protection_tests"]]


def without_test(document, *functions: str):
    places = [f"{TESTS}/{i}" for i, each in enumerate(functions_of(document)) if each in functions]
    return without(document, *reversed(places))


# -- protection.failed --------------------------------------------------------------------------


@pytest.mark.parametrize(("passed", "expected"), [(True, []), (False, [("stop", "failed")])])
def test_failed(passed, expected):
    assert (
        verdicts(changed(booster(), {f"{TESTS}/0/passed": passed}), "protection.failed") == expected
    )


def test_a_test_without_result_is_missing_it():
    (missing,) = lacking(judged(without(booster(), f"{TESTS}/0/passed")), "protection.failed")
    assert missing.needs == (f"{TESTS}/0/passed",)


# -- protection.trip-value ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("acted", "expected"),
    [
        # 125 psi, 5 % are 6.25 psi, and half of the reading's last digit.
        ("131.2", []),
        ("131.7", [("review", "apart")]),
        ("118.7", []),
        ("118.3", [("review", "apart")]),
    ],
)
def test_value_at_which_it_acted(acted, expected):
    document = changed(booster(), {f"{TESTS}/1/limit_at_trip": q(acted, "psi")})
    assert verdicts(document, "protection.trip-value") == expected


def test_limits_in_percent_are_compared_in_units():
    """62.5 % of 200 psi are 125 psi."""
    right = changed(booster_in_percent(), {f"{TESTS}/1/limit_at_trip": q("125", "psi")})
    assert verdicts(right, "protection.trip-value") == []
    wrong = changed(booster_in_percent(), {f"{TESTS}/1/limit_at_trip": q("62.5", "psi")})
    assert verdicts(wrong, "protection.trip-value") == [("review", "apart")]


def test_a_limit_near_zero_is_not_judged_to_a_hair():
    """1 % of the loop's span of 200 psi: 2 psi around a limit of 1 psi."""
    low = left(low_suction_limit=q("1", "psi"), low_suction_limit_measured_by="pressure_switch")
    for acted, expected in (("2.8", []), ("3.6", [("review", "apart")])):
        document = changed(booster(), low | {f"{TESTS}/0/limit_at_trip": q(acted, "psi")})
        assert verdicts(document, "protection.trip-value") == expected


@pytest.mark.parametrize(("acted", "expected"), [("0.40", []), ("0.46", ["0.26 psi higher"])])
def test_a_low_suction_limit_near_zero_by_the_span_of_its_sensor(acted, expected):
    """1 % of 20 psi around a limit of 0.2 psi, and half of the last digits: up to 0.405 psi.

    What is told is the distance, since 130 % of next to nothing say nothing, nor does a share of
    something else. 0.46 - 0.20 = 0.26 psi.
    """
    low = left(low_suction_limit=q("0.20", "psi")) | {
        "/sensors/1/upper_range_value": q("20", "psi"),
        f"{TESTS}/0/limit_at_trip": q(acted, "psi"),
    }
    found = of_rule(judged(changed(booster(), low)), "protection.trip-value")
    assert [each.parameters["difference"] for each in found] == expected


@pytest.mark.parametrize(
    ("acted", "expected"),
    [("2.0", []), ("2.1", [("review", "apart")]), ("0.0", []), ("-0.1", [("review", "apart")])],
)
def test_a_limit_near_zero_in_percent_may_be_off_by_one_of_them(acted, expected):
    """1.0 %, and half of the reading's last digit."""
    low = left(high_discharge_limit=q("1.0", "%"))
    document = changed(booster_in_percent(), low | {f"{TESTS}/1/limit_at_trip": q(acted, "%")})
    assert verdicts(document, "protection.trip-value") == expected


def test_without_a_loop_half_of_the_limits_last_digit_is_allowed():
    """1 psi may be 0.5 to 1.5 psi."""
    low = left(low_suction_limit=q("1", "psi"), set_point=None)
    for acted, expected in (("1.5", []), ("1.8", [("review", "apart")])):
        document = changed(booster(), low | {f"{TESTS}/0/limit_at_trip": q(acted, "psi")})
        assert verdicts(document, "protection.trip-value") == expected


@pytest.mark.parametrize(("acted", "expected"), [("1.1", []), ("1.2", [("review", "apart")])])
def test_a_level_beside_a_loop_on_pressure_has_no_part_of_its_span(acted, expected):
    """1.0 ft may be 0.95 to 1.05 ft, and so may the reading."""
    level = left(dry_run_method="level", dry_run_threshold=q("1.0", "ft"))
    test = {f"{TESTS}/0/function": "dry_run", f"{TESTS}/0/limit_at_trip": q(acted, "ft")}
    assert verdicts(changed(booster(), level | test), "protection.trip-value") == expected


@pytest.mark.parametrize(("acted", "expected"), [("0.05", []), ("0.06", [("review", "apart")])])
def test_a_pressure_beside_a_loop_on_level_has_no_part_of_its_span(acted, expected):
    """0.0 bar may be -0.05 to 0.05 bar, and the reading 5 mbar more."""
    test = {f"{TESTS}/0/function": "low_suction", f"{TESTS}/0/limit_at_trip": q(acted, "bar")}
    document = changed(lift_station(), left(low_suction_limit=q("0.0", "bar")) | test)
    assert verdicts(document, "protection.trip-value") == expected


def test_a_reading_of_another_kind_is_not_compared():
    document = changed(booster(), {f"{TESTS}/1/limit_at_trip": q("48", "Hz")})
    assert verdicts(document, "protection.trip-value") == []


# -- protection.missing ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("station", "function", "expected"),
    [
        (booster, "low_suction", [("review", "plain")]),
        (booster, "high_pressure", [("review", "plain")]),
        (booster, "loss_of_feedback", [("review", "plain")]),
        (booster, "power_loss_restart", [("review", "plain")]),
        (booster, "emergency_stop", []),
        (well, "dry_run", [("stop", "dry")]),
        (lift_station, "float_backup", [("stop", "float")]),
        (lift_station, "lag_takeover", [("review", "plain")]),
        (lift_station, "high_pressure", []),
    ],
)
def test_missing(station, function, expected):
    assert verdicts(without_test(station(), function), "protection.missing") == expected


def test_leak_or_temperature_of_an_immersed_motor():
    assert verdicts(without_test(lift_station(), "seal_leak"), "protection.missing") == []
    neither = without_test(lift_station(), "seal_leak", "motor_overtemperature")
    assert verdicts(neither, "protection.missing") == [("review", "plain")]


@pytest.mark.parametrize(
    ("leak_sensor", "thermal", "expected"),
    [
        (True, "none", [("review", "plain")]),
        (False, "ptc", [("review", "plain")]),
        (False, "none", []),
    ],
)
def test_only_a_sensor_that_is_fitted_has_to_be_proven(leak_sensor, thermal, expected):
    neither = without_test(lift_station(), "seal_leak", "motor_overtemperature")
    fitted = {"/motor/leak_sensor": leak_sensor, "/motor/thermal_sensor": thermal}
    assert verdicts(changed(neither, fitted), "protection.missing") == expected


@pytest.mark.parametrize(("pumps", "expected"), [(None, []), (1, []), (2, [("review", "plain")])])
def test_one_pump_alone_has_none_that_takes_over(pumps, expected):
    alone = left(pumps_in_group=pumps, pumps_maximum_running=None, pump_arrangement=None)
    document = changed(without_test(lift_station(), "lag_takeover"), alone)
    assert verdicts(document, "protection.missing") == expected


def test_no_loop_no_lost_feedback():
    """The well is driven by an external controller."""
    assert verdicts(without_test(well(), "loss_of_feedback"), "protection.missing") == []


@pytest.mark.parametrize("task", ["float_backup", "float backup", "Float backup, pump locked out"])
def test_what_was_impossible_is_excused(task):
    excuse = {"/event/not_possible": [{"task": task, "reason": "station full"}]}
    document = changed(without_test(lift_station(), "float_backup"), excuse)
    assert verdicts(document, "protection.missing") == []


@pytest.mark.parametrize("task", ["restart after power loss", "Restart after power loss"])
def test_the_words_of_the_finding_excuse_it(task):
    """The sentence: No test is recorded of restart after power loss, which ..."""
    document = without_test(booster(), "power_loss_restart")
    assert verdicts(document, "protection.missing") == [("review", "plain")]
    excuse = {"/event/not_possible": [{"task": task, "reason": "no second feed"}]}
    assert verdicts(changed(document, excuse), "protection.missing") == []


def test_no_dry_run_protection_is_one_finding():
    document = changed(without_test(well(), "dry_run"), left(dry_run_method="none"))
    assert verdicts(document, "protection.missing") == []
    assert verdicts(document, "well.dry-run") == [("review", "none")]


def test_only_a_start_up_needs_them_all():
    document = changed(without_test(booster(), "low_suction"), {"/event/kind": "re_verification"})
    assert verdicts(document, "protection.missing") == []


def test_missing_names_what_it_lacks():
    judgement = judged(without(booster(), TESTS))
    (missing,) = lacking(judgement, "protection.missing")
    assert missing.needs == (TESTS,)
    assert [each.subject for each in of_rule(judgement, "record.missing")] == [TESTS]


def test_a_limit_in_percent_is_not_compared_with_another_quantity():
    document = changed(booster_in_percent(), {f"{TESTS}/1/limit_at_trip": q("48", "Hz")})
    (missing,) = lacking(judged(document), "protection.trip-value")
    assert missing.because == "% and Hz are not compared"


@pytest.mark.parametrize(
    ("changes", "expected"),
    [({}, [("review", "kinds")]), (left(high_discharge_limit=None), [])],
)
def test_a_reading_of_another_quantity_of_the_process_is_told(changes, expected):
    document = changed(booster(), {f"{TESTS}/1/limit_at_trip": q("48", "gpm")} | changes)
    assert verdicts(document, "protection.trip-value") == expected


@pytest.mark.parametrize(
    ("function", "waits"),
    [("low_suction", False), ("high_pressure", True), ("loss_of_feedback", False)],
)
def test_only_a_limit_on_what_is_regulated_waits_for_its_scaling(function, waits):
    """The suction has a sensor of its own, and a lost signal no setting."""
    at = functions_of(booster()).index(function)
    waits_at = rule("protection.trip-value").waits_at
    assert waits_at(case(booster()), f"{TESTS}/{at}") is waits


UNSET = left(
    dry_run_method="none", low_suction_limit_response="none", low_suction_limit=None,
    dry_run_response=None, dry_run_threshold=None, low_discharge_limit=None,
)  # fmt: skip


@pytest.mark.parametrize(
    ("regulation", "expected"),
    [
        # The rule of what stops it names that nothing is set, and no test could prove that.
        ("closed_loop_in_drive", ([("review", "none")], [])),
        # Nobody else would say a word of its suction.
        ("open_loop", ([], [("review", "plain")])),
        ("speed_from_external_controller", ([], [("review", "plain")])),
    ],
)
def test_somebody_tells_of_a_suction_that_nothing_watches(regulation, expected):
    """By the one rule or the other, once."""
    document = changed(without_test(booster(), "low_suction"), UNSET | left(regulation=regulation))
    told = judged(document).findings
    of = {
        rule_: [(each.severity, each.variant) for each in told if each.rule == rule_]
        for rule_ in ("protection.dry-run", "protection.missing")
    }
    suction = [each for each in told if each.parameters.get("wanted") == "low suction"]
    assert of["protection.dry-run"] == expected[0]
    assert [(each.severity, each.variant) for each in suction] == expected[1]
