"""Flow of a point against the pump's minimum continuous flow; ONE is the booster's design point."""

import pytest

from tests.calculations.building import (
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.rules.test_measured_points import AT, ONE, at_flow
from tests.calculations.whole_stations import left


@pytest.mark.parametrize(
    ("flow", "expected"),
    [
        # 250 gpm at full speed; the meter is good for 15 gpm.
        ("240", []),
        ("230", [("review", "below")]),
    ],
)
def test_minimum_continuous_flow(flow, expected):
    assert verdicts(at_flow(flow, purpose="minimum"), "region.minimum-flow") == expected


def test_without_flow_there_is_no_flow_to_be_too_small():
    assert verdicts(at_flow("0", purpose="minimum"), "region.minimum-flow") == []


def test_a_closed_valve_check_is_meant_to_have_no_flow():
    document = at_flow("0", purpose="shut_off")
    assert verdicts(document, "region.minimum-flow") == []


@pytest.mark.parametrize("kind", ["axial_or_mixed_flow", "end_suction"])
def test_some_pumps_must_not_run_at_a_closed_valve(kind):
    """Power of an axial pump is highest there: its head there is judged by nothing."""
    axial = kind == "axial_or_mixed_flow"
    document = changed(at_flow("0", purpose="shut_off"), {"/pump/type": kind})
    assert verdicts(document, "region.minimum-flow") == [("review", "closed")] * axial
    low = changed(document, {f"{AT}/discharge_pressure": q("127", "psi")})  # 221 of 260 ft
    assert verdicts(low, "curve.point") == ([] if axial else [("review", "shut_off")])


def test_a_closed_valve_needs_no_minimum_flow_to_be_told():
    """What the pump bears is asked for where something flows."""
    stated = "/pump/minimum_continuous_flow"
    closed = without(at_flow("0", purpose="shut_off"), stated)
    axial = changed(closed, {"/pump/type": "axial_or_mixed_flow"})
    assert verdicts(axial, "region.minimum-flow") == [("review", "closed")]
    assert lacking(judged(closed), "region.minimum-flow") == []
    (missing,) = lacking(judged(without(ONE, stated)), "region.minimum-flow")
    assert missing.needs == (stated,)


def test_a_small_motor_at_part_load_slips_less_than_in_proportion():
    """0.75 hp at 1600 of 1800 rpm: 44 Hz count as 1173 rpm, where 600 gpm have 105.5 ft.

    118 ft are 11.8 % more. By part-load slip it may turn faster: half of the rated slip of 11.1 %
    leaves 11.1 % of head open.
    """
    slow = {
        "/motor/ratings/1/speed": q("1600", "rpm"), "/motor/ratings/1/power": q("0.75", "hp"),
        "/motor/ratings/1/current": q("1.0", "A"), "/motor/ratings/1/efficiency": q("80", "%"),
        "/motor/ratings/1/power_factor": q("0.88", "1"), "/pump/rated_speed": q("1600", "rpm"),
        f"{AT}/frequency": q("44", "Hz"), f"{AT}/flow": q("600", "gpm"),
        f"{AT}/discharge_pressure": q("82.1", "psi"), f"{AT}/suction_pressure": q("31.6", "psi"),
    }  # fmt: skip
    slipping = without(changed(ONE, slow), f"{AT}/speed", f"{AT}/speed_measured")
    assert ("review", "outside") not in verdicts(slipping, "curve.point")
    measured = changed(slipping, {f"{AT}/speed": q("1173", "rpm"), f"{AT}/speed_measured": True})
    assert verdicts(measured, "curve.point") == [("review", "outside")]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"/site/minimum_flow_path": "recirculation"}, "See whether the path for minimum flow"),
        ({"/site/minimum_flow_path": "none"}, "Let it sleep earlier"),
        (
            {"/site/minimum_flow_path": "none"} | left(regulation="open_loop"),
            "Throttle it less, or give it a path",  # slower it would lift less yet
        ),
    ],
)
def test_the_remedy_is_one_that_the_station_has(changes, words):
    document = changed(at_flow("230", purpose="minimum"), changes)
    (found,) = of_rule(judged(document), "region.minimum-flow")
    assert found.parameters["better"].startswith(words)
