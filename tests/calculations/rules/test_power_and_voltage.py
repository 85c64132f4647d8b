"""Power through the drive, and voltages far below the motor's line, at points of the booster.

At 54.9 Hz of 60 Hz and 460 V about 421 V are expected; 40 % of what the square of the frequency
leaves are 0.4 x 0.915 x 421 V = 154 V. Conservation of energy; bands: common practice, no source.
"""

from collections.abc import Callable

import pytest

from calculations.judging import finding_document
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
from tests.calculations.building_plates import Document, q

POINT = "/event/duty_points/0"
POWER, VOLTAGE = "load.drive-power", "load.voltage"


def powers(**kilowatts: str) -> Document:
    return changed(booster(), {f"{POINT}/{name}": q(kw, "kW") for name, kw in kilowatts.items()})


@pytest.mark.parametrize(
    ("name", "kilowatts", "expected"),
    [
        ("power_drive_output", "30.9", []),
        ("power_drive_output", "33.5", []),  # 5 % above 31.9 kW
        ("power_drive_output", "33.7", [("review", "output")]),
        # Its display is 5 % of 31.9 kW and 3 % of 44.7 kW above: 34.8 kW, and half of two digits.
        ("power_drive_display", "34.9", []),
        ("power_drive_display", "35.0", [("review", "display")]),
    ],
)
def test_no_drive_makes_power(name: str, kilowatts: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(powers(**{name: kilowatts}), POWER) == expected


@pytest.mark.parametrize(("kilowatts", "expected"), [("34.9", []), ("35.0", ["display"])])
def test_where_no_output_was_read_the_display_is_judged(
    kilowatts: str, expected: list[str]
) -> None:
    document = without(powers(power_drive_display=kilowatts), f"{POINT}/power_drive_output")
    assert verdicts(document, POWER) == [("review", variant) for variant in expected]


@pytest.mark.parametrize(
    ("kilowatts", "expected"), [("16.8", []), ("17.0", [("review", "display")])]
)
def test_at_little_load_a_display_is_farther_off(
    kilowatts: str, expected: list[tuple[str, str]]
) -> None:
    """14.7 kW at 43.3 Hz: 5 % of them and 3 % of 44.7 kW are 2.1 kW, 14 % of what is read."""
    shown = {"/event/duty_points/2/power_drive_display": q(kilowatts, "kW")}
    assert verdicts(changed(booster(), shown), POWER) == expected


def test_where_the_input_is_what_is_wrong_that_is_told_alone() -> None:
    """31.9 hp instead of kW: 23.8 kW into a drive that gives 30.9 kW."""
    document = changed(booster(), {f"{POINT}/power_drive_input": q("31.9", "hp")})
    assert verdicts(document, "efficiency.sum-of-parts") == [("review", "unit")]
    assert verdicts(document, POWER) == []


def test_without_the_input_it_is_not_passed() -> None:
    document = without(booster(), f"{POINT}/power_drive_input")
    (missing,) = lacking(judged(document), POWER)
    assert missing.needs == (f"{POINT}/power_drive_input",)


@pytest.mark.parametrize(
    ("kilowatts", "rule", "meant"),
    [
        ("319", "efficiency.wire-to-water", "31.9 kW"),
        ("3.19", "efficiency.sum-of-parts", "31.9 kW"),
    ],
)
def test_a_moved_point_of_the_input_is_named(kilowatts: str, rule: str, meant: str) -> None:
    (finding,) = of_rule(judged(powers(power_drive_input=kilowatts)), rule)
    assert finding_document(finding, "")["sentence"].startswith(f"Probably {meant}. ")


def test_a_worn_pump_is_no_moved_point() -> None:
    """55 kW for 31.9 kW: 58 %; 55 hp would be 41 kW."""
    (finding,) = of_rule(judged(powers(power_drive_input="55")), "efficiency.wire-to-water")
    assert finding.variant == "plain"


def volts(name: str, value: str, document: Document | None = None) -> Document:
    return changed(document or booster(), {f"{POINT}/{name}": [q(value, "V")] * 3})


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("voltages_drive_output", "421", []),
        ("voltages_drive_output", "300", []),  # a drive that saves flux
        ("voltages_drive_output", "154", []),
        ("voltages_drive_output", "153", [("review", "low")]),
        ("voltages_drive_display", "42", [("review", "low")]),
        ("voltages_drive_input", "192", []),  # 40 % of 479.3 V are 191.7 V
        ("voltages_drive_input", "191", [("review", "low")]),
    ],
)
def test_far_below(name: str, value: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(volts(name, value), VOLTAGE) == expected


@pytest.mark.parametrize(("value", "meant"), [("42.1", "421 V"), ("4210", "421 V"), ("120", "")])
def test_the_lost_digit_is_named(value: str, meant: str) -> None:
    (finding,) = of_rule(judged(volts("voltages_drive_output", value)), VOLTAGE)
    assert finding.parameters["probably"] == (f"Probably {meant}. " if meant else "")


def test_nothing_is_said_of_a_point_without_frequency_or_at_rest() -> None:
    unknown = without(booster(), f"{POINT}/frequency")
    assert verdicts(volts("voltages_drive_output", "42", unknown), VOLTAGE) == []
    resting = changed(booster(), {f"{POINT}/frequency": q("0", "Hz")})
    assert verdicts(volts("voltages_drive_output", "0", resting), VOLTAGE) == []


@pytest.mark.parametrize(
    "make", [stations.well, stations.permanent_magnet, stations.eighty_seven_hertz]
)
def test_other_good_stations_are_silent(make: Callable[[], Document]) -> None:
    document = make()
    assert verdicts(document, VOLTAGE) == verdicts(document, POWER) == []
