"""Values that a technician wants before and after: heads, vessels, air, flows on the system."""

import pytest

from calculations.units import to_si
from tests.calculations.building import booster, changed, derived, judged, without
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import (
    LEFT,
    left,
    raw_water,
)


def value(identity: str, document=None) -> float:
    return derived(judged(document or booster()), identity).si


def shown(identity: str, document=None) -> str:
    return str(derived(judged(document or booster()), identity).shown)


def known(document) -> set[str]:
    return {each.id for each in judged(document).derived}


# -- heads ----------------------------------------------------------------------------------------

LEVEL = "/event/duty_points/0/suction_level"


def from_a_level(**site: object):
    """1000 gpm drawn from -2 m: 85 psi at 20 degC (998.2 kg/m3) 59.87 m, 3 ft, 3.385 m/s."""
    document = changed(
        booster(),
        {"/site/suction_kind": "suction_lift", "/site/suction_level_low": q("-3", "m"),
         "/site/suction_level_high": q("-1", "m"), "/event/liquid_temperature": q("20", "degC"),
         LEVEL: q("-2", "m")} | site,
    )  # fmt: skip
    point = "/event/duty_points/0"
    return without(document, f"{point}/suction_pressure", f"{point}/suction_gauge_elevation")


def test_total_head_from_a_level_counts_the_suction_loss():
    """59.869 + 0.914 + 2 + 0.584 + 0.6 = 63.967 m; ISO 9906:2012, 3.2."""
    lossy = {"/site/suction_loss": q("0.6", "m"), "/site/suction_loss_at_flow": q("1000", "gpm")}
    found = value("duty.total-head", from_a_level(**lossy))
    assert found == pytest.approx(63.967, abs=0.005)


def test_total_head_from_a_level_without_a_known_loss():
    found = value("duty.total-head", without(from_a_level(), "/site/suction_loss"))
    assert found == pytest.approx(63.367, abs=0.005)


def test_a_pump_in_the_liquid_has_no_suction_loss():
    hanging = {"/pump/type": "vertical_turbine", "/site/suction_loss": q("5", "m")}
    found = value("duty.total-head", from_a_level(**hanging))
    assert found == pytest.approx(63.367, abs=0.005)


@pytest.mark.parametrize(("gpm", "feet"), [("1000", 125.5), ("1240", 74.4), ("1250", None)])
def test_head_by_the_curve_as_far_as_it_goes(gpm, feet):
    """At 1630 rpm 260 x 0.8481 - 95 (Q / 1000)^2 ft, up to 1350 x 0.9209 = 1243 gpm."""
    point = "/event/duty_points/0"
    judgement = judged(changed(booster(), {f"{point}/flow": q(gpm, "gpm")}))
    found = [each.si for each in judgement.derived
             if (each.id, each.subject) == ("duty.curve-head", point)]  # fmt: skip
    assert found == ([] if feet is None else [pytest.approx(feet * 0.3048, rel=3e-3)])


# -- vessel, air, system --------------------------------------------------------------------------


def test_vessel():
    """Air at 500 ft 14.43 psi: 130 gal x 83.43 (1 / 93.43 - 1 / 102.43) = 10.2 gal.

    At a leak of 1 % of 1000 gpm that lasts 61 s. Target 87.5 % of 79 psi.
    """
    assert shown("vessel.usable-volume") == "10.2 gal"
    assert value("vessel.wake-interval") == pytest.approx(61.2, abs=0.3)
    assert shown("vessel.pre-charge-target") == "69.1 psi"


def test_vessel_in_the_wrong_order_gives_no_volume():
    document = changed(booster(), {"/vessels/0/pre_charge_pressure_design": q("80", "psi")})
    assert "vessel.usable-volume" not in known(document)


