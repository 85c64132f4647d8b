"""Set point raised with the flow. At 60 Hz and 30 psi of suction the booster holds 142.8 psi at no
flow, and the design flow up to the head of its curve (`test_loop_set_point.py`).
"""

import pytest

from tests.calculations.building import changed, judged, lacking, of_rule, verdicts
from tests.calculations.building_plates import q
from tests.calculations.rules.test_loop_set_point import FREE
from tests.calculations.whole_stations import LEFT, left

RULE = "loop.flow-compensation"


def raised(zero: str, design: str, document=FREE):
    pair = {"at_zero_flow": q(zero, "psi"), "at_design_flow": q(design, "psi")}
    return changed(document, left(flow_compensation=pair))


@pytest.mark.parametrize(
    ("zero", "design", "expected"),
    [
        ("82", "88", []),
        ("85", "85", []),
        ("88", "82", [("review", "falling")]),
        ("86", "90", [("note", "apart")]),
        ("80", "84", [("note", "apart")]),
        ("82", "142", [("review", "little_flow")]),
        ("82", "144.5", [("review", "little_flow")]),
        ("82", "145", [("review", "never")]),  # 144.8 psi at 60 Hz and no flow, where it slips less
    ],
)
def test_two_ends(zero, design, expected):
    assert verdicts(raised(zero, design), RULE) == expected


def test_what_the_pump_gives_at_the_design_flow():
    """1000 gpm at 60 Hz, 1778.7 rpm: 262.6 - 95 = 167.6 ft, (167.6 - 1) / 2.309 + 30 = 102.1.

    900 gpm, 10 % less: 185.6 ft, 110.0 psi.
    """
    document = changed(FREE, {"/site/system_design_flow": q("1000", "gpm")})
    assert of_rule(judged(raised("82", "107", document)), RULE) == []
    (finding,) = of_rule(judged(raised("82", "112", document)), RULE)
    assert finding.variant == "little_flow"


@pytest.mark.parametrize(
    ("design", "expected"), [("109.6", []), ("110.4", [("review", "little_flow")])]
)
def test_a_tenth_less_than_the_design_flow_is_enough(design, expected):
    """110.0 psi at 10 % less, as above; 109.2 psi at 9 % less, 110.7 psi at 11 %."""
    document = changed(FREE, {"/site/system_design_flow": q("1000", "gpm")})
    assert verdicts(raised("82", design, document), RULE) == expected


@pytest.mark.parametrize(
    "changes",
    [{"/pump/type": "progressive_cavity"}, left(regulated_quantity="suction_pressure")],
)
def test_only_a_pressure_behind_a_centrifugal_pump_is_reached_by_its_curve(changes):
    document = changed(raised("82", "143"), changes)
    assert verdicts(document, RULE) == lacking(judged(document), RULE) == []


def test_two_pumps_share_the_design_flow():
    """1000 gpm each, as above."""
    both = left(pump_arrangement="lead_lag", pumps_in_group=2, pumps_maximum_running=2)
    document = changed(FREE, both | {"/site/system_design_flow": q("2000", "gpm")})
    assert verdicts(raised("82", "107", document), RULE) == []
    assert verdicts(raised("82", "112", document), RULE) == [("review", "little_flow")]


def test_a_set_point_outside_the_span_is_told_once():
    document = raised("82", "88")
    document = changed(document, left(flow_compensation={
        "at_zero_flow": q("82", "psi"), "at_design_flow": q("65", "bar"),
    }))  # fmt: skip
    high = changed(document, {"/site/relief_valve_setting": None,
                              "/site/discharge_pressure_limit": None,
                              f"{LEFT}/high_discharge_limit": None})  # fmt: skip
    assert [each.variant for each in of_rule(judged(high), "loop.set-point-in-span")] == ["beyond"]
    assert [each.waits_for for each in lacking(judged(high), RULE)] == ["loop.set-point-in-span"]


def test_both_ends_are_asked_for():
    document = changed(FREE, left(flow_compensation={"at_zero_flow": q("82", "psi")}))
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == ("/event/settings/as_left/flow_compensation/at_design_flow",)


def test_a_set_point_that_is_not_raised_or_not_kept_is_not_asked():
    open_loop = left(regulation="open_loop")
    for document in (FREE, changed(raised("88", "82"), open_loop)):
        assert verdicts(document, RULE) == lacking(judged(document), RULE) == []


def test_a_set_point_at_no_flow_in_the_other_unit():
    """5.1 bar are 74.0 psi at no flow; the design head gives about 85 psi at the design flow."""
    both = raised("74", "85")
    document = changed(both, left(set_point=q("5.1", "psi")))
    (finding,) = of_rule(judged(document), "loop.set-point-unit")
    assert finding.parameters["read"] == "5.1 bar"
