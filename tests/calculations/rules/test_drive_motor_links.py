"""Kind of motor, pole count, speed of another pole count, and links, as set against the plate.

n = 120 f / p: 60 Hz give 3600, 1800, 1200, 900 rpm for 2, 4, 6, 8 poles; the booster's motor has 4
poles, 1775 rpm and is linked in series star for 460 V. Severities: common practice, no source.
"""

import pytest

from calculations.judging import finding_document
from calculations.rules.drive_motor_links import poles_of_speed
from calculations.units import Quantity
from tests.calculations import stations
from tests.calculations.building import (
    booster,
    case,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    serious,
    without,
)
from tests.calculations.building import verdicts as verdicts_of
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left

KIND = "drive.motor-kind"
SPEED, POLES, LINKS = "drive.motor-speed", "drive.motor-poles", "drive.motor-connection"
LINEAR = "volts_per_hertz_linear"


# -- kind ---------------------------------------------------------------------------------------


def test_kinds_that_agree_are_silent() -> None:
    assert verdicts_of(booster(), KIND) == []
    assert verdicts_of(stations.permanent_magnet(), KIND) == []


@pytest.mark.parametrize(
    ("plate", "chosen", "fires"),
    [
        ("induction", "permanent_magnet", True),
        ("permanent_magnet", "induction", True),
        ("synchronous_reluctance", "induction", True),
        ("synchronous_reluctance", "permanent_magnet", True),
        ("wound_rotor", "induction", False),
        ("pm_assisted_reluctance", "synchronous_reluctance", False),
        ("pm_assisted_reluctance", "induction", True),
    ],
)
def test_kinds(plate: str, chosen: str, fires: bool) -> None:
    document = changed(booster(), left(motor_kind=chosen) | {"/motor/kind": plate})
    assert verdicts_of(document, KIND) == ([("stop", "differs")] if fires else [])


def test_a_drive_that_says_nothing_takes_it_for_induction() -> None:
    induction = without(booster(), f"{LEFT}/motor_kind")
    assert lacking(judged(induction), KIND) == []
    magnets = without(stations.permanent_magnet(), f"{LEFT}/motor_kind")
    (missing,) = lacking(judged(magnets), KIND)
    assert missing.needs == (f"{LEFT}/motor_kind",)


# -- poles, speed and links ----------------------------------------------------------------------


def told(**values: object) -> list[tuple[str, str]]:
    """Rules and severities that the booster draws with other settings, in any units."""
    document = changed(booster(), left(**values))
    found = serious(judged(document))
    assert serious(judged(in_metric(document))) == found
    return found


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({"motor_poles": 4}, []),
        ({"motor_poles": 8}, [(POLES, "stop")]),
        ({"motor_poles": 8, "control_mode": LINEAR}, [(POLES, "review")]),
        ({"motor_poles": 2, "motor_speed": q("3540", "rpm")}, [(POLES, "stop")]),
        ({"motor_speed": q("1180", "rpm")}, [(SPEED, "stop")]),
        ({"motor_speed": q("1180", "rpm"), "control_mode": LINEAR}, [(SPEED, "review")]),
        ({"motor_speed": q("1480", "rpm")}, [(SPEED, "review")]),  # 50 Hz
        ({"motor_speed": q("1800", "rpm")}, [(SPEED, "review")]),
    ],
)
def test_poles_and_speed_are_one_mistake(values, expected):
    assert told(**values) == expected


@pytest.mark.parametrize(
    ("speed", "variant", "words"),
    [
        ("1180", "poles", "1180 rpm is the speed of a motor of 6 poles, this one has 4 poles."),
        ("3540", "poles", "3540 rpm is the speed of a motor of 2 poles, this one has 4 poles."),
        ("1480", "mains", "1480 rpm belongs to this motor at 50 Hz, rated or synchronous."),
        ("1800", "synchronous", "Probably the synchronous speed"),
        ("1610", "plain", "Motor speed is set to 1610 rpm"),
    ],
)
def test_the_cause_of_a_wrong_speed_is_named(speed, variant, words):
    document = changed(booster(), left(motor_speed=q(speed, "rpm")))
    (found,) = of_rule(judged(document), SPEED)
    assert found.variant == variant
    assert finding_document(found, "")["sentence"].startswith(words)


