"""The numbers that findings tell of the booster, by hand: a wrong one is worse than none.

Its plate: 60 hp, 460 V, 68.7 A, 60 Hz, 1775 rpm. First point: 1000 gpm, 1630 rpm, 54.4 psi.
"""

import re
from collections.abc import Iterable

import pytest

from calculations.findings import Finding
from calculations.inputs.reading import read
from calculations.inputs.site import Pipeline
from calculations.rule import estimate_over
from tests.calculations.building import booster, changed, judged, of_rule
from tests.calculations.building_plates import Document, q
from tests.calculations.stations import LEFT, well
from tests.calculations.whole_stations import lift_station

POINT = "/event/duty_points/0"
VERIFIED = "/event/sensor_verifications/0/as_found/2"
INSULATION = "/event/motor_tests/insulation"
WINDING = "/event/motor_tests/winding_resistance/values"


def numbers(finding: Finding) -> dict[str, float]:
    """What is shown, by its name in the sentence, without its unit."""
    told = {each.name: each.shown.value for each in finding.compared} | finding.parameters
    found = {name: re.search(r"[-+]?\d+(\.\d+)?", text) for name, text in told.items()}
    return {name: float(match[0]) for name, match in found.items() if match}


def three(unit: str, *values: str) -> list[dict[str, str]]:
    return [q(value, unit) for value in values]


