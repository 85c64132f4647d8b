"""Measured speeds that a motor cannot have at the frequency of the point.

A field of p poles turns at 120 f / p (definition of synchronous speed). The booster's motor has 4
poles and 1775 rpm at 60 Hz, so that it loses 25 rpm to its field at full load: 50 rpm are twice
that. Bands of 1 % and of twice the rated slip: common practice, no source.
"""

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
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import lift_station, raw_water

POINT = "/event/duty_points/0"


def at(document, frequency, speed, measured=True):
    """The first point's frequency [Hz] and speed [rpm]."""
    return changed(document, {
        f"{POINT}/frequency": q(frequency, "Hz"), f"{POINT}/speed": q(speed, "rpm"),
        f"{POINT}/speed_measured": measured,
    })  # fmt: skip


@pytest.mark.parametrize(
    ("frequency", "speed", "expected"),
    [
        ("60.0", "1850", [("review", "above")]),  # 1800 rpm, 2.8 % above
        # 1 % of 1800 rpm, 0.5 rpm and 0.05 Hz of 60.0 Hz for the last digits: 1820 rpm.
        ("60.0", "1819", []),
        ("60.0", "1822", [("review", "above")]),
        ("58.0", "1500", [("review", "slips")]),  # 1740 rpm, 13.8 % below
        # 1740 - 50 - 17.4 - 2 rpm: 1670.6 rpm.
        ("58.0", "1672", []),
        ("58.0", "1668", [("review", "slips")]),
        ("58.0", "60", [("review", "slips")]),
        ("50", "1490", []),
        # Weakened: 1980 rpm; 25 rpm x 1.1^4 x 2 = 73.2, 19.8 and 1.4 rpm: 1885.6 rpm.
        ("66.0", "1888", []),
        ("66.0", "1883", [("review", "slips")]),
    ],
)
def test_a_motor_with_slip(frequency, speed, expected):
    assert verdicts(at(booster(), frequency, speed), "speed.measured") == expected


@pytest.mark.parametrize(
    ("speed", "expected"),
    [
        # 145 Hz x 120 / 8 = 2175 rpm; 1 % of it, 0.5 rpm and 0.5 Hz of 145 Hz: 29.7 rpm.
        ("2175", []), ("2150", []), ("2140", [("review", "synchronous")]),
        ("2200", []), ("2210", [("review", "synchronous")]),
    ],
)  # fmt: skip
def test_a_synchronous_motor_keeps_to_its_field(speed, expected):
    found = verdicts(at(stations.permanent_magnet(), "145", speed), "speed.measured")
    assert found == expected


@pytest.mark.parametrize(
    ("speed", "expected"),
    [
        # Behind a belt of 1.25: 1800 rpm less 1 % and twice 25 rpm are 1732, over 1.25 1385.6 rpm.
        ("1420", [("review", "of_pump")]),
        ("1387", [("review", "of_pump")]),
        ("1384", [("review", "slips")]),
        ("1454", [("review", "of_pump")]),  # 1818 rpm over 1.25: 1454.4
        ("1456", [("review", "slips")]),
        ("1775", []),
    ],
)
def test_the_pumps_own_speed_behind_a_belt(speed, expected):
    belt = {"/pump_set/transmission": "belt", "/pump_set/transmission_ratio": q("1.25", "1")}
    document = at(changed(booster(), belt), "60.0", speed)
    assert verdicts(document, "speed.measured") == expected
    for finding in of_rule(judged(document), "speed.measured"):
        if finding.variant == "of_pump":
            assert finding.parameters["motor"] == f"{float(speed) * 1.25:.5g} rpm"


@pytest.mark.parametrize(
    ("speed", "variant"),
    [
        # Behind a gear of 0.5: 1732 to 1818 rpm of the motor are 3464 to 3636 rpm.
        ("3470", "of_pump"),
        ("3455", "above"),
        ("3634", "of_pump"),
        ("3638", "above"),
    ],
)
def test_a_pump_that_turns_faster_than_its_motor(speed, variant):
    gear = {"/pump_set/transmission": "gear", "/pump_set/transmission_ratio": q("0.5", "1")}
    document = at(changed(booster(), gear), "60.0", speed)
    assert verdicts(document, "speed.measured") == [("review", variant)]


def test_a_speed_that_the_drive_shows_was_not_measured():
    assert verdicts(at(booster(), "60.0", "1850", measured=False), "speed.measured") == []


def test_digits_that_fit_are_offered():
    # 58.0 Hz: 1740 rpm less half of the rated slip of 1.39 % are 1728 rpm.
    (found,) = of_rule(judged(at(booster(), "58.0", "7130")), "speed.measured")
    assert finding_document(found, "")["sentence"].startswith("Probably 1730 rpm. 7130 rpm")


def test_digits_are_offered_where_the_slip_is_not_known():
    """1730 rpm are 0.6 % below the field of 1740 rpm."""
    document = without(at(booster(), "58.0", "7130"), "/motor/ratings/1/speed")
    (found,) = of_rule(judged(document), "speed.measured")
    assert finding_document(found, "")["sentence"].startswith("Probably 1730 rpm. 7130 rpm")


def test_the_curve_waits_for_the_speed():
    (waiting,) = lacking(judged(at(booster(), "58.0", "1500")), "curve.point")
    assert waiting.waits_for == "speed.measured"


def test_poles_that_nobody_knows_are_asked_for():
    document = without(at(stations.permanent_magnet(), "145", "2140"), "/motor/poles")
    found = lacking(judged(document), "speed.measured")
    assert found[0].needs == ("/motor/poles",)


@pytest.mark.parametrize(
    "station",
    [booster, lift_station, raw_water, stations.permanent_magnet, stations.eighty_seven_hertz,
     stations.well, stations.old_motor],
)  # fmt: skip
def test_good_stations_are_silent(station):
    assert verdicts(station(), "speed.measured") == []


def test_nothing_turns_at_no_frequency():
    """1470 rpm cannot be had of 0 Hz; 0 rpm can."""
    at = "/event/duty_points/0"
    still = {f"{at}/frequency": q("0.0", "Hz"), f"{at}/speed_measured": True}
    turning = changed(booster(), still | {f"{at}/speed": q("1630", "rpm")})
    assert verdicts(turning, "speed.measured")[0] == ("review", "still")
    resting = changed(booster(), still | {f"{at}/speed": q("0", "rpm")})
    assert ("review", "still") not in verdicts(resting, "speed.measured")
