"""Ten stations of sizes that handbooks give, worked by hand before the service had seen them.

Their documents are in `hand_worked`: readings follow from pump curve, system and plate, solved on
paper and rounded to what gauges show. Each is judged as it is, where nothing but what a colleague
would say may be said, and with single mistakes of the trade, which one rule has to name alone.
Plates and places are invented; forms and data by the sources beside the figures.
"""

import json
from functools import cache
from math import pi, sqrt
from pathlib import Path

import pytest

from calculations.units import to_si
from tests.calculations.building import changed, derived, judged, lacking, of_rule
from tests.calculations.building_plates import Document, q

FOLDER = Path(__file__).parent / "hand_worked"
LEFT = "/event/settings/as_left"
POINT = "/event/duty_points/0"
G = 9.80665


@cache
def _text(name: str) -> str:
    return (FOLDER / f"{name}.json").read_text(encoding="utf-8")


def station(name: str) -> Document:
    document: Document = json.loads(_text(name))
    return document


def air(metres: float) -> float:
    """kPa; barometric formula of ISO 2533."""
    return float(101.325 * (1 - 0.0065 * metres / 288.15) ** 5.25588)


def torque(watts: float, rpm: float) -> float:
    return watts * 60 / (2 * pi * rpm)


def velocity_head(flow: float, bore: float) -> float:
    """m, of a flow in m3/s in a bore in m."""
    return float((flow / (pi / 4 * bore**2)) ** 2 / (2 * G))


def closed(hertz: float, slip: float, load: float, head: float) -> float:
    """Hz at a closed valve; `slip` in Hz at rated torque, `load` of it at best efficiency (the
    pump's
    curve is at the motor's rated speed), 45 % of that at no flow (from memory); `head` over that of
    the curve. Torque and slip go with it, speed with its root.
    """
    return (hertz - slip) * sqrt(head) + slip * 0.45 * load * head


def drop(amperes: float, metres: float, ohm_per_km: float, power_factor: float) -> float:
    """V between lines; sqrt(3) I l (R cos + X sin), X 0.08 ohm/km (an electrical weekly's article
    on cables of submersible pumps, 1995; X from memory), R of IEC 60228 at 20 degC times 1.216.
    That is the most that a stranded conductor may have, 6 % above copper of the nominal area.
    """
    sine = sqrt(1 - power_factor**2)
    ohm = 1.216 * ohm_per_km * power_factor + 0.08 * sine
    return sqrt(3) * amperes * metres / 1000 * ohm


