"""What the motor is loaded with: 60 hp, 68.7 A at 1775 rpm and 60 Hz; k = 0.4, from memory."""

from math import sqrt

import pytest

from calculations.aspects import load
from calculations.case import Missing
from calculations.units import Quantity
from tests.calculations.building import booster, case, changed, without
from tests.calculations.building_plates import q
from tests.calculations.stations import permanent_magnet, well

POINT = "/event/duty_points/0"
HP = 745.69987


def test_magnets_need_no_magnetizing_current():
    assert load.magnetizing_share(case(booster())) == 0.4
    assert load.magnetizing_share(case(permanent_magnet())) == 0.0


@pytest.mark.parametrize(
    ("amperes", "torque"),
    [
        # (I / 68.7)^2 = 0.16 + 0.84 t^2; 27.48 A are the no-load current.
        (68.7, 1.0),
        (52.7, 0.7142),
        (27.48, 0.0),
        (10.0, 0.0),
        (80.0, sqrt((80.0 / 68.7) ** 2 / 0.84 - 0.16 / 0.84)),
    ],
)
def test_torque_that_a_current_means(amperes, torque):
    found = load.torque_ratio_of_current(case(booster()), amperes)
    assert found == pytest.approx(torque, abs=1e-4)


@pytest.mark.parametrize(
    ("power", "speed", "frequency", "amperes"),
    [
        (1.0, 1.0, 60.0, 68.7),
        (0.5, 0.5, 30.0, 68.7),  # the torque is the rated one
        (1.0, 1.2, 72.0, 68.7),  # less flux: torque / 1.2, and 1.2 times the current for it
        (0.25, 0.5, 30.0, 68.7 * sqrt(0.16 + 0.84 / 4)),
        (0.0, 0.5, 30.0, 27.48),
    ],
)
def test_current_of_a_power(power, speed, frequency, amperes):
    found = load.current_of_power(
        case(booster()), power=power * 60 * HP, speed=speed * 1775 / 60, frequency=frequency
    )
    assert found == pytest.approx(amperes, rel=1e-4)


def test_power_goes_with_the_cube_of_the_speed():
    """Water horsepower gpm x ft / 3960: 1000 gpm at 82.5 % take 50.5 hp, 800 gpm at 80 % 50.3 hp,
    900 gpm with 183.0 ft at about 81.9 % the most, 50.8 hp.
    """
    found = load.highest_shaft_power(case(booster()), 1770 / 60)
    assert found == pytest.approx(50.8 * HP, rel=0.004)
    half = load.highest_shaft_power(case(booster()), 885 / 60)
    assert half == pytest.approx(found / 8)


@pytest.mark.parametrize(
    ("at_service_factor", "immersed", "amperes"),
    [("96.0", True, 96.0), ("80.0", True, 84.1), ("96.0", False, 84.1), (None, True, 84.1)],
)
def test_plate_current_of_an_immersed_motor(at_service_factor, immersed, amperes):
    """84.1 A; the current at the service factor counts where it is printed and higher."""
    larger = q(at_service_factor, "A") if at_service_factor else None
    plate = {"/motor/service_factor_current": larger, "/motor/immersed": immersed}
    found = load.highest_plate_current(case(changed(well(), plate)))
    assert found.si == amperes


def test_the_highest_current_of_any_phase_and_point():
    amperes = {"/event/duty_points/1/currents_drive_output": [
        q("44.0", "A"), q("61.3", "A"), q("44.0", "A")]}  # fmt: skip
    place, current = load.highest_reading(case(changed(booster(), amperes)))
    assert (place, current.value) == ("/event/duty_points/1", "61.3")


@pytest.mark.parametrize(
    "points", [[], [{"purpose": "design"}], [{"purpose": "shut_off", "flow": q("0", "gpm")}]]
)
def test_where_no_current_was_read_there_is_no_highest(points):
    assert load.highest_reading(case(changed(booster(), {"/event/duty_points": points}))) is None


ONE = [{"purpose": "design", "flow": q("1000", "gpm")}]
SUPPLY = {"/event/supply/currents": [q("60.0", "A")] * 3}


