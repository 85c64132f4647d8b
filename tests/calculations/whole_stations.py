"""Complete start-ups of stations of several kinds with nothing wrong; all of them invented.

Heads, currents and powers of the duty points were computed by hand from curve, affinity laws and
plate as the comments say, and rounded to what instruments show.
"""

from typing import Any

from .building import booster, changed, without
from .building_plates import Document, q

LEFT = "/event/settings/as_left"


def left(**values: Any) -> dict[str, Any]:
    """Changes of what the drive was left with."""
    return {f"{LEFT}/{name}": value for name, value in values.items()}


def part(name: str, **values: Any) -> dict[str, Any]:
    """Changes of one part of the subject."""
    return {f"/{name}/{key}": value for key, value in values.items()}


# -- boosters -----------------------------------------------------------------------------------


def shifted_booster() -> Document:
    """Transmitter 12 ft over the pump's datum, scaling shifted by 12 ft of water (5.20 psi).

    At 60 degF 1 psi is 2.309 ft of water, so 12 ft are 5.197 psi. The set point stays 85 psi at
    the datum, that is 128.0 ft less the 3 ft that it counted higher before: the zero-flow
    frequency falls from 41.98 to 41.48 Hz.
    """
    moved = {"/sensors/0/tapping_elevation": q("12.0", "ft")}
    scaled = left(
        set_point_datum="pump_datum",
        feedback_at_lower_signal=q("5.2", "psi"),
        feedback_at_upper_signal=q("205.2", "psi"),
    )
    shown = {
        f"/event/sensor_verifications/0/as_found/{index}/indicated": q(value, "psi")
        for index, value in enumerate(_shown("5.2"))
    }
    return changed(booster(), moved | scaled | shown)


def _shown(shift: str) -> list[str]:
    """What the drive of the booster shows at each point, shifted."""
    points = booster()["event"]["sensor_verifications"][0]["as_found"]
    return [f"{float(point['indicated']['value']) + float(shift):.1f}" for point in points]


def booster_in_percent() -> Document:
    """Everything of the loop in % of the feedback's span of 200 psi."""
    percent = {
        "feedback_at_lower_signal": "0", "feedback_at_upper_signal": "100",
        "set_point": "42.5", "wake_value": "39.5", "sleep_boost": "1.5",
        "low_discharge_limit": "25", "high_discharge_limit": "62.5",
    }  # fmt: skip
    return changed(booster(), left(**{name: q(value, "%") for name, value in percent.items()}))


def sleeping_booster() -> Document:
    """Minimum frequency far below the zero-flow frequency of 41.55 Hz, with a sleep function."""
    return changed(booster(), left(minimum_frequency=q("32", "Hz")))


# -- raw water ----------------------------------------------------------------------------------