# Boyle's law, after a driller's monthly (2006): V p0 (1 / p1 - 1 / p2), absolute. Its example of
# 85 gal, 28 psi pre-charge and 30/50 psi gives 26.1 gal at 6000 ft, where air is taken as 11.8 psi.
HAND = [
    ("booster_with_tank", "vessel.usable-volume", 26.1, "gal", 0.01),
    ("booster_with_tank", "npsh.atmospheric-pressure", air(1828.8), "kPa", 0.001),
    ("booster_with_tank", "motor.slip", 100 * 110 / 3600, "%", 0.001),
    ("booster_with_tank", "motor.rated-torque", 5252 * 7.5 / 3490, "lbf.ft", 0.001),
    # 1 %/100 m above 1000 m (common practice): 11 A less 8.29 %
    ("booster_with_tank", "drive.available-current", 11 * (1 - 0.01 * 8.288), "A", 0.001),
    # 45 psi at 3 ft, water 6 ft over the datum: 45 2.309 + 3 - 6 ft of 150 ft; 3490 rpm is 60 Hz
    ("booster_with_tank", "speed.zero-flow-at-lowest-suction",
     closed(60, 110 / 60, 120 * 118 / 3960 / 0.7 / 7.5, (45 * 2.309 - 3) / 150), "Hz", 0.002),
    ("booster_with_tank", "speed.zero-flow-at-highest-suction",
     closed(60, 110 / 60, 120 * 118 / 3960 / 0.7 / 7.5, (45 * 2.309 - 11) / 150), "Hz", 0.002),
    # MG 1 and NFPA 70 430.32: 125 % of 8.8 A with a service factor of 1.15
    ("booster_with_tank", "drive.overload-refused-above", 11.0, "A", 0.001),
    # treated water of 80 degC by steam table: 971.8 kg/m3, 47.4 kPa; 57.87 kPa at 85 degC
    ("circulation_at_80_degc", "npsh.available",
     (air(250) + 90 - 47.4) / (0.9718 * G) + 0.8 + velocity_head(78 / 3600, 0.125), "m", 0.002),
    ("circulation_at_80_degc", "duty.total-head", 170 / (0.9718 * G), "m", 0.002),
    ("circulation_at_80_degc", "speed.zero-flow-at-lowest-suction",
     closed(50, 40 / 30, 80 / 3600 * 20 * 0.9982 * G / 0.76 / 7.5, 170 / (0.9718 * G) / 26),
     "Hz", 0.002),
    ("circulation_at_80_degc", "duty.hydraulic-power", 78 / 3600 * 170, "kW", 0.002),
    ("circulation_at_80_degc", "sensor.signal-at-set-point", 4 + 16 * 1.7 / 2.5, "mA", 0.001),
    # first stage 14 ft under the floor, gauge 2 ft over it; 2.49 kPa is 0.361 psi at 70 degF
    ("turbine_pump_in_a_can", "npsh.available",
     (air(274.3) / 6.895 + 3 - 0.361) * 2.312 + 2 + 14 + 0.404, "ft", 0.003),
    ("turbine_pump_in_a_can", "duty.hydraulic-power", 1750 * 245 / 3960, "hp", 0.003),
    ("turbine_pump_in_a_can", "motor.rated-torque", 5252 * 150 / 1785, "lbf.ft", 0.001),
    # Korteweg with K 2.19 GPa, E 165 GPa, D / e 300 / 7.6; 1.32 m/s of 93.3 L/s; Joukowsky
    ("long_rising_main", "surge.wave-speed", 1481 / sqrt(1 + 2.19 / 165 * 300 / 7.6), "m/s", 0.012),
    ("long_rising_main", "surge.instant-stop-head", 1200 * 1.32 / G, "m", 0.012),
    ("long_rising_main", "surge.reflection-time", 2 * 2400 / 1200, "s", 0.012),
    ("long_rising_main", "speed.zero-flow-at-highest-suction",
     closed(50, 25 / 30, 0.095 * 32 * 0.9982 * G / 0.75 / 55, 18 / 48), "Hz", 0.001),
    ("well_by_hydrostatic_level", "sensor.signal-at-set-point", 4 + 16 * 2.0 / 5, "mA", 0.001),
    # 12 m2 in 670 s by 1.00 m, and what flows in: 0.50 m in 500 s
    ("well_by_hydrostatic_level", "flow.by-drawdown", 12e3 / 670 + 6e3 / 500, "L/s", 0.001),
    ("transfer_by_flow", "sensor.signal-at-set-point", 4 + 16 * 40 / 60, "mA", 0.001),
    ("transfer_by_flow", "duty.total-head", 26.0, "m", 0.003),
    ("transfer_by_flow", "npsh.available", (air(200) - 1.228) / (0.9997 * G) + 2.2, "m", 0.002),
    ("sixty_hertz_pump_on_50_hz", "drive.volts-per-hertz", 8.0, "V/Hz", 0.001),
    ("sixty_hertz_pump_on_50_hz", "duty.curve-head", 41.0, "m", 0.005),
    ("permanent_magnet", "motor.synchronous-speed", 120 * 100 / 4, "rpm", 0.001),
    ("permanent_magnet", "motor.rated-torque", torque(22e3, 3000), "N.m", 0.001),
    ("permanent_magnet", "drive.volts-per-hertz", 3.5, "V/Hz", 0.001),
    ("raw_water_400_kw", "duty.hydraulic-power", 0.9997 * G * 0.480 * 60, "kW", 0.002),
    ("raw_water_400_kw", "motor.rated-torque", torque(400e3, 1488), "N.m", 0.001),
    ("raw_water_400_kw", "drive.available-current", 460 * 0.95, "A", 0.001),
    ("raw_water_400_kw", "drive.cable-voltage-drop",
     2.5 + 100 * drop(398, 150, 0.0991, 0.87) / 690, "%", 0.03),
    ("raw_water_400_kw", "npsh.available",
     (air(350) - 1.228) / (0.9997 * G) + 4.0 - 0.5 * 0.96**2, "m", 0.002),
    # 85.6 m down, 2.4 bar at 0.8 m, 160 m of 154 mm pipe after Hazen and Williams with C 130
    ("well_with_200_m_of_cable", "duty.total-head",
     85.6 + 0.8 + 240 / (0.9997 * G) + velocity_head(68 / 3600, 0.1541)
     + 10.67 * 160 * (68 / 3600) ** 1.852 / (130**1.852 * 0.1541**4.871), "m", 0.002),
    # 20 m3/h through the ring between a casing of 250 mm and a motor of 191 mm
    ("well_with_200_m_of_cable", "motor.cooling-velocity",
     20 / 3600 / (pi / 4 * (0.250**2 - 0.191**2)), "m/s", 0.002),
    ("well_with_200_m_of_cable", "drive.cable-voltage-drop",
     1 + 100 * drop(76.5, 200, 0.524, 0.85) / 400, "%", 0.05),
]  # fmt: skip


