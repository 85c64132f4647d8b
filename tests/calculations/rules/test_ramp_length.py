"""Ramps up that last for minutes: 300 s, ten wave times of a main; common practice, no source."""

import pytest

from tests.calculations.building import booster, changed, verdicts
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

RULE = "ramp.too-long"
MAIN = {
    # 2 x 20,000 m / 1,000 m/s = 40 s there and back; ten times that are 400 s
    "/site/pipeline": {"length": q("20", "km"), "inside_diameter": q("300", "mm"),
                       "pressure_rating": q("16", "bar")},
    "/site/wave_speed_override": q("1000", "m/s"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("ramp", "changes", "expected"),
    [
        (q("10", "s"), {}, []),
        (q("300", "s"), {}, []),
        (q("301", "s"), {}, [("review", "up")]),
        (q("10", "min"), {}, [("review", "up")]),
        (q("390", "s"), MAIN, []),
        (q("410", "s"), MAIN, [("review", "up")]),
        # A main whose wave is not known excuses nothing.
        (q("390", "s"), {"/site/pipeline": {"length": q("20", "km")}}, [("review", "up")]),
    ],
)
def test_a_ramp_up_is_seconds(ramp, changes, expected):
    document = changed(booster(), left(ramp_up_time=ramp) | changes)
    assert verdicts(document, RULE) == expected


def test_a_ramp_down_may_be_as_long_as_its_main_asks():
    assert verdicts(changed(booster(), left(ramp_down_time=q("20", "min"))), RULE) == []
