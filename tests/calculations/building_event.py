"""The start-up of the station in `building`: settings, tests, readings."""

from typing import Any

from .building_plates import Document, q

TRACE = "01890a5d-ac96-774b-bcce-b302099a8057"
A_YEAR_LATER = {
    "/event/performed_at": "2027-03-14T09:30:00-05:00",
    "/event/performed_until": "2027-03-14T15:10:00-05:00",
    "/event/step_tests/0/time": "2027-03-14T13:05:00-05:00",
}
"""What changes the start-up into one of the year after."""

READ_ANEW = {
    f"/event/duty_points/{index}/{name}": value
    for index, (flow, pressure, power) in enumerate(
        (("996", "84.8", "31.8"), ("703", "84.9", "22.3"), ("402", "85.1", "14.6"))
    )
    for name, value in (
        ("flow", q(flow, "gpm")),
        ("discharge_pressure", q(pressure, "psi")),
        ("power_drive_input", q(power, "kW")),
    )
}
"""Readings of the same points on another day: the pump is the same, the last digits are not."""


def start_up() -> Document:
    """A complete start-up with nothing wrong."""
    return {
        "kind": "start_up",
        "performed_at": "2026-03-14T09:30:00-05:00",
        "performed_until": "2026-03-14T15:10:00-05:00",
        "parties": {"performed_by": "First technician", "witnessed_by": "Operator on duty"},
        "isolation_confirmed": True,
        "permit_reference": "none needed",
        "ambient_temperature": q("70", "degF"),
        "liquid_temperature": q("60", "degF"),
        "weather": "indoors",
        "reading_unit_system": "us",
        "instruments": ["I-1", "I-2", "I-3", "I-4", "I-5", "I-6"],
        "hours_run": q("1", "h"),
        "start_count": 6,
        "energy_counter": q("35", "kWh"),
        "settings_file": {"purpose": "settings_file", "name": "D-101.bin", "sha256": "a" * 64},
        "settings": {"as_left": settings()},
        "supply": {
            "measured_at": "drive_input",
            "under_load": True,
            "line_voltages": [q("481", "V"), q("479", "V"), q("478", "V")],
            "line_to_earth_voltages": [q("278", "V"), q("277", "V"), q("276", "V")],
            "frequency": q("60.0", "Hz"),
        },
        "motor_tests": motor_tests(),
        "earth_tests": [
            {"from": "motor frame", "to": "drive earth bar", "resistance": q("0.05", "ohm")},
        ],
        "mechanical_checks": [{"item": item, "result": "ok"} for item in CHECKED],
        "rotation": {
            "drive_direction": "correct",
            "method": "uncoupled_bump",
            "phases_swapped_at": "not_swapped",
        },
        "identification_run": {"kind": "standstill", "result_resistance": q("0.056", "ohm")},
        "vessel_checks": [
            {
                "vessel": "V-1",
                "pre_charge_as_found": q("69", "psi"),
                "pre_charge_as_left": q("69", "psi"),
                "system_drained": True,
            }
        ],
        "duty_points": duty_points(),
        "sensor_verifications": [
            verification("PT-101", 50, ("4.01", "8.02", "12.02", "16.01", "20.00")),
            verification("PT-100", 15, ("4.00", "8.01", "12.01", "16.01", "20.01")),
        ],
        "protection_tests": [
            {
                "function": function,
                "how_provoked": how,
                "expected": "stop",
                "observed": "stop",
                "reset": "manual",
                "passed": True,
            }
            for function, how in PROTECTIONS
        ],
        "step_tests": [
            {
                "trace": TRACE,
                "step_kind": "set_point",
                "time": "2026-03-14T13:05:00-05:00",
                "from": q("80", "psi"),
                "to": q("85", "psi"),
            }
        ],
        "traces": [{"id": TRACE, "name": "step.csv", "sha256": "c" * 64}],
        "attachments": [
            {"purpose": purpose, "name": f"{purpose}.jpg", "sha256": "b" * 64}
            for purpose in ("motor_plate", "drive_plate", "sensor_plate", "terminal_links")
        ],
    }