@pytest.mark.parametrize(("name", "identity", "expected", "unit", "within"), HAND)
def test_figures_by_hand(
    name: str, identity: str, expected: float, unit: str, within: float
) -> None:
    found = derived(judged(station(name)), identity).si
    assert found == pytest.approx(to_si(expected, unit), rel=within)


# What a colleague would say of the stations as they are.
SAID = {
    # it delivers 78 gpm when it falls asleep with the tank full: a question, no fault
    "booster_with_tank": [("note", "loop.sleep-window")],
    # the motor carries what the lowest lift asks for, not the end of the curve
    "raw_water_400_kw": [("note", "speed.maximum-power")],
    "well_with_200_m_of_cable": [("note", "drive.cable-voltage-drop"), ("note", "sensor.range")],
}  # fmt: skip
NAMES = sorted(path.stem for path in FOLDER.glob("*.json"))


def said(document: Document) -> list[tuple[str, str]]:
    """Severity and rule of all that is found; the documents are too short for a whole visit."""
    found = judged(document).findings
    return [(each.severity, each.rule) for each in found if each.rule != "record.missing"]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_said_of_a_good_station(name: str) -> None:
    assert said(station(name)) == SAID.get(name, [])


def left(**values: object) -> dict[str, object]:
    return {f"{LEFT}/{name}": value for name, value in values.items()}


