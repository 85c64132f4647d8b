"""Nameplates and site of the station in `building`; a new copy at every call."""

from typing import Any

Document = dict[str, Any]


def q(value: str | int | float, unit: str) -> dict[str, str]:
    """A quantity as it stands in documents."""
    return {"value": str(value), "unit": unit}


def site() -> Document:
    """A booster station on a pressurised main, 500 ft above the sea."""
    return {
        "code": "B-01",
        "name": "Upper zone booster",
        "kind": "booster",
        "elevation": q("500", "ft"),
        "time_zone": "America/Chicago",
        "electrical_practice": "us_nec",
        "supply_source": "utility",
        "supply_nominal_voltage": q("480", "V"),
        "supply_frequency": q("60", "Hz"),
        "supply_phases": 3,
        "supply_earthing": "solid_star",
        "available_fault_current": q("22", "kA"),
        "datum_description": "pump-room floor",
        "liquid_kind": "potable",
        "liquid_temperature_min": q("45", "degF"),
        "liquid_temperature_max": q("75", "degF"),
        "suction_kind": "pressurised_main",
        "suction_pressure_low": q("30", "psi"),
        "suction_pressure_high": q("33", "psi"),
        "suction_loss": q("1.5", "ft"),
        "suction_loss_at_flow": q("1000", "gpm"),
        "static_lift_low": q("115", "ft"),
        "static_lift_high": q("120", "ft"),
        "system_design_flow": q("1000", "gpm"),
        "system_design_head": q("128", "ft"),
        "zero_demand_possible": True,
        "minimum_flow_path": "none",
        "discharge_pressure_limit": q("175", "psi"),
        "relief_valve_setting": q("150", "psi"),
        "minimum_service_pressure": q("60", "psi"),
        "surge_protection": "none",
        "check_valve_kind": "swing",
        "hazardous_area": "none",
        "confined_space": False,
    }


def pump_set() -> Document:
    """Pump, motor, drive and sensors joined."""
    return {
        "tag": "PS-101",
        "pump": "P-101",
        "motor": "M-101",
        "drive": "D-101",
        "regulating_sensor": "PT-101",
        "suction_sensor": "PT-100",
        "flow_meter": "FT-101",
        "discharge_header": "H-1",
        "bypass": "none",
        "transmission": "direct",
    }


def pump() -> Document:
    """260 ft at no flow, 165 ft at 1000 gpm, curve H = 260 - 95 (Q / 1000)^2."""
    points = (
        ("0", "260.0", None, None),
        ("300", "251.5", "50", "6.0"),
        ("600", "225.8", "73", "7.0"),
        ("800", "199.2", "80", "8.0"),
        ("1000", "165.0", "82.5", "10.0"),
        ("1200", "123.2", "78", "13.5"),
        ("1350", "86.9", "70", "17.0"),
    )
    return {
        "tag": "P-101",
        "serial": "K71-0042",
        "type": "multistage_vertical",
        "rated_speed": q("1770", "rpm"),
        "rated_flow": q("1000", "gpm"),
        "rated_head": q("165", "ft"),
        "stages": 2,
        "suction_sides": 1,
        "curve_points": [_curve_point(*point) for point in points],
        "curve_origin": "test_certificate",
        "best_efficiency_flow": q("1000", "gpm"),
        "minimum_continuous_flow": q("250", "gpm"),
        "minimum_frequency_permitted": q("30", "Hz"),
        "maximum_speed_permitted": q("1800", "rpm"),
        "maximum_working_pressure": q("230", "psi"),
        "maximum_starts_per_hour": 15,
        "acceptance_grade": "2B",
        "bore_suction": q("7.981", "in"),
        "bore_discharge": q("6.065", "in"),
    }


def _curve_point(flow: str, head: str, efficiency: str | None, npsh: str | None) -> Document:
    point: Document = {"flow": q(flow, "gpm"), "head": q(head, "ft")}
    if efficiency and npsh:
        point |= {"efficiency": q(efficiency, "%"), "npsh_required": q(npsh, "ft")}
    return point


def motor() -> Document:
    """60 hp, 4 poles: sqrt(3) 460 V 68.7 A 0.950 0.86 = 44.7 kW = 60.0 hp."""
    common = {
        "frequency": q("60", "Hz"),
        "power": q("60", "hp"),
        "speed": q("1775", "rpm"),
        "power_factor": q("0.86", "1"),
        "efficiency": q("95.0", "%"),
    }
    low = {"voltage": q("230", "V"), "connection": "parallel_star", "current": q("137", "A")}
    high = {"voltage": q("460", "V"), "connection": "series_star", "current": q("68.7", "A")}
    return {
        "tag": "M-101",
        "serial": "W60-1187",
        "kind": "induction",
        "phases": 3,
        "poles": 4,
        "ratings": [low | common, high | common],
        "rating_in_use": 1,
        "service_factor": q("1.15", "1"),
        "efficiency_class": "premium",
        "year_built": 2023,
        "design_letter": "B",
        "duty": "continuous",
        "insulation_class": "F",
        "temperature_rise_class": "B",
        "enclosure": "totally_enclosed",
        "cooling": "shaft_fan",
        "immersed": False,
        "inverter_suitability": "yes_stated",
        "peak_voltage_limit": q("1426", "V"),
        "thermal_sensor": "ptc",
        "thermal_sensor_count": 3,
        "maximum_frequency": q("90", "Hz"),
        "maximum_starts_per_hour": 15,
    }


