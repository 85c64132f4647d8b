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
    found = load.highest_power_of_curve(case(booster()))
    assert found == pytest.approx(50.8 * HP, rel=0.004)


@pytest.mark.parametrize(
    ("hertz", "rpm", "horsepower"),
    [
        # At 1770 rpm 50.85 hp are 0.850 of the torque of 60 hp at 1775 rpm.
        ("60", 1778.5, 51.58),  # 1800 - 25 x 0.850 (1778.5 / 1770)^2; 50.85 (1778.5 / 1770)^3
        ("30", 894.6, 6.565),  # 900 - 25 x 0.850 (894.6 / 1770)^2
    ],
)
def test_the_motor_slips_by_what_the_pump_takes_at_its_highest(hertz, rpm, horsepower):
    found = load.highest_shaft_power(case(booster()), float(hertz))
    assert found.speed * 60 == pytest.approx(rpm, abs=0.2)
    assert found.power / HP == pytest.approx(horsepower, rel=2e-3)
    back = load.frequency_of_highest_power(case(booster()), found.power)
    assert back == pytest.approx(float(hertz), rel=1e-9)


def test_a_field_that_gets_weak_slips_more_under_the_same_torque():
    """66 Hz: 1980 - 25 x 0.850 x 1.1^2 (1950.0 / 1770)^2 = 1948.8 rpm."""
    found = load.highest_shaft_power(case(booster()), 66.0)
    assert found.speed * 60 == pytest.approx(1948.8, abs=0.3)


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
    ("measured_at", "own", "others"),
    [
        ("incoming_terminals", {}, True),
        (None, {}, True),
        ("drive_input", {}, False),  # where the motor's own line begins
        ("incoming_terminals", {"currents_drive_display": [q("60.0", "A")]}, False),
    ],
)
def test_what_else_hangs_on_the_supply_may_be_in_its_currents(measured_at, own, others):
    given = {"/event/duty_points": [ONE[0] | own], "/event/supply/measured_at": measured_at}
    bare = without(booster(), "/drive", "/event/settings")
    direct = case(changed(bare, {"/pump_set/drive": None} | SUPPLY | given))
    assert load.may_have_others(direct, POINT) is others
    assert (load.highest_reading(direct) is None) is others
    assert load.may_have_others(case(changed(booster(), SUPPLY | given)), POINT) is False


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
    """225.8 ft and 73 % at 600 gpm and 1770 rpm: 46.9 hp.

    Those are 0.783 of rated torque: 1800 - 25 x 0.783 x 1.0115 = 1780.2 rpm at 60 Hz, where the
    597 gpm of the curve take (1780.2 / 1770)^3 as much.
    """
    found, gpm = case(booster()), 6.30902e-5
    part = load.highest_shaft_power(found, 60.0, up_to=600 * gpm)
    assert part.power / HP == pytest.approx(47.6, rel=0.005)
    assert part.speed * 60 == pytest.approx(1780.2, abs=0.3)
    # As much of the curve at half of the speed, 890.1 of 900 rpm and more.
    half = load.highest_shaft_power(found, 30.0, up_to=300 * gpm)
    ratio = (half.speed / part.speed) ** 3
    assert half.power == pytest.approx(part.power * ratio, rel=2e-3)
    assert half.speed * 60 == pytest.approx(895.0, abs=0.2)  # 900 - 25 x 0.783 x 0.2557


def test_the_current_that_is_wanted_is_the_motors_own():
    lacking = [{"purpose": "design", "frequency": q("54.9", "Hz")}]
    driven = case(changed(booster(), {"/event/duty_points": lacking}))
    bare = without(booster(), "/drive", "/event/settings")
    direct = case(changed(bare, {"/pump_set/drive": None, "/event/duty_points": lacking}))
    for found, name in ((driven, "currents_drive_output"), (direct, "currents_drive_input")):
        with pytest.raises(Missing) as raised:
            load.require_motor_currents(found, POINT)
        assert raised.value.places == (f"{POINT}/{name}",)