SIXTY = left(
    motor_voltage=q("460", "V"), motor_frequency=q("60", "Hz"), motor_power=q("17.3", "kW"),
    motor_current=q("26.6", "A"), motor_speed=q("3530", "rpm"), overload_current=q("26.6", "A"),
    motor_power_factor=q("0.89", "1"),
)  # fmt: skip
DEAD_ZERO = {
    # S / 20 mA of 60 m3/h, for 4.00, 8.02, 12.03, 16.02, 20.01 mA up and 0.01 mA more down
    f"/event/sensor_verifications/0/as_found/{index}/indicated": q(value, "m3/h")
    for index, value in enumerate(
        ("12.00", "24.06", "36.09", "48.06", "60.03", "48.09", "36.12", "24.09", "12.03")
    )
}
MISTAKES = [
    ("booster_with_tank", "pre-charge above the wake pressure",
     {"/event/vessel_checks/0/pre_charge_as_left": q("38", "psi")}, "review", "vessel.precharge"),
    ("booster_with_tank", "overload at 115 % of the code's table",
     left(overload_current=q("12.65", "A")), "stop", "drive.overload-setting"),
    ("booster_with_tank", "current of the 230 V column",
     left(motor_current=q("17.6", "A"), overload_current=q("17.6", "A")),
     "stop", "drive.motor-current"),
    ("booster_with_tank", "sleep below the frequency of no flow",
     left(sleep_frequency=q("44", "Hz")), "review", "loop.sleep-order"),
    # hand: 4.2 m at 80 degC, where 3.7 m are needed; cold it would be 8.7 m
    ("circulation_at_80_degc", "the expansion vessel is flat",
     {f"{POINT}/suction_pressure": q("-0.20", "bar"), f"{POINT}/discharge_pressure":
      q("1.50", "bar")}, "review", "npsh.margin"),
    ("circulation_at_80_degc", "scaled for 4 bar",
     left(feedback_at_upper_signal=q("4.0", "bar")), "stop", "loop.scaling"),
    ("circulation_at_80_degc", "synchronous speed",
     left(motor_speed=q("1500", "rpm")), "review", "drive.motor-speed"),
    ("turbine_pump_in_a_can", "pole count of a sister", {"/motor/poles": 6}, "review",
     "motor.poles"),
    # (469.67 - 455) / 469.67 = 3.12 %, MG 1 12.45
    ("turbine_pump_in_a_can", "a weak phase", {"/event/supply/line_voltages":
     [q("484", "V"), q("470", "V"), q("455", "V")]}, "review", "supply.unbalance"),
    ("turbine_pump_in_a_can", "scaled for 2000 gpm",
     left(feedback_at_upper_signal=q("2000", "gpm")), "stop", "loop.scaling"),
    # 125 % of 180 A (NFPA 70 Table 430.250) are 225 A; 3/0 AWG carries 200 A at 75 degC
    ("turbine_pump_in_a_can", "a size too thin", {"/drive/motor_cable_conductor": "3/0 AWG"},
     "review", "drive.cable-ampacity"),
    # the flow ends 3 s (1 - sqrt(19 / 48)) = 1.1 s after the stop, the wave is back after 4.0 s
    ("long_rising_main", "a ramp of 3 s, without the air vessel",
     left(ramp_down_time=q("3", "s")) | {"/site/surge_protection": "relief_valve"},
     "stop", "ramp.surge"),
    ("long_rising_main", "winding sensor not wired", left(motor_thermal_sensor_response="none"),
     "review", "motor.thermal-sensor"),
    ("long_rising_main", "nothing flows at the minimum",
     left(minimum_frequency=q("30.0", "Hz")) | {"/site/static_lift_low": q("19.5", "m")},
     "review", "speed.zero-flow"),
    ("well_by_hydrostatic_level", "0.40 m of tapping forgotten",
     left(feedback_at_lower_signal=q("-6.00", "m"), feedback_at_upper_signal=q("-1.00", "m")),
     "stop", "loop.scaling"),
    ("well_by_hydrostatic_level", "the loop acts the wrong way",
     left(action="rising_feedback_slows"), "stop", "loop.action"),
    ("well_by_hydrostatic_level", "stop below the cut-off", left(stop_level=q("-5.30", "m")),
     "stop", "level.order"),
    ("well_by_hydrostatic_level", "float above the overflow",
     {"/event/level_tests/2/level_measured": q("-1.40", "m")}, "review", "level.backup"),
    ("transfer_by_flow", "current into a voltage input",
     left(feedback_signal="0-10 V", input_selector="voltage"), "stop", "loop.signal-type"),
    ("transfer_by_flow", "selector on voltage", left(input_selector="voltage"), "stop",
     "loop.input-selector"),
    ("transfer_by_flow", "L/s for m3/h", left(set_point=q("40", "L/s")), "review",
     "loop.set-point-unit"),
    ("transfer_by_flow", "a live zero shown as a dead one", DEAD_ZERO, "review", "sensor.chain"),
    ("sixty_hertz_pump_on_50_hz", "the 60 Hz column on 400 V", SIXTY, "review",
     "drive.motor-frequency"),
    ("sixty_hertz_pump_on_50_hz", "400 V with 60 Hz", left(motor_frequency=q("60", "Hz")), "stop",
     "drive.volts-per-hertz"),
    ("permanent_magnet", "the mains' frequency", left(motor_frequency=q("50", "Hz")), "stop",
     "drive.volts-per-hertz"),
    ("permanent_magnet", "set for an induction motor",
     left(motor_kind="induction", control_mode="vector"), "stop", "drive.motor-kind"),
    ("permanent_magnet", "a speed with slip", left(motor_speed=q("2950", "rpm")), "review",
     "drive.motor-speed"),
    # 350 V of the plate are 14 % below the supply as well: no second finding of one bypass
    ("permanent_magnet", "a bypass", {"/pump_set/bypass": "automatic",
     "/pump_set/bypass_own_overload": True, "/event/rotation/bypass_direction": "correct"},
     "stop", "drive.bypass"),
    ("raw_water_400_kw", "carrier below the filter's window", left(carrier_frequency=q("2", "kHz")),
     "stop", "drive.carrier-for-filter"),
    # its carrier lies inside the filter's window
    ("raw_water_400_kw", "the drive not told of its filter", left(output_filter="none"), "review",
     "drive.output-filter-setting"),
    ("raw_water_400_kw", "the drive told of another filter", left(output_filter="dv_dt"), "stop",
     "drive.output-filter-setting"),
    ("raw_water_400_kw", "a weak phase at the output", {f"{POINT}/currents_drive_output":
     [q("322", "A"), q("331", "A"), q("361", "A")]}, "note", "winding.current-unbalance"),
    ("raw_water_400_kw", "nothing against bearing currents",
     {"/motor/bearing_current_protection": "none"}, "note", "motor.bearing-currents"),
    ("well_with_200_m_of_cable", "a drop cable of 10 mm2",
     {"/drive/motor_cable_conductor": q("10", "mm2")}, "review", "drive.cable-ampacity"),
    # 16 mm2 bear the current, and lose 8 % at 75 degC
    ("well_with_200_m_of_cable", "a drop cable of 16 mm2",
     {"/drive/motor_cable_conductor": q("16", "mm2")}, "review", "drive.cable-voltage-drop"),
    ("well_with_200_m_of_cable", "6 s to the bearing's frequency",
     left(first_ramp_time=q("6", "s")), "review", "ramp.submersible"),
    # 1.1 Mohm at 11 degC are 0.73 Mohm at 40 degC (IEEE 43-2013, thermosetting)
    ("well_with_200_m_of_cable", "wet splice",
     {"/event/motor_tests/insulation/resistance_1_min": q("1.1", "Mohm"),
      "/event/motor_tests/insulation/resistance_30_s": q("1.0", "Mohm")},
     "review", "insulation.minimum"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "changes", "severity", "rule"),
    [pytest.param(name, *rest, id=f"{name}, {what}") for name, what, *rest in MISTAKES],
)
def test_one_rule_names_the_mistake(
    name: str, changes: dict[str, object], severity: str, rule: str
) -> None:
    good = SAID.get(name, [])
    told = said(changed(station(name), changes))
    assert [each for each in told if each not in good] == [(severity, rule)]