def raw_water() -> Document:
    """Vertical turbine in a river intake, lift 150 to 160 ft, speed from an external controller.

    Zero flow at 1770 sqrt(160 / 260) rpm = 46.94 Hz and 45.45 Hz. Points at a river level of
    -4 ft, gauge at 3 ft in 6.065 in: heads 200.4, 186.6, 168.2 ft; shaft powers 34.1, 27.6, 18.9
    kW; torque over rated torque 0.784, 0.674, 0.506; currents by the torque model, k = 0.4.
    """
    site = part(
        "site", kind="raw_water", liquid_kind="raw_water", suction_kind="wet_well",
        suction_level_low=q("-6", "ft"), suction_level_high=q("-2", "ft"),
        wet_well_area=q("400", "ft2"), wet_well_floor=q("-20", "ft"),
        inlet_invert=q("-18", "ft"), overflow_level=q("8", "ft"),
        static_lift_low=q("150", "ft"), static_lift_high=q("160", "ft"),
        system_design_flow=q("700", "gpm"), system_design_head=q("200", "ft"),
        zero_demand_possible=False, surge_protection="surge_anticipator",
        discharge_pressure_limit=q("200", "psi"),
        pipeline={
            "length": q("3000", "ft"), "inside_diameter": q("8.0", "in"),
            "wall_thickness": q("0.25", "in"), "material": "ductile_iron",
            "pressure_rating": q("250", "psi"),
        },
    )  # fmt: skip
    settings = left(
        regulation="speed_from_external_controller", speed_reference_signal="4-20 mA",
        frequency_at_lower_reference=q("49", "Hz"), frequency_at_upper_reference=q("60", "Hz"),
        minimum_frequency=q("49", "Hz"), ramp_down_time=q("60", "s"), hand_speed=q("52", "Hz"),
        dry_run_method="level", dry_run_threshold=q("-10", "ft"),
    )  # fmt: skip
    points = {
        "frequency": ("58.3", "55.0", "50.0"), "speed": ("1725", "1627", "1479"),
        "flow": ("700", "590", "375"), "discharge_pressure": ("83.4", "77.5", "69.7"),
        "power_drive_output": ("35.9", "29.1", "20.0"),
        "power_drive_input": ("37.0", "30.0", "20.7"),
        "currents_drive_output": ("56.5", "50.6", "42.0"),
        "voltages_drive_output": ("447", "422", "383"), "suction_level": ("-4.0",) * 3,
    }  # fmt: skip
    document = changed(
        booster(), site | settings | _points(points) | part("pump", type="vertical_turbine")
    )
    loop = ("regulated_quantity", "set_point", "set_point_datum", "set_point_source",
            "feedback_signal", "input_selector", "feedback_at_lower_signal",
            "feedback_at_upper_signal", "feedback_filter_time", "action", "proportional_gain",
            "gain_form", "integral_time", "derivative_time", "sleep_method", "sleep_frequency",
            "sleep_delay", "sleep_boost", "sleep_boost_time_limit", "wake_value", "wake_basis",
            "wake_delay", "signal_loss_response", "signal_loss_delay", "low_suction_limit",
            "low_suction_limit_delay", "low_suction_limit_response",
            "low_suction_limit_measured_by", "low_discharge_limit")  # fmt: skip
    return without(
        document, *(f"{LEFT}/{name}" for name in loop), *_suction_gauges(),
        "/site/suction_pressure_low", "/site/suction_pressure_high",
        "/pump_set/regulating_sensor", "/pump_set/suction_sensor", "/event/step_tests",
        "/event/vessel_checks", "/vessels",
    )  # fmt: skip


UNITS = {
    "frequency": "Hz", "speed": "rpm", "flow": "gpm", "discharge_pressure": "psi",
    "power_drive_output": "kW", "power_drive_input": "kW", "currents_drive_output": "A",
    "voltages_drive_output": "V", "suction_level": "ft",
}  # fmt: skip


def _points(columns: dict[str, tuple[str, ...]], units: dict[str, str] | None = None) -> Document:
    """Changes of the three duty points, a column of readings at a time."""
    changes: Document = {}
    for name, values in columns.items():
        for index, value in enumerate(values):
            read: Any = q(value, (units or UNITS)[name])
            three = name.startswith(("currents", "voltages"))
            changes[f"/event/duty_points/{index}/{name}"] = [read] * 3 if three else read
    return changes


def _suction_gauges() -> list[str]:
    names = ("suction_pressure", "suction_gauge_elevation")
    return [f"/event/duty_points/{index}/{name}" for index in range(3) for name in names]


# -- lift station ---------------------------------------------------------------------------------


