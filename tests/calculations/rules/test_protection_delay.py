"""Time until a protection acted against the delay that is set; common practice."""

import pytest

from tests.calculations import stations
from tests.calculations.building import (
    booster,
    changed,
    verdicts,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left


@pytest.mark.parametrize(
    ("setting", "measured", "expected"),
    [
        ("5", "5.1", []),
        ("5", "12", []),  # 5 + 2.5 + 5 s, 0.2 s of filter and 0.1 s of damping
        ("5", "12.8", []),
        ("5", "13.0", [("review", "late")]),
        ("5", "14", [("review", "late")]),
        ("60", "24", [("review", "early")]),
        ("60", "24.9", [("review", "early")]),  # 60 - 30 - 5 s
        ("60", "25", []),  # 25.5 s, it may be
        ("60", "25.4", []),
        ("59", "24", []),
        ("60", "90", []),
    ],
)
def test_delay_of_a_protection(setting, measured, expected):
    document = changed(
        booster(),
        left(low_suction_limit_delay=q(setting, "s"))
        | {"/event/protection_tests/0/delay_measured": q(measured, "s")},
    )
    assert verdicts(document, "protection.delay") == expected


@pytest.mark.parametrize(
    ("set_", "measured", "changes", "expected"),
    [
        ("10", "10", {}, []),
        # 10 s, half of them, 5 s of the watch, 60 s until drive and controls are awake
        ("10", "80", {}, []),
        ("10", "81", {}, [("review", "late")]),
        ("5", "300", {}, [("review", "late")]),
        ("60", "25", {}, []),
        ("60", "24", {}, [("review", "early")]),
        ("60", "24", {"restart_after_power_loss": "restart"}, []),
        ("60", "24", {"restart_after_power_loss": None}, []),
    ],
)
def test_a_restart_waits_as_long_as_is_set(set_, measured, changes, expected):
    """Common practice, no source."""
    document = changed(
        booster(),
        left(restart_delay=q(set_, "s"), **changes)
        | {"/event/protection_tests/3/delay_measured": q(measured, "s")},
    )
    assert verdicts(document, "protection.delay") == expected


def test_a_pause_that_is_too_short_for_a_well_is_told_alone():
    """5 s are less than a well's 10 s: what the watch saw is judged when that is put right."""
    document = changed(stations.well(), left(restart_delay=q("5", "s")))
    tests = document["event"]["protection_tests"]
    at = next(i for i, each in enumerate(tests) if each["function"] == "power_loss_restart")
    timed = changed(document, {f"/event/protection_tests/{at}/delay_measured": q("180", "s")})
    assert verdicts(timed, "well.restart") == [("review", "power")]
    assert verdicts(timed, "protection.delay") == []