@pytest.mark.parametrize(
    ("points", "changes", "at_supply"),
    [
        (ONE, {}, True),
        (ONE, {"/event/supply/under_load": None}, True),
        (ONE, {"/event/supply/under_load": False}, False),
        ([ONE[0] | {"other_pumps_running": 0}], {}, True),
        ([ONE[0] | {"other_pumps_running": 1}], {}, False),
        (ONE * 2, {}, False),  # at which of the two they were read nobody says
        ([ONE[0] | {"currents_drive_display": [q("60.0", "A")]}], {}, False),
    ],
)
def test_currents_of_the_supply_are_the_motors_without_a_drive(points, changes, at_supply):
    given = SUPPLY | {"/event/duty_points": points} | changes
    bare = without(booster(), "/drive", "/event/settings")
    direct = case(changed(bare, {"/pump_set/drive": None} | given))
    assert (load.current_place(direct, POINT) == "/event/supply/currents") is at_supply
    driven = case(changed(booster(), given))
    assert load.current_place(driven, POINT) != "/event/supply/currents"


@pytest.mark.parametrize(
    ("instruments", "amperes", "share"),
    [
        (["I-3"], "50", 0.01),  # the analyser: 1 % of reading
        (["I-2"], "50", 0.005),  # the multimeter: 0.5 %
        (["I-1"], "50", 0.0),  # a pressure calibrator reads no current
        (["I-9", "I-1", "I-3"], "50", 0.01),
        (["I-3"], "0", 0.0),
        (None, "50", 0.0),
    ],
)
def test_accuracy_of_the_ammeter(instruments, amperes, share):
    found = case(changed(booster(), {f"{POINT}/instruments": instruments}))
    reading = Quantity(amperes, "A", "current", float(amperes))
    assert load.instrument_share(found, POINT, reading) == pytest.approx(share)


def test_shaft_power_off_the_curve_else_from_the_output():
    """At 1000 gpm and 1630 rpm the curve's 50.5 hp x (1630 / 1770)^3, nearly; 30.9 kW x 0.95."""
    assert load.shaft_power(case(booster()), POINT) == pytest.approx(29.4e3, rel=0.02)
    plain = without(booster(), "/pump/curve_points")
    assert load.shaft_power(case(plain), POINT) == pytest.approx(29355)


@pytest.mark.parametrize(
    ("lacks", "named"),
    [
        (("/pump/curve_points", f"{POINT}/power_drive_output"), "/pump/curve_points"),
        ((f"{POINT}/flow", f"{POINT}/power_drive_output"), f"{POINT}/flow"),
        (("/pump/curve_points", "/motor/ratings/1/efficiency"), "/pump/curve_points"),
    ],
)
def test_what_shaft_power_lacks(lacks, named):
    with pytest.raises(Missing) as raised:
        load.shaft_power(case(without(booster(), *lacks)), POINT)
    assert raised.value.places == (named,)


def test_power_along_a_part_of_the_curve_goes_with_the_cube_of_the_speed():
    """At half of the speed half of the flow and an eighth of the power, 51.3 hp at 950 gpm."""
    found = case(booster())
    speed, gpm = 1775 / 60, 6.30902e-5
    whole = load.highest_shaft_power(found, speed)
    assert whole / HP == pytest.approx(51.3, rel=5e-3)
    part = load.highest_shaft_power(found, speed, up_to=600 * gpm)
    # 225.8 ft and 73 % at 600 gpm of the curve: 46.9 hp in water at 1770 rpm.
    assert part / HP == pytest.approx(46.9, rel=0.015)
    for at_full, up_to in ((whole, None), (part, 300 * gpm)):
        half = load.highest_shaft_power(found, speed / 2, up_to=up_to)
        assert half == pytest.approx(at_full / 8, rel=1e-6)


def test_the_current_that_is_wanted_is_the_motors_own():
    lacking = [{"purpose": "design", "frequency": q("54.9", "Hz")}]
    driven = case(changed(booster(), {"/event/duty_points": lacking}))
    bare = without(booster(), "/drive", "/event/settings")
    direct = case(changed(bare, {"/pump_set/drive": None, "/event/duty_points": lacking}))
    for found, name in ((driven, "currents_drive_output"), (direct, "currents_drive_input")):
        with pytest.raises(Missing) as raised:
            load.require_motor_currents(found, POINT)
        assert raised.value.places == (f"{POINT}/{name}",)
