"""Efficiency class, service factor, phases; efficiencies of M08 and M09 (UK SI 2021/745, 10 CFR
431.25)."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    derived,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document
from tests.calculations.stations import settings, well

CLASS = "motor.efficiency-class"
FACTOR = "motor.service-factor"


def plate(
    claimed: str, kilowatts: str, poles: int, percent: str, frequency: str = "50"
) -> Document:
    """A plate whose current goes with its efficiency."""
    speeds = {("50", 2): "2930", ("50", 4): "1475", ("50", 6): "975", ("50", 8): "730"}
    speeds |= {("60", 4): "1775"}
    rating = {
        "frequency": q(frequency, "Hz"), "power": q(kilowatts, "kW"), "efficiency": q(percent, "%"),
        "speed": q(speeds[frequency, poles], "rpm"),
    }  # fmt: skip
    motor = {
        "kind": "induction", "poles": poles, "ratings": [rating], "efficiency_class": claimed,
        "enclosure": "totally_enclosed", "immersed": False,
    }  # fmt: skip
    return {"motor": motor}


@pytest.mark.parametrize(
    ("claimed", "kilowatts", "poles", "percent", "fires"),
    [
        ("ie3", "7.5", 4, "90.4", False),  # M08a: 90.4398
        ("ie3", "7.5", 4, "90.3", False),  # 0.09 below with half a digit
        ("ie3", "7.5", 4, "90.2", True),  # 0.19 below
        ("ie3", "7.5", 4, "90", False),  # a plate in whole percent may mean 90.49
        ("ie3", "7.5", 6, "89.1", False),  # M08c
        ("ie3", "7.5", 6, "88.6", True),
        ("ie2", "7.5", 4, "88.7", False),  # M08h
        ("ie4", "75", 4, "96.0", False),  # M08l: 95.959
        ("ie4", "75", 4, "95.0", True),
        ("ie3", "15", 8, "89.6", False),  # M08m
        ("ie1", "7.5", 4, "70.0", False),  # no figures of this class here
        ("ie5", "7.5", 4, "70.0", False),
        ("none", "7.5", 4, "70.0", False),
    ],
)
def test_at_50_hz(claimed: str, kilowatts: str, poles: int, percent: str, fires: bool) -> None:
    found = verdicts(plate(claimed, kilowatts, poles, percent), CLASS)
    assert found == ([("review", "below")] if fires else [])


@pytest.mark.parametrize(
    ("claimed", "percent", "fires"),
    [
        ("premium", "95.0", False),  # M09: 60 hp, enclosed, 4 poles
        ("premium", "94.5", True),  # one step below
        ("epact", "93.6", False),  # older level, 60 hp enclosed 4 poles
    ],
)
def test_at_60_hz(claimed: str, percent: str, fires: bool) -> None:
    document = changed(
        plate(claimed, "45", 4, percent, "60"), {"/motor/ratings/0/power": q("60", "hp")}
    )
    assert bool(verdicts(document, CLASS)) is fires


def test_an_older_motor_is_not_held_to_premium() -> None:
    # 50 hp enclosed 4 poles: 93.0 % by the older table, 94.5 % by premium
    document = changed(
        plate("epact", "37", 4, "93.0", "60"), {"/motor/ratings/0/power": q("50", "hp")}
    )
    assert verdicts(document, CLASS) == []


def test_immersed_motors_have_no_class() -> None:
    document = changed(plate("ie3", "7.5", 4, "80.0"), {"/motor/immersed": True})
    judgement = judged(document)
    assert of_rule(judgement, CLASS) == []
    assert lacking(judgement, CLASS) == []


def test_the_enclosure_decides_at_60_hz() -> None:
    document = without(plate("premium", "45", 4, "90.0", "60"), "/motor/enclosure")
    (missing,) = lacking(judged(document), CLASS)
    assert missing.needs == ("/motor/enclosure",)


def test_the_required_efficiency_is_shown() -> None:
    value = derived(judged(booster()), "motor.required-efficiency")
    assert value.shown.value == "95"


# -- service factor -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("amperes", "notes"),
    [("68.7", False), ("68.8", False), ("69.0", True), ("72.0", True), ("73.0", False)],
)
def test_service_factor_in_the_overload(amperes: str, notes: bool) -> None:
    # Above 105 % (72.1 A) the overload's own rule tells it.
    document = changed(booster(), settings({"overload_current": q(amperes, "A")}))
    assert verdicts(document, FACTOR) == ([("note", "setting")] if notes else [])


def test_service_factor_in_the_load() -> None:
    read = {"/event/duty_points/0/currents_drive_output": [q("71.0", "A")] * 3}
    assert verdicts(changed(booster(), read), FACTOR) == [("note", "load")]  # 103.3 %
    read = {"/event/duty_points/0/currents_drive_output": [q("69.2", "A")] * 3}
    assert verdicts(changed(booster(), read), FACTOR) == []  # within the ammeter's 1 %


def test_where_the_service_factor_is_allowed_or_absent() -> None:
    document = changed(booster(), settings({"overload_current": q("71.0", "A")}))
    stated = changed(document, {"/motor/inverter_service_factor": q("1.15", "1")})
    assert verdicts(stated, FACTOR) == []
    assert verdicts(changed(document, {"/motor/service_factor": q("1.0", "1")}), FACTOR) == []
    assert verdicts(well(), FACTOR) == []
    fixed = changed(without(document, "/drive", "/event/settings"), {"/pump_set/drive": None})
    assert verdicts(fixed, FACTOR) == []


# -- single phase -------------------------------------------------------------------------------


def test_a_single_phase_motor_has_no_place_on_a_drive() -> None:
    rule = "motor.single-phase-on-drive"
    document = changed(booster(), {"/motor/phases": 1})
    assert verdicts(document, rule) == [("stop", "single_phase")]
    fixed = changed(without(document, "/drive", "/event/settings"), {"/pump_set/drive": None})
    assert verdicts(fixed, rule) == []
    alone = {"motor": {"kind": "induction", "phases": 1}}
    (missing,) = lacking(judged(alone), rule)
    assert missing.needs == ("/drive",)
    assert of_rule(judged(booster()), rule) == []
