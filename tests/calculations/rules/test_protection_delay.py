"""Time until a protection acted against the delay that is set; common practice."""

import pytest

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
