"""Pumps of one kind on one header against each other.

The booster's points (flow, rpm, discharge and suction pressure) as its neighbour's too; 125.6,
123.8 and 122.7 ft of head, of which 2.309 ft are 1 psi. No published source for the limit.
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
from tests.calculations.building_event import duty_points
from tests.calculations.building_plates import drive, motor, pump, pump_set, q

RULE = "station.like-pumps"
POINTS = "/neighbours/0/duty_points"


def pair(*psi: float, **plate: object):
    """Two boosters; the neighbour's discharge gauge shows so much more at its points."""
    measured = duty_points()
    for point, more in zip(measured, psi, strict=False):
        point["discharge_pressure"] = q(f"{85 + more:.1f}", "psi")
    neighbour = {
        "pump_set": pump_set() | {"tag": "PS-102"}, "pump": pump() | {"tag": "P-102"} | plate,
        "motor": motor(), "drive": drive(), "duty_points": measured,
    }  # fmt: skip
    return changed(booster(), {"/neighbours": [neighbour]})


# 5 % of 122.7 ft are 6.1 ft = 2.66 psi, of 125.6 ft 2.72 psi. Gauges of 1 % at 85 and 32 psi leave
# 0.91 psi of 53.1 psi open, the analyser's own less; two flows of 2 %: about 3.5 %, less than 5 %.
@pytest.mark.parametrize(
    ("psi", "expected"),
    [
        ((0, 0, 0), []),
        ((2.5, 2.5, 2.5), []),
        ((3.2, 3.2, 3.2), [("note", "differ")]),
        ((-3.2, -3.2, -3.2), [("note", "differ")]),
        ((4.3, 4.3, 4.3), [("note", "differ")]),  # 8 %
        ((4.3, 0, 0), []),  # one point alone of three
        ((4.3, 4.3, 0), [("note", "differ")]),
        ((4.3, -4.3, 0), []),  # not one way
    ],
)
def test_like_pumps(psi, expected):
    assert verdicts(pair(*psi), RULE) == expected
    assert verdicts(in_metric(pair(*psi)), RULE) == expected


def test_what_was_compared_and_is_alike_lacks_nothing():
    assert lacking(judged(pair(0, 0, 0)), RULE) == []


def test_it_says_which_pump_and_which_way():
    (found,) = of_rule(judged(pair(4.3, 4.3, 4.3)), RULE)
    assert found.parameters["tag"] == "PS-102"
    assert found.parameters["change"].startswith("-")
    assert found.subject.startswith("/event/duty_points/")


def test_a_pump_without_a_tag_is_told_by_its_number():
    (found,) = of_rule(judged(without(pair(4.3, 4.3, 4.3), "/neighbours/0/pump_set/tag")), RULE)
    assert found.parameters["tag"] == "neighbour 1"


def test_another_flow_is_taken_along_the_curve():
    """7 % more flow at 1000 gpm costs 95 (1.07^2 - 1) = 13.8 ft at any speed: 11 % of 125.6 ft.

    The velocity heads grow by 0.3 ft, the gauge shows 13.8 + 0.3 ft = 6.1 psi less. At 700 gpm it
    is 95 (0.749^2 - 0.7^2) + 0.1 = 6.9 ft = 3.0 psi.
    """
    document = pair(0, 0, 0)
    document = changed(
        document,
        {
            f"{POINTS}/0/flow": q("1070", "gpm"),
            f"{POINTS}/0/discharge_pressure": q("78.9", "psi"),
            f"{POINTS}/1/flow": q("749", "gpm"),
            f"{POINTS}/1/discharge_pressure": q("82.0", "psi"),
        },
    )
    assert verdicts(document, RULE) == []


def test_without_a_curve_the_gap_of_flows_stays_open():
    document = without(pair(4.3, 4.3, 4.3), "/pump/curve_points", "/neighbours/0/pump/curve_points")
    assert verdicts(document, RULE) == [("note", "differ")]
    apart = {f"{POINTS}/{index}/flow": q(flow, "gpm") for index, flow in
             enumerate(("920", "644", "368"))}  # fmt: skip
    assert verdicts(changed(document, apart), RULE) == []


@pytest.mark.parametrize(
    "plate",
    [
        {"rated_head": q("180", "ft")},
        {"rated_flow": q("900", "gpm")},
        {"stages": 3},
        {"type": "end_suction"},
        {"impeller_diameter": q("10", "in")},
    ],
)
def test_another_pump_is_not_compared(plate):
    judgement = judged(pair(4.3, 4.3, 4.3, **plate))
    assert of_rule(judgement, RULE) == lacking(judgement, RULE) == []


def test_points_at_other_flows_are_not_compared():
    changes = {f"{POINTS}/{index}/flow": q(flow, "gpm") for index, flow in
               enumerate(("1300", "200", "150"))}  # fmt: skip
    (missing,) = lacking(judged(changed(pair(0, 0, 0), changes)), RULE)
    assert missing.because == "no point near one of the like pump"


def test_a_neighbour_that_was_not_measured_is_no_gap():
    judgement = judged(without(pair(0, 0, 0), POINTS))
    assert of_rule(judgement, RULE) == lacking(judgement, RULE) == []


def test_strap_on_meters_leave_more_open():
    """5 % of flow at both: 7.1 % together, so that 6 % of head are not told."""
    changes = {f"/event/duty_points/{i}/flow_method": "strap_on" for i in range(3)}
    changes |= {f"{POINTS}/{i}/flow_method": "strap_on" for i in range(3)}
    assert verdicts(changed(pair(3.2, 3.2, 3.2), changes), RULE) == []
    assert verdicts(changed(pair(5.5, 5.5, 5.5), changes), RULE) == [("note", "differ")]
