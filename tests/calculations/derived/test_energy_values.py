"""What a volume costs, how soon a blocked pump boils; sleep, lift and signals before a visit."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    derived,
    in_metric,
    judged,
    lacking,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, lift_station

POINT = "/event/duty_points/0"


LITRE, GALLON = "pump.boiling-time-per-litre", "pump.boiling-time-per-gallon"


def value(identity: str, document=None) -> float:
    return derived(judged(document or booster()), identity).si


def known(document) -> set[str]:
    return {each.id for each in judged(document).derived}


def test_published_energy_of_a_volume():
    """R05: 43.5 kW at 1200 gpm are 604.2 kWh/Mgal, 0.1596 kWh/m3."""
    changes = {f"{POINT}/power_drive_input": q("43.5", "kW"), f"{POINT}/flow": q("1200", "gpm")}
    document = changed(booster(), changes)
    assert str(derived(judged(document), "energy.per-volume").shown) == "604.2 kWh/Mgal"
    metric = derived(judged(in_metric(document)), "energy.per-volume").shown
    assert (metric.unit, float(metric.value)) == ("kWh/m3", pytest.approx(0.1596, abs=5e-5))


def test_no_flow_costs_no_volume():
    assert "energy.per-volume" not in known(
        changed(booster(), {f"/event/duty_points/{n}/flow": q("0", "gpm") for n in range(3)})
    )


def test_energy_at_the_rated_point():
    """1000 gpm 165 ft / 3960 = 41.67 hp in water, 31.07 kW; over 0.825 0.950 0.97 40.87 kW in
    0.06 Mgal/h. Without a drive 39.64 kW.
    """
    assert value("energy.per-volume-at-rated-point") / (3.6e6 / 3785.41) == pytest.approx(
        681.2, rel=2e-3
    )
    bare = without(booster(), "/drive", "/event/settings", "/pump_set/drive")
    direct = changed(bare, {"/pump_set/drive": None})
    assert value("energy.per-volume-at-rated-point", direct) / (3.6e6 / 3785.41) == pytest.approx(
        660.7, rel=2e-3
    )


def test_a_litre_in_a_blocked_pump():
    """20 hp at no flow and 1770 rpm, 0.334 of rated torque: 1791.4 rpm at 60 Hz, 15.46 kW there.

    From 75 degF 76.1 K are 318 kJ a kg, and a litre weighs 0.997 kg: 20.5 s. c = 4.186 kJ/(kg K):
    from memory.
    """
    powers = {f"/pump/curve_points/{index}/shaft_power": q(power, "hp")
              for index, power in enumerate(("20", "30", "38", "46", "50.5", "49", "45"))
              if index < len(booster()["pump"]["curve_points"])}  # fmt: skip
    document = changed(booster(), powers | left(maximum_frequency=q("60", "Hz")))
    # A US gallon is 3.785 L: 77.6 s. Who reads flows in gpm is told of gallons, others of litres.
    assert value(GALLON, document) == pytest.approx(77.6, rel=0.01)
    assert LITRE not in known(document)
    metric = changed(document, {"/site/system_design_flow": q("227.1", "m3/h")})
    assert value(LITRE, metric) == pytest.approx(20.5, rel=0.01)
    assert GALLON not in known(metric)
    axial = {"/pump/type": "axial_or_mixed_flow"}
    assert GALLON not in known(changed(document, axial))
    assert LITRE not in known(changed(metric, axial))
    no_water = {"/site/liquid_kind": "other", "/site/liquid_density": q("1040", "kg/m3")}
    assert GALLON not in known(changed(document, no_water))


def test_a_curve_without_power_at_no_flow_boils_nothing():
    assert GALLON not in known(booster())


def test_a_sleep_frequency_that_makes_sense():
    """41.55 Hz hold 128.0 ft (test_speed_values), 42.16 Hz keep 250 gpm; in steps of 0.1 Hz."""
    assert value("sleep.sensible-frequency") == pytest.approx(42.2, abs=1e-9)
    assert "sleep.sensible-frequency" not in known(lift_station())


def test_the_highest_lift_of_a_well_in_service():
    """Stop level 0.6 m over a floor at -5.0 m, -4.4 m; 9.0 m at the highest level, -3.6 m."""
    assert value("system.static-lift-at-stop-level", lift_station()) == pytest.approx(9.8)
    assert "system.static-lift-at-stop-level" not in known(booster())
    filling = changed(lift_station(), left(regulated_quantity="level_filling"))
    assert "system.static-lift-at-stop-level" not in known(filling)


@pytest.mark.parametrize(
    ("level", "milliamperes"),
    [
        # 0 to 5 m from 0.1 m over the floor: 4 + 16 (h - 0.1) / 5 mA.
        ("low-cut-off", 4.8),
        ("stop", 5.6),
        ("start", 8.16),
        ("lag-start", 9.12),
        ("high-alarm", 10.72),
    ],
)
def test_signals_at_levels(level, milliamperes):
    assert value(f"sensor.signal-at-{level}-level", lift_station()) == pytest.approx(
        milliamperes / 1000
    )


def test_the_suction_sensors_signal_at_its_limit():
    """12 psi of 0 to 60 psi: 4 + 0.2 16 mA."""
    assert value("sensor.signal-at-low-suction-limit") == pytest.approx(7.2e-3)
    other = changed(booster(), left(low_suction_limit_measured_by="pressure_switch"))
    assert "sensor.signal-at-low-suction-limit" not in known(other)
    assert lacking(judged(other), "sensor.signal-at-low-suction-limit") == []
