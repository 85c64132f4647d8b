"""What is set for a lost feedback has to be there: logic. Its dangers: see the loop's response."""

import pytest

from tests.calculations.building import booster, changed, verdicts
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

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
