"""Power, current and speed as set against the plate."""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    q,
    severities,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document
from tests.calculations.stations import (
    LEFT,
    eighty_seven_hertz,
    permanent_magnet,
    settings,
    well,
)

POWER = "drive.motor-power"
CURRENT = "drive.motor-current"
SPEED = "drive.motor-speed"


def left(**values: Document) -> Document:
    """The booster (60 hp, 68.7 A, 1775 rpm) with other settings."""
    return changed(booster(), settings(values))


@pytest.mark.parametrize(
    ("power", "unit", "expected"),
    [
        ("60", "hp", []),
        ("44.7", "kW", []),  # 60 hp
        ("45", "kW", []),  # the standard size
        ("60", "kW", [("review", "unit")]),  # +34 %
        ("44.7", "hp", [("review", "unit")]),  # -25 %
        ("63", "hp", []),  # +5.0 %
        ("65", "hp", [("review", "plain")]),  # +8.3 %, less 0.8 + 0.8 % of rounding
        ("6.0", "hp", [("review", "digits")]),
    ],
)
def test_power(power: str, unit: str, expected: list[tuple[str, str]]) -> None:
    document = left(motor_power=q(power, unit))
    assert verdicts(document, POWER) == expected
    meant = {("60", "kW"): "60 hp", ("44.7", "hp"): "44.7 kW", ("6.0", "hp"): "60 hp"}
    told = [each.parameters["read"] for each in of_rule(judged(document), POWER)]
    assert told == [meant.get((power, unit), "") for _ in expected]
    found = severities(in_metric(document), POWER)
    assert found == [severity for severity, _ in expected]


@pytest.mark.parametrize(
    ("power", "fires"), [("63.5", False), ("63.6", True), ("56.5", False), ("56.4", True)]
)
def test_boundaries_of_the_power(power: str, fires: bool) -> None:
    """60 hp: 5.83 % and 6.00 % either way, less 0.97 % above and 0.87 % below of rounding."""
    assert bool(verdicts(left(motor_power=q(power, "hp")), POWER)) is fires


def test_volts_per_hertz_that_were_accepted_leave_the_plate_in_use() -> None:
    """230 V of the plate's other rating at 60 Hz: which rating is in use is open till accepted."""
    document = left(motor_voltage=q("230", "V"), motor_current=q("60", "A"))
    (waiting,) = lacking(judged(document), CURRENT)
    assert waiting.waits_for == "drive.volts-per-hertz"
    (found,) = of_rule(judged(document), "drive.volts-per-hertz")
    judgement = judged(document, accepted=[(found.rule, found.subject)])
    assert lacking(judgement, CURRENT) == []
    assert of_rule(judgement, CURRENT) != []  # 60 A of 68.7 A


@pytest.mark.parametrize(
    ("current", "severity"),
    [
        ("68.7", []),
        ("69", []),
        ("72.2", []),  # +5.09 %, less 0.15 % of rounding
        ("72.3", ["review"]),  # +5.24 %
        ("65.2", []),  # -5.09 %, less 0.14 %
        ("65.1", ["review"]),  # -5.24 %
        ("85.9", ["review"]),  # +25.04 %, less 0.16 %
        ("86.0", ["stop"]),  # +25.18 %
    ],
)
def test_boundaries_of_the_current(current: str, severity: list[str]) -> None:
    found = verdicts(left(motor_current=q(current, "A")), CURRENT)
    assert [each for each, _ in found] == severity


def test_the_other_column_and_digits_are_named() -> None:
    (found,) = of_rule(judged(left(motor_current=q("137", "A"))), CURRENT)
    assert (found.severity, found.variant) == ("stop", "column")
    assert found.parameters["column"] == "230 V 60 Hz"
    (found,) = of_rule(judged(left(motor_current=q("86.7", "A"))), CURRENT)
    assert (found.variant, found.parameters["read"]) == ("digits", "68.7 A")


@pytest.mark.parametrize(
    ("current", "fires"),
    # Plate 84.1 A, 96.0 A at the service factor: between them nothing, 5 % beyond a question.
    [("84.1", False), ("90.0", False), ("96.0", False), ("101.2", True), ("79.5", True)],
)
def test_an_immersed_motor_may_be_set_to_its_service_factor(current: str, fires: bool) -> None:
    document = changed(well(), settings({"motor_current": q(current, "A")}))
    assert bool(verdicts(document, CURRENT)) is fires


