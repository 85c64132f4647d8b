"""A lift station after a loss of power: common practice; 30 TAC 217.63(b), secondary text."""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, verdicts, without
from tests.calculations.whole_stations import LEFT, left, lift_station

RULE = "station.power-return"
STAYS = left(restart_after_power_loss="stay_stopped")
START_STOP = left(regulation="open_loop", regulated_quantity=None)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, []),
        (left(restart_after_power_loss="restart"), []),
        (STAYS, [("review", "floods")]),
        (STAYS | START_STOP | {"/pump_set/level_sensor": "LT-201"}, [("review", "floods")]),
        # Whoever starts it from outside may start it again.
        (STAYS | left(regulation="speed_from_external_controller"), []),
        (STAYS | left(regulation="hand_only"), []),
    ],
)
def test_a_lift_station_starts_again(changes, expected):
    assert verdicts(changed(lift_station(), changes), RULE) == expected


def test_others_may_stay_stopped():
    """Irrigation, a booster with somebody there: a choice."""
    assert verdicts(changed(booster(), STAYS), RULE) == []


def test_it_asks_for_what_is_not_known():
    (missing,) = lacking(judged(without(lift_station(), f"{LEFT}/restart_after_power_loss")), RULE)
    assert missing.needs == (f"{LEFT}/restart_after_power_loss",)