# -- where a colleague would not say that the pump cavitates --------------------------------------

NOZZLE = {f"{POINT}/suction_pressure": q("-8.0", "psi"), f"{POINT}/discharge_pressure":
          q("95.0", "psi")}  # fmt: skip


def test_a_first_stage_that_hangs_14_ft_deeper_has_its_suction_head():
    """15.9 ft at the floor, where 17.3 ft are needed; 29.9 ft at the first stage."""
    found = judged(changed(station("turbine_pump_in_a_can"), NOZZLE))
    assert of_rule(found, "npsh.margin") == []
    expected = (air(274.3) / 6.895 - 8 - 0.361) * 2.312 + 2 + 14 + 0.404
    assert derived(found, "npsh.available", POINT).si / 0.3048 == pytest.approx(expected, rel=4e-3)


def test_nobody_knows_where_a_first_stage_of_unknown_depth_stands():
    document = changed(station("turbine_pump_in_a_can"), NOZZLE)
    del document["site"]["pump_setting_depth"]
    found = judged(document)
    assert of_rule(found, "npsh.margin") == []
    (missing,) = [each for each in lacking(found, "npsh.margin") if each.subject == POINT]
    assert missing.needs == ("/site/pump_setting_depth",)


# -- a flow meter that reads low ------------------------------------------------------------------

REFERENCE = {
    "serial": "I-9", "kind": "other", "range_low": q("0", "m3/h"), "range_high": q("100", "m3/h"),
    "percent_of_reading": q("0.5", "%"), "calibrated_on": "2026-01-01", "due_on": "2027-01-01",
}  # fmt: skip


def reading_low(share: float) -> Document:
    """The meter of 60 m3/h that a flow is kept by, its signal a share of what it should be."""
    points = [
        {"direction": "up", "applied": q(f"{flow}", "m3/h"), "indicated_at": "drive",
         "signal": q(f"{4 + 16 * flow / 60 * share:.3f}", "mA"),
         "indicated": q(f"{flow * share:.2f}", "m3/h")}
        for flow in (0, 15, 30, 45, 60)
    ]  # fmt: skip
    check = {
        "sensor": "FT1", "instrument": "I-9", "as_found": points, "adjusted": "none",
        "applied_head_difference": q("0", "m"),
    }  # fmt: skip
    return changed(
        station("transfer_by_flow"),
        {"/instruments": [REFERENCE], "/event/sensor_verifications": [check]},
    )


@pytest.mark.parametrize(
    ("share", "rule", "variant"),
    [(0.9, "sensor.error-as-left", "low"), (0.75, "sensor.entry", "range_low")],  # 60 of 80 m3/h
)
def test_a_drive_makes_up_for_a_low_flow_with_flow(share, rule, variant):
    (found,) = of_rule(judged(reading_low(share)), rule)
    assert (found.severity, found.variant) == ("stop", variant)
    assert found.parameters["real"] == "real flow"
