"""Pressures in order: 30 psi suction < 50 low < 79 wake < 85 set + 3 boost < 125 high < 150 relief
< 175 pipework. The condition is logic and has no source.
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
from tests.calculations.whole_stations import LEFT, booster_in_percent, left

RULE = "loop.limits-order"


def pressures(**values: str):
    return left(**{name: q(value, "psi") for name, value in values.items()})


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, []),
        # 88 psi is what the loop aims at; 2 % of 200 psi are 4 psi.
        (pressures(high_discharge_limit="92"), []),
        (pressures(high_discharge_limit="91.9"), [("note", "near_high")]),
        (pressures(high_discharge_limit="88.1"), [("note", "near_high")]),
        (pressures(high_discharge_limit="88"), [("review", "top_high")]),
        (pressures(high_discharge_limit="80"), [("review", "top_high")]),
        (pressures(low_discharge_limit="78.9"), []),
        (pressures(low_discharge_limit="79"), [("review", "low_wake")]),
        (pressures(low_discharge_limit="85"), [("review", "low_set_point")]),
        (pressures(set_point="59"), [("review", "service")]),
        (pressures(set_point="60", wake_value="60"), []),
        (pressures(set_point="147"), [("review", "top_high")]),
        (pressures(set_point="148"), [("stop", "top_relief")]),  # 151 psi of 150 psi
    ],
)
def test_order(changes, expected):
    document = changed(booster(), changes)
    assert verdicts(document, RULE) == expected
    assert verdicts(in_metric(document), RULE) == expected


@pytest.mark.parametrize(
    ("changes", "names"),
    [
        ({"set_point": "148"}, ("set_point", "highest_aim", "relief_valve")),
        ({"high_discharge_limit": "80"}, ("set_point", "highest_aim", "high_limit")),
        ({"low_discharge_limit": "79"}, ("wake", "low_limit")),
    ],
)
def test_what_was_compared_says_by_its_name_what_it_is(changes, names):
    (finding,) = of_rule(judged(changed(booster(), pressures(**changes))), RULE)
    assert tuple(each.name for each in finding.compared) == names


def test_half_of_a_last_digit_of_the_relief_valve_is_granted():
    """ "150" may be 150.5: 147.4 psi and 3 psi of boost are not evidence."""
    assert verdicts(changed(booster(), pressures(set_point="147.4")), RULE) == [
        ("review", "top_high")
    ]
    assert verdicts(changed(booster(), pressures(set_point="147.6")), RULE) == [
        ("stop", "top_relief")
    ]


def test_pipework_counts_without_a_relief_valve():
    weak = {"/site/relief_valve_setting": None, "/site/discharge_pressure_limit": q("100", "psi")}
    document = changed(booster(), weak | pressures(set_point="99"))
    assert verdicts(document, RULE) == [("stop", "top_pipework")]


def test_the_highest_set_point_of_the_schedule_counts():
    night = [{"set_point": q("149", "psi"), "schedule": "fire fighting"}]
    document = changed(booster(), left(set_point_alternatives=night))
    assert verdicts(document, RULE) == [("stop", "top_relief")]


def test_one_finding_for_a_set_point_that_passes_everything():
    (finding,) = of_rule(judged(changed(booster(), pressures(set_point="180"))), RULE)
    assert finding.variant == "top_relief"


def test_limits_in_percent_of_the_span():
    """42.5 + 1.5 % of 200 psi are 88 psi; a high limit of 44 % is 88 psi as well."""
    document = changed(booster_in_percent(), left(high_discharge_limit=q("44", "%")))
    assert verdicts(document, RULE) == [("review", "top_high")]


def test_a_limit_that_its_sensor_cannot_show_is_left_to_the_other_rule():
    """That it is also above the pipework is said by `protection.high-limit`."""
    document = changed(booster(), pressures(high_discharge_limit="250"))
    assert verdicts(document, RULE) == []
    assert verdicts(document, "loop.limit-measurable") == [("review", "limit")]


def test_a_wake_value_as_a_difference_is_not_compared_as_a_pressure():
    document = changed(booster(), pressures(wake_value="6") | left(wake_basis="below_set_point"))
    assert verdicts(document, RULE) == []


def test_no_more_is_a_difference_above_the_low_limit_where_no_pressure_is_promised():
    document = changed(booster(), pressures(wake_value="6") | left(wake_basis="below_set_point"))
    assert verdicts(without(document, "/site/minimum_service_pressure"), RULE) == []


def test_without_a_wake_value_the_rest_is_in_order():
    document = without(booster(), f"{LEFT}/wake_value")
    for rule in (RULE, "loop.limit-measurable"):
        assert verdicts(document, rule) == lacking(judged(document), rule) == []


def test_a_wake_value_that_is_wrong_in_itself_is_left_to_its_own_rule():
    """3 psi of 200 psi: less than 2 % of span, but above all below the service pressure."""
    document = changed(booster(), left(wake_value=q("3", "psi")))
    assert verdicts(document, "loop.limit-measurable") == []
    assert verdicts(document, "loop.wake") == [("review", "service")]
    unknown = without(document, "/site/minimum_service_pressure")
    assert verdicts(unknown, "loop.limit-measurable") == [("review", "limit")]


# -- low suction ----------------------------------------------------------------------------------

SUCTION = "protection.low-suction-limit"


@pytest.mark.parametrize(
    ("limit", "expected"), [("29.9", []), ("30", [("review", "above")]), ("60", [])]
)
def test_low_suction(limit, expected):
    """The lowest ordinary suction is 30 psi. 60 psi are the end of the sensor: it is told so."""
    document = changed(booster(), pressures(low_suction_limit=limit))
    assert verdicts(document, SUCTION) == expected
    assert verdicts(in_metric(document), SUCTION) == expected


@pytest.mark.parametrize(
    ("place", "changes", "expected"),
    [
        ("suction", {}, []),
        ("unknown", {}, []),
        ("discharge", {}, [("review", "elsewhere")]),
        ("header", {}, [("review", "elsewhere")]),
        ("discharge", {"low_suction_limit_response": "none"}, []),
        ("discharge", {"low_suction_limit_measured_by": "pressure_switch"}, []),
    ],
)
def test_a_suction_sensor_stands_at_the_suction(place, changes, expected):
    """From behind the pump nobody sees the suction fail: logic."""
    document = changed(booster(), {"/sensors/1/location": place} | left(**changes))
    assert verdicts(document, SUCTION) == expected
    bare = without(document, "/site/suction_pressure_low")
    assert verdicts(bare, SUCTION) == expected
    assert lacking(judged(bare), SUCTION) == []


@pytest.mark.parametrize(
    ("limit", "level", "expected"),
    [
        # Worked by hand: a tapping 1.5 ft over the datum under 8.0 ft of water at 60 degF
        # (62.37 lb/ft3: 0.4331 psi/ft) shows 6.5 ft, 2.815 psi.
        ("2.8", "8.0", []),
        ("2.9", "8.0", [("review", "above_level")]),
        ("2.9", "8.2", []),  # 6.7 ft, 2.902 psi
        ("20", "8.0", [("review", "above_level")]),
    ],
)
def test_low_suction_under_a_tank_is_held_against_its_lowest_level(limit, level, expected):
    """Without it a limit over the fullest tank would stop the pump for ever, and nobody told."""
    tank = {
        "/site/suction_kind": "flooded_tank",
        "/site/suction_pressure_low": None,
        "/site/suction_pressure_high": None,
        "/site/suction_level_low": q(level, "ft"),
        "/site/suction_level_high": q("14", "ft"),
        "/event/liquid_temperature": q("60", "degF"),
        "/sensors/1/tapping_elevation": q("1.5", "ft"),
    }
    document = changed(booster(), tank | pressures(low_suction_limit=limit))
    assert verdicts(document, SUCTION) == expected
    switch = left(low_suction_limit_measured_by="pressure_switch")
    assert verdicts(changed(document, switch), SUCTION) == []


def test_a_low_suction_limit_silences_nothing_of_the_loop():
    judgement = judged(changed(booster(), pressures(low_suction_limit="35")))
    assert [each.rule for each in judgement.findings if each.severity == "review"] == [SUCTION]
    assert [each for each in judgement.not_evaluated if each.waits_for == SUCTION] == []


def test_a_low_suction_limit_waits_for_the_loops_scaling_where_the_loop_reads_it():
    wrong = pressures(low_suction_limit="35", feedback_at_upper_signal="300")
    own = changed(booster(), wrong)
    assert verdicts(own, SUCTION) == [("review", "above")]
    of_loop = changed(own, left(low_suction_limit_measured_by="regulating_sensor"))
    (waiting,) = lacking(judged(of_loop), SUCTION)
    assert waiting.waits_for == "loop.scaling"


def test_an_open_loop_has_a_low_suction_limit_too():
    """The limit stops the pump, whatever regulates it."""
    document = changed(
        booster(), left(regulation="open_loop") | pressures(low_suction_limit="35")
    )  # fmt: skip
    assert verdicts(document, SUCTION) == [("review", "above")]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"low_suction_limit_measured_by": "regulating_sensor"}, ("review", "seen")),
        ({"low_suction_limit_measured_by": "discharge_sensor"}, ("review", "seen")),
        ({"low_suction_limit_measured_by": "suction_sensor"}, None),
        ({"low_suction_limit_measured_by": "pressure_switch"}, None),
        ({"low_suction_limit_measured_by": "regulating_sensor",
          "low_suction_limit_response": "none"}, None),
        ({"low_suction_limit_measured_by": "regulating_sensor",
          "regulated_quantity": "suction_pressure"}, None),
    ],
)  # fmt: skip
def test_low_suction_is_not_seen_at_the_discharge(changes, expected):
    """Logic. A passed test of it says that it is read elsewhere: then a slip of writing."""
    document = changed(booster(), left(**changes))
    assert verdicts(document, SUCTION) == ([expected] if expected else [])
    untested = without(document, "/event/protection_tests/0")
    told = [("stop", "blind")] if expected else []
    assert verdicts(untested, SUCTION) == told
    unknown = without(untested, "/site/suction_pressure_low")
    assert verdicts(unknown, SUCTION) == told


# -- what the suction holds by itself -------------------------------------------------------------

AWAKE = without(
    changed(booster(), left(sleep_method="none", minimum_frequency=q("35", "Hz"))),
    *(f"{LEFT}/{name}" for name in ("wake_value", "wake_basis", "wake_delay", "sleep_frequency",
                                    "sleep_delay", "sleep_boost", "sleep_boost_time_limit")),
)  # fmt: skip


@pytest.mark.parametrize(
    ("highest", "expected"),
    [
        # Read 2 ft over the pump; the set point counts at 3 ft: 0.433 psi less.
        ("33", []),
        ("85.40", []),
        ("85.46", [("review", "suction_holds")]),
        ("125.40", [("review", "suction_holds")]),
        ("125.46", [("review", "suction_trips")]),
    ],
)
def test_a_suction_that_alone_holds_set_point_or_trips(highest, expected):
    """Set point 85 psi, high limit 125 psi; at no frequency is the pressure lower."""
    document = changed(AWAKE, {"/site/suction_pressure_high": q(highest, "psi")})
    assert verdicts(document, RULE) == expected


def test_a_drive_that_sleeps_is_told_by_its_wake_value():
    document = changed(booster(), {"/site/suction_pressure_high": q("130", "psi")})
    assert verdicts(document, RULE) == []
    assert verdicts(document, "loop.wake") == [("review", "never")]


def test_without_the_highest_suction_nobody_can_tell():
    document = without(AWAKE, "/site/suction_pressure_high")
    assert "/site/suction_pressure_high" in lacking(judged(document), RULE)[0].needs