def lift_station() -> Document:
    """Immersed 11 kW sewage pump, one of two, kept on the level of its wet well, in SI units.

    sqrt(3) 400 V 21.6 A 0.885 0.83 = 11.0 kW. Curve H = 26 - 5.5556e-4 Q^2 (m, m3/h) at 1460 rpm;
    zero flow at 31.3 Hz for 10.2 m and 29.4 Hz for 9.0 m. Points at a level of 1.0 m over the
    floor (-4.0 m), gauge at 0.5 m in 150 mm: heads 17.49, 15.34, 11.73 m; shaft powers 7.54, 5.65,
    2.88 kW; torque over rated torque 0.710, 0.584, 0.363; currents by the torque model, k = 0.4.
    Between stop and start 0.8 m x 4.0 m2 = 3.2 m3; at 34 Hz 49 m3/h flow: 3.8 starts an hour.
    """
    document = changed(
        booster(), _lift_site() | _lift_machines() | _lift_settings() | _lift_event()
    )
    document["sensors"] = [_level_sensor(), _flow_meter()]
    document["instruments"].append(_staff())
    gone = ("sleep_frequency", "sleep_delay", "sleep_boost", "sleep_boost_time_limit", "wake_value",
            "wake_basis", "wake_delay", "low_suction_limit", "low_suction_limit_delay",
            "low_suction_limit_response", "low_suction_limit_measured_by", "low_discharge_limit",
            "low_discharge_limit_delay", "low_discharge_limit_response",
            "low_discharge_limit_measured_by", "high_discharge_limit",
            "high_discharge_limit_delay", "high_discharge_limit_response",
            "high_discharge_limit_measured_by", "set_point_datum", "dry_run_threshold",
            "dry_run_retry_delay")  # fmt: skip
    return without(
        document, *(f"{LEFT}/{name}" for name in gone), *_suction_gauges(),
        "/site/suction_pressure_low", "/site/suction_pressure_high", "/site/suction_loss",
        "/site/suction_loss_at_flow", "/site/relief_valve_setting",
        "/site/minimum_service_pressure", "/site/available_fault_current",
        "/pump_set/suction_sensor", "/vessels", "/event/vessel_checks", "/pump/bore_suction",
    )  # fmt: skip


def _lift_site() -> Document:
    return part(
        "site", kind="lift_station", electrical_practice="iec", elevation=q("85", "m"),
        time_zone="Europe/Lisbon", liquid_kind="sewage", suction_kind="wet_well",
        supply_nominal_voltage=q("400", "V"), supply_frequency=q("50", "Hz"),
        datum_description="cover of the wet well",
        liquid_temperature_min=q("8", "degC"), liquid_temperature_max=q("25", "degC"),
        suction_level_low=q("-4.4", "m"), suction_level_high=q("-3.6", "m"),
        wet_well_area=q("4.0", "m2"), wet_well_floor=q("-5.0", "m"),
        inlet_invert=q("-3.2", "m"), overflow_level=q("-2.2", "m"),
        static_lift_low=q("9.0", "m"), static_lift_high=q("10.2", "m"),
        system_design_flow=q("110", "m3/h"), system_design_head=q("17.5", "m"),
        zero_demand_possible=False, discharge_pressure_limit=q("10", "bar"),
        hazardous_area="zone_2", confined_space=True, surge_protection="none",
        check_valve_kind="ball",
        pipeline={
            "length": q("400", "m"), "inside_diameter": q("150", "mm"),
            "wall_thickness": q("10", "mm"), "material": "pe",
            "pressure_rating": q("10", "bar"),
        },
    )  # fmt: skip


