"""Where the liquid stands before the pump, its losses and what a vessel gives, by hand."""

import pytest

from calculations.aspects import holding, storage, suction
from calculations.case import Missing, Waits
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.stations import well
from tests.calculations.whole_stations import left

GPM = 6.30902e-5
FOOT = 0.3048


@pytest.mark.parametrize(("end", "psi"), [("low", 30), ("high", 33)])
def test_a_pressure_counts_at_the_suction_sensor(end, psi):
    """2.311 ft of water at 60 degF for 1 psi (144 / 62.37 lb/ft3), the sensor 2 ft high."""
    found = case(booster())
    expected = (psi * 2.3089 + 2) * FOOT
    assert suction.grade(found, end) == pytest.approx(expected, rel=3e-4)
    assert suction.pressure(found, end, 2 * FOOT) == pytest.approx(psi * 6894.757, rel=1e-6)
    assert suction.pressure(found, end, 3 * FOOT) < psi * 6894.757


@pytest.mark.parametrize(("psi", "feet"), [("-1", 0.0), ("0.5", 0.5 * 2.3089 + 2)])
def test_a_tank_that_floods_the_pump_stands_no_lower_than_it(psi, feet):
    """2.3089 ft of water at 60 degF for 1 psi, the sensor 2 ft high; less was read while it ran."""
    tank = {"/site/suction_kind": "flooded_tank", "/site/suction_pressure_low": q(psi, "psi")}
    found = suction.grade(case(changed(booster(), tank)), "low")
    assert found / FOOT == pytest.approx(feet, rel=3e-4)


def test_a_depth_counts_downwards_and_a_level_upwards():
    assert suction.grade(case(well()), "low") == pytest.approx(-56 * FOOT)
    assert suction.grade(case(well()), "high") == pytest.approx(-45 * FOOT)
    tank = {"/site/suction_kind": "flooded_tank", "/site/suction_level_low": q("3", "m"),
            "/site/suction_level_high": q("5", "m")}  # fmt: skip
    assert suction.grade(case(changed(booster(), tank)), "low") == 3
    assert suction.grade(case(changed(booster(), tank)), "high") == 5


@pytest.mark.parametrize(
    ("document", "rule"),
    [
        (changed(booster(), {"/site/suction_pressure_low": q("34", "psi")}), "site.order"),
        (changed(well(), {"/site/static_water_depth": q("57", "ft")}), "well.levels"),
    ],
)
def test_ends_that_are_exchanged_are_not_used(document, rule):
    for end in suction.ENDS:
        with pytest.raises(Waits) as raised:
            suction.grade(case(document), end)
        assert raised.value.rule == rule


@pytest.mark.parametrize(
    "changes",
    [{"/site/suction_pressure_low": q("33", "psi")},
     {"/site/suction_pressure_low": q("2.2752699068", "bar")}],
)  # fmt: skip
def test_equal_ends_are_in_order(changes):
    """33 psi both times, the sensor 2 ft high."""
    found = case(changed(booster(), changes))
    expected = (33 * 2.3089 + 2) * FOOT
    assert suction.grade(found, "low") == pytest.approx(expected, rel=3e-4)


@pytest.mark.parametrize(("gpm", "feet"), [(1000, 1.5), (2000, 6.0), (500, 0.375), (0, 0.0)])
def test_friction_goes_with_the_square(gpm, feet):
    assert suction.loss(case(booster()), gpm * GPM) == pytest.approx(feet * FOOT, rel=1e-4)


def test_friction_of_no_flow_says_nothing_and_a_pump_in_the_liquid_has_none():
    with pytest.raises(Missing):
        suction.loss(case(changed(booster(), {"/site/suction_loss_at_flow": q("0", "gpm")})), 0.1)
    assert suction.loss(case(well()), 0.1) == 0


@pytest.mark.parametrize(
    ("changes", "feet"),
    [
        ({}, 1.5),
        ({"/site/suction_loss": None}, 0.0),
        ({"/site/suction_kind": "wet_well"}, 0.0),
    ],
)
def test_a_main_that_feeds_a_can_loses_what_is_stated(changes, feet):
    """1.5 ft at 1000 gpm."""
    found = case(changed(booster(), {"/pump/type": "vertical_turbine"} | changes))
    assert suction.loss(found, 1000 * GPM) == pytest.approx(feet * FOOT, rel=1e-4)


