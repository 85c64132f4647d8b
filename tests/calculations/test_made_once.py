"""What several rules ask is computed once in a judgement, and what none asks is not."""

import gc
from collections import Counter
from contextlib import suppress
from dataclasses import replace

import pytest
from pydantic import BaseModel

from calculations import (
    acceptance,
    hydraulics,
    judging,
    motors,
    overload,
    pump_curves,
    signals,
    verification,
)
from calculations.aspects import instruments, on_curve
from calculations.case import Missing, Waits
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from calculations.pump_curves import PumpCurve
from calculations.rule import each_alone
from calculations.rules import load, sensor_readings, sensor_reference

from .building import booster, changed, judged
from .building_plates import q
from .whole_stations import lift_station


def counted(patch, holder, name):
    """How often a function was called with which arguments, from now on."""
    calls, function = Counter(), getattr(holder, name)

    def counting(*given, **named):
        calls[(*given, *named.items())] += 1
        return function(*given, **named)

    patch.setattr(holder, name, counting)
    return calls


def test_the_current_of_a_verification_is_looked_at_once_for_each_point(monkeypatch):
    document = booster()
    verifications = document["event"]["sensor_verifications"]
    read = sum("signal" in point for each in verifications for point in each["as_found"])
    calls = counted(monkeypatch, signals, "loop_state")
    judged(document)
    assert 0 < calls.total() <= read


def test_readings_that_contradict_the_others_are_looked_for_once(monkeypatch):
    calls = counted(monkeypatch, sensor_readings, "median")
    judged(booster())
    assert calls.total() == len(booster()["event"]["sensor_verifications"])


def test_speed_and_pole_count_of_the_plate_are_held_together_once(monkeypatch):
    calls = counted(monkeypatch, motors, "slip")
    judged(booster())
    ordinary = [count for call, count in calls.items() if ("poles", 4) in call]
    assert max(ordinary) <= 2  # for the plate, and as the derived value


def test_the_curve_is_asked_once_for_the_efficiency_of_a_point(monkeypatch):
    calls = counted(monkeypatch, PumpCurve, "efficiency")
    judged(booster())
    assert set(calls.values()) == {1}


@pytest.mark.parametrize(
    ("holder", "name"),
    [(pump_curves, "shape_problems"), (overload, "drive_overload"), (hydraulics, "total_head")],
)
def test_what_rules_and_values_share_is_computed_once_for_the_same_readings(
    monkeypatch, holder, name
):
    calls = Counter()
    function = getattr(holder, name)

    def counting(**named):
        calls[repr(named)] += 1
        return function(**named)

    monkeypatch.setattr(holder, name, counting)
    judged(booster())
    assert set(calls.values()) == {1}


def test_a_measured_point_is_made_once_whoever_asks(monkeypatch):
    calls = counted(monkeypatch, hydraulics, "total_head")
    made = counted(monkeypatch, on_curve, "Measured")
    judged(booster())
    points = len(booster()["event"]["duty_points"])
    assert (calls.total(), made.total()) == (points, points)


def test_no_flow_is_solved_for_a_point_whose_head_is_that_of_its_curve(monkeypatch):
    calls = counted(monkeypatch, acceptance, "flows_at_head")
    judged(booster())
    assert calls.total() == 0
    low = {"/event/duty_points/0/discharge_pressure": {"value": "80.0", "unit": "psi"}}
    judged(changed(booster(), low))
    assert calls.total() == 1


def test_no_part_is_asked_for_what_it_has_not(monkeypatch):
    """Pydantic looks long for it, and raises."""
    found = BaseModel.__getattr__
    monkeypatch.setattr(
        BaseModel, "__getattr__", lambda part, name: pytest.fail(f"{type(part)}: {name}")
    )
    judged(booster())
    assert BaseModel.__getattr__ is not found


def test_what_would_excuse_a_current_is_not_computed_where_it_needs_no_excuse(monkeypatch):
    monkeypatch.setattr(load, "model_margin", lambda *_, **__: pytest.fail("no current is off"))
    assert "load.current-expected" not in {each.rule for each in judged(booster()).findings}


def test_an_accuracy_statement_is_read_once_for_each_instrument(monkeypatch):
    calls, parts = counted(monkeypatch, instruments, "_si"), 5
    judged(booster())
    assert 0 < calls.total() <= parts * len(booster()["instruments"])


def test_a_linearity_that_no_rule_asks_for_is_not_computed(monkeypatch):
    calls = counted(monkeypatch, verification, "_independent")
    judged(booster())
    assert calls.total() == 0


def test_no_finding_is_prepared_of_an_instrument_in_calibration(monkeypatch):
    calls = counted(monkeypatch, sensor_reference, "Shown")
    judged(booster())
    assert calls.total() == 0


def test_no_judgement_leaves_what_only_the_collector_of_garbage_finds(subjects_that_lack):
    for each in subjects_that_lack:
        judge(each, earlier=each)  # what is made once, for every judgement
        gc.collect()
        judge(each, earlier=each)
        assert gc.collect() == 0


@pytest.mark.parametrize(("of", "named"), [(Missing, "/pump"), (Waits, "motor.slip")])
def test_what_parts_of_a_rule_raise_is_not_kept_by_what_raised_it(of, named):
    def part():
        yield from ()
        raise of(named)

    gc.collect()
    gc.disable()
    with suppress(Missing, Waits):
        list(each_alone(part(), part()))
    assert gc.collect() == 0
    gc.enable()


def test_what_many_rules_and_values_apply_under_is_asked_once(monkeypatch):
    calls = Counter()

    def counting(condition):
        def applies(case):
            calls[condition] += 1
            return condition(case)

        return applies

    conditions = {each: counting(each) for each in judging.CONDITIONS}
    for name in ("RULES", "VALUES"):
        declared = getattr(judging, name)
        there = tuple(replace(each, applies=conditions[each.applies]) for each in declared)
        monkeypatch.setattr(judging, name, there)
    monkeypatch.setattr(judging, "CONDITIONS", tuple(conditions.values()))
    judged(booster())
    assert calls == dict.fromkeys(conditions, 1)


def test_the_place_in_the_range_is_asked_of_a_failing_current_alone(monkeypatch):
    calls = counted(monkeypatch, sensor_readings, "below")
    judged(booster())
    assert calls.total() == 0
    failing = {"/event/sensor_verifications/0/as_found/2/signal": q("3.5", "mA")}
    judged(changed(booster(), failing))
    assert calls.total() > 0


@pytest.fixture
def subjects_that_lack():
    """Complete, and without what other things are computed from."""
    lacking = ({}, {"/motor/ratings": None}, {"/pump": None}, {"/site/elevation": None})
    beside = {"pump_set": {"tag": "P-2"}, "settings": {"regulated_quantity": "level_emptying"}}
    unset = changed(lift_station(), {"/neighbours": [beside]})  # nobody knows its levels
    gc.collect()
    gc.disable()
    yield [read(Subject, each) for each in (*(changed(booster(), more) for more in lacking), unset)]
    gc.enable()
