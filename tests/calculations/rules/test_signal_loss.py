"""What is set for a lost feedback has to be there: logic. Its dangers: see the loop's response."""

import pytest

from tests.calculations.building import booster, changed, verdicts
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, lift_station

RULE = "loop.signal-loss"
OTHER = left(signal_loss_response="other_sensor")
SECOND = {"tag": "PT-102", "quantity": "pressure", "location": "discharge"}


@pytest.mark.parametrize(
    ("preset", "expected"),
    [
        ("50", []),
        ("60", []),  # the maximum
        ("61", [("review", "preset_over")]),
        ("70", [("review", "preset_over")]),
        ("5", [("review", "preset_under")]),
        (None, []),
    ],
)
def test_a_preset_speed_is_one_that_the_drive_runs_at(preset, expected):
    frequency = preset and q(preset, "Hz")
    changes = left(signal_loss_response="preset_speed", signal_loss_frequency=frequency)
    assert verdicts(changed(booster(), changes), RULE) == expected
    stops = changed(booster(), changes | left(signal_loss_response="stop"))
    assert verdicts(stops, RULE) == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        (OTHER, [("review", "no_other")]),  # PT-100 is at the suction, FT-101 measures a flow
        (OTHER | {"/sensors/-": SECOND}, []),
        (OTHER | {"/sensors/-": SECOND | {"quantity": "unknown"}}, []),
        # A set of a group may take over its neighbour's.
        (OTHER | left(pumps_in_group=2), []),
    ],
)
def test_another_sensor_that_takes_over_is_recorded(changes, expected):
    alone = changed(booster(), left(pumps_in_group=1))
    assert verdicts(changed(alone, changes), RULE) == expected


def filled(response: str, **tests: object):
    """A tank that is kept full by its level, out of a main."""
    kept = {
        "regulated_quantity": "level_filling", "action": "rising_feedback_slows",
        "start_level": q("2.0", "m"), "stop_level": q("3.0", "m"), "lag_start_level": None,
        "low_level_cutoff": q("0.5", "m"), "high_level_alarm": q("3.5", "m"),
        "set_point": q("2.5", "m"), "signal_loss_response": response,
    }  # fmt: skip
    place = {"/site/kind": "reservoir_fill", "/event/level_tests": [],
             "/event/protection_tests": [tests] if tests else []}  # fmt: skip
    return changed(lift_station(), left(**kept) | place)


@pytest.mark.parametrize(
    ("response", "expected"),
    [
        ("stop", []),
        ("minimum_speed", []),  # which may lift nothing
        ("maximum_speed", [("review", "tank_overflows")]),
        ("hold_speed", [("review", "tank_overflows")]),
        ("alarm", [("review", "tank_overflows")]),
        ("none", [("review", "none")]),  # told once
    ],
)
def test_a_tank_whose_level_is_lost_does_not_overflow(response, expected):
    assert verdicts(filled(response), RULE) == expected


@pytest.mark.parametrize(
    ("tested", "expected"),
    [
        ({"function": "high_level", "passed": True}, []),
        ({"function": "float_backup", "passed": True}, []),
        ({"function": "high_level", "passed": False}, [("review", "tank_overflows")]),
        ({"function": "low_level", "passed": True}, [("review", "tank_overflows")]),
    ],
)
def test_a_float_or_switch_that_was_tested_stops_it(tested, expected):
    assert verdicts(filled("maximum_speed", **tested), RULE) == expected
