"""What was looked at and felt.

Thermal classes: IEC 60085, from memory; vibration: ISO 10816-7:2009, category II, from memory;
bearings and the last vibration limit: common practice, no source.
"""

import pytest

from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.subject import Subject
from calculations.judging import finding_document
from calculations.rules.machine_state import DEFECTS
from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    of_rule,
    serious,
    verdicts,
)
from tests.calculations.building_event import CHECKED
from tests.calculations.building_plates import q

POINT = "/event/duty_points/0"
MOTOR, BEARING = "machine.motor-temperature", "machine.bearing-temperature"
VIBRATION = "machine.vibration"


@pytest.mark.parametrize("index", range(len(CHECKED)))
def test_what_is_not_in_order_is_told(index):
    document = changed(booster(), {f"/event/mechanical_checks/{index}/result": "not_ok"})
    severity = "stop" if CHECKED[index] == "guard_fitted" else "review"  # 29 CFR 1910.219
    assert serious(judged(document)) == [("machine.checks", severity)]


def test_what_was_written_down_is_told_with_it():
    check = {"item": "coupling_aligned", "result": "not_ok", "value": "0.4 mm at the rim"}
    (found,) = judged(changed(booster(), {"/event/mechanical_checks/0": check})).findings
    assert finding_document(found, "")["sentence"].endswith("Written down: 0.4 mm at the rim.")


@pytest.mark.parametrize("result", ["ok", "not_applicable", "unknown", None])
def test_other_answers_are_silent(result):
    document = changed(booster(), {"/event/mechanical_checks/1/result": result})
    assert verdicts(document, "machine.checks") == []


def test_every_item_has_a_defect():
    from typing import get_args

    from calculations.inputs.readings import CheckItem

    assert set(DEFECTS) == set(get_args(CheckItem))


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("130", []),  # class B
        ("132", [(MOTOR, "review")]),
        ("155", [(MOTOR, "review")]),  # class F
        ("157", [(MOTOR, "stop")]),
        ("290", [(MOTOR, "stop")]),
    ],
)
def test_temperature_of_the_motor(value, expected):
    document = changed(booster(), {f"{POINT}/motor_temperature": q(value, "degC")})
    assert serious(judged(document)) == expected


@pytest.mark.parametrize(
    ("thermal_class", "limit"),
    [("A", 105), ("E", 120), ("B", 130), ("F", 155), ("H", 180), ("N", 200), ("R", 220)],
)
def test_limits_of_the_thermal_classes(thermal_class, limit):
    """A tenth of a degree above it and at it."""
    plate = {"/motor/insulation_class": thermal_class, "/motor/temperature_rise_class": None}
    for value, expected in ((f"{limit}.0", []), (f"{limit}.1", [("stop", "limit")])):
        read_ = {f"{POINT}/motor_temperature": q(value, "degC")}
        assert verdicts(changed(booster(), plate | read_), MOTOR) == expected


def test_temperature_of_the_motor_needs_the_class():
    changes = {f"{POINT}/motor_temperature": q("90", "degC"), "/motor/insulation_class": "unknown"}
    found = [e for e in judged(changed(booster(), changes)).not_evaluated if e.rule == MOTOR]
    assert [each.needs for each in found] == [("/motor/insulation_class",)]


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("203", []),  # degF: 95 degC
        ("205", [(BEARING, "review")]),
        ("248", [(BEARING, "review")]),  # 120 degC
        ("250", [(BEARING, "stop")]),
    ],
)
def test_temperature_of_the_bearings(value, expected):
    read_ = [q("110", "degF"), q(value, "degF")]
    judgement = judged(changed(booster(), {f"{POINT}/bearing_temperatures": read_}))
    assert serious(judgement) == expected
    # 95 and 120 degC in the unit of the reading
    limits = [found.limit for found in of_rule(judgement, BEARING)]
    assert limits == ["203 degF review, 248 degF stop"] * len(expected)


@pytest.mark.parametrize(
    ("value", "unit", "power", "expected"),
    [
        ("5.1", "mm/s", None, []),
        ("5.3", "mm/s", None, [("note", "shakes")]),
        ("0.33", "in/s", None, [("note", "shakes")]),  # 8.4 mm/s
        ("8.7", "mm/s", None, [("review", "shakes")]),
        ("100", "mm/s", None, [("stop", "shakes")]),
        ("6.1", "mm/s", "400", []),
        ("6.2", "mm/s", "400", [("note", "shakes")]),
        ("9.5", "mm/s", "400", [("note", "shakes")]),
        ("9.7", "mm/s", "400", [("review", "shakes")]),
        ("18", "mm/s", "400", [("review", "shakes")]),
        ("19", "mm/s", "400", [("stop", "shakes")]),
        ("6.0", "mm/s", "268", [("note", "shakes")]),  # 199.8 kW
    ],
)
def test_vibration(value, unit, power, expected):
    changes = {f"{POINT}/vibration": [{"location": "drive end", "velocity_rms": q(value, unit)}]}
    if power:
        changes["/motor/ratings/1/power"] = q(power, "hp")
    assert verdicts(changed(booster(), changes), VIBRATION) == expected
    assert verdicts(in_metric(changed(booster(), changes)), VIBRATION) == expected


def test_the_worst_bearing_counts():
    shaken = [
        {"location": place, "velocity_rms": q(value, "mm/s")}
        for place, value in (("drive end", "3.0"), ("pump end", "9.0"), ("top", "5.5"))
    ]
    (found,) = of_rule(judged(changed(booster(), {f"{POINT}/vibration": shaken})), VIBRATION)
    assert (found.severity, found.parameters["where"]) == ("review", " at pump end")
    assert found.subject == POINT


@pytest.mark.parametrize(
    ("location", "sentence"),
    [
        ("drive end", "Vibration at drive end was 9.0 mm/s, above 8.5 mm/s."),
        (None, "Vibration was 9.0 mm/s, above 8.5 mm/s."),
    ],
)
def test_vibration_in_words(location, sentence):
    shaken = [{"location": location, "velocity_rms": q("9.0", "mm/s")}]
    (found,) = of_rule(judged(changed(booster(), {f"{POINT}/vibration": shaken})), VIBRATION)
    assert finding_document(found, "")["sentence"] == sentence
    assert found.limit == "5.1 mm/s note, 8.5 mm/s review, 18 mm/s stop"


def test_at_closed_valve_only_the_worst_counts():
    for value, expected in (("9", []), ("20", [("stop", "shakes")])):
        shaken = [{"velocity_rms": q(value, "mm/s")}]
        changes = {f"{POINT}/purpose": "shut_off", f"{POINT}/vibration": shaken}
        assert verdicts(changed(booster(), changes), VIBRATION) == expected


@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        ("/event/hours_run", q("1000000000000", "h")),
        ("/event/duty_points/0/steady_for", q("1000000000", "s")),
        ("/event/protection_tests/0/delay_measured", q("1000000000", "s")),
        ("/event/duty_points/0/discharge_pressure", q("85000", "bar")),
        ("/event/duty_points/0/flow", q("1000000000", "gpm")),
        ("/event/start_count", -5),
        ("/event/settings/as_left/motor_speed", q("177500", "rpm")),
    ],
)
def test_the_impossible_is_refused_with_its_place(pointer, value):
    with pytest.raises(InvalidDocument) as refused:
        read(Subject, changed(booster(), {pointer: value}))
    (problem,) = refused.value.problems
    assert problem.pointer == pointer
