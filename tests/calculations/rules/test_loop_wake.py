"""Wake of the booster: 85 psi kept, 60 psi of service at least, 33 psi of suction at times."""

import pytest

from calculations.rules.loop_wake import WAKE_RULE
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
from tests.calculations.whole_stations import LEFT, left, lift_station

WAKE = "loop.wake"


@pytest.mark.parametrize(
    ("value", "basis", "expected"),
    [
        ("79", "absolute", []),
        ("84", "absolute", []),  # 0.5 % of 200 psi below the set point
        ("84.1", "absolute", [("review", "at_once")]),
        ("85", "absolute", [("review", "wrong_side")]),
        ("90", "absolute", [("review", "wrong_side")]),
        ("60", "absolute", []),
        ("59", "absolute", [("review", "service")]),
        ("6", "below_set_point", []),
        ("0.9", "below_set_point", [("review", "at_once")]),
        ("26", "below_set_point", [("review", "service")]),  # 59 psi
        ("79", "below_set_point", [("review", "basis_service")]),  # 6 psi: a value as difference
        ("6", "absolute", [("review", "service")]),  # a difference taken as a value
    ],
)
def test_wake(value, basis, expected):
    document = changed(booster(), left(wake_value=q(value, "psi"), wake_basis=basis))
    assert verdicts(document, WAKE) == expected
    assert verdicts(in_metric(document), WAKE) == expected


def test_suction_alone_may_hold_the_wake_value():
    """70 psi of suction at times: the header never falls to the 65 psi that wake it."""
    high = {"/site/suction_pressure_high": q("70", "psi")}
    document = changed(booster(), high | left(wake_value=q("65", "psi")))
    assert verdicts(document, WAKE) == [("review", "never")]


def test_wake_of_a_level_pumped_down_lies_above_the_set_point():
    """The loop's inequalities are mirrored: 1.1 m kept, asleep below, woken above."""
    for value, expected in (("1.5", []), ("1.0", [("review", "wrong_side")])):
        wakes = left(sleep_method="power", wake_value=q(value, "m"), wake_basis="absolute")
        assert verdicts(changed(lift_station(), wakes), WAKE) == expected


def test_wake_names_what_it_lacks():
    (missing,) = lacking(judged(without(booster(), f"{LEFT}/wake_basis")), WAKE)
    assert missing.needs == (f"{LEFT}/wake_basis",)


def told(value, basis):
    document = changed(booster(), left(wake_value=q(value, "psi"), wake_basis=basis))
    (finding,) = of_rule(judged(document), WAKE)
    return WAKE_RULE.remedy(finding)


def test_a_difference_is_never_told_to_be_raised():
    """It wakes at the set point less it: 85 - 60 = 25 psi, and no more, keep the service."""
    better = told("26", "below_set_point")
    assert better == "Set the difference to the set point to 25 psi or less."
    right = left(wake_value=q("25", "psi"), wake_basis="below_set_point")
    assert verdicts(changed(booster(), right), WAKE) == []


def test_a_value_that_is_taken_for_a_difference_is_named():
    """79 psi under 85 psi would wake at 6 psi; as a value it serves, as 6 psi of difference too."""
    assert told("79", "below_set_point") == (
        "Set the basis of the wake value to absolute, or the wake value to a difference of 6 psi."
    )
    # 50 psi would be below the service as a value as well: what is meant is not known.
    assert told("50", "below_set_point") == "Set the difference to the set point to 25 psi or less."


def test_a_difference_that_is_taken_for_a_value_is_named():
    assert told("6", "absolute") == (
        "Set the wake value to 60 psi or more, or its basis to below the set point if a "
        "difference is meant."
    )
    assert told("50", "absolute") == "Set the wake value to 60 psi or more."


def test_a_basis_is_named_where_suction_alone_holds_the_wake_value():
    """No service is asked for; 33 psi of suction at the pump are above the 6 psi it wakes at."""
    document = without(booster(), "/site/minimum_service_pressure")
    document = changed(document, left(wake_value=q("79", "psi"), wake_basis="below_set_point"))
    assert verdicts(document, WAKE) == [("review", "basis_never")]


def test_the_basis_is_named_without_the_suction_too():
    """What the suction holds is not needed to see that 6 psi serve nobody."""
    document = without(booster(), "/site/suction_pressure_high")
    document = changed(document, left(wake_value=q("79", "psi"), wake_basis="below_set_point"))
    assert verdicts(document, WAKE) == [("review", "basis_service")]


@pytest.mark.parametrize(
    ("value", "basis", "expected"),
    [
        ("29.9", "below_set_point", []),
        ("30", "below_set_point", [("review", "never_difference")]),
        ("0.1", "absolute", []),
        ("0", "absolute", [("review", "never_difference")]),
    ],
)
def test_a_differential_pressure_never_falls_to_nothing(value, basis, expected):
    """30 psi kept across the pump, whose check valve leaves none behind."""
    across = left(
        regulated_quantity="differential_pressure", set_point=q("30", "psi"),
        wake_value=q(value, "psi"), wake_basis=basis,
    )  # fmt: skip
    document = changed(booster(), across | {"/sensors/0/quantity": "differential_pressure"})
    assert verdicts(document, WAKE) == expected


def test_a_difference_of_a_differential_pressure_is_told_to_be_smaller():
    """30 psi kept across the pump: a difference of 35 psi would wake at less than nothing."""
    across = left(
        regulated_quantity="differential_pressure", set_point=q("30", "psi"),
        wake_value=q("35", "psi"), wake_basis="below_set_point",
    )  # fmt: skip
    document = changed(booster(), across | {"/sensors/0/quantity": "differential_pressure"})
    (finding,) = of_rule(judged(document), WAKE)
    assert WAKE_RULE.remedy(finding) == "Set the difference to the set point to less than 30 psi."


def test_a_suction_that_holds_the_set_point_is_questioned_itself():
    """420 psi at the suction hold more than any set point: no wake value helps."""
    document = changed(
        booster(), {"/site/suction_pressure_high": q("420", "psi")} | left(wake_basis="absolute")
    )
    (found,) = of_rule(judged(document), "loop.wake")
    assert found.variant == "never"
    assert found.parameters["better"].startswith("Check set point and highest suction")