def test_poles_that_fit_the_speed_are_told_with_it():
    document = changed(booster(), left(motor_poles=2, motor_speed=q("3540", "rpm")))
    (found,) = of_rule(judged(document), POLES)
    assert (found.variant, found.parameters["speed"]) == ("with_speed", "3540 rpm")
    (found,) = of_rule(judged(changed(booster(), left(motor_poles=8))), POLES)
    assert (found.variant, found.parameters["speed"]) == ("plain", "")


def test_a_motor_extended_to_87_hertz_keeps_its_poles():
    """2580 rpm at 87 Hz are 4 poles, 2610 rpm synchronous."""
    set_right = changed(stations.eighty_seven_hertz(), {f"{LEFT}/motor_poles": 4})
    assert serious(judged(set_right)) == []


@pytest.mark.parametrize(
    ("connection", "expected"),
    [
        ("series_star", []),
        ("star", []),  # a drive need not tell series from parallel
        ("other", []),
        ("delta", [(LINKS, "review")]),
        ("parallel_star", [(LINKS, "review")]),
    ],
)
def test_links_as_set(connection, expected):
    assert told(motor_connection=connection) == expected


def test_the_column_of_the_link_that_is_set_is_told():
    """The plate: 230 V in parallel star, 460 V in series star, which is in use."""
    (found,) = of_rule(judged(changed(booster(), left(motor_connection="parallel_star"))), LINKS)
    sentence = finding_document(found, "")["sentence"]
    assert "parallel star (230 V on the plate), the rating in use (460 V)" in sentence
    (found,) = of_rule(judged(changed(booster(), left(motor_connection="delta"))), LINKS)
    assert "on the plate" not in finding_document(found, "")["sentence"]


@pytest.mark.parametrize(
    ("plate", "given", "effect"),
    [
        (
            "delta",
            "star",
            "58 % of its voltage and gives a third of its torque",
        ),  # 1 / sqrt(3), 1/3
        ("star", "delta", "1.73 times its voltage"),
        ("series_star", "parallel_star", "half or twice the voltage over each coil"),
    ],
)
def test_what_the_other_link_does_to_the_winding(plate, given, effect):
    document = changed(
        booster(), {"/motor/ratings/1/connection": plate} | left(motor_connection=given)
    )
    (found,) = of_rule(judged(document), LINKS)
    assert effect in finding_document(found, "")["sentence"]


def test_links_wait_for_the_rating_in_use():
    """With the links of 230 V entered everything is told by volts per hertz."""
    document = changed(
        booster(), {"/motor/rating_in_use": 0} | left(motor_connection="series_star")
    )
    assert verdicts_of(document, LINKS) == []


@pytest.mark.parametrize(
    ("power", "speed", "expected"),
    [
        # Up to 10 % of 1200 rpm, below 0.75 kW 15 %: common practice, no source.
        (q("0.75", "kW"), "1081", 6),
        (q("0.75", "kW"), "1200", 6),  # synchronous: no slip at all
        (q("0.75", "kW"), "1201", None),
        (q("0.75", "kW"), "1079", None),
        (q("0.74", "kW"), "1079", 6),
        (q("0.74", "kW"), "1021", 6),
        (q("0.74", "kW"), "1019", None),
        (None, "1081", 6),
        (None, "1079", None),
    ],
)
def test_poles_of_a_set_speed_by_an_ordinary_slip(power, speed, expected):
    document = changed(booster(), {"/motor/ratings/1/power": power})
    assert poles_of_speed(case(document), Quantity.of(speed, "rpm", "speed")) == expected
