"""Motor voltage as set against plate and supply; a base point below the plate's, in proportion."""

import pytest

from calculations.judging import finding_document
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
from tests.calculations.rules.test_drive_flux import FLUX, FREQUENCY, VOLTAGE, settings


def below_the_plate(supply: str | None, highest: str, **chosen: Document) -> Document:
    """A 460 V 60 Hz motor of 60 hp and 1775 rpm, on another supply."""
    document = changed(booster(), settings({"maximum_frequency": q(highest, "Hz")} | chosen))
    if supply is None:
        return without(document, "/site/supply_nominal_voltage", "/event/supply")
    volts = [q(supply, "V") for _ in range(3)]
    return changed(
        document,
        {"/site/supply_nominal_voltage": q(supply, "V"), "/event/supply/line_voltages": volts},
    )


@pytest.mark.parametrize(
    ("supply", "highest", "expected"),
    [
        # 400 V at 52.2 Hz, 7.66 V/Hz of 7.67: all that a supply of 400 V gives.
        ("400", "60", "note"),
        ("421", "60", "note"),  # 400 V are 5.0 % less
        ("422", "60", "review"),  # 5.2 %
        ("480", "60", "review"),  # from 52.2 Hz on the motor lacks what the supply has
        ("480", "54.9", "note"),  # 54.9 Hz would be 420.9 V
        ("480", "55.0", "review"),  # 421.7 V, of which 400 V are 5.1 % less
        (None, "52.2", "note"),
        (None, "60", "review"),
    ],
)
def test_a_base_point_below_the_plate_is_noted_where_no_more_is_ever_run(
    supply: str | None, highest: str, expected: str
) -> None:
    """Full flux up to the highest voltage: law of induction."""
    base = {"motor_voltage": q("400", "V"), "motor_frequency": q("52.2", "Hz")}
    document = below_the_plate(supply, highest, **base)
    variant = {"note": "lowered", "review": "plain"}[expected]
    assert verdicts(document, FLUX) == []
    assert verdicts(document, FREQUENCY) == [(expected, variant)]
    assert verdicts(document, VOLTAGE) == []
    waiting = [each.waits_for for each in lacking(judged(document), VOLTAGE)]
    assert waiting == ([FREQUENCY] if expected == "review" else [])


def test_what_it_is_run_at_is_told() -> None:
    base = {"motor_voltage": q("400", "V"), "motor_frequency": q("52.2", "Hz")}
    (found,) = of_rule(judged(below_the_plate("400", "60", **base)), FREQUENCY)
    told = finding_document(found, "")
    assert "(-13 %), with volts per hertz right. It is never run at more than 400 V" in str(
        told["sentence"]
    )
    assert not told["remedy"]


@pytest.mark.parametrize(("supply", "expected"), [("440", "note"), ("480", "review")])
def test_a_voltage_alone_below_the_plate_is_noted_alike(supply: str, expected: str) -> None:
    """436 V at 58 Hz: 7.52 V/Hz are 1.9 % less, 58 Hz 3.3 %, 436 V 5.2 %."""
    base = {"motor_voltage": q("436", "V"), "motor_frequency": q("58", "Hz")}
    document = below_the_plate(supply, "60", **base)
    assert verdicts(document, FREQUENCY) == []
    variant = {"note": "lowered", "review": "plain"}[expected]
    assert verdicts(document, VOLTAGE) == [(expected, variant)]


@pytest.mark.parametrize(
    ("power", "speed", "rules"),
    [
        ("60", "1775", []),  # of the plate
        ("52.2", "1541", []),  # 0.87 of 60 hp; 0.87 x 1800 - 25 = 1541 rpm
        ("48.8", "1541", ["drive.motor-power"]),  # 6.5 % less, of which digits explain 1.1 %
        ("52.2", "1520", ["drive.motor-speed"]),  # 1.4 % less
    ],
)
def test_power_and_speed_may_be_those_of_either_base_point(
    power: str, speed: str, rules: list[str]
) -> None:
    base = {"motor_voltage": q("400", "V"), "motor_frequency": q("52.2", "Hz"),
            "motor_power": q(power, "hp"), "motor_speed": q(speed, "rpm")}  # fmt: skip
    judgement = judged(below_the_plate("400", "52.2", **base))
    names = ("drive.motor-power", "drive.motor-speed")
    assert [name for name in names if of_rule(judgement, name)] == rules
    assert all(lacking(judgement, name) == [] for name in names)