@pytest.mark.parametrize(
    ("station", "changes", "feet"),
    [
        (well, {}, -150),
        (booster, {}, 0),
        (booster, {"/pump/type": "submersible_sewage", "/site/wet_well_floor": q("-20", "ft")},
         -20),
        (booster, {"/pump/type": "submersible_well", "/site/wet_well_floor": q("-20", "ft")}, 2),
        (booster, {"/pump/type": "submersible_sewage"}, 2),  # the suction sensor's height
        (booster, {"/pump_set/eye_elevation": q("3", "ft")}, 3),
        (booster, {"/pump/type": "submersible_sewage", "/site/wet_well_floor": q("-20", "ft"),
                   "/pump_set/eye_elevation": q("-18", "ft")}, -18),
        (well, {"/pump_set/eye_elevation": q("-18", "ft")}, -150),  # its setting depth tells
    ],
)  # fmt: skip
def test_the_eye_of_the_impeller(station, changes, feet):
    found = case(changed(station(), changes))
    assert suction.eye(found) == pytest.approx(feet * FOOT)


@pytest.mark.parametrize(
    ("kind", "changes", "known"),
    [
        ("end_suction", {}, True),  # at the datum
        ("submersible_sewage", {}, False),
        ("submersible_sewage", {"/site/wet_well_floor": q("-20", "ft")}, True),
        ("submersible_well", {"/site/wet_well_floor": q("-20", "ft")}, False),
        ("submersible_well", {"/site/pump_setting_depth": q("20", "ft")}, True),
    ],
)
def test_a_floor_does_not_tell_where_a_well_pump_in_a_tank_hangs(kind, changes, known):
    found = case(changed(booster(), {"/pump/type": kind} | changes))
    if known:
        suction.require_eye(found)
        assert suction.eye(found) in (0.0, pytest.approx(-20 * FOOT))
        return
    with pytest.raises(Missing) as raised:
        suction.require_eye(found)
    assert raised.value.places == (suction.SETTING_DEPTH,)


@pytest.mark.parametrize(("gpm", "feet"), [(1000, 11), (500, 5.5), (0, 0)])
def test_drawdown_goes_with_the_flow(gpm, feet):
    """45 ft at rest, 56 ft at 1000 gpm."""
    assert holding.drawdown(case(well()), gpm * GPM) == pytest.approx(feet * FOOT, abs=1e-4)


def test_the_lowest_suction_goes_with_the_highest_lift():
    lifting = left(regulation="speed_from_external_controller")
    found = case(changed(booster(), lifting))
    assert holding.required_head(found, "low") == pytest.approx(120 * FOOT)
    assert holding.required_head(found, "high") == pytest.approx(115 * FOOT)


def test_what_a_vessel_gives():
    """130 gal charged to 69 psi, stop at 88 psi, wake at 79 psi; 500 ft: 14.43 psi of air.

    83.43 x 130 (1 / 93.43 - 1 / 102.43) = 10.20 gal; Boyle's law. 2 gpm for 306 s.
    """
    found = case(booster())
    assert storage.usable_volume(found, "/vessels/0") == pytest.approx(
        10.20 * 3.785412e-3, rel=2e-3
    )
    assert storage.lasting(found, 2 * GPM) == pytest.approx(306, rel=2e-3)
    assert storage.lasting(found, 0) is None


@pytest.mark.parametrize(
    ("charge", "lasts"), [("79", True), ("79.1", False), ("100", False), ("40", True)]
)
def test_a_vessel_charged_above_the_wake_pressure_gives_nothing_that_is_known(charge, lasts):
    charged = {"/vessels/0/pre_charge_pressure_design": q(charge, "psi")}
    found = storage.lasting(case(changed(booster(), charged)), GPM)
    assert (found is not None) is lasts


@pytest.mark.parametrize(
    "vessel", [{"/vessels/0/location": "suction"}, {"/vessels/0/kind": "surge_vessel"}]
)
def test_other_vessels_do_not_bridge_a_sleep(vessel):
    assert storage.lasting(case(changed(booster(), vessel)), GPM) is None


@pytest.mark.parametrize(("height", "counts_at"), [(q("2", "ft"), 2 * FOOT), (None, 0.0)])
def test_a_suction_pressure_of_the_site_counts_at_its_sensor_else_at_the_datum(height, counts_at):
    found = case(changed(booster(), {"/sensors/1/tapping_elevation": height}))
    assert suction.gauge_elevation(found) == pytest.approx(counts_at)
