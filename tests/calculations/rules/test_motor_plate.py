"""Slip and poles of a plate; speeds by definition (n = 120 f / p)."""

import pytest

from calculations.rules.motor_plate import other_mains
from tests.calculations.building import changed, judged, lacking, of_rule, q, verdicts, without
from tests.calculations.building_plates import Document


def plate(speed: str, frequency: str, poles: int | None = None, power: str = "30 kW") -> Document:
    """An induction motor's plate with one rating."""
    value, unit = power.split()
    rating = {
        "speed": q(speed, "rpm"),
        "frequency": q(frequency, "Hz"),
        "power": q(value, unit),
    }
    motor: Document = {"kind": "induction", "ratings": [rating]}
    return {"motor": motor | ({"poles": poles} if poles else {})}


def synchronous(speed: str, frequency: str, poles: int | None = 8) -> Document:
    """A permanent-magnet motor's plate."""
    return changed(plate(speed, frequency, poles), {"/motor/kind": "permanent_magnet"})


# -- motor.slip ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("speed", "frequency", "poles"),
    [
        ("1770", "60", 4), ("1185", "60", 6), ("3540", "60", 2), ("885", "60", 8),
        ("1475", "50", 4), ("2930", "50", 2), ("970", "50", 6),
    ],
)  # fmt: skip
def test_ordinary_plates_are_silent(speed: str, frequency: str, poles: int) -> None:
    for stated in (None, poles):
        judgement = judged(plate(speed, frequency, stated))
        assert judgement.findings == ()


def test_1450_rpm_at_60_hz_is_a_four_pole_motor_of_50_hz() -> None:
    # 1500 - 1450 over 1500 = 3.33 %; at 60 Hz it would be 350 / 1800 = 19.4 %.
    (found,) = of_rule(judged(plate("1450", "60")), "motor.slip")
    assert (found.severity, found.variant) == ("review", "other_mains")
    assert found.parameters["poles"] == "4"
    assert found.parameters["slip"] == "3.33 %"
    assert found.parameters["other"] == "50 Hz"


@pytest.mark.parametrize(
    ("speed", "frequency", "poles", "variant"),
    [
        ("1450", "60", 4, "other_mains"),
        ("1775", "50", 4, "other_mains"),
        ("1800", "60", 4, "above_synchronous"),
        ("1801", "60", 4, "above_synchronous"),
        ("3540", "50", None, "other_mains"),
        ("3700", "50", None, "no_poles"),
        ("1560", "60", 4, "stated_poles"),
    ],
)  # fmt: skip
def test_what_does_not_fit(speed: str, frequency: str, poles: int | None, variant: str) -> None:
    assert verdicts(plate(speed, frequency, poles), "motor.slip") == [("review", variant)]


@pytest.mark.parametrize(
    ("speed", "power", "fires"),
    [
        ("1350", "11 kW", False),  # (1500 - 1350) / 1500 = 10.0 %
        ("1345", "11 kW", True),  # 10.3 %
        ("1390", "14.9 kW", False),  # 7.3 %
        ("1390", "15 kW", True),
        ("1395", "15 kW", False),  # 7.0 %
        ("1387", "90 kW", True),  # 1487 rpm with a slip of the pen
        ("1345", "0.55 kW", False),  # 10.3 %, allowed to 15 % below 0.75 kW
        ("1275", "0.55 kW", False),  # 15.0 %
        ("1270", "0.55 kW", True),  # 15.3 %
        ("1345", "0.75 kW", True),  # 0.75 kW is not below 0.75 kW
    ],
)
def test_boundary_of_the_largest_slip(speed: str, power: str, fires: bool) -> None:
    assert bool(verdicts(plate(speed, "50", 4, power), "motor.slip")) is fires


@pytest.mark.parametrize(
    ("made", "fires"),
    [
        ({"/motor/design_letter": "D"}, False),
        ({"/motor/design_letter": "B"}, True),
        ({"/motor/kind": "wound_rotor"}, False),
    ],
)
def test_a_large_motor_may_be_made_to_slip(made: Document, fires: bool) -> None:
    """NEMA MG 1 design D: 5 to 8 % and more; from memory."""
    document = changed(plate("1387", "50", 4, "90 kW"), made)
    assert bool(verdicts(document, "motor.slip")) is fires


@pytest.mark.parametrize(
    ("speed", "notes"),
    [("1497", False), ("1497.0", False), ("1497.1", True), ("1498", True)],  # 0.2 %, 0.193 %
)
def test_boundary_of_the_smallest_slip(speed: str, notes: bool) -> None:
    expected = [("note", "small")] if notes else []
    assert verdicts(plate(speed, "50", 4), "motor.slip") == expected


def test_a_synchronous_motor_has_no_slip() -> None:
    judgement = judged(synchronous("1800", "120"))
    assert of_rule(judgement, "motor.slip") == []
    assert lacking(judgement, "motor.slip") == []


