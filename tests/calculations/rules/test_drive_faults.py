"""What the drive does at lost phases, earth faults and a slow overload.

No published limit: common practice; trip classes of IEC 60947-4-1 from memory (class 10 trips
within 10 s at 7.2 times the current).
"""

import pytest

from tests.calculations import stations
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.whole_stations import left

RESPONSES, CLASS = "drive.fault-responses", "drive.overload-class"
FAULTS = {
    "input_phase_loss_response": "input_phase",
    "output_phase_loss_response": "output_phase",
    "earth_fault_response": "earth",
}


def test_the_ordinary_drive_trips() -> None:
    tripping = changed(booster(), left(**dict.fromkeys(FAULTS, "trip")))
    assert verdicts(tripping, RESPONSES) == []


@pytest.mark.parametrize("setting", FAULTS)
def test_no_response(setting: str) -> None:
    document = changed(booster(), left(**{setting: "none"}))
    assert verdicts(document, RESPONSES) == [("review", FAULTS[setting])]


@pytest.mark.parametrize("setting", FAULTS)
def test_an_alarm_is_a_response(setting: str) -> None:
    assert verdicts(changed(booster(), left(**{setting: "alarm"})), RESPONSES) == []


def test_one_phase_has_none_to_lose() -> None:
    assert verdicts(stations.fed_by_one_phase(), RESPONSES) == []


def test_where_the_phases_are_not_known_the_others_are_told_still() -> None:
    silent = left(input_phase_loss_response="none", output_phase_loss_response="none")
    document = without(changed(booster(), silent), "/site/supply_phases")
    assert verdicts(document, RESPONSES) == [("review", "output_phase")]
    (missing,) = lacking(judged(document), RESPONSES)
    assert missing.needs == ("/site/supply_phases",)


@pytest.mark.parametrize("earthing", ["unearthed", "impedance_earthed"])
def test_a_first_earth_fault_may_be_meant_to_run_on(earthing: str) -> None:
    document = changed(
        booster(), left(earth_fault_response="none") | {"/site/supply_earthing": earthing}
    )
    assert verdicts(document, RESPONSES) == []


@pytest.mark.parametrize(
    ("found", "expected"),
    [("5", []), ("10", []), ("20", [("review", "slow")]), ("30", [("review", "slow")])],
)
def test_trip_class_of_a_well_motor(found: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(changed(stations.well(), left(overload_class=found)), CLASS) == expected


def test_a_motor_in_air_may_be_slow() -> None:
    assert verdicts(changed(booster(), left(overload_class="30")), CLASS) == []


def test_the_class_is_a_clients_own() -> None:
    document = changed(stations.well(), left(overload_class="20"))
    assert of_rule(judged(document, {f"{CLASS}.well-motor": 20.0}), CLASS) == []


def test_a_trip_class_may_come_as_a_number() -> None:
    as_number = changed(stations.well(), left(overload_class=30))
    as_text = changed(stations.well(), left(overload_class="30"))
    assert verdicts(as_number, CLASS) == verdicts(as_text, CLASS) != []


def test_how_long_a_well_motor_may_take_is_told() -> None:
    (found,) = of_rule(judged(changed(stations.well(), left(overload_class="20"))), CLASS)
    assert (found.limit, found.parameters["longest"]) == ("at most 10 s", "10 s")
