"""A pump set without a drive that a pressure starts, beside its lead. Logic; no published source.

The booster keeps 85 psi. Its suction main holds 33 psi at most, read 2 ft over the pump; its
transmitter sits 3 ft over it. 62.4 lb/ft3 / 144 = 0.433 psi/ft: it holds 32.57 psi there.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.rules.test_remote_sensor import remote
from tests.calculations.whole_stations import LEFT, booster_in_percent, left

RULE = "station.stand-by"
EARLY, NEVER = [("review", "early")], [("review", "never")]


def beside_the_lead(starts, **more):
    """The booster as lead, and a set across the line that a pressure switch starts."""
    set_by = {"wake_value": starts} | more
    return changed(
        booster(),
        {"/neighbours": [{"pump_set": {"tag": "PS-102", "drive": None}, "settings": set_by}]},
    )


def alone(starts, *, leads=(), **more):
    """The set across the line itself, with its leads as neighbours."""
    document = changed(
        without(booster(), "/drive", "/event/duty_points"),
        {"/pump_set/drive": None, LEFT: {"wake_value": starts, "wake_basis": "absolute"} | more},
    )
    return changed(document, {"/neighbours": list(leads)})


def lead(**settings):
    """A neighbour with a drive that keeps 85 psi."""
    keeps = {
        "regulation": "closed_loop_in_drive", "regulated_quantity": "discharge_pressure",
        "set_point": q("85", "psi"),
    }  # fmt: skip
    return {"pump_set": {"tag": "PS-101", "drive": "VFD-101"}, "settings": keeps | settings}


@pytest.mark.parametrize(
    ("starts", "expected"),
    [
        (q("80", "psi"), []),
        (q("84.9", "psi"), []),
        (q("85", "psi"), EARLY),
        (q("90", "psi"), EARLY),
        (q("5.9", "bar"), EARLY),  # 85.6 psi
        (q("5.8", "bar"), []),  # 84.1 psi
        (q("33.0", "psi"), []),
        (q("32.0", "psi"), NEVER),
        (q("8.0", "psi"), NEVER),
    ],
)
def test_what_starts_it_beside_its_lead(starts, expected):
    assert verdicts(beside_the_lead(starts), RULE) == expected
    assert verdicts(alone(starts, leads=[lead()]), RULE) == expected
    assert verdicts(alone(starts), RULE) == [each for each in expected if each in NEVER]


def test_where_it_is_told_and_of_whom():
    (found,) = of_rule(judged(beside_the_lead(q("90", "psi"))), RULE)
    assert found.subject == "/neighbours/0/settings/wake_value"
    assert (found.parameters["tag"], found.parameters["lead"]) == ("PS-102", "this set")
    (found,) = of_rule(judged(alone(q("90", "psi"), leads=[lead()])), RULE)
    assert found.subject == f"{LEFT}/wake_value"
    assert (found.parameters["tag"], found.parameters["lead"]) == ("This set", "PS-101")


def test_the_lowest_set_point_of_the_day_counts():
    """80 psi lie below 85 psi, and above the 70 psi of the night."""
    night = {"set_point_alternatives": [{"set_point": q("70", "psi"), "schedule": "night"}]}
    assert verdicts(alone(q("80", "psi"), leads=[lead(**night)]), RULE) == EARLY
    ours = changed(beside_the_lead(q("80", "psi")), left(**night))
    assert verdicts(ours, RULE) == EARLY


@pytest.mark.parametrize(
    "more",
    [
        {"regulated_quantity": "suction_pressure"},
        {"wake_basis": "below_set_point"},
    ],
)
def test_what_is_no_pressure_of_the_header_is_not_compared(more):
    assert verdicts(beside_the_lead(q("90", "psi"), **more), RULE) == []


@pytest.mark.parametrize(
    "more",
    [
        {"regulated_quantity": "flow", "set_point": q("500", "gpm")},
        {"regulation": "open_loop"},
        {"set_point": q("42", "%")},
    ],
)
def test_a_neighbour_that_keeps_no_pressure_is_no_lead(more):
    assert verdicts(alone(q("90", "psi"), leads=[lead(**more)]), RULE) == []


@pytest.mark.parametrize(
    ("starts", "expected"),
    [("85.0", []), ("85.5", [("review", "early_remote")]), ("34.0", []), ("33.8", NEVER)],
)
def test_a_set_point_far_above_the_pumps_counts_with_its_height(starts, expected):
    """42 psi at 100 ft are 85.3 psi beside the pumps; the suction main holds 33.9 psi there."""
    beside = beside_the_lead(q(starts, "psi"))["neighbours"]
    assert verdicts(changed(remote(), {"/neighbours": beside}), RULE) == expected


@pytest.mark.parametrize(
    ("read", "expected"), [(("84.9", "85.2"), []), (("84.9", "69.9"), EARLY), ((), EARLY)]
)
def test_a_lead_whose_gauges_show_more_keeps_more(read, expected):
    """It keeps 42 psi at a sensor of which nothing is known here; this set starts at 70 psi."""
    points = [{"purpose": "normal", "discharge_pressure": q(each, "psi")} for each in read]
    far = lead(set_point=q("42", "psi")) | {"duty_points": points}
    assert verdicts(alone(q("70.0", "psi"), leads=[far]), RULE) == expected


@pytest.mark.parametrize(("starts", "expected"), [("84.9", []), ("85.1", EARLY)])
def test_a_set_point_in_percent_is_that_of_its_scaling(starts, expected):
    """42.5 % of 0 to 200 psi are 85 psi; lead and lag leave it to this rule."""
    beside = beside_the_lead(q(starts, "psi"))["neighbours"]
    document = changed(
        booster_in_percent(),
        {"/neighbours": beside, "/pump_set/position_in_group": 1}
        | left(pump_arrangement="lead_lag", pumps_in_group=2),
    )
    document = changed(document, {"/neighbours/0/pump_set/position_in_group": 2})
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize(("starts", "told"), [("79.2", False), ("79.5", True), ("86.0", False)])
def test_lead_and_lag_beside_a_sensor_far_above(starts, told):
    """The lead wakes at 36 psi there, 79.3 psi beside the pumps; from 85.3 psi on it is early."""
    document = changed(
        remote(),
        {"/neighbours": beside_the_lead(q(starts, "psi"))["neighbours"]}
        | {"/pump_set/position_in_group": 1}
        | left(pump_arrangement="lead_lag", pumps_in_group=2),
    )
    document = changed(document, {"/neighbours/0/pump_set/position_in_group": 2})
    assert verdicts(document, "station.lead-lag") == [("review", "together")] * told


def test_another_header_is_none_of_its_business():
    document = beside_the_lead(q("90", "psi"))
    apart = {"/pump_set/discharge_header": "H-1", "/neighbours/0/pump_set/discharge_header": "H-2"}
    assert verdicts(changed(document, apart), RULE) == []


def test_without_the_height_of_the_transmitter_the_suction_is_not_compared():
    document = without(alone(q("20", "psi")), "/sensors/0/tapping_elevation")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == ("/sensors/0/tapping_elevation",)


def test_it_is_asked_for_no_set_point_and_told_by_one_rule():
    """No set point of a set without a drive is looked for; lead and lag tell the same but once."""
    document = changed(
        beside_the_lead(q("90", "psi")),
        left(pump_arrangement="lead_lag", pumps_in_group=2)
        | {"/pump_set/position_in_group": 1, "/neighbours/0/pump_set/position_in_group": 2},
    )
    judgement = judged(document)
    assert [each.rule for each in judgement.findings if each.rule.startswith("station.")] == [RULE]
    assert lacking(judgement, "station.set-points-agree") == []
