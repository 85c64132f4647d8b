"""A flow that is kept, with its digits in another unit; conversions by hand, limits no source.

1 L/s = 3.6 m3/h; 1 gpm = 3.785412 L/min = 0.2271247 m3/h; 1 L/s = 15.85032 gpm.
"""

from typing import Any

import pytest

from calculations.rules.loop_set_point import SET_POINT_UNIT
from tests.calculations.building import changed, judged, lacking, of_rule, verdicts, without
from tests.calculations.building_plates import Document, q
from tests.calculations.rules.test_motor_cooling import of_flow
from tests.calculations.stations import LEFT

RULE = "loop.set-point-unit"
TOLD = [("review", "flow_unit")]
POINTS = "/event/duty_points"
METRIC: Document = {"/pump/rated_flow": q("227", "m3/h")}


def kept(value: str, unit: str, **changes: Any) -> Document:
    """The well: design flow 1000 gpm, points at 1000 and 700 gpm, all of it in gpm."""
    document = of_flow("900", minimum_frequency=q("41", "Hz"))
    return changed(document, {f"{LEFT}/set_point": q(value, unit)} | changes)


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        ("900", "gpm", []),
        ("204", "m3/h", []),  # 898 gpm
        ("1000", "m3/h", TOLD),
        ("1000", "L/s", TOLD),
        ("1000", "L/min", TOLD),
        # 1050 is 5 % over the 1000 gpm; 735 over the 700 of the normal point
        ("1050", "m3/h", TOLD),
        ("1051", "m3/h", []),
        ("735", "m3/h", TOLD),
        ("736", "m3/h", []),
        # An ordinary choice by night: nothing here is written in m3/h, or L/s.
        ("227", "gpm", []),
        ("63.1", "gpm", []),
        ("60", "%", []),
    ],
)
def test_digits_of_another_unit(value: str, unit: str, expected: Any) -> None:
    assert verdicts(kept(value, unit), RULE) == expected


def test_a_unit_that_is_used_there_may_have_been_meant() -> None:
    (finding,) = of_rule(judged(kept("227", "gpm", **METRIC)), RULE)
    assert SET_POINT_UNIT.sentence(finding).startswith("Probably 227 m3/h. Set point 227 gpm is")
    assert "set 999 gpm" in str(SET_POINT_UNIT.remedy(finding))  # 227 x 4.402868 = 999.45


@pytest.mark.parametrize(("least", "expected"), [("340", []), ("341", TOLD)])
def test_near_a_flow_that_is_known_it_is_a_choice(least: str, expected: Any) -> None:
    """227.12 m3/h are the design flow of 1000 gpm; 1.5 x 227.12 gpm = 340.7 gpm were read."""
    flows = {POINTS: [{"purpose": "normal", "flow": q(least, "gpm")}]}
    assert verdicts(kept("227.12", "gpm", **flows, **METRIC), RULE) == expected


def test_it_is_held_against_the_set_point_as_found() -> None:
    """Where another set point proves it, no other flow need be written in that unit."""
    found = {"/event/settings/as_found": {"set_point": q("50", "L/s")}, POINTS: None}
    assert verdicts(kept("50", "m3/h", **found), RULE) == TOLD
    assert verdicts(kept("53", "m3/h", **found), RULE) == []  # 6 % over
    assert verdicts(kept("180", "m3/h", **found), RULE) == []  # the same as found


@pytest.mark.parametrize(
    ("value", "expected"),
    # Half again the rated 1000 gpm at the most, and two thirds of it at the least.
    [("900", []), ("1500", []), ("1501", TOLD), ("667", []), ("666", TOLD)],
)
def test_a_slip_as_found_that_was_put_right(value: str, expected: Any) -> None:
    """It was found in m3/h; what the pump is made for tells which of the two was the slip."""
    found = {"/event/settings/as_found": {"set_point": q(value, "m3/h")}, POINTS: None}
    document = without(kept(value, "gpm", **found), "/site/system_design_flow")
    assert verdicts(document, RULE) == expected


def test_a_slip_of_two_pumps_that_was_put_right() -> None:
    """2000 gpm are what both are made for; the design flow would tell, and is not known."""
    two = {f"{LEFT}/pumps_in_group": 2, f"{LEFT}/pumps_maximum_running": 2, POINTS: None}
    found = {"/event/settings/as_found": {"set_point": q("2000", "m3/h")}}
    document = without(kept("2000", "gpm", **two, **found), "/site/system_design_flow")
    assert verdicts(document, RULE) == []


def test_a_small_pump_keeps_less_than_the_set_beside() -> None:
    """16 m3/h of a pump for 18; the one beside keeps 16 L/s."""
    beside = [{"settings": {"regulated_quantity": "flow", "set_point": q("16", "L/s")}}]
    small = {"/pump/rated_flow": q("18", "m3/h"), "/pump/best_efficiency_flow": None}
    document = kept("16", "m3/h", **{"/neighbours": beside})
    assert verdicts(document, RULE) == TOLD
    assert verdicts(changed(document, small), RULE) == []


def test_a_point_without_flow_is_no_set_point_that_was_meant() -> None:
    """A design flow of 1000 gpm; nothing is a share of nothing."""
    still = {POINTS: [{"purpose": "normal", "flow": q("0", "gpm")}]}
    assert verdicts(kept("1000", "m3/h", **still), RULE) == TOLD


def test_it_is_held_against_a_set_beside() -> None:
    beside = {"/neighbours": [{"settings": {"regulated_quantity": "flow",
                                            "set_point": q("227", "m3/h")}}]}  # fmt: skip
    assert verdicts(kept("227", "gpm", **beside), RULE) == TOLD
    ours = {"/pump_set/discharge_header": "H-1"}
    for theirs, expected in (("H-1", TOLD), ("H-2", [])):  # another main's flow proves nothing
        beside["/neighbours"][0]["pump_set"] = {"tag": "PS-102", "discharge_header": theirs}
        assert verdicts(kept("227", "gpm", **beside, **ours), RULE) == expected
    beside["/neighbours"][0]["settings"]["regulated_quantity"] = "level_filling"
    assert verdicts(kept("227", "gpm", **beside), RULE) == []


def test_of_several_pumps_each_has_its_share() -> None:
    two = {f"{LEFT}/pumps_in_group": 2, f"{LEFT}/pumps_maximum_running": 2, POINTS: None}
    assert verdicts(kept("500", "m3/h", **two), RULE) == TOLD  # 500 gpm are half of 1000


def test_an_alternative_is_held_against_them_as_well() -> None:
    night = {f"{LEFT}/set_point_alternatives": [{"set_point": q("1000", "m3/h")}]}
    (finding,) = of_rule(judged(kept("900", "gpm", **night)), RULE)
    assert finding.subject == f"{LEFT}/set_point_alternatives/0/set_point"


def test_nothing_to_hold_it_against_is_asked_for() -> None:
    document = without(kept("900", "gpm", **{POINTS: None}), "/site/system_design_flow")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == ("/site/system_design_flow",)


def test_what_rests_on_it_waits() -> None:
    """1000 L/s are beyond the meter, the pump's reach and the well: one finding tells them all."""
    document = kept("1000", "L/s")
    told = {finding.rule for finding in judged(document).findings if finding.severity != "note"}
    assert RULE in told
    assert told.isdisjoint({"loop.set-point-reachable", "loop.set-point-in-span", "well.yield",
                            "motor.cooling"})  # fmt: skip
