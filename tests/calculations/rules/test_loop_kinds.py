"""Kinds of quantity that meet in the loop. No source: a pressure and a flow are not compared."""

import pytest

from calculations.judging import derived_document, finding_document
from calculations.recordings import Column, Recording
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    serious,
    verdicts,
    without,
)
from tests.calculations.building_event import TRACE
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import (
    LEFT,
    booster_in_percent,
    left,
    lift_station,
    raw_water,
)

RULE = "loop.kinds"
RANGE = "/sensors/0/upper_range_value"
TEST = "/event/protection_tests/1/limit_at_trip"


def only(document):
    """The one serious finding of a document, of this rule."""
    judgement = judged(document)
    assert [rule for rule, _ in serious(judgement)] == [RULE]
    return of_rule(judgement, RULE)[0]


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("set_point", q("10", "m3/h"), ("stop", "other")),
        ("set_point", q("8", "degC"), ("stop", "other")),
        ("set_point", q("80", "m"), ("review", "head")),
        ("feedback_at_upper_signal", q("16", "m3/h"), ("stop", "other")),
        ("feedback_at_lower_signal", q("0", "gpm"), ("stop", "other")),
        ("wake_value", q("8", "m3/h"), ("review", "other")),
        ("sleep_boost", q("7", "ft"), ("review", "head")),
        ("stage_set_point_offset", q("2", "gpm"), ("review", "other")),
        ("flow_compensation", {"at_zero_flow": q("2", "gpm")}, ("review", "other")),
        ("set_point_alternatives", [{"set_point": q("2", "gpm")}], ("review", "other")),
        ("dry_run_threshold", q("9", "kW"), ("review", "other")),
        ("low_suction_limit", q("10", "ft"), ("review", "head")),
    ],
)
def test_one_value_of_another_kind_is_the_only_finding(name, value, expected):
    found = only(changed(booster(), left(**{name: value})))
    assert (found.severity, found.variant) == expected
    assert found.subject.startswith(f"{LEFT}/{name}")


def test_the_step_before_the_set_point_is_looked_at_as_well():
    found = only(changed(booster(), {"/event/step_tests/0/from": q("5", "m3/h")}))
    assert found.subject == "/event/step_tests/0/from"
    demand = {"/event/step_tests/0/from": q("5", "m3/h"), "/event/step_tests/0/step_kind": "demand"}
    assert verdicts(changed(booster(), demand), RULE) == []


def test_values_of_one_wrong_kind_are_one_finding():
    wrong = left(set_point=q("10", "m3/h"), wake_value=q("9", "m3/h"), sleep_boost=q("7", "ft"))
    assert verdicts(changed(booster(), wrong), RULE) == [("stop", "other"), ("review", "head")]


def test_the_sentence_names_what_the_sensor_measures_and_what_the_value_is():
    found = only(changed(booster(), left(set_point=q("10", "m3/h"))))
    sentence = finding_document(found, "")["sentence"]
    assert "PT-101 measures pressure, but the set point 10 m3/h is a flow" in sentence


@pytest.mark.parametrize(
    ("changes", "kept"),
    [
        ({}, "The loop keeps a discharge pressure, and PT-101 measures pressure"),
        ({"/sensors/0/quantity": "unknown"}, "The loop keeps a discharge pressure"),
        (left(regulated_quantity=None), "PT-101 measures pressure"),
    ],
)
def test_what_the_loop_keeps_is_told(changes, kept):
    wrong = changed(booster(), left(set_point=q("10", "m3/h")) | changes)
    (found,) = of_rule(judged(wrong), RULE)
    assert found.parameters["kept"] == kept
    assert found.subject == f"{LEFT}/set_point"


def test_up_to_three_values_are_told():
    wrong = left(set_point=q("10", "m3/h"), wake_value=q("9", "m3/h"),
                 feedback_at_upper_signal=q("16", "m3/h"),
                 feedback_at_lower_signal=q("0", "m3/h"))  # fmt: skip
    (found,) = of_rule(judged(changed(booster(), wrong)), RULE)
    assert found.parameters["values"].count(" m3/h") == 3
    assert len(found.compared) == 4


def test_a_length_is_offered_as_a_height_of_water():
    found = only(changed(booster(), left(set_point=q("80", "m"))))
    assert finding_document(found, "")["remedy"].startswith("Write 80 mH2O")


@pytest.mark.parametrize("regulated", ["flow", "temperature"])
def test_a_sensor_that_cannot_measure_what_is_regulated(regulated):
    found = only(changed(booster(), left(regulated_quantity=regulated)))
    assert (found.severity, found.variant) == ("stop", "sensor")


@pytest.mark.parametrize(
    "value", [q("10", "m3/h"), q("8", "degC"), q("80", "m"), q("80000", "L/h")]
)
@pytest.mark.parametrize(
    "name",
    ["set_point", "feedback_at_upper_signal", "feedback_at_lower_signal", "wake_value"],
)
def test_what_rests_on_it_waits_even_where_it_was_accepted(name, value):
    """No number is made of a pressure and a flow: neither sentence nor derived value."""
    document = changed(booster(), left(**{name: value}))
    judgement = judged(document, accepted=[(RULE, f"{LEFT}/{name}")])
    assert [rule for rule, _ in serious(judgement)] == [RULE]
    waiting = [each.rule for each in judgement.not_evaluated if each.waits_for == RULE]
    assert "loop.set-point-in-span" in waiting or name == "wake_value"
    for found in judgement.derived:
        assert derived_document(found)["unit"] != value["unit"]