def drive() -> Document:
    """77 A at normal duty, in a ventilated cabinet near the motor."""
    return {
        "tag": "D-101",
        "serial": "V77-5520",
        "firmware": "3.1",
        "input_phases": 3,
        "input_voltage_min": q("380", "V"),
        "input_voltage_max": q("500", "V"),
        "input_voltage_tolerance": q("10", "%"),
        "rated_current_normal_duty": q("77", "A"),
        "rated_current_heavy_duty": q("72", "A"),
        "rated_input_current": q("74", "A"),
        "rated_power": q("60", "hp"),
        "overload_percent": q("110", "%"),
        "overload_seconds": q("60", "s"),
        "carrier_at_rating": q("4", "kHz"),
        "short_circuit_rating": q("65", "kA"),
        "ambient_max": q("122", "degF"),
        "enclosure": "in_cabinet",
        "enclosure_cooling": "filter_fan",
        "ambient_at_drive": q("90", "degF"),
        "input_reactor": True,
        "output_filter_fitted": "none",
        "motor_cable_length": q("60", "ft"),
        "motor_cable_conductor": "3 AWG",
        "motor_cable_shielded": True,
        "maximum_motor_cable_length": q("300", "ft"),
        "output_capacitors": False,
        "output_switch": False,
        "functional_safety_stop": "fitted_wired",
    }


def sensors() -> list[Document]:
    """Discharge and suction pressure, flow."""
    common = {
        "output": "4-20 mA",
        "wiring": "two_wire",
        "power_source": "drive, 24 V",
        "damping_time": q("0.1", "s"),
        "process_isolation": True,
    }
    pressure = {"quantity": "pressure", "reference": "gauge"}
    discharge = {
        "tag": "PT-101",
        "serial": "S-3301",
        "lower_range_value": q("0", "psi"),
        "upper_range_value": q("200", "psi"),
        "overpressure_limit": q("600", "psi"),
        "tolerance_percent_of_span": q("0.5", "%"),
        "location": "discharge",
        "tapping_elevation": q("3.0", "ft"),
    }
    suction = {
        "tag": "PT-100",
        "serial": "S-3300",
        "lower_range_value": q("0", "psi"),
        "upper_range_value": q("60", "psi"),
        "overpressure_limit": q("200", "psi"),
        "tolerance_percent_of_span": q("0.5", "%"),
        "location": "suction",
        "tapping_elevation": q("2.0", "ft"),
    }
    flow = {
        "tag": "FT-101",
        "serial": "S-3302",
        "quantity": "flow",
        "lower_range_value": q("0", "gpm"),
        "upper_range_value": q("1500", "gpm"),
        "tolerance_percent_of_span": q("1", "%"),
        "location": "discharge",
        "meter_kind": "electromagnetic",
        "bore": q("8", "in"),
        "straight_upstream_diameters": 5,
        "straight_downstream_diameters": 3,
    }
    return [common | pressure | discharge, common | pressure | suction, common | flow]


def vessel() -> Document:
    """A bladder tank on the header."""
    return {
        "tag": "V-1",
        "serial": "T-118",
        "kind": "bladder",
        "location": "discharge_header",
        "volume": q("130", "gal"),
        "maximum_pressure": q("200", "psi"),
        "pre_charge_pressure_design": q("69", "psi"),
    }


def instruments() -> list[Document]:
    """Everything the readings were taken with, in calibration."""
    dates = {"calibrated_on": "2026-01-12", "due_on": "2027-01-12"}

    def instrument(serial: str, kind: str, low: Document, high: Document, **more: Any) -> Document:
        named = {"serial": serial, "kind": kind, "range_low": low, "range_high": high}
        return named | dates | more

    one = {"percent_of_reading": q("1", "%")}
    half = {"percent_of_reading": q("0.5", "%")}
    fine = {"percent_of_range": q("0.025", "%")}
    return [
        instrument("I-1", "pressure_calibrator", q("0", "psi"), q("300", "psi"), **fine),
        instrument("I-2", "multimeter_true_rms", q("0", "V"), q("1000", "V"), **half),
        instrument("I-3", "power_analyser", q("0", "kW"), q("200", "kW"), **one),
        instrument("I-4", "insulation_tester", q("0", "Mohm"), q("10000", "Mohm"), **one),
        instrument("I-5", "low_resistance_ohmmeter", q("0", "ohm"), q("20", "ohm"), **half),
        instrument("I-6", "tachometer", q("0", "rpm"), q("10000", "rpm"), **half),
    ]