CHECKED = (
    "coupling_aligned", "guard_fitted", "lubricated", "turned_by_hand", "primed_and_vented",
    "suction_valve_open", "anchor_bolts", "cooling_path_clear",
)  # fmt: skip

PROTECTIONS = (
    ("low_suction", "suction valve throttled"),
    ("high_pressure", "limit lowered"),
    ("loss_of_feedback", "signal wire lifted"),
    ("power_loss_restart", "isolator opened and closed"),
    ("emergency_stop", "button pressed"),
    ("local_isolator", "switched off"),
    ("motor_overtemperature", "sensor wire lifted"),
)


def settings() -> Document:
    """What the drive was left with."""
    return {
        "motor_power": q("60", "hp"),
        "motor_voltage": q("460", "V"),
        "motor_frequency": q("60", "Hz"),
        "motor_current": q("68.7", "A"),
        "motor_speed": q("1775", "rpm"),
        "motor_kind": "induction",
        "motor_identification": "standstill",
        "control_mode": "vector",
        "duty_class": "normal",
        "overload_current": q("68.7", "A"),
        "overload_basis": "absolute",
        "overload_class": "20",
        "minimum_frequency": q("36", "Hz"),
        "maximum_frequency": q("60", "Hz"),
        "ramp_reference": "to_maximum_frequency",
        "ramp_up_time": q("15", "s"),
        "ramp_down_time": q("20", "s"),
        "stop_mode": "ramp",
        "start_mode": "normal",
        "restart_delay": q("10", "s"),
        "restart_attempts": 3,
        "automatic_reset_count": 3,
        "automatic_reset_delay": q("30", "s"),
        "restart_after_power_loss": "restart_after_delay",
        "power_loss_response": "ride_through",
        "reverse_inhibited": True,
        "carrier_frequency": q("4", "kHz"),
        "output_filter": "none",
        "emc_filter_earthed": "connected",
        "regulation": "closed_loop_in_drive",
        "regulated_quantity": "discharge_pressure",
        "set_point": q("85", "psi"),
        "set_point_source": "local",
        "set_point_datum": "transmitter",
        "feedback_signal": "4-20 mA",
        "input_selector": "current",
        "feedback_at_lower_signal": q("0", "psi"),
        "feedback_at_upper_signal": q("200", "psi"),
        "feedback_filter_time": q("0.2", "s"),
        "action": "rising_feedback_slows",
        "proportional_gain": q("1.5", "1"),
        "gain_form": "series",
        "integral_time": q("8", "s"),
        "derivative_time": q("0", "s"),
        "sleep_method": "frequency",
        "sleep_frequency": q("42.5", "Hz"),
        "sleep_delay": q("30", "s"),
        "sleep_boost": q("3", "psi"),
        "sleep_boost_time_limit": q("20", "s"),
        "wake_value": q("79", "psi"),
        "wake_basis": "absolute",
        "wake_delay": q("2", "s"),
        "signal_loss_response": "stop",
        "signal_loss_delay": q("2", "s"),
        "low_suction_limit": q("12", "psi"),
        "low_suction_limit_delay": q("5", "s"),
        "low_suction_limit_response": "stop_and_retry",
        "low_suction_limit_measured_by": "suction_sensor",
        "low_discharge_limit": q("50", "psi"),
        "low_discharge_limit_delay": q("60", "s"),
        "low_discharge_limit_response": "stop",
        "low_discharge_limit_measured_by": "regulating_sensor",
        "high_discharge_limit": q("125", "psi"),
        "high_discharge_limit_delay": q("2", "s"),
        "high_discharge_limit_response": "stop",
        "high_discharge_limit_measured_by": "regulating_sensor",
        "dry_run_method": "suction_pressure",
        "dry_run_threshold": q("12", "psi"),
        "dry_run_delay": q("5", "s"),
        "dry_run_response": "stop_and_retry",
        "dry_run_retry_delay": q("600", "s"),
        "no_flow_response": "none",
        "motor_thermal_sensor_response": "trip",
        "input_phase_loss_response": "trip",
        "output_phase_loss_response": "trip",
        "earth_fault_response": "trip",
        "pump_arrangement": "single",
        "hand_speed": q("48", "Hz"),
        "hand_protections_active": True,
        "remote_control": {"start_source": "local", "status_signals": "running, fault"},
    }


