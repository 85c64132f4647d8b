"""What findings of the booster compare, against which limit and at which place, by hand.

Its plate: 60 hp, 460 V, 68.7 A, 60 Hz. First point: 54.9 Hz, 1000 gpm, 421 V, 52.7 A, 30.9 kW out
of the drive and 31.9 kW into it; a supply of 479.3 V. Limits are those of the catalogue.
"""

import pytest

from tests.calculations.building import booster, changed, judged, of_rule
from tests.calculations.building_plates import Document, q
from tests.calculations.stations import LEFT, well
from tests.calculations.whole_stations import lift_station

POINT = "/event/duty_points/0"
SUPPLY = "/event/supply"
WINDING = "/event/motor_tests/winding_resistance/values"


def three(unit: str, *values: str) -> list[dict[str, str]]:
    return [q(value, unit) for value in values]


Told = tuple[str, dict[str, object], str, str, dict[str, str]]
TOLD: list[Told] = [
    ("supply.phases", {f"{SUPPLY}/line_voltages": three("V", "481", "479")},
     f"{SUPPLY}/line_voltages", "", {"voltages": "2", "phases": "3"}),
    # 570 V x 1.732; 380 to 500 V, 10 % to either side.
    ("supply.voltage-range", {f"{SUPPLY}/line_voltages": three("V", "570", "570", "570")},
     f"{SUPPLY}/line_voltages", "342 V to 550 V",
     {"mean": "570 V", "line": "987.3 V", "tolerance": "10 %"}),
    ("supply.frequency", {f"{SUPPLY}/frequency": q("58.0", "Hz")},
     f"{SUPPLY}/frequency", "2 %",
     {"measured": "58.0 Hz", "nominal": "60 Hz", "deviation": "-3.33 %", "other": ""}),
    ("supply.frequency", {f"{SUPPLY}/frequency": q("51.0", "Hz")},
     f"{SUPPLY}/frequency", "2 %", {"deviation": "-15 %", "other": "50 Hz"}),
    ("supply.unbalance", {f"{SUPPLY}/line_voltages/0": q("500", "V")},
     f"{SUPPLY}/line_voltages", "3 % review, 5 % stop",
     {"first": "500 V", "second": "479 V", "third": "478 V", "unbalance": "2.95 %"}),
    # 500 over 479.33 V; 1.414 x 479.33 V.
    ("supply.dc-link", {f"{SUPPLY}/dc_bus_voltage": q("500", "V")},
     f"{SUPPLY}/dc_bus_voltage", "1.15 to 2.1 times the line voltage",
     {"line": "479.3 V", "share": "104 %", "usual": "678 V", "meant": ""}),
    ("load.voltage", {f"{POINT}/voltages_drive_output": three("V", "421", "700", "421")},
     f"{POINT}/voltages_drive_output", "at most 130 % of the supply",
     {"read": "700 V", "line": "479.3 V", "where": "drive output", "probably": ""}),
    # 460 V x 54.9 / 60 = 420.9 V; 40 % of it by another 0.915: 154 V.
    ("load.voltage", {f"{POINT}/voltages_drive_output": three("V", "421", "120", "421")},
     f"{POINT}/voltages_drive_output", "at least 150 V",
     {"read": "120 V", "expected": "421 V", "where": "drive output"}),
    ("load.power", {f"{POINT}/power_drive_display": q("83", "kW")},
     f"{POINT}/power_drive_display", "at most 150 % of what the motor takes at its service factor",
     {"read": "83 kW", "plate": "60 hp", "where": "drive display"}),
    ("load.power", {f"{POINT}/power_drive_display": q("39.5", "kW")},
     POINT, "25 %", {"shown": "39.5 kW", "measured": "30.9 kW"}),
    ("load.drive-power", {f"{POINT}/power_drive_output": q("33.7", "kW")},
     f"{POINT}/power_drive_output", "at most 5 % above the input",
     {"given": "33.7 kW", "taken": "31.9 kW"}),
    ("load.drive-power", {f"{POINT}/power_drive_display": q("35.0", "kW")},
     f"{POINT}/power_drive_display",
     "at most 5 % and 3 % of the rated power above the input", {"given": "35.0 kW"}),
    ("load.current-expected", {f"{POINT}/currents_drive_output": three("A", "66", "66", "66")},
     POINT, "15 % note, 20 % review", {"read": "66 A", "expected": "52.3 A"}),
    # 0.41 ohm in the middle, 0.02 ohm away; 0.1 mohm of 0.41 ohm.
    ("winding.resistance-unbalance", {WINDING: three("ohm", "0.4000", "0.4000", "0.4300")},
     WINDING,
     "2 % review, 5 % stop, both plus 0.0244 % of resolution",
     {"first": "0.4000 ohm", "third": "0.4300 ohm", "unbalance": "4.88 %"}),
    ("drive.cable-length", {"/drive/motor_cable_length": q("400", "m"),
                            "/drive/maximum_motor_cable_length": q("300", "m")},
     "/drive/motor_cable_length", "", {"length": "400 m", "highest": "300 m"}),

    ("earth.continuity", {"/event/earth_tests/0/resistance": q("3.0", "ohm")},
     "/event/earth_tests/0", "", {"resistance": "3.0 ohm"}),
    ("insulation.temperature", {"/event/motor_tests/insulation/winding_temperature": q("9", "degC"),
                                "/event/motor_tests/insulation/humidity": q("30", "%")},
     "/event/motor_tests/insulation/winding_temperature", "10 to 85 degC", {"winding": "9 degC"}),
    ("insulation.test-voltage", {"/event/motor_tests/insulation/test_voltage": q("1000", "V")},
     "/event/motor_tests/insulation/test_voltage", "500 V",
     {"voltage": "1000 V", "plate": "460 V", "usual": "500 V"}),
    ("loop.sleep-range", {f"{LEFT}/sleep_frequency": q("61", "Hz")},
     f"{LEFT}/sleep_frequency", "",
     {"sleep": "61 Hz", "minimum": "36 Hz", "maximum": "60 Hz"}),
    ("speed.order", {f"{LEFT}/minimum_frequency": q("60", "Hz")},
     f"{LEFT}/minimum_frequency", "", {"minimum": "60 Hz", "maximum": "60 Hz"}),
    # 1479 of 1775 rpm.
    ("curve.speed", {"/pump/rated_speed": q("1479", "rpm")},
     "/pump/rated_speed", "5 %",
     {"curve_speed": "1479 rpm", "motor_speed": "1775 rpm", "difference": "16.7 %"}),
    ("site.liquid-temperature", {"/event/liquid_temperature": q("90", "degF")},
     "/event/liquid_temperature", "45 degF to 75 degF", {"read": "90 degF"}),
    ("drive.motor-frequency",
     {f"{LEFT}/motor_frequency": q("50", "Hz"), f"{LEFT}/motor_voltage": q("400", "V")},
     f"{LEFT}/motor_frequency", "5 %",
     {"set": "50 Hz", "plate": "60 Hz", "deviation": "-16.7 %", "voltage": "460 V"}),
    ("machine.bearing-temperature",
     {f"{POINT}/bearing_temperatures": [q("110", "degF"), q("230", "degF")]},
     POINT, "203 degF review, 248 degF stop", {}),
    ("speed.minimum-permitted", {"/pump/minimum_frequency_permitted": q("40", "Hz")},
     f"{LEFT}/minimum_frequency", "at least 40 Hz", {"minimum": "36 Hz", "permitted": "40 Hz"}),
    ("speed.maximum-speed", {f"{LEFT}/maximum_frequency": q("66", "Hz")},
     f"{LEFT}/maximum_frequency", "at most 1800 rpm", {"maximum": "66 Hz"}),
    # 85 of 90 psi, and of 87 psi.
    ("loop.set-point-in-span",
     {"/sensors/0/upper_range_value": q("90", "psi"), "/event/sensor_verifications": None,
      f"{LEFT}/feedback_at_upper_signal": q("90", "psi")},
     f"{LEFT}/set_point", "10 % to 90 % of span",
     {"share": "94.4 %", "room": "10 %", "lower": "0 psi", "upper": "90 psi"}),
    ("loop.set-point-in-span",
     {"/sensors/0/upper_range_value": q("87", "psi"), "/event/sensor_verifications": None,
      f"{LEFT}/feedback_at_upper_signal": q("87", "psi")},
     f"{LEFT}/set_point", "5 % to 95 % of span", {"share": "97.7 %", "room": "5 %"}),
    ("loop.limit-measurable", {f"{LEFT}/high_discharge_limit": q("197", "psi")},
     f"{LEFT}/high_discharge_limit", "2 % to 98 % of span",
     {"value": "197 psi", "share": "98.5 %", "lower": "0 psi", "upper": "200 psi"}),
    ("loop.feedback-filter", {f"{LEFT}/feedback_filter_time": q("6", "s")},
     f"{LEFT}/feedback_filter_time", "at most 5 s in all", {}),
    ("loop.feedback-filter", {f"{LEFT}/feedback_filter_time": q("21", "s")},
     f"{LEFT}/feedback_filter_time", "at most 20 s in all", {}),
    # 0.5 % of 200 psi.
    ("loop.wake", {f"{LEFT}/wake_value": q("84.5", "psi")},
     f"{LEFT}/wake_value", "",
     {"wake": "84.5 psi", "set_point": "85 psi", "wakes_at": "84.5 psi", "room": "1 psi"}),
    ("ramp.too-short", {f"{LEFT}/ramp_up_time": q("0.4", "s")},
     f"{LEFT}/ramp_up_time", "at least 0.5 s", {"ramp": "0.4 s"}),
    # 250 gpm x 1289 / 1770.
    ("region.minimum-flow", {"/event/duty_points/2/flow": q("150", "gpm"),
                             "/event/duty_points/2/discharge_pressure": q("91", "psi")},
     "/event/duty_points/2", "at least 182.1 gpm", {"flow": "150 gpm"}),
    ("efficiency.sum-of-parts", {f"{POINT}/power_drive_input": q("20", "kW")},
     POINT, "110 % of the product", {"power": "20 kW"}),
    ("load.current-nameplate", {f"{POINT}/currents_drive_output": three("A", "79", "80", "81")},
     POINT, "105 % review, 115 % stop", {"read": "80 A", "plate": "68.7 A", "share": "116 %"}),
    ("winding.current-unbalance", {f"{POINT}/currents_drive_output": three("A", "50", "52", "60")},
     POINT, "5 % note, 10 % review", {"unbalance": "11.1 %"}),
    ("motor.efficiency-class", {"/motor/ratings/1/efficiency": q("94.1", "%")},
     "/motor/ratings/1/efficiency", "95 % for 60 hp", {"stated": "94.1 %", "required": "95 %"}),
    # 110 % of 77 A.
    ("drive.current-limit", {f"{LEFT}/current_limit": q("90", "A")},
     f"{LEFT}/current_limit", "", {"set": "90 A", "gives": "84.7 A"}),
    ("efficiency.wire-to-water", {f"{POINT}/power_drive_input": q("55", "kW")},
     POINT, "80 % of the product", {"power": "55 kW"}),
    # NFPA 70 table 430.250: 77 A, 125 % of it; table 310.16: 50 A at 75 degC for 8 AWG.
    ("drive.cable-ampacity", {"/drive/motor_cable_conductor": "8 AWG"},
     "/drive/motor_cable_conductor", "at least 96.2 A",
     {"carries": "50 A", "needed": "96.2 A", "full_load": "77 A"}),
    ("speed.maximum-pressure", {"/site/discharge_pressure_limit": q("120", "psi"),
                                "/site/relief_valve_setting": None},
     f"{LEFT}/maximum_frequency", "at most 120 psi",
     {"permitted": "120 psi", "whose": "pipework"}),
]  # fmt: skip


