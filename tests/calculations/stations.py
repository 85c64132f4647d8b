"""Ordinary good stations of other kinds than the booster in `building`, all invented.

Each is the booster with another motor, drive or place: the pump is the same at another speed, so
that shaft powers (29.4, 20.2, 13.4 kW at the three points) and heads stay. Figures were computed
by hand as the comments say.
"""

from typing import Any

from .building import booster, changed, without
from .building_plates import Document, q

LEFT = "/event/settings/as_left"
READINGS = {
    "frequency": "Hz", "speed": "rpm", "currents_drive_output": "A", "power_drive_output": "kW",
    "power_drive_input": "kW", "discharge_pressure": "psi", "suction_level_depth": "ft",
}  # fmt: skip


def settings(values: dict[str, Any]) -> dict[str, Any]:
    """Changes of what the drive was left with."""
    return {f"{LEFT}/{name}": value for name, value in values.items()}


def motor(values: dict[str, Any]) -> dict[str, Any]:
    """Changes of the motor."""
    return {f"/motor/{name}": value for name, value in values.items()}


def readings(**columns: tuple[str, str, str]) -> dict[str, Any]:
    """Changes of the three duty points, a column of readings at a time."""
    changes: dict[str, Any] = {}
    for name, values in columns.items():
        for index, value in enumerate(values):
            read: Any = q(value, READINGS[name])
            place = f"/event/duty_points/{index}/{name}"
            changes[place] = [read] * 3 if name.startswith("currents") else read
    return changes


def permanent_magnet() -> Document:
    """A permanent-magnet motor: 45 kW, 8 poles, 120 Hz, 1800 rpm, 400 V, 74.0 A.

    sqrt(3) 400 V 74.0 A 0.955 0.92 = 45.0 kW; 120 x 120 / 8 = 1800 rpm. At the points torque over
    rated torque is 0.721, 0.564, 0.415, and the current in proportion.
    """
    rating = {
        "voltage": q("400", "V"), "connection": "star", "frequency": q("120", "Hz"),
        "power": q("45", "kW"), "current": q("74.0", "A"), "speed": q("1800", "rpm"),
        "power_factor": q("0.92", "1"), "efficiency": q("95.5", "%"),
    }  # fmt: skip
    plate = {
        "kind": "permanent_magnet", "poles": 8, "ratings": [rating], "rating_in_use": 0,
        "service_factor": q("1.0", "1"), "efficiency_class": "ie5",
        "maximum_frequency": q("130", "Hz"), "back_emf": q("200", "V/krpm"),
    }  # fmt: skip
    left = {
        "motor_kind": "permanent_magnet", "motor_power": q("45", "kW"), "motor_poles": 8,
        "motor_voltage": q("400", "V"), "motor_frequency": q("120", "Hz"),
        "motor_current": q("74.0", "A"), "motor_speed": q("1800", "rpm"),
        "overload_current": q("74.0", "A"), "control_mode": "synchronous_vector",
        "minimum_frequency": q("72", "Hz"), "maximum_frequency": q("118", "Hz"),
        "sleep_frequency": q("84.4", "Hz"), "hand_speed": q("96", "Hz"),
    }  # fmt: skip
    read = readings(
        frequency=("108.7", "95.5", "85.9"), currents_drive_output=("53.4", "41.7", "30.7")
    )
    return changed(booster(), motor(plate) | settings(left) | read)