def test_missing_speed_and_kind_are_named() -> None:
    document = without(plate("1450", "60"), "/motor/ratings/0/speed", "/motor/kind")
    (missing,) = lacking(judged(document), "motor.slip")
    assert missing.needs == ("/motor/kind", "/motor/ratings/0/speed")


def test_which_rating_is_in_use_must_be_known() -> None:
    document = changed(plate("1450", "60"), {"/motor/ratings/-": {"speed": q("1750", "rpm")}})
    (missing,) = lacking(judged(document), "motor.slip")
    assert missing.needs[-1].startswith("/motor/rating_in_use")


# -- motor.poles --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("speed", "frequency", "stated", "fitting"),
    [("1775", "60", 2, "4"), ("1475", "50", 6, "4"), ("985", "50", 8, "6")],
)
def test_the_pole_count_that_the_speed_has(
    speed: str, frequency: str, stated: int, fitting: str
) -> None:
    judgement = judged(plate(speed, frequency, stated))
    (found,) = judgement.findings
    assert (found.rule, found.severity, found.variant) == ("motor.poles", "review", "other_count")
    assert found.parameters["fitting"] == fitting


def test_a_slow_motor_fits_both_mains_frequencies() -> None:
    # 715 rpm: 10 poles at 60 Hz turn at 720 (0.69 %), 8 poles at 50 Hz at 750 (4.67 %).
    (found,) = judged(plate("715", "60")).findings
    assert (found.rule, found.severity) == ("motor.poles", "note")
    assert (found.parameters["poles"], found.parameters["other_poles"]) == ("10", "8")


def test_stated_poles_decide_between_the_mains_frequencies() -> None:
    assert verdicts(plate("715", "60", 10), "motor.poles") == []
    assert verdicts(plate("715", "60", 8), "motor.slip") == [("review", "other_mains")]


@pytest.mark.parametrize(
    ("speed", "fires"),
    [
        ("1800", False),  # 120 x 120 / 8
        ("1809", False),  # 0.5 % above
        ("1810", True),  # 0.56 %, beyond half a revolution per minute of rounding
        ("1809.0", False),
        ("1809.1", True),
        ("1791", False),  # 0.5 % below
        ("1790", True),
        ("1791.0", False),
        ("1790.9", True),
    ],
)
def test_boundary_of_a_synchronous_speed(speed: str, fires: bool) -> None:
    assert bool(verdicts(synchronous(speed, "120"), "motor.poles")) is fires


def test_a_synchronous_motor_at_the_mains_frequency() -> None:
    # 8 poles at 1800 rpm take 120 Hz, not 60.
    (found,) = of_rule(judged(synchronous("1800", "60")), "motor.poles")
    assert found.variant == "other_synchronous"  # 60 Hz and 1800 rpm are 4 poles
    (found,) = of_rule(judged(synchronous("1800", "100")), "motor.poles")
    assert found.variant == "synchronous"
    assert found.parameters["true_frequency"] == "120 Hz"


def test_a_synchronous_motor_needs_its_poles() -> None:
    (missing,) = lacking(judged(synchronous("1800", "120", None)), "motor.poles")
    assert missing.needs == ("/motor/poles",)


def test_poles_wait_for_slip() -> None:
    (waiting,) = lacking(judged(plate("1450", "60", 4)), "motor.poles")
    assert waiting.waits_for == "motor.slip"


@pytest.mark.parametrize(
    ("frequency", "other"),
    # Within 1 Hz of 50 Hz it is 60 Hz that may be meant, else 50 Hz; common practice, no source.
    [(48.9, 50), (49.1, 60), (50, 60), (50.9, 60), (51, 50), (51.1, 50), (60, 50), (87, 50)],
)
def test_the_mains_that_may_be_meant(frequency: float, other: float) -> None:
    assert other_mains(frequency) == other


@pytest.mark.parametrize(
    ("speed", "frequency", "variant", "fitting"),
    [
        ("3600", "60", "other_synchronous", "2"),  # 60 Hz and 60 turns a second are 2 poles
        ("1500", "50", "other_synchronous", "4"),
        ("1809", "60", "other_synchronous", "4"),  # 0.5 % above 1800 rpm
        ("1791", "60", "other_synchronous", "4"),
        ("1812", "60", "synchronous", "4"),  # 0.67 %
        ("1788", "60", "synchronous", "4"),
        ("7200", "60", "synchronous", "0"),  # faster than 2 poles turn
    ],
)
def test_the_poles_of_a_synchronous_speed(
    speed: str, frequency: str, variant: str, fitting: str
) -> None:
    (found,) = of_rule(judged(synchronous(speed, frequency)), "motor.poles")
    assert (found.variant, found.parameters["fitting"]) == (variant, fitting)