TOLD: list[tuple[str, dict[str, object], dict[str, float]]] = [
    # At 43.5 Hz and 33 psi 260 x 0.7312^2 - 121.1 = 95 q^2, q 0.4351 (10.7 rpm of slip); of 727.
    ("loop.sleep-window", {f"{LEFT}/sleep_frequency": q("43.5", "Hz")},
     {"flow": 435.1, "best": 727.0, "share": 59.85, "zero_flow": 41.55}),
    # At 47 Hz and 30 psi 260 x 0.7897^2 - 128.0 = 95 q^2, q 0.598 (12 rpm of slip); of 785.6 gpm.
    ("loop.sleep-window", {f"{LEFT}/sleep_frequency": q("47", "Hz")},
     {"flow": 598.2, "best": 785.6, "share": 76.1}),
    # 52.3 A by the torque model.
    ("load.current-expected", {f"{POINT}/currents_drive_output": three("A", "66", "66", "66")},
     {"read": 66, "expected": 52.3, "deviation": 26.2}),
    ("load.current-nameplate", {f"{POINT}/currents_drive_output": three("A", "79", "80", "81")},
     {"read": 80, "plate": 68.7, "share": 116}),
    # 485.67 V in the middle, 14.33 V away.
    ("supply.unbalance", {"/event/supply/line_voltages/0": q("500", "V")},
     {"unbalance": 2.951, "farthest": 500}),
    # 0.41 ohm in the middle, 0.02 ohm away.
    ("winding.resistance-unbalance",
     {WINDING: three("ohm", "0.4000", "0.4000", "0.4300")},
     {"unbalance": 4.878, "third": 0.43}),
    # 54 A in the middle, 6 A away.
    ("winding.current-unbalance", {f"{POINT}/currents_drive_output": three("A", "50", "52", "60")},
     {"unbalance": 11.11}),
    # 479.33 V x sqrt(2).
    ("supply.dc-link", {"/event/supply/dc_bus_voltage": q("500", "V")},
     {"line": 479.33, "usual": 677.9, "share": 104.3}),
    # 1000 gpm x 125.6 ft / 3960 = 31.72 hp, 23.65 kW.
    ("efficiency.wire-to-water", {f"{POINT}/power_drive_input": q("55", "kW")},
     {"measured": 43.0}),
    # 25 psi less are 57.7 ft; expected 260 x 0.9209^2 - 95 ft.
    ("curve.point", {f"{POINT}/discharge_pressure": q("60.0", "psi")},
     {"head": 67.85, "expected": 125.5, "deviation": -45.9}),
    # exp(-1245 (1 / 293 - 1 / 313)) = 0.762 (IEEE 43-2013, from memory).
    ("insulation.minimum",
     {f"{INSULATION}/resistance_1_min": q("3", "Mohm"),
      f"{INSULATION}/resistance_30_s": q("3", "Mohm")},
     {"corrected": 2.287, "least": 5}),
    ("loop.scaling", {f"{LEFT}/feedback_at_upper_signal": q("180", "psi")},
     {"indicated": 180, "true": 200, "error": -10, "fit_low": 0, "fit_high": 200}),
    ("drive.volts-per-hertz", {f"{LEFT}/motor_voltage": q("430", "V")},
     {"ratio": 7.167, "rated": 7.667, "deviation": -6.52}),
    ("drive.motor-current", {f"{LEFT}/motor_current": q("75", "A")}, {"deviation": 9.17}),
    ("drive.motor-speed", {f"{LEFT}/motor_speed": q("1750", "rpm")},
     {"deviation": -1.41, "poles": 4}),
    # 1.25 x 68.7 A.
    ("drive.overload-setting", {f"{LEFT}/overload_current": q("80", "A")},
     {"share": 116, "stop_above": 85.88}),
    # 3 AWG, 26.67 mm2, at 75 degC: 0.7861 x 0.86 + 0.08 x 0.51 = 0.717 mohm/m, 85.3 mV for a metre.
    ("drive.cable-voltage-drop",
     {"/drive/motor_cable_length": q("400", "m"), "/drive/motor_cable_conductor": "3 AWG",
      "/drive/maximum_motor_cable_length": q("1000", "m")},
     {"drop": 7.418, "filter": 0}),
    # 0.20 mA of 16 mA.
    ("sensor.outlier", {f"{VERIFIED}/signal": q("12.20", "mA")}, {"error": 1.25, "read": 12.02}),
    # 1775 rpm x 66 / 60; 1800 rpm are 60.85 Hz.
    ("speed.maximum-speed", {f"{LEFT}/maximum_frequency": q("66", "Hz")},
     {"speed": 1952.5, "permitted": 1800, "sensible": 60.85}),
    # 128.0 ft at 30 psi: 1770 sqrt(128.0 / 260) rpm, and a hertz more.
    ("loop.sleep-order", {f"{LEFT}/sleep_frequency": q("40", "Hz")},
     {"zero_flow": 41.55, "sensible": 42.1}),
    # 277.33 V x sqrt(3); 10 % below 380 V and above 500 V are 342 and 550 V.
    ("supply.voltage-range", {"/event/supply/line_voltages": three("V", "277", "278", "277")},
     {"mean": 277.33, "line": 480.4, "lowest": 380, "highest": 500, "tolerance": 10}),
    ("supply.frequency", {"/event/supply/frequency": q("58.0", "Hz")}, {"deviation": -3.33}),
    ("site.elevation", {"/site/elevation": q("5280", "m")}, {"feet": 5280, "metres": 1609.3}),
    # 25 rpm of 1800 rpm.
    ("motor.slip", {"/motor/ratings/1/frequency": q("50", "Hz")},
     {"other": 60, "poles": 4, "slip": 1.389}),
    ("motor.poles", {"/motor/poles": 2}, {"fitting": 4, "slip": 1.389}),
    # sqrt(3) 460 V 86.7 A = 69.08 kVA; 0.950 x 0.86 = 0.817.
    ("motor.power-balance", {"/motor/ratings/1/current": q("86.7", "A")},
     {"implied": 0.6477, "expected": 0.817, "deviation": -20.7, "read": 68.7}),
    ("motor.power-balance", {"/motor/ratings/1/power": q("60", "kW")},
     {"expected": 0.817, "deviation": 34.2, "read": 60}),
    # 68.7 A x 460 V / 230 V = 137.4 A.
    ("motor.ratings-agree", {"/motor/ratings/0/current": q("173", "A")},
     {"deviation": 25.9, "times": 1.259, "read": 137}),
    ("motor.efficiency-class", {"/motor/ratings/1/efficiency": q("94.1", "%")},
     {"stated": 94.1, "required": 95, "rating": 60}),
    # 60 kW are 80.46 hp.
    ("drive.motor-power", {f"{LEFT}/motor_power": q("60", "kW")}, {"deviation": 34.1, "read": 60}),
    ("drive.motor-frequency",
     {f"{LEFT}/motor_frequency": q("50", "Hz"), f"{LEFT}/motor_voltage": q("400", "V")},
     {"deviation": -16.67}),
    # 38.5 kW at 1778.5 rpm at most, 0.859 of the torque: 68.7 sqrt(0.16 + 0.84 x 0.859^2) = 60.7 A.
    ("drive.rated-current", {"/drive/rated_current_normal_duty": q("52", "A")},
     {"available": 52, "load": 60.7}),
    # 1 % for each 100 m above 1000 m.
    ("drive.rated-current",
     {"/drive/rated_current_normal_duty": q("70", "A"), "/site/elevation": q("1500", "m")},
     {"available": 66.5, "factors": 0.95, "share": 0.95}),
    # 1.9 sqrt(2) 480 V.
    ("drive.reflected-wave", {"/motor/peak_voltage_limit": q("1000", "V")}, {"peak": 1290}),
    # 56 Hz: 260 x 0.93597^2 - 128.0 = 95 q^2.
    ("loop.sleep-order", {f"{LEFT}/sleep_frequency": q("56", "Hz")},
     {"flow": 1032, "wanted": 1000}),
    ("curve.point", {f"{POINT}/flow": q("1500", "gpm")}, {"end": 1350 * 1630 / 1770}),
    # 120 x 54.9 / 4 = 1647 rpm; 25 rpm of rated slip.
    ("speed.measured", {f"{POINT}/speed": q("1500", "rpm")},
     {"field": 1647, "poles": 4, "deviation": -8.925, "slip": 1.518}),
    ("load.voltage", {f"{POINT}/voltages_drive_output": three("V", "100", "100", "100")},
     {"read": 100, "expected": 420.9}),
    # 46.1 degC: 1 % for each kelvin above 40 degC.
    ("drive.rated-current",
     {"/drive/ambient_at_drive": q("115", "degF"),
      "/drive/rated_current_normal_duty": q("69", "A")},
     {"available": 64.8, "factors": 0.939}),
    ("vessel.precharge", {"/event/vessel_checks/0/pre_charge_as_left": q("70.0", "psi"),
                          f"{LEFT}/wake_value": q("70", "psi")},
     {"share": 100, "target_low": 56, "target_high": 66.5}),
    ("protection.trip-value", {"/event/protection_tests/1/limit_at_trip": q("140", "psi")},
     {"limit": 125, "difference": 12}),
    # 0.3 % of 300 psi; 0.5 % of 200 psi are allowed.
    ("sensor.reference-uncertainty", {"/instruments/0/percent_of_range": q("0.3", "%")},
     {"tolerance": 1, "uncertainty": 0.9, "ratio": 1.111}),
    # 261.5 ft are 113.2 psi, on 33 psi read 2 ft high.
    ("speed.maximum-pressure", {"/site/discharge_pressure_limit": q("120", "psi")},
     {"maximum": 60, "pressure": 149.1, "permitted": 120}),
]  # fmt: skip