def test_air_and_vapour():
    """ISO 2533: 99.508 kPa at 500 ft, 14.43 psi; IF97: 0.2562 psi at 60 degF, 0.430 psi at 75."""
    assert shown("npsh.atmospheric-pressure") == "14.43 psi"
    elsewhere = judged(changed(booster(), {"/site/elevation": q("152.4", "m")}))
    assert str(derived(elsewhere, "npsh.atmospheric-pressure").shown) == "99.51 kPa"
    assert value("npsh.vapour-pressure") == pytest.approx(to_si(0.2562, "psi"), rel=0.002)
    warmest = derived(judged(booster()), "npsh.vapour-pressure-at-highest-temperature")
    assert warmest.subject == "/site/liquid_temperature_max"
    assert warmest.si == pytest.approx(to_si(0.430, "psi"), rel=0.002)


def test_vapour_pressure_of_the_day_needs_the_day_s_temperature():
    assert "npsh.vapour-pressure" not in known(without(booster(), "/event/liquid_temperature"))


def test_flows_on_the_system():
    """Lowest lift at 49 Hz 386 gpm in 8 in: 2.47 ft/s; highest lift, k = 40 / 700^2: 306 gpm.

    (176.8 - 160) / (0.95 + 0.8163) 10^-4 = 308^2, with the parabola that the curve's points follow.
    """
    flow = value("system.flow-at-minimum-speed", raw_water())
    assert flow == pytest.approx(to_si(306, "gpm"), rel=0.02)
    velocity = value("main.velocity-at-minimum-speed", raw_water())
    assert velocity == pytest.approx(to_si(2.466, "ft/s"), rel=0.01)


def test_run_out_at_the_lowest_lift():
    """60 Hz: s^2 260 = 262.7 ft at 1779 rpm; the pipes are the same, only the lift is less.

    (262.7 - 160) / (0.95 + 0.8163) 10^-4 = 762^2; (262.6 - 150) / (0.95 + 0.8163) 10^-4 = 798^2.
    """
    highest = value("system.flow-at-maximum-speed", raw_water())
    assert highest == pytest.approx(to_si(762.4, "gpm"), rel=0.005)
    lowest = value("system.flow-at-maximum-speed-at-lowest-lift", raw_water())
    assert lowest == pytest.approx(to_si(798.4, "gpm"), rel=0.005)


@pytest.mark.parametrize("frequency", ["40", "0"])
def test_below_the_lift_nothing_flows(frequency):
    """At 40 Hz the pump holds 260 ft (1183 / 1770)^2 = 116 ft, less than the lift of 150 ft."""
    slow = changed(raw_water(), left(minimum_frequency=q(frequency, "Hz")))
    assert value("system.flow-at-minimum-speed", slow) == 0.0


def test_run_out_needs_the_lowest_lift():
    document = without(raw_water(), "/site/static_lift_low")
    assert "system.flow-at-maximum-speed" in known(document)
    assert "system.flow-at-maximum-speed-at-lowest-lift" not in known(document)


def test_values_keep_silent_where_something_is_missing():
    document = without(booster(), f"{LEFT}/set_point")
    assert "speed.zero-flow-at-lowest-suction" not in known(document)
    assert "sensor.signal-at-set-point" not in known(document)
    assert "sensor.signal-at-50-percent" in known(document)


def test_a_liquid_of_unknown_temperature_is_taken_at_15_degrees() -> None:
    """Where neither day nor site tells: the head is that of water as dense as at 15 degC."""
    told = ("/event/liquid_temperature", "/site/liquid_temperature_min",
            "/site/liquid_temperature_max")  # fmt: skip
    unknown = without(booster(), *told)
    at_15, at_16 = (
        changed(unknown, {"/event/liquid_temperature": q(degrees, "degC")})
        for degrees in ("15", "16")
    )
    head, expected, warmer = (
        derived(judged(each), "duty.total-head", "/event/duty_points/0").si
        for each in (unknown, at_15, at_16)
    )
    assert head == pytest.approx(expected, rel=1e-9)
    assert warmer > expected * (1 + 1e-4)  # 999.10 against 998.94 kg/m3