def eighty_seven_hertz() -> Document:
    """A 22 kW, 230/400 V, 50 Hz motor linked in delta, run to 87 Hz and 400 V on purpose.

    sqrt(3) 230 V 72.5 A 0.93 0.82 = 22.0 kW. 400 / 230 = 1.739: 87.0 Hz, 38.3 kW, and 2609 rpm
    less the 30 rpm of slip = 2579 rpm. Torque over rated torque at the points is 0.826, 0.647,
    0.476; current by the torque model with k = 0.4.
    """
    common = {
        "frequency": q("50", "Hz"), "power": q("22", "kW"), "speed": q("1470", "rpm"),
        "power_factor": q("0.82", "1"), "efficiency": q("93.0", "%"),
    }  # fmt: skip
    delta = {"voltage": q("230", "V"), "connection": "delta", "current": q("72.5", "A")}
    star = {"voltage": q("400", "V"), "connection": "star", "current": q("41.7", "A")}
    plate = {
        "ratings": [delta | common, star | common], "rating_in_use": 0,
        "extended_constant_torque": True, "service_factor": q("1.0", "1"),
        "efficiency_class": "ie3", "peak_voltage_limit": q("1600", "V"),
        "maximum_frequency": q("100", "Hz"),
    }  # fmt: skip
    left = {
        "motor_power": q("38.3", "kW"), "motor_voltage": q("400", "V"),
        "motor_frequency": q("87", "Hz"), "motor_current": q("72.5", "A"),
        "motor_speed": q("2580", "rpm"), "overload_current": q("72.5", "A"),
        "minimum_frequency": q("52", "Hz"), "maximum_frequency": q("87", "Hz"),
        "sleep_frequency": q("62.8", "Hz"), "hand_speed": q("70", "Hz"),
    }  # fmt: skip
    place = {
        "/site/electrical_practice": "iec", "/site/supply_nominal_voltage": q("400", "V"),
        "/site/supply_frequency": q("50", "Hz"), "/event/supply/frequency": q("50.0", "Hz"),
        "/event/supply/line_voltages": [q(value, "V") for value in ("401", "399", "400")],
        "/event/supply/line_to_earth_voltages": [q(each, "V") for each in ("232", "230", "231")],
        "/pump/rated_speed": q("2580", "rpm"), "/pump/maximum_speed_permitted": q("2650", "rpm"),
        "/drive/rated_current_normal_duty": q("87", "A"),
    }  # fmt: skip
    read = readings(
        frequency=("80.0", "70.2", "63.1"),
        speed=("2376", "2088", "1879"),
        currents_drive_output=("62.1", "51.8", "42.9"),
        power_drive_output=("31.6", "21.7", "14.4"),
        power_drive_input=("32.5", "22.4", "14.8"),
    )
    return changed(booster(), motor(plate) | settings(left) | place | read)


def well() -> Document:
    """An immersed 60 hp, 2-pole motor in a well, 350 ft of cable, a dv/dt filter.

    sqrt(3) 460 V 84.1 A 0.81 0.825 = 44.8 kW = 60.0 hp. 100 gpm past a motor of 5.6 in in a casing
    of 10 in are 0.18 m/s. 60 Mohm through the cable at 55 degF are 41 Mohm at 40 degC.
    """
    rating = {
        "voltage": q("460", "V"), "connection": "star", "frequency": q("60", "Hz"),
        "power": q("60", "hp"), "current": q("84.1", "A"), "speed": q("3450", "rpm"),
        "power_factor": q("0.825", "1"), "efficiency": q("81.0", "%"),
    }  # fmt: skip
    plate = {
        "poles": 2, "ratings": [rating], "rating_in_use": 0, "immersed": True,
        "service_factor_current": q("96.0", "A"), "efficiency_class": "none",
        "enclosure": "submersible", "cooling": "immersed", "outside_diameter": q("5.6", "in"),
        "year_built": 2025, "thermal_sensor": "none",
    }  # fmt: skip
    left = {
        "motor_current": q("84.1", "A"), "motor_speed": q("3450", "rpm"),
        "overload_current": q("96.0", "A"), "overload_class": "10", "output_filter": "dv_dt",
        "regulation": "speed_from_external_controller", "carrier_frequency": q("3", "kHz"),
        "minimum_frequency": q("41", "Hz"), "dry_run_method": "underload",
        "dry_run_threshold": q("9", "kW"),
        "first_ramp_time": q("1", "s"), "first_ramp_to_frequency": q("30", "Hz"),
        "last_ramp_time": q("1", "s"), "last_ramp_from_frequency": q("30", "Hz"),
        "speed_reference_signal": "4-20 mA", "frequency_at_lower_reference": q("41", "Hz"),
        "frequency_at_upper_reference": q("60", "Hz"),
    }  # fmt: skip
    place = {
        "/site/kind": "well", "/site/suction_kind": "well", "/site/zero_demand_possible": False,
        "/site/static_water_depth": q("45", "ft"), "/site/pumping_water_depth": q("56", "ft"),
        "/site/pumping_water_depth_at_flow": q("1000", "gpm"),
        "/site/pump_setting_depth": q("150", "ft"), "/site/well_depth": q("300", "ft"),
        "/site/casing_inside_diameter": q("10", "in"), "/site/cooling_shroud": False,
        "/site/tested_yield": q("1400", "gpm"),
        "/pump/type": "submersible_well", "/pump/rated_speed": q("3440", "rpm"),
        "/pump/maximum_speed_permitted": q("3500", "rpm"),
        "/pump/minimum_continuous_flow": q("100", "gpm"),
        "/drive/rated_current_normal_duty": q("104", "A"),
        "/drive/rated_current_heavy_duty": q("96", "A"),
        "/drive/output_filter_fitted": "dv_dt", "/drive/filter_carrier_max": q("4", "kHz"),
        "/drive/filter_voltage_drop": q("1", "%"), "/drive/motor_cable_length": q("350", "ft"),
        "/drive/motor_cable_conductor": "1/0 AWG",
        "/drive/maximum_motor_cable_length": q("1000", "ft"),
        "/event/motor_tests/insulation/resistance_30_s": q("50", "Mohm"),
        "/event/motor_tests/insulation/resistance_1_min": q("60", "Mohm"),
        "/event/motor_tests/insulation/winding_temperature": q("55", "degF"),
        "/event/motor_tests/insulation/includes_cable": True,
        "/event/motor_tests/insulation/at": "well_head",
        "/event/rotation/method": "flow",
        "/pump/bearing_frequency": q("30", "Hz"), "/pump/bearing_time_limit": q("1", "s"),
        "/event/protection_tests/-": {
            "function": "dry_run", "how_provoked": "threshold raised", "expected": "stop",
            "observed": "stop", "reset": "automatic", "passed": True,
        },
    }  # fmt: skip
    read = readings(
        frequency=("54.6", "47.8", "42.8"),
        speed=("3169", "2785", "2505"),
        currents_drive_output=("64.5", "54.7", "46.2"),
        power_drive_output=("36.2", "24.9", "16.5"),
        power_drive_input=("37.4", "25.7", "17.0"),
        discharge_pressure=("23.4", "26.6", "29.2"),
        suction_level_depth=("56", "53", "50"),
    )
    document = changed(booster(), motor(plate) | settings(left) | place | read)
    return without(
        document,
        *(f"/event/duty_points/{i}/{n}" for i in range(3) for n in SUCTION_GAUGE),
        "/site/suction_pressure_low", "/site/suction_pressure_high",
    )  # fmt: skip