def told(document: Document, rule: str, names: Iterable[str]) -> dict[str, float]:
    found = numbers(of_rule(judged(document), rule)[0])
    return {name: found[name] for name in names}


def near(expected: dict[str, float]) -> object:
    return pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize(("rule", "changes", "expected"), TOLD)
def test_numbers(rule, changes, expected):
    assert told(changed(booster(), changes), rule, expected) == near(expected)


def test_starts_of_a_wet_well():
    """53.9 m3/h are 15.0 L/s, 14.9 with the fit of the curve; over 4 x 2 x 0.09 m x 4.0 m2."""
    document = changed(lift_station(), {f"{LEFT}/start_level": q("0.69", "m")})
    expected = {"flow": 15.0, "starts": 18.67, "permitted": 15}
    assert told(document, "well.starts", expected) == near(expected)


def test_peak_inflow_of_a_lift_station():
    """0.692 of rated torque slip 28 of 1500 rpm: 26 (1471.9 / 1460)^2 - 8 (Q / 120)^2 = 9 +
    7.3 (2 Q / 110)^2 at 76.6 m3/h each; two pumps carry 153.2 m3/h."""
    document = changed(lift_station(), {"/site/inflow_peak": q("170", "m3/h")})
    expected = {"carried": 153.2, "pumps": 2, "peak": 170}
    assert told(document, "station.inflow", expected) == near(expected)


def test_cooling_of_an_immersed_motor():
    """60 gpm over 0.03478 m2: 0.1088 m/s."""
    document = changed(well(), {"/pump/minimum_continuous_flow": q("60", "gpm")})
    found = numbers(of_rule(judged(document), "motor.cooling")[0])
    assert found["velocity"] == pytest.approx(0.357, abs=0.004)  # two digits are told
    assert found["least"] == pytest.approx(0.492, abs=0.004)


@pytest.mark.parametrize(
    ("pascal", "rating", "told"),
    [
        (21.29e5, q("16", "bar"), "21 bar"),
        (16.29e5, q("16", "bar"), "16.3 bar"),  # "16 bar" would not be above 16 bar
        (16.04e5, q("16.0", "bar"), "16.04 bar"),
        (2.129e6, q("232", "psi"), "310 psi"),  # 308.8 psi
    ],
)
def test_an_estimate_has_the_digits_that_it_bears(pascal, rating, told):
    """Two, or as many as show that it is above the rating; ISO 80000-1, rounding."""
    entered = read(Pipeline, {"pressure_rating": rating}).pressure_rating
    assert str(estimate_over(pascal, entered)) == told