def assert_told(
    document: Document, rule: str, place: str, limit: str, told: dict[str, str]
) -> None:
    (found,) = of_rule(judged(document), rule)
    assert {name: found.parameters[name] for name in told} == told
    assert (found.subject, found.limit if limit else "") == (place, limit)


@pytest.mark.parametrize(("rule", "changes", "place", "limit", "told"), TOLD)
def test_of_the_booster(rule, changes, place, limit, told):
    assert_told(changed(booster(), changes), rule, place, limit, told)


@pytest.mark.parametrize(("hertz", "other"), [("49.0", "50 Hz"), ("48.9", ""), ("51.1", "")])
def test_mains_within_a_hertz_are_named(hertz, other):
    document = changed(booster(), {f"{SUPPLY}/frequency": q(hertz, "Hz")})
    (found,) = of_rule(judged(document), "supply.frequency")
    assert found.parameters["other"] == other


@pytest.mark.parametrize(("hertz", "other"), [("59.0", "60 Hz"), ("61.0", "60 Hz"), ("61.1", "")])
def test_60_hertz_on_a_50_hertz_supply(hertz, other):
    document = changed(lift_station(), {f"{SUPPLY}/frequency": q(hertz, "Hz")})
    (found,) = of_rule(judged(document), "supply.frequency")
    assert found.parameters["other"] == other


def test_of_the_wet_well():
    """51.1 m3/h; 15 starts an hour."""
    document = changed(lift_station(), {f"{LEFT}/start_level": q("0.69", "m")})
    (found,) = of_rule(judged(document), "well.starts")
    assert found.limit == "15 per hour"


def test_of_the_well_pump():
    document = changed(well(), {"/pump/minimum_continuous_flow": q("60", "gpm")})
    (found,) = of_rule(judged(document), "motor.cooling")
    assert (found.severity, found.variant, found.limit) == ("note", "allowed", "0.49 ft/s")
    assert found.parameters["flow"] == "60 gpm"
