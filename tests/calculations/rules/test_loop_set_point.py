"""The set point: unit, place in the span, reach; and limits that a sensor can show.

The booster keeps 85 psi of a span of 200 psi; its suction is 30 to 33 psi; at 60 Hz and the lowest
suction the pump holds 261.5 ft at no flow, that is 30 + (261.5 - 1) / 2.309 = 142.8 psi.
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
from tests.calculations.whole_stations import (
    LEFT,
    booster_in_percent,
    left,
    lift_station,
    raw_water,
)

FREE = without(
    changed(booster(), {"/site/discharge_pressure_limit": q("600", "psi"),
                        "/pump/maximum_working_pressure": q("600", "psi")}),
    "/site/relief_valve_setting", f"{LEFT}/high_discharge_limit", "/vessels",
    "/event/vessel_checks",
)  # fmt: skip


def kept(value: str, unit: str = "psi", **more: object):
    """The booster without limits above it, with another set point."""
    return changed(FREE, left(set_point=q(value, unit), **more))


# -- loop.set-point-unit ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "unit", "variant", "read"),
    [
        ("5.9", "psi", "below_suction_unit", "5.9 bar"),  # 85.6 psi
        ("85", "kPa", "below_suction_unit", "85 psi"),
        ("590", "psi", "outside_span_unit", "590 kPa"),  # 85.6 psi
        ("85", "bar", "outside_span_unit", "85 psi"),
        ("196", "psi", "above_shut_off_unit", "196 ftH2O"),  # 85.0 psi
        ("200", "psi", "above_shut_off_unit", "200 ftH2O"),  # the end of the span is inside it
        ("201", "psi", "outside_span_unit", "201 ftH2O"),
        ("85", "ftH2O", "below_service_unit", "85 psi"),  # 36.8 psi, below 60 psi
        ("20", "psi", "below_suction", ""),
    ],
)
def test_a_set_point_in_another_unit(value, unit, variant, read):
    (finding,) = of_rule(judged(kept(value, unit)), "loop.set-point-unit")
    assert (finding.severity, finding.variant) == ("stop", variant)
    assert finding.parameters["read"] == read


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        # 30 psi at 2 ft are 29.57 psi at the transmitter's 3 ft.
        ("29.5", [("stop", "below_suction")]),
        ("29.7", []),
    ],
)
def test_boundary_at_the_lowest_suction(value, expected):
    document = without(kept(value), "/site/minimum_service_pressure")
    assert verdicts(document, "loop.set-point-unit") == expected
    assert verdicts(in_metric(document), "loop.set-point-unit") == expected


# Laid out for far more head, so that 85 psi are not what the station is expected to keep; nobody
# has read a gauge either.
STRANGE = changed(
    without(FREE, "/event/duty_points"), {"/site/system_design_head": q("300", "ft"),
           "/site/discharge_pressure_limit": q("2000", "psi"),
           "/pump/maximum_working_pressure": q("2000", "psi")}
    | left(set_point=q("85", "bar"), wake_value=q("5.2", "bar"))
)  # fmt: skip
NEIGHBOUR = {"regulated_quantity": "discharge_pressure", "set_point": q("85.6", "psi")}


@pytest.mark.parametrize(
    "known",
    [
        {"/event/settings/as_found": {"set_point": q("85.0", "psi")}},
        {"/neighbours": [{"settings": NEIGHBOUR}]},
        # 2 % of 85 psi.
        {"/neighbours": [{"settings": NEIGHBOUR | {"set_point": q("86.6", "psi")}}]},
    ],
)
def test_the_set_point_that_is_known_tells_the_unit(known):
    judgement = judged(changed(STRANGE, known))
    (finding,) = of_rule(judgement, "loop.set-point-unit")
    assert (finding.severity, finding.variant) == ("stop", "outside_span_unit")
    assert (finding.parameters["read"], finding.parameters["same"]) == ("85 psi", "5.86 bar")
    for rule in ("loop.set-point-in-span", "loop.limit-measurable"):
        assert lacking(judgement, rule)[0].waits_for == "loop.set-point-unit"


@pytest.mark.parametrize(
    "known",
    [
        {},
        {"/neighbours": [{"settings": NEIGHBOUR | {"set_point": q("87.0", "psi")}}]},
        {"/neighbours": [{"settings": NEIGHBOUR | {"regulated_quantity": "suction_pressure"}}]},
        {"/neighbours": [{"pump_set": {"tag": "P-2"}}]},
    ],
)
def test_without_a_known_set_point_the_unit_is_asked_for_first(known):
    """85 bar on a span of 200 psi (13.8 bar): in psi 5.86 bar, in mH2O 8.34 bar, in kPa 0.85."""
    judgement = judged(changed(STRANGE, known))
    assert of_rule(judgement, "loop.set-point-unit") == []
    (finding,) = of_rule(judgement, "loop.set-point-in-span")
    assert (finding.severity, finding.variant) == ("review", "beyond")
    told = finding_document(finding, "")["remedy"]
    assert told.startswith(
        "Check digits and unit of the set point first: read in psi 5.86 bar, in kPa 0.85 bar, in "
        "mH2O 8.34 bar."
    )


def test_the_first_visit_s_set_point_tells_the_unit():
    judgement = judged(STRANGE, earlier=FREE)
    assert [each.parameters["read"] for each in of_rule(judgement, "loop.set-point-unit")] == [
        "85 psi"
    ]
    of_flow = changed(FREE, left(regulated_quantity="flow"))
    assert of_rule(judged(STRANGE, earlier=of_flow), "loop.set-point-unit") == []


@pytest.mark.parametrize("value", ["58", "70", "100", "120", "160"])
def test_an_odd_set_point_that_no_unit_explains_is_left_to_other_rules(value):
    assert verdicts(kept(value), "loop.set-point-unit") == []


def test_a_set_point_in_percent_has_no_unit_to_mix_up():
    low = changed(booster_in_percent(), left(set_point=q("10", "%")))  # 20 psi
    assert verdicts(low, "loop.set-point-unit") == [("stop", "below_suction")]


def test_the_unit_of_a_level_is_not_guessed():
    assert lacking(judged(lift_station()), "loop.set-point-unit") == []


def test_unit_needs_the_suction():
    document = without(booster(), "/site/suction_pressure_low")
    (missing,) = lacking(judged(document), "loop.set-point-unit")
    assert missing.needs == ("/site/suction_pressure_low",)


# 58 ftH2O are 25.14 psi, 85 ftH2O 36.85 psi: above the suction of 30 psi, in the span, in reach.
UNIT = "loop.set-point-unit"
NOTHING_ASKED = without(FREE, "/site/minimum_service_pressure")
BY_READING, BY_WAKE = [("review", "read_unit")], [("review", "wake_unit")]


def quiet(value: str, unit: str, gauge: str = "85.0", gauge_unit: str = "psi", **more: object):
    """A set point that nothing of the station speaks against, and what the gauge showed."""
    read = {
        f"/event/duty_points/{index}/discharge_pressure": q(gauge, gauge_unit) for index in range(3)
    }
    return changed(NOTHING_ASKED, left(set_point=q(value, unit), **more) | read)


@pytest.mark.parametrize(
    ("document", "expected"),
    [
        (quiet("85", "psi"), []),
        (quiet("85", "ftH2O"), BY_READING),
        (quiet("85", "ftH2O", gauge="93.4"), BY_READING),  # 9.9 % more
        (quiet("85", "ftH2O", gauge="93.6"), BY_WAKE),  # 10.1 % more
        (quiet("85", "ftH2O", gauge="76.6"), BY_READING),  # 9.9 % less
        (quiet("85", "ftH2O", gauge="76.4"), BY_WAKE),
        (without(quiet("85", "ftH2O"), "/event/duty_points"), BY_WAKE),
        # A difference tells nothing; what a gauge shows does, also in the loop's wrong unit.
        (quiet("85", "ftH2O", wake_value=q("6", "psi"), wake_basis="below_set_point"), BY_READING),
        (
            without(
                quiet("85", "ftH2O", wake_value=q("6", "psi"), wake_basis="below_set_point"),
                "/event/duty_points",
            ),
            [],
        ),
        (quiet("85", "psi", gauge="85", gauge_unit="ftH2O"), []),  # a slip of the gauge's unit
        (quiet("80", "psi", wake_value=q("81", "psi")), []),  # no unit explains it
    ],
)
def test_a_unit_that_only_wake_value_or_gauges_speak_against(document, expected):
    assert verdicts(document, UNIT) == expected


@pytest.mark.parametrize("points", [True, False])
def test_such_a_unit_is_named_and_told_once(points):
    document = quiet("85", "ftH2O")
    judgement = judged(document if points else without(document, "/event/duty_points"))
    told = [each for each in judgement.findings if each.rule.startswith("loop.")]
    assert [each.rule for each in told if each.severity != "note"] == [UNIT]
    assert told[0].parameters["read"] == "85 psi"
    assert told[0].parameters["same"] == "196 ftH2O"


def test_gauges_tell_the_unit_where_the_suction_alone_holds_more():
    """58 psi is a third less than the station is laid out for: only what was read tells it."""
    document = quiet("58", "ftH2O", gauge="58.0", wake_value=q("52", "psi"))
    (found,) = of_rule(judged(document), UNIT)
    assert (found.variant, found.parameters["read"]) == ("below_suction_unit", "58 psi")


# -- loop.set-point-in-span ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("share", "expected"),
    [
        ("10", []),
        ("9.9", [("note", "near_end")]),
        ("5", [("note", "near_end")]),
        ("4.9", [("review", "outside")]),
        ("90", []),
        ("90.1", [("note", "near_end")]),
        ("95", [("note", "near_end")]),
        ("95.1", [("review", "outside")]),
    ],
)
def test_set_point_in_the_span_of_a_level(share, expected):
    """5 to 95 %, note 10 to 90 %: from memory. Wet wells stop at 3 to 8 %, set points are not."""
    document = changed(lift_station(), left(set_point=q(share, "%")))
    assert verdicts(document, "loop.set-point-in-span") == expected


def test_a_public_example_of_88_percent():
    """88 psi on 0 to 100 psi is 88 % and good (L07)."""
    ranged = {"/sensors/0/upper_range_value": q("100", "psi")}
    scaled = left(feedback_at_upper_signal=q("100", "psi"), set_point=q("88", "psi"))
    document = changed(FREE, ranged | scaled)
    assert verdicts(document, "loop.set-point-in-span") == []


def test_a_flow_near_the_end_of_its_own_span_is_in_no_other_unit():
    """8 m3/h are 7.4 % of 30 L/s; 8 L/s would be 27 %, but what is inside is taken as it stands."""
    span = {"/sensors/0/quantity": "flow", "/sensors/0/reference": None,
            "/sensors/0/lower_range_value": q("0", "L/s"),
            "/sensors/0/upper_range_value": q("30", "L/s"),
            "/event/sensor_verifications": None, "/event/step_tests": None}  # fmt: skip
    kept_flow = left(
        regulated_quantity="flow", set_point=q("8", "m3/h"), wake_value=None, sleep_boost=None,
        feedback_at_lower_signal=q("0", "L/s"), feedback_at_upper_signal=q("30", "L/s"),
        low_discharge_limit=None, high_discharge_limit=None,
    )  # fmt: skip
    document = changed(booster(), span | kept_flow)
    assert verdicts(document, "loop.set-point-in-span") == [("note", "near_end")]
    (found,) = of_rule(judged(document), "loop.set-point-in-span")
    assert (found.limit, found.parameters["room"]) == ("10 % to 90 % of span", "10 %")


# -- loop.set-point-reachable -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        # At no flow 144.8 psi; 90 % of the design flow of 1000 gpm needs
        # 30 + (185.6 - 1) / 2.309 = 110.0 psi (1783 rpm).
        ("109.6", []),
        ("111", [("note", "little_flow")]),
        ("142", [("note", "little_flow")]),
        ("145.5", [("review", "never")]),
    ],
)
def test_reach_at_the_maximum_frequency(value, expected):
    document = kept(value)
    assert verdicts(document, "loop.set-point-reachable") == expected
    assert verdicts(in_metric(document), "loop.set-point-reachable") == expected


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        ({"pumps_maximum_running": 2}, []),
        ({"pump_arrangement": "alternating", "pumps_in_group": 2}, []),
        (
            {"pump_arrangement": "duty_standby", "pumps_in_group": 2},
            [("note", "little_flow")],
        ),
    ],
)
def test_pumps_that_may_run_share_the_design_flow(settings, expected):
    assert verdicts(kept("120", **settings), "loop.set-point-reachable") == expected


@pytest.mark.parametrize(
    ("kept_flow", "expected"),
    [
        # At 60 Hz and the highest lift: s^2 260 = 261.5 ft, (261.5 - 160) / (0.95 + 0.8163) 10^-4
        # = 758^2 gpm^2; 10 % more are 834 gpm. The curve's fit is 1 % off the parabola.
        ("820", []),
        ("850", [("review", "flow")]),
    ],
)
def test_reach_of_a_flow_that_is_kept(kept_flow, expected):
    loop = left(
        regulation="closed_loop_in_drive", regulated_quantity="flow", feedback_signal="4-20 mA",
        action="rising_feedback_slows", set_point=q(kept_flow, "gpm"),
        feedback_at_lower_signal=q("0", "gpm"), feedback_at_upper_signal=q("1500", "gpm"),
    )  # fmt: skip
    document = changed(raw_water(), loop | {"/pump_set/regulating_sensor": "FT-101"})
    assert verdicts(document, "loop.set-point-reachable") == expected


def test_reach_waits_for_the_curve():
    document = changed(FREE, {"/pump/rated_speed": q("1470", "rpm")})
    (waiting,) = lacking(judged(document), "loop.set-point-reachable")
    assert waiting.waits_for == "curve.speed"


def test_the_unit_of_the_scale_goes_first():
    """62 bar, laid out for 85 psi at 128 ft of head: 62 mH2O are 88 psi and fit better by that, but
    everything beside it is in psi."""
    (finding,) = of_rule(judged(kept("62", "bar")), "loop.set-point-unit")
    assert finding.parameters["read"] == "62 psi"


def test_a_scale_in_the_same_unit_says_nothing_of_another():
    metric = {
        "/sensors/0/upper_range_value": q("1379", "kPa"),
        "/sensors/0/lower_range_value": q("0", "kPa"),
    }
    beside = left(
        feedback_at_upper_signal=q("1379", "kPa"), feedback_at_lower_signal=q("0", "kPa"),
        wake_value=q("545", "kPa"), low_discharge_limit=q("345", "kPa"),
    )  # fmt: skip
    (finding,) = of_rule(judged(changed(kept("85", "kPa"), metric | beside)), "loop.set-point-unit")
    assert finding.parameters["read"] == "85 psi"


def test_the_unit_of_a_pressure_is_not_guessed_by_its_scale_alone():
    """A pressure at the suction: 85 bar is outside 200 psi, and 85 psi would be inside."""
    document = changed(kept("85", "bar"), left(regulated_quantity="suction_pressure"))
    assert verdicts(document, "loop.set-point-in-span") == [("review", "beyond")]
