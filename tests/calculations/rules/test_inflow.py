"""Peak inflow of a lift station against what its pumps carry (continuity, affinity laws).

The station's curve is H = 26 - 8 (Q / 120)^2 m at 1460 rpm, its system 9.0 m at the lowest lift and
7.3 (Q / 110)^2 m of friction, Q in m3/h. One pump: 17 = (8 / 120^2 + 7.3 / 110^2) Q^2, 121.1 m3/h.
Two: 17 = (8 / 240^2 + 7.3 / 110^2) Q^2, 151.3 m3/h. 10 % more: 133.2 and 166.5 m3/h.
"""

import pytest

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
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import LEFT, left, lift_station

RULE = "station.inflow"
PEAK = "/site/inflow_peak"


def fed(peak: str, unit: str = "m3/h", **settings: object) -> Document:
    """The lift station with a peak inflow."""
    return changed(lift_station(), {PEAK: q(peak, unit)} | left(**settings))


@pytest.mark.parametrize(
    ("peak", "running", "expected"),
    [
        # At the highest lift of 10.2 m 16.1 = (8 / 120^2 + 7.3 / 110^2) Q^2: 117.9 m3/h, 129.7.
        ("129", 1, []),
        ("131", 1, [("note", "at_highest_lift")]),
        ("134", 1, [("note", "at_highest_lift")]),
        ("136", 1, [("review", "above")]),  # 135.5 or more
        # Two: 16.1 = (8 / 240^2 + 7.3 / 110^2) Q^2, 147.4 m3/h, with 10 % 162.1.
        ("161", 2, []),
        ("164", 2, [("note", "at_highest_lift")]),
        ("170", 2, [("review", "above")]),
        ("20", 2, []),
    ],
)
def test_boundaries(peak, running, expected):
    """0.765 of rated torque at 122 m3/h: 1500 - 40 x 0.765 (1469 / 1460)^2 = 1469.0 rpm at 50 Hz.

    26.0 m (1469 / 1460)^2 - 8 (Q / 120)^2 = 9 + (17.5 - 10.2) (Q / 110)^2: 122.3 m3/h, with 10 %
    134.5.
    """
    document = fed(peak, pumps_maximum_running=running)
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize(("peak", "expected"), [("186", "note"), ("191", "review")])
def test_pumps_that_run_out_beyond_their_curve_carry_it_all_the_same(peak, expected):
    """The curve ends at 160 m3/h and 11.78 m, falling by 16 x 160 / 120^2 = 0.178 m for 1 m3/h.

    At 1468.5 rpm (0.777 of rated torque) that is 160.9 m3/h and 11.92 m. At a lift of -8 m:
    11.92 - 0.179 (Q - 160.9) = -8 + 7.3 (Q / 110)^2, Q = 172.2 m3/h; with 10 % 189.4.
    """
    document = changed(fed(peak, pumps_maximum_running=1), {"/site/static_lift_low": q("-8", "m")})
    assert [severity for severity, _ in verdicts(document, RULE)] == [expected]


def test_litres_per_second():
    # 60 L/s are 216 m3/h; two pumps carry 151.3 m3/h, 42.0 L/s.
    (found,) = of_rule(judged(fed("60", "L/s")), RULE)
    assert found.parameters["peak"] == "60 L/s"
    assert float(found.parameters["carried"].split()[0]) == pytest.approx(42.0, abs=0.5)
    assert verdicts(in_metric(fed("60", "L/s")), RULE) == [("review", "above")]


@pytest.mark.parametrize(
    ("arrangement", "group", "expected"),
    [
        ("duty_standby", 2, [("review", "above")]),
        ("single", None, [("review", "above")]),
        ("lead_lag", 2, []),
        ("alternating", 2, []),
    ],
)
def test_how_many_run_by_their_arrangement(arrangement, group, expected):
    document = fed("150", pump_arrangement=arrangement, pumps_in_group=group)
    assert verdicts(without(document, f"{LEFT}/pumps_maximum_running"), RULE) == expected


def test_how_many_may_run_is_asked_for():
    document = without(fed("150"), f"{LEFT}/pumps_maximum_running", f"{LEFT}/pumps_in_group")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == (f"{LEFT}/pumps_maximum_running",)


def test_other_stations_and_unknown_inflow_are_not_asked():
    for document in (booster(), lift_station(), changed(booster(), {PEAK: q("9999", "gpm")})):
        judgement = judged(document)
        assert of_rule(judgement, RULE) == lacking(judgement, RULE) == []