def well_across_the_line(**left: object) -> Document:
    """The same pump without a drive, with an overload relay, a float or a level relay."""
    relay = {"overload_current": q("84.1", "A"), "restart_delay": q("60", "s"),
             "restart_after_power_loss": "restart_after_delay"}  # fmt: skip
    document = changed(without(well(), "/drive"), {"/pump_set/drive": None})
    return changed(document, {LEFT: relay | left})


SUCTION_GAUGE = ("suction_pressure", "suction_gauge_elevation")


def high_site() -> Document:
    """The booster at 1,800 m: 77 A x 0.92 = 70.8 A; the motor allows 33.6 degC."""
    return changed(booster(), {"/site/elevation": q("1800", "m")})


def old_motor() -> Document:
    """A new drive on a motor of 1985 that states nothing of drives, close to it.

    0.930 x 0.88 = 0.818 as before; 60 Mohm at 20 degC are 46 Mohm at 40 degC; 20 ft of cable.
    """
    plate = {
        "year_built": 1985, "efficiency_class": "none", "inverter_suitability": "unknown",
        "thermal_sensor": "switch", "insulation_class": "B",
        "ratings/1/efficiency": q("93.0", "%"), "ratings/1/power_factor": q("0.88", "1"),
    }  # fmt: skip
    tests = {
        "/event/motor_tests/insulation/resistance_30_s": q("55", "Mohm"),
        "/event/motor_tests/insulation/resistance_1_min": q("60", "Mohm"),
        "/drive/motor_cable_length": q("20", "ft"),
    }
    return without(changed(booster(), motor(plate) | tests), "/motor/peak_voltage_limit")


def fed_by_one_phase() -> Document:
    """The booster's motor on a drive of 140 A that is fed by a single phase: 70 A are left."""
    place = {
        "/site/supply_phases": 1,
        "/event/supply/line_voltages": [q("479", "V")],
        "/drive/rated_current_normal_duty": q("140", "A"),
        "/drive/rated_current_heavy_duty": q("120", "A"),
        "/drive/rated_input_current": q("135", "A"),
    }
    return changed(booster(), place | settings({"input_phase_loss_response": "none"}))
