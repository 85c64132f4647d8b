"""Run-out at the lowest lift.

Raw water at 60 Hz (1775 of 1770 rpm): s^2 260 = 261.5 ft, friction (200 - 160) / 700^2 ft, curve
95 / 1000^2 ft: Q^2 = (261.5 - lift) / 1.7663 10^-4. Best efficiency at 1000 x 1.0028 = 1003 gpm, of
which 120 % are 1203 gpm: limit of ANSI/HI 9.6.3-2012, secondary text. The curve ends at 1354 gpm.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import raw_water

RULE = "region.run-out"


@pytest.mark.parametrize(
    ("lift", "expected"),
    [
        ("150", []),  # 794 gpm
        ("8", []),  # 1198 gpm
        ("3", [("note", "right")]),  # 1210 gpm
        ("-40", [("note", "right")]),  # 1306 gpm
        ("-75", [("review", "beyond")]),  # 1380 gpm
    ],
)
def test_run_out(lift, expected):
    document = changed(raw_water(), {"/site/static_lift_low": q(lift, "ft")})
    assert verdicts(document, RULE) == expected
    assert verdicts(in_metric(document), RULE) == expected


def test_a_kept_pressure_does_not_run_out():
    document = changed(booster(), {"/site/static_lift_low": q("-75", "ft")})
    judgement = judged(document)
    assert verdicts(document, RULE) == []
    assert lacking(judgement, RULE) == []


def test_run_out_names_the_lowest_lift():
    (missing,) = lacking(judged(without(raw_water(), "/site/static_lift_low")), RULE)
    assert missing.needs == ("/site/static_lift_low",)
