"""Velocity in the raw-water main.

At 49 Hz and the lowest lift: s = 49 x 1775 / (60 x 1770) = 0.8190, s^2 260 = 174.4 ft, and
(174.4 - 150) / (0.95 + 0.8163) 10^-4 = 372^2: 372 gpm, with the friction of the design point at the
highest lift, (200 - 160) / 700^2. At 60 Hz 794 gpm in the same way. In 8 in 0.4085 Q / d^2 = 2.37
and 5.07 ft/s; 0.6 m/s are 1.969 ft/s.
"""

import pytest

from calculations.judging import finding_document
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
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, raw_water

RULE = "main.velocity"


@pytest.mark.parametrize(
    ("bore", "expected"),
    [
        ("8.0", []),
        ("8.7", []),  # 2.09 ft/s at 49 Hz: 386 gpm
        ("9.1", [("note", "minimum")]),  # 1.91 ft/s
        ("12.7", [("note", "minimum")]),  # 2.02 ft/s at 60 Hz
        ("12.9", [("review", "maximum")]),  # 1.96 ft/s
    ],
)
def test_velocity(bore, expected):
    """0.6 m/s: common practice, from memory."""
    document = changed(raw_water(), {"/site/pipeline/inside_diameter": q(bore, "in")})
    assert verdicts(document, RULE) == expected
    assert verdicts(in_metric(document), RULE) == expected


@pytest.mark.parametrize(
    ("bore", "expected"), [("14.5", [("note", "minimum")]), ("14.7", [("review", "maximum")])]
)
def test_two_pumps_move_what_one_lets_lie(bore, expected):
    """Half each: (261.5 - 150) / (0.95 / 4 + 0.8163) 10^-4 = 1029^2; 1.969 ft/s in 14.6 in."""
    both = left(pump_arrangement="lead_lag", pumps_in_group=2, pumps_maximum_running=2)
    document = changed(raw_water(), both | {"/site/pipeline/inside_diameter": q(bore, "in")})
    assert verdicts(document, RULE) == expected
    one = changed(document, left(pumps_maximum_running=1))
    assert verdicts(one, RULE) == [("review", "maximum")]
    told = [finding_document(each, "")["sentence"] for each in of_rule(judged(document), RULE)]
    assert ("at 60 Hz with 2 pumps the" in told[0]) is (expected[0][1] == "maximum")


@pytest.mark.parametrize(
    ("bore", "variant"), [("9.1", "minimum"), ("12.9", "maximum")]
)  # fmt: skip
@pytest.mark.parametrize(
    ("summit", "told"),
    # The outlet is at -6 ft + 160 ft at most; lifted over 158 ft nothing flows at 49 Hz.
    [(None, False), ("120", False), ("154", False), ("158", True)],
)
def test_what_is_taken_for_granted_beyond_a_summit(bore, variant, summit, told):
    """A pipe that falls from a vented high point runs as a channel: common practice."""
    height = {"/site/pipeline/high_point_elevation": summit and q(summit, "ft")}
    document = changed(raw_water(), {"/site/pipeline/inside_diameter": q(bore, "in")} | height)
    (finding,) = of_rule(judged(document), RULE)
    assert finding.variant == variant
    sentence = str(finding_document(finding, "")["sentence"])
    assert ("the main taken as full: beyond its high point" in sentence) is told


@pytest.mark.parametrize("liquid", ["potable", "reclaimed"])
def test_clean_water_settles_nothing(liquid):
    slow = {"/site/pipeline/inside_diameter": q("20", "in"), "/site/liquid_kind": liquid}
    assert verdicts(changed(raw_water(), slow), RULE) == []


def test_where_a_pressure_is_kept_no_flow_waits_for_nobody():
    """270 ft are more than the pump's 266.0 ft at 60 Hz; no rule judges lifts that are not used."""
    kept = left(regulation="closed_loop_in_drive", regulated_quantity="discharge_pressure")
    lifts = {f"/site/static_lift_{end}": q("270", "ft") for end in ("low", "high")}
    head = {"/site/system_design_head": q("275", "ft")}
    judgement = judged(changed(raw_water(), kept | lifts | head))
    (missing,) = lacking(judgement, RULE)
    assert missing.because == "nothing flows at the lowest lift"
    assert missing.needs == ("/event/settings/as_left/maximum_frequency",)


def test_velocity_names_what_it_lacks():
    document = without(raw_water(), "/site/pipeline/inside_diameter")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == ("/site/pipeline/inside_diameter",)
    assert lacking(judged(booster()), RULE) == []


def test_where_nothing_flows_at_the_minimum_that_is_told_alone():
    document = changed(raw_water(), left(minimum_frequency=q("40", "Hz")))
    assert verdicts(document, RULE) == []
    (waiting,) = lacking(judged(document), RULE)
    assert waiting.waits_for == "speed.zero-flow"


@pytest.mark.parametrize(("convert", "unit"), [(dict, "ft/s"), (in_metric, "m/s")])
def test_a_velocity_is_told_in_the_units_of_the_bore(convert, unit):
    document = changed(raw_water(), {"/site/pipeline/inside_diameter": q("9.1", "in")})
    (found,) = of_rule(judged(convert(document)), RULE)
    (velocity,) = [each.shown for each in found.compared if each.name == "velocity"]
    assert velocity.unit == unit