def _lift_machines() -> Document:
    rows = (
        ("0", "26.00", None, None), ("40", "25.11", "45", "2.0"), ("80", "22.44", "63", "2.3"),
        ("120", "18.00", "70", "3.0"), ("140", "15.11", "67", "3.8"), ("160", "11.78", "60", "5.0"),
    )  # fmt: skip
    pump = part(
        "pump", type="submersible_sewage", rated_speed=q("1460", "rpm"),
        rated_flow=q("120", "m3/h"), rated_head=q("18", "m"), stages=1,
        curve_points=[_row(*each) for each in rows], best_efficiency_flow=q("120", "m3/h"),
        minimum_continuous_flow=q("30", "m3/h"), minimum_frequency_permitted=q("25", "Hz"),
        maximum_speed_permitted=q("1500", "rpm"), maximum_working_pressure=q("6", "bar"),
        bore_discharge=q("150", "mm"),
    )  # fmt: skip
    rating = {
        "voltage": q("400", "V"), "connection": "delta", "frequency": q("50", "Hz"),
        "power": q("11", "kW"), "current": q("21.6", "A"), "speed": q("1460", "rpm"),
        "power_factor": q("0.83", "1"), "efficiency": q("88.5", "%"),
    }  # fmt: skip
    motor = part(
        "motor", ratings=[rating], rating_in_use=0, service_factor=q("1.0", "1"),
        efficiency_class="none", enclosure="submersible", cooling="jacket", immersed=True,
        explosion_protection="epl_gc", leak_sensor=True, peak_voltage_limit=q("1600", "V"),
        maximum_frequency=q("60", "Hz"),
    )  # fmt: skip
    drive = part(
        "drive", input_voltage_max=q("480", "V"), rated_current_normal_duty=q("26", "A"),
        rated_current_heavy_duty=q("23", "A"), rated_input_current=q("25", "A"),
        rated_power=q("11", "kW"), ambient_max=q("50", "degC"), ambient_at_drive=q("30", "degC"),
        motor_cable_length=q("12", "m"), motor_cable_conductor=q("4", "mm2"),
        maximum_motor_cable_length=q("100", "m"),
    )  # fmt: skip
    return pump | motor | drive


def _row(flow: str, head: str, efficiency: str | None, npsh: str | None) -> Document:
    row: Document = {"flow": q(flow, "m3/h"), "head": q(head, "m")}
    if efficiency and npsh:
        row |= {"efficiency": q(efficiency, "%"), "npsh_required": q(npsh, "m")}
    return row


def _level_sensor() -> Document:
    return {
        "tag": "LT-201", "serial": "S-4401", "quantity": "level", "output": "4-20 mA",
        "lower_range_value": q("0", "m"), "upper_range_value": q("5", "m"),
        "tolerance_percent_of_span": q("0.5", "%"), "wiring": "two_wire",
        "power_source": "drive, 24 V", "damping_time": q("2", "s"), "location": "wet_well",
        "zero_elevation": q("-4.9", "m"), "process_isolation": True,
    }  # fmt: skip


def _flow_meter() -> Document:
    return {
        "tag": "FT-201", "serial": "S-4402", "quantity": "flow", "output": "4-20 mA",
        "lower_range_value": q("0", "m3/h"), "upper_range_value": q("200", "m3/h"),
        "tolerance_percent_of_span": q("1", "%"), "wiring": "four_wire",
        "power_source": "mains", "damping_time": q("1", "s"), "location": "discharge",
        "meter_kind": "electromagnetic", "bore": q("150", "mm"),
        "straight_upstream_diameters": 5, "straight_downstream_diameters": 3,
    }  # fmt: skip


def _staff() -> Document:
    """A levelling staff in the pipe of water."""
    return {
        "serial": "I-7", "kind": "tape", "range_low": q("0", "m"), "range_high": q("5", "m"),
        "resolution": q("0.005", "m"), "calibrated_on": "2026-01-12", "due_on": "2027-01-12",
    }  # fmt: skip


def _lift_settings() -> Document:
    return part("pump_set", regulating_sensor="LT-201", flow_meter="FT-201") | left(
        motor_power=q("11", "kW"), motor_voltage=q("400", "V"), motor_frequency=q("50", "Hz"),
        motor_current=q("21.6", "A"), motor_speed=q("1460", "rpm"),
        overload_current=q("21.6", "A"), minimum_frequency=q("34", "Hz"),
        maximum_frequency=q("50", "Hz"), ramp_down_time=q("60", "s"),
        regulated_quantity="level_emptying", action="rising_feedback_speeds_up",
        set_point=q("1.1", "m"), feedback_at_lower_signal=q("0.1", "m"),
        feedback_at_upper_signal=q("5.1", "m"), sleep_method="none", level_reference="floor",
        low_level_cutoff=q("0.35", "m"), stop_level=q("0.6", "m"), start_level=q("1.4", "m"),
        lag_start_level=q("1.7", "m"), high_level_alarm=q("2.2", "m"), dry_run_method="float",
        signal_loss_response="preset_speed", signal_loss_frequency=q("45", "Hz"),
        pump_arrangement="alternating", pumps_in_group=2, pumps_maximum_running=2,
        alternation="at_sleep", failover="start by float, fixed speed",
        leak_sensor_response="trip", hand_speed=q("42", "Hz"),
    )  # fmt: skip