@pytest.mark.parametrize(
    "document",
    [
        booster(), booster_in_percent(), lift_station(), raw_water(),
        # A level loop shown in units of pressure, as submersible transmitters are ranged.
        changed(lift_station(), left(set_point=q("0.11", "bar"))),
    ],
)  # fmt: skip
def test_ordinary_loops_are_silent(document):
    assert verdicts(document, RULE) == []


def test_a_level_may_stand_on_a_pressure_transmitter():
    """0 to 0.4 bar is 0 to 4.08 m of water (9.81 kPa per m); zero is 0.1 m over the floor."""
    sensor = {
        "/sensors/0/quantity": "pressure", "/sensors/0/reference": "gauge",
        "/sensors/0/lower_range_value": q("0", "bar"), RANGE: q("0.4", "bar"),
        "/sensors/0/tapping_elevation": lift_station()["sensors"][0]["zero_elevation"],
    }  # fmt: skip
    scaled = left(feedback_at_upper_signal=q("4.18", "m"))
    document = changed(lift_station(), sensor | scaled)
    del document["event"]["sensor_verifications"]
    found = judged(document)
    assert of_rule(found, RULE) == of_rule(found, "loop.scaling") == []
    wrong = changed(document, left(feedback_at_upper_signal=q("4", "bar")))  # 40 m
    assert [severity for severity, _ in verdicts(wrong, "loop.scaling")] == ["stop"]


def test_a_flow_by_differential_pressure_is_not_compared_with_its_range():
    sensor = {
        "/sensors/0/quantity": "differential_pressure", "/sensors/0/location": "discharge",
        "/sensors/0/lower_range_value": q("0", "psi"), RANGE: q("2", "psi"),
    }  # fmt: skip
    scaled = left(
        regulated_quantity="flow", set_point=q("800", "gpm"), sleep_method="none",
        feedback_at_lower_signal=q("0", "gpm"), feedback_at_upper_signal=q("1500", "gpm"),
        low_discharge_limit_measured_by="pressure_switch",
        high_discharge_limit_measured_by="pressure_switch",
    )  # fmt: skip
    of_pressure = ("wake_value", "sleep_boost", "sleep_boost_time_limit")
    document = without(booster(), *(f"{LEFT}/{name}" for name in of_pressure), "/event/step_tests")
    judgement = judged(changed(document, sensor | scaled))
    assert not [f for f in judgement.findings if f.rule in (RULE, "loop.scaling")]
    (lacking,) = [each for each in judgement.not_evaluated if each.rule == "loop.scaling"]
    assert "differential pressure" in lacking.because


@pytest.mark.parametrize(
    ("read", "expected"),
    [
        (q("124", "psi"), []),
        (q("10", "m3/h"), [("review", "kinds")]),
        (q("62", "%"), []),  # 124 psi of 200 psi
        (q("48", "Hz"), []),  # worth writing down, but no reading of the pressure
    ],
)
def test_a_protection_is_read_in_the_kind_that_it_watches(read, expected):
    assert verdicts(changed(booster(), {TEST: read}), "protection.trip-value") == expected


@pytest.mark.parametrize(
    ("unit", "frequency", "because"),
    [
        ("psi", "rpm", "its output frequency is in rpm"),
        ("gpm", "Hz", "a trace in gpm is not of what is regulated"),
    ],
)
def test_a_trace_of_another_kind_is_not_taken_for_the_loop(unit, frequency, because):
    columns = {
        "feedback": Column(unit, [80.0 + 0.1 * index for index in range(51)]),
        "output_frequency": Column(frequency, [48.0] * 51),
    }
    rows = {TRACE: Recording([0.5 * index for index in range(51)], columns)}
    judgement = judged(booster(), recordings=rows)
    assert serious(judgement) == []
    assert because in {each.because for each in judgement.not_evaluated}


def test_percent_of_an_underload_is_not_taken_for_a_share_of_the_pressure():
    dry = {"function": "dry_run", "limit_at_trip": q("12", "A"), "passed": True}
    document = changed(
        booster(),
        left(dry_run_method="underload", dry_run_threshold=q("40", "%"))
        | {"/event/protection_tests/-": dry},
    )
    judgement = judged(document)
    assert of_rule(judgement, "protection.trip-value") == []
    lacking = [each for each in judgement.not_evaluated if each.rule == "protection.trip-value"]
    assert [each.because for each in lacking] == ["% and A are not compared"]


# -- loop.differential ----------------------------------------------------------------------------

DIFFERENTIAL = "loop.differential"


