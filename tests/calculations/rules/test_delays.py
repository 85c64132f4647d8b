"""Delays that are set. Limits: common practice, no source."""

import pytest

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
