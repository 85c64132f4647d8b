"""Delays that are set. Limits: common practice, no source."""

import pytest

from tests.calculations import stations
from tests.calculations.building import booster, changed, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left, lift_station

RULE = "protection.delay-set"


@pytest.mark.parametrize(
    ("name", "longest"),
    [
        ("high_discharge_limit_delay", 10),
        ("low_suction_limit_delay", 60),
        ("dry_run_delay", 60),
        ("no_flow_delay", 300),
        ("low_discharge_limit_delay", 600),
        ("signal_loss_delay", 30),
        ("sleep_delay", 900),
        ("wake_delay", 60),
    ],
)
def test_each_delay(name, longest):
    base = changed(booster(), left(no_flow_response="stop"))
    assert verdicts(changed(base, left(**{name: q(f"{longest}", "s")})), RULE) == []
    late = changed(base, left(**{name: q(f"{longest + 1}", "s")}))
    assert verdicts(late, RULE) == [("review", name)]
    minutes = changed(base, left(**{name: q("16", "min")}))
    assert verdicts(minutes, RULE) == [("review", name)]


@pytest.mark.parametrize(
    ("delay", "of"),
    [
        ("high_discharge_limit_delay", {"high_discharge_limit": None}),
        ("dry_run_delay", {"dry_run_method": "none"}),
        ("no_flow_delay", {"no_flow_response": "none"}),
        ("signal_loss_delay", {"signal_loss_response": "none"}),
        ("sleep_delay", {"sleep_frequency": None}),
    ],
)
def test_a_delay_of_nothing_holds_nothing_back(delay, of):
    assert verdicts(changed(booster(), left(**{delay: q("3600", "s")}) | left(**of)), RULE) == []


def test_a_well_that_is_pumped_down_may_wait_to_wake():
    slow = left(wake_delay=q("600", "s"), wake_value=q("2", "m"))
    assert verdicts(changed(lift_station(), slow), RULE) == []


def test_without_settings_nothing_is_held_back():
    assert verdicts(without(booster(), "/event/settings"), RULE) == []
    assert verdicts(without(booster(), f"{LEFT}/high_discharge_limit_delay"), RULE) == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"automatic_reset_delay": q("0", "s"), "automatic_reset_count": 3}, ["reset"]),
        ({"automatic_reset_delay": q("0.9", "s"), "automatic_reset_count": 20}, ["reset"]),
        ({"automatic_reset_delay": q("1", "s"), "automatic_reset_count": 3}, []),
        ({"automatic_reset_delay": q("0", "s"), "automatic_reset_count": 0}, []),
        ({"automatic_reset_delay": q("0", "s"), "automatic_reset_count": None}, []),
        ({"dry_run_retry_delay": q("0", "s")}, ["retry"]),
        ({"dry_run_retry_delay": q("9", "s")}, ["retry"]),
        ({"dry_run_retry_delay": q("10", "s")}, []),
        ({"dry_run_retry_delay": q("0", "s"), "dry_run_response": "stop"}, []),
    ],
)
def test_what_comes_again_pauses_before(changes, expected):
    """1 s before a reset, 10 s before a dry pump is tried again: common practice, no source."""
    found = verdicts(changed(booster(), left(**changes)), "protection.delay-set")
    assert found == [("review", variant) for variant in expected]


def test_the_reset_of_a_well_pump_is_told_by_its_own_rule():
    document = changed(stations.well(), left(automatic_reset_delay=q("0", "s")))
    assert verdicts(document, "protection.delay-set") == []
    assert verdicts(document, "well.restart") == [("review", "reset")]