def difference(**sensor: str):
    """The booster keeps 55 psi over its pump, which at no flow are 127 ft or 41.9 Hz."""
    document = changed(
        booster(),
        left(regulated_quantity="differential_pressure", set_point=q("55", "psi"),
             wake_value=q("50", "psi"))
        | {f"/sensors/0/{name}": value for name, value in sensor.items()},
    )  # fmt: skip
    return without(document, f"{LEFT}/set_point_datum")


def test_one_pressure_is_no_difference():
    """What a suction sensor beside it makes of that is up to the drive: a note."""
    alone = without(difference(), "/pump_set/suction_sensor")
    assert verdicts(alone, DIFFERENTIAL) == [("review", "gauge")]
    assert verdicts(difference(), DIFFERENTIAL) == [("note", "subtract")]
    (waiting,) = lacking(judged(alone), "loop.sleep-order")
    assert waiting.waits_for == DIFFERENTIAL


def test_a_difference_is_one():
    right = difference(quantity="differential_pressure", reference="differential")
    assert verdicts(right, DIFFERENTIAL) == []
    assert verdicts(booster(), DIFFERENTIAL) == []


def test_a_difference_is_not_one_pressure():
    cell = {"/sensors/0/quantity": "differential_pressure", "/sensors/0/reference": "differential"}
    assert verdicts(changed(booster(), cell), DIFFERENTIAL) == [("review", "one")]
    held_up = cell | left(regulated_quantity="suction_pressure")
    assert verdicts(changed(booster(), held_up), DIFFERENTIAL) == [("review", "one")]


def test_what_the_sensor_measures_has_to_be_known():
    (missing,) = lacking(judged(without(difference(), "/sensors/0/quantity")), DIFFERENTIAL)
    assert missing.needs == ("/sensors/0/quantity",)


@pytest.mark.parametrize(
    ("sleep", "rule", "expected"),
    [
        # 55 psi x 2.3089 ft are 127.0 ft: 1770 sqrt(127.0 / 260) rpm and the slip of no flow,
        # 41.39 Hz.
        ("38", "loop.sleep-order", [("review", "unreachable")]),
        ("41.5", "loop.sleep-window", [("review", "narrow")]),
        ("42.6", "loop.sleep-order", []),
    ],
)
def test_a_loop_on_a_difference_sleeps_as_one_on_a_pressure(sleep, rule, expected):
    right = difference(quantity="differential_pressure", reference="differential")
    document = changed(right, left(sleep_frequency=q(sleep, "Hz")))
    assert verdicts(document, rule) == expected


def test_of_a_loop_of_which_little_is_known_the_scaling_tells_the_kind():
    unknown = {"/sensors/0/quantity": "unknown"} | left(regulated_quantity=None)
    (found,) = of_rule(judged(changed(booster(), left(set_point=q("10", "m3/h")) | unknown)), RULE)
    assert found.parameters["kept"] == "The loop is scaled in pressure"


def test_a_low_suction_limit_as_a_length_is_offered_as_a_height_of_water():
    found = only(changed(booster(), left(low_suction_limit=q("10", "ft"))))
    assert finding_document(found, "")["remedy"].startswith("Write 10 ftH2O")


@pytest.mark.parametrize(
    ("wake", "expected"),
    [
        ("45", []),
        ("54.8", [("review", "at_once")]),
        ("60", [("review", "wrong_side")]),
        ("0", [("review", "never_difference")]),
        ("-2", [("review", "never_difference")]),
    ],
)
def test_a_standing_pump_keeps_the_difference_from_falling_below_zero(wake, expected):
    """Water passes from the suction through the check valve: nothing holds a difference below 0."""
    right = difference(quantity="differential_pressure", reference="differential")
    document = changed(right, left(wake_value=q(wake, "psi")))
    assert verdicts(document, "loop.wake") == expected


def test_the_wake_of_a_difference_read_by_one_gauge_waits():
    alone = without(difference(), "/pump_set/suction_sensor")
    (waiting,) = lacking(judged(changed(alone, left(wake_value=q("-2", "psi")))), "loop.wake")
    assert waiting.waits_for == DIFFERENTIAL


@pytest.mark.parametrize(
    ("location", "regulated", "expected"),
    [
        ("discharge", "discharge_pressure", []),
        ("suction", "discharge_pressure", [("review", "other")]),
        ("remote", "discharge_pressure", []),
        ("header", "discharge_pressure", []),
        (None, "discharge_pressure", []),
        ("discharge", "suction_pressure", [("review", "other")]),
        ("suction", "suction_pressure", []),
        ("suction", "differential_pressure", []),
    ],
)
def test_a_pressure_is_kept_by_a_sensor_on_its_side(location, regulated, expected):
    """Logic."""
    changes = left(regulated_quantity=regulated) | {"/sensors/0/location": location}
    assert verdicts(changed(booster(), changes), "loop.sensor-side") == expected


def test_the_side_waits_for_the_scaling():
    """A sensor that is another altogether is scaled wrongly first of all."""
    wrong = left(feedback_at_upper_signal=q("100", "psi")) | {"/sensors/0/location": "suction"}
    assert verdicts(changed(booster(), wrong), "loop.sensor-side") == []