def _lift_event() -> Document:
    points = {
        "frequency": ("48.3", "44.0", "36.0"), "speed": ("1409", "1285", "1051"),
        "flow": ("110", "93", "56"), "discharge_pressure": ("1.258", "1.051", "0.705"),
        "power_drive_output": ("8.5", "6.4", "3.4"), "power_drive_input": ("8.8", "6.6", "3.5"),
        "currents_drive_output": ("16.5", "14.4", "11.2"),
        "voltages_drive_output": ("386", "352", "288"), "suction_level": ("-4.00",) * 3,
    }  # fmt: skip
    units = UNITS | {"flow": "m3/h", "discharge_pressure": "bar", "suction_level": "m"}
    gauges = {
        f"/event/duty_points/{index}/discharge_gauge_elevation": q("0.50", "m")
        for index in range(3)
    }
    proven = ("float_backup", "seal_leak", "motor_overtemperature", "lag_takeover",
              "loss_of_feedback", "power_loss_restart", "emergency_stop",
              "local_isolator")  # fmt: skip
    test = {"how_provoked": "by hand", "expected": "acts", "observed": "acts", "passed": True}
    event = part(
        "event", ambient_temperature=q("18", "degC"), liquid_temperature=q("15", "degC"),
        supply={
            "measured_at": "drive_input", "under_load": True, "frequency": q("50.0", "Hz"),
            "line_voltages": [q(value, "V") for value in ("401", "399", "400")],
        },
        sensor_verifications=[_level_verification()],
        protection_tests=[{"function": function} | test for function in proven],
        level_tests=[
            {"name": name, "level_measured": q(tape, "m"), "level_indicated": q(shown, "m")}
            for name, tape, shown in (
                ("stop", "0.60", "0.61"), ("start", "1.40", "1.41"), ("lag_start", "1.70", "1.70"),
                ("high_alarm", "2.20", "2.21"),
            )
        ] + [{"name": "float", "level_measured": q("2.45", "m")}],
    )  # fmt: skip
    winding = {
        "values": [q(value, "ohm") for value in ("0.842", "0.845", "0.840")],
        "method": "four_wire", "resolution": q("0.001", "ohm"),
        "winding_temperature": q("18", "degC"), "at": "motor_terminals",
    }  # fmt: skip
    step = {"from": q("1.30", "m"), "to": q("1.10", "m")}
    changes = part("event/motor_tests", winding_resistance=winding)
    changes |= part("event/step_tests/0", **step)
    changes["/event/identification_run"] = {"kind": "standstill"}
    return event | changes | gauges | _points(points, units)


def _level_verification() -> Document:
    """Lifted out and lowered into a pipe of water: 0 to 4 m; the drive shows 0.1 m more."""
    read = (("0.00", "4.01"), ("1.00", "7.21"), ("2.00", "10.41"), ("3.00", "13.61"),
            ("4.00", "16.80"))  # fmt: skip
    points = [("up", *each) for each in read] + [("down", *each) for each in read[::-1]]
    return {
        "sensor": "LT-201", "instrument": "I-7", "adjusted": "none", "isolated_and_vented": True,
        "damping": q("2", "s"),
        "as_found": [
            {
                "direction": direction, "applied": q(applied, "m"), "signal": q(signal, "mA"),
                "indicated": q(f"{(float(signal) - 4) / 16 * 5 + 0.1:.2f}", "m"),
                "indicated_at": "drive",
            }
            for direction, applied, signal in points
        ],
    }  # fmt: skip