@pytest.mark.parametrize(
    ("speed", "expected"),
    [
        ("1775", []),
        ("1793", []),  # +1.01 %, less 0.06 % of rounding
        ("1794", [("review", "plain")]),  # +1.07 %; 1749 rpm stand on no plate here
        ("1800", [("review", "synchronous")]),  # +1.41 %
        ("1757", []),  # -1.01 %, less 0.06 % of rounding
        ("1756", [("review", "plain")]),  # -1.07 %
        ("7175", [("review", "digits")]),
        # At 50 Hz it has 1479.2 rpm: 2 % and half a revolution off are 1449.2 and 1509.2 rpm.
        ("1449", [("review", "plain")]),
        ("1450", [("review", "mains")]),
        ("1509", [("review", "mains")]),
        ("1510", [("review", "plain")]),
    ],
)
def test_speed(speed: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(left(motor_speed=q(speed, "rpm")), SPEED) == expected


@pytest.mark.parametrize(
    ("speed", "fires"),
    # 0.22 % and 0.28 % either way, less 0.06 % of rounding
    [("1800", False), ("1804", False), ("1805", True), ("1796", False), ("1795", True)],
)
def test_a_synchronous_speed_is_exact(speed: str, fires: bool) -> None:
    document = changed(permanent_magnet(), settings({"motor_speed": q(speed, "rpm")}))
    assert bool(verdicts(document, SPEED)) is fires


def test_87_hz_has_the_extended_power_and_speed() -> None:
    # 22 kW x 1.739 = 38.3 kW, 2609 - 30 = 2579 rpm; 2610 rpm is its synchronous speed.
    assert verdicts(eighty_seven_hertz(), POWER) == []
    assert verdicts(eighty_seven_hertz(), SPEED) == []
    document = changed(
        eighty_seven_hertz(),
        settings({"motor_power": q("45", "kW"), "motor_speed": q("2610", "rpm")}),
    )
    assert verdicts(document, POWER) == [("review", "plain")]
    assert verdicts(document, SPEED) == [("review", "synchronous")]


def test_the_other_mains_is_that_of_the_plate() -> None:
    """1470 rpm at 50 Hz are 1764 rpm at 60 Hz, however far the drive stretches it."""
    document = changed(eighty_seven_hertz(), settings({"motor_speed": q("1764", "rpm")}))
    (found,) = of_rule(judged(document), SPEED)
    assert (found.variant, found.parameters["mains"]) == ("mains", "60 Hz")


@pytest.mark.parametrize("rule", [POWER, CURRENT, SPEED])
def test_they_wait_for_volts_per_hertz(rule: str) -> None:
    (waiting,) = lacking(judged(left(motor_voltage=q("230", "V"))), rule)
    assert waiting.waits_for == "drive.volts-per-hertz"


@pytest.mark.parametrize(
    ("rule", "name"),
    [(POWER, "motor_power"), (CURRENT, "motor_current"), (SPEED, "motor_speed")],
)
def test_missing_settings_are_named(rule: str, name: str) -> None:
    (missing,) = lacking(judged(without(booster(), f"{LEFT}/{name}")), rule)
    assert missing.needs == (f"{LEFT}/{name}",)


def test_a_speed_of_a_motor_without_slip_is_not_called_synchronous() -> None:
    """1700 rpm of 1800 rpm at 120 Hz: the plate's speed is the synchronous one."""
    document = changed(permanent_magnet(), settings({"motor_speed": q("1700", "rpm")}))
    assert verdicts(document, SPEED) == [("review", "plain")]


def test_the_power_of_a_stretched_motor_waits_for_a_plate_in_doubt() -> None:
    """1470 rpm at 50 Hz are not 6 poles; only where the drive stretches it does that matter."""
    wrong = settings({"motor_power": q("45", "kW")}) | {"/motor/poles": 6}
    (waiting,) = lacking(judged(changed(eighty_seven_hertz(), wrong)), POWER)
    assert waiting.waits_for == "motor.poles"
    as_rated = wrong | settings({"motor_voltage": q("230", "V"), "motor_frequency": q("50", "Hz")})
    assert verdicts(changed(eighty_seven_hertz(), as_rated), POWER) == [("review", "plain")]


# -- power factor -------------------------------------------------------------------------------

FACTOR = "drive.motor-power-factor"


@pytest.mark.parametrize(
    ("factor", "variant"),
    [
        ("0.86", None),
        ("0.91", None),  # +5.8 %, less half a digit on both: 1.2 %
        ("0.92", "plain"),
        # With three digits 0.67 % and 0.61 %: 5.58 and 5.70 % either way
        ("0.908", None),
        ("0.909", "plain"),
        ("0.812", None),
        ("0.811", "plain"),
        ("0.95", "efficiency"),
        ("95.0", "efficiency"),
    ],
)
@pytest.mark.parametrize(
    ("mode", "severity"), [("vector", "review"), ("volts_per_hertz_linear", "note")]
)
def test_power_factor(factor: str, variant: str | None, mode: str, severity: str) -> None:
    """0.86 on the plate; what a model of the motor makes of it: common practice, no source."""
    unit = "%" if "95.0" in factor else "1"
    document = changed(left(motor_power_factor=q(factor, unit)), settings({"control_mode": mode}))
    assert verdicts(document, FACTOR) == ([(severity, variant)] if variant else [])


def test_an_efficiency_near_the_power_factor_is_told_by_its_digits() -> None:
    """88.0 % and 0.86 are 2.3 % apart, less than a difference that is told by itself."""
    plate = {"/motor/ratings/1/efficiency": q("88.0", "%")}
    document = changed(left(motor_power_factor=q("0.880", "1")), plate)
    (found,) = of_rule(judged(document), FACTOR)
    assert (found.variant, found.parameters["efficiency"]) == ("efficiency", "88.0 %")
    # Where the register has exchanged the two the drive is right.
    told = finding_document(found, "")
    assert "or both stand exchanged in the register" in str(told["sentence"])
    assert str(told["remedy"]).startswith("Read both from the plate again")
    assert verdicts(changed(left(motor_power_factor=q("0.860", "1")), plate), FACTOR) == []


def test_magnets_have_no_power_factor_to_set() -> None:
    document = changed(permanent_magnet(), settings({"motor_power_factor": q("0.60", "1")}))
    judgement = judged(document)
    assert of_rule(judgement, FACTOR) == lacking(judgement, FACTOR) == []