def motor_tests() -> Document:
    """Winding and insulation, before the motor was connected."""
    return {
        "winding_resistance": {
            "values": [q("0.1124", "ohm"), q("0.1127", "ohm"), q("0.1121", "ohm")],
            "method": "four_wire",
            "resolution": q("0.0001", "ohm"),
            "winding_temperature": q("68", "degF"),
            "at": "motor_terminals",
        },
        "insulation": {
            "test_voltage": q("500", "V"),
            "resistance_30_s": q("1600", "Mohm"),
            "resistance_1_min": q("2000", "Mohm"),
            "winding_temperature": q("68", "degF"),
            "humidity": q("45", "%"),
            "drive_disconnected": True,
            "includes_cable": False,
            "discharged": True,
            "at": "motor_terminals",
        },
    }


def duty_points() -> list[Document]:
    """Three points while 85 psi is kept; heads 125.6, 123.8, 122.7 ft."""
    return [
        point("design", "54.9", "1630", "1000", "31.6", ("421", "52.7", "30.9", "31.9")),
        point("normal", "48.2", "1433", "700", "32.1", ("370", "44.7", "21.5", "22.2")),
        point("minimum", "43.3", "1289", "400", "32.4", ("332", "37.8", "14.2", "14.7")),
    ]


def point(
    purpose: str,
    frequency: str,
    speed: str,
    flow: str,
    suction: str,
    electrical: tuple[str, str, str, str],
) -> Document:
    """One duty point; `electrical` are output volts, output amperes, output and input kW."""
    volts, amperes, output, taken = electrical
    return {
        "purpose": purpose,
        "frequency": q(frequency, "Hz"),
        "speed": q(speed, "rpm"),
        "speed_measured": True,
        "flow": q(flow, "gpm"),
        "flow_method": "installed_meter",
        "suction_pressure": q(suction, "psi"),
        "suction_gauge_elevation": q("2.0", "ft"),
        "discharge_pressure": q("85.0", "psi"),
        "discharge_gauge_elevation": q("3.0", "ft"),
        "voltages_drive_output": three(volts, "V"),
        "currents_drive_output": three(amperes, "A"),
        "power_drive_output": q(output, "kW"),
        "power_drive_input": q(taken, "kW"),
        "other_pumps_running": 0,
        "steady_for": q("300", "s"),
        "instruments": ["I-1", "I-3", "I-6"],
    }


def three(value: str, unit: str) -> list[Any]:
    """The same reading in all three phases."""
    return [q(value, unit)] * 3


def verification(sensor: str, step: int, signals: tuple[str, ...]) -> Document:
    """Up and down in steps of `step` psi; the drive shows what the signal means."""
    span = step * (len(signals) - 1)
    applied = [step * index for index in range(len(signals))]
    rising = list(zip(applied, signals, strict=True))
    points = [("up", *each) for each in rising] + [("down", *each) for each in rising[::-1]]
    return {
        "sensor": sensor,
        "instrument": "I-1",
        "as_found": [
            {
                "direction": direction,
                "applied": q(value, "psi"),
                "signal": q(signal, "mA"),
                "indicated": q(f"{(float(signal) - 4) / 16 * span:.1f}", "psi"),
                "indicated_at": "drive",
            }
            for direction, value, signal in points
        ],
        "adjusted": "none",
        "applied_head_difference": q("0", "ft"),
        "isolated_and_vented": True,
        "damping": q("0.1", "s"),
    }
