"""Stations worked by hand in the forms of handbooks; nothing of `calculations` made a figure here.

A deep well with its drop pipe, a lift station whose pumps take turns, a booster of three pumps on
one header, a high lift with its surge, a drive at 2500 m. Forms: Hazen and Williams in US units
(h = 10.44 L Q^1.852 / (C^1.852 d^4.871), L ft, Q gpm, d in), T = 4 V / Q of a wet well, Joukowsky
dh = a v / g, air by the barometric formula of ISO 2533. Plates and places are invented.
"""

from math import pi, sqrt

import pytest

from tests.calculations.building import derived, judged, severities
from tests.calculations.building_plates import Document, q

LEFT = "/event/settings/as_left"


def si(document: Document, identity: str) -> float:
    return derived(judged(document), identity).si


def of(value: float, unit: str) -> dict[str, str]:
    return q(f"{value:.6g}", unit)


# -- a deep well at 60 Hz -----------------------------------------------------------------------


def deep_well() -> Document:
    """260 ft from the well head down to the water at 500 gpm, 60 psi at the head, 280 ft of drop
    pipe of 6.065 in.
    """
    point = {
        "flow": q("500", "gpm"), "frequency": q("60", "Hz"), "suction_level_depth": q("260", "ft"),
        "discharge_pressure": q("60", "psi"), "discharge_gauge_elevation": q("2", "ft"),
        "power_drive_input": q("46", "kW"),
    }  # fmt: skip
    return {
        "site": {
            "kind": "well", "suction_kind": "well", "pump_setting_depth": q("280", "ft"),
            "static_water_depth": q("180", "ft"), "pumping_water_depth": q("260", "ft"),
            "pumping_water_depth_at_flow": q("500", "gpm"),
            "liquid_temperature_max": q("55", "degF"),
            "system_design_flow": q("500", "gpm"), "system_design_head": q("410", "ft"),
        },
        "pump": {
            "type": "submersible_well", "rated_flow": q("500", "gpm"), "rated_head": q("410", "ft"),
            "rated_speed": q("3450", "rpm"), "bore_discharge": q("6.065", "in"),
        },
        "event": {
            "kind": "start_up", "liquid_temperature": q("55", "degF"), "duty_points": [point],
        },
    }  # fmt: skip


def test_the_head_of_a_deep_well():
    """260 ft + 2 ft to the gauge + 60 psi 2.310 ft/psi (62.39 lb/ft3 at 55 degF: 144 / 62.39 =
    2.308) + v^2 / 2 g + friction. v = 0.4085 500 / 6.065^2 = 5.553 ft/s, 0.479 ft. Friction with
    C = 130: 10.44 280 500^1.852 / (130^1.852 6.065^4.871) = 5.45 ft.
    """
    friction = 10.44 * 280 * 500**1.852 / (130**1.852 * 6.065**4.871)
    velocity = 0.4085 * 500 / 6.065**2
    total = 260 + 2 + 60 * 144 / 62.39 + velocity**2 / (2 * 32.174) + friction
    assert friction == pytest.approx(5.45, abs=0.05)
    assert si(deep_well(), "duty.total-head") / 0.3048 == pytest.approx(total, rel=1e-3)


def test_the_energy_of_a_deep_well():
    """Water horsepower 500 gpm H / 3960, and 46 kW for 500 gpm: 46 / 0.030 Mgal/h."""
    head = si(deep_well(), "duty.total-head") / 0.3048
    water = 500 * head / 3960 * 0.7457
    assert si(deep_well(), "duty.hydraulic-power") / 1e3 == pytest.approx(water, rel=2e-3)
    shown = derived(judged(deep_well()), "energy.per-volume").shown
    assert (float(shown.value), shown.unit) == (pytest.approx(1533, abs=1), "kWh/Mgal")
    assert si(deep_well(), "duty.wire-to-water-efficiency") == pytest.approx(water / 46, rel=2e-3)


# -- a lift station with two pumps that take turns ------------------------------------------------


def taking_turns(arrangement: str = "alternating") -> Document:
    """A round well of 2.0 m, 0.8 m between start and stop, 25 L/s rated on a steep curve."""
    rows = (("0", "24"), ("15", "21"), ("25", "15"), ("32", "8"))
    return {
        "site": {
            "kind": "lift_station", "suction_kind": "wet_well", "liquid_kind": "sewage",
            "wet_well_area": of(pi, "m2"), "wet_well_floor": q("0", "m"),
            "static_lift_low": q("9", "m"), "static_lift_high": q("9.8", "m"),
            "suction_level_high": q("2.0", "m"), "suction_level_low": q("0.6", "m"),
            "system_design_flow": q("25", "L/s"), "system_design_head": q("15", "m"),
            "pipeline": {"inside_diameter": q("154", "mm"), "length": q("300", "m")},
        },
        "pump": {
            "type": "submersible_sewage", "rated_speed": q("1450", "rpm"),
            "rated_flow": q("25", "L/s"), "rated_head": q("15", "m"),
            "maximum_starts_per_hour": 10,
            "curve_points": [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in rows],
        },
        "pump_set": {"drive": None},
        "motor": {
            "kind": "induction", "poles": 4,
            "ratings": [{"frequency": q("50", "Hz"), "speed": q("1450", "rpm")}],
            "maximum_starts_per_hour": 15,
        },
        "event": {"kind": "start_up", "settings": {"as_left": {
            "level_reference": "floor", "start_level": q("1.6", "m"), "stop_level": q("0.8", "m"),
            "pump_arrangement": arrangement, "pumps_in_group": 2, "alternation": "at_sleep",
        }}},
    }  # fmt: skip


def test_starts_of_pumps_that_take_turns():
    """V = 2.513 m3; T = 4 V / Q = 402 s at 25 L/s, 8.95 starts an hour, 4.48 of each of two."""
    volume = pi * 0.8
    alone = 3600 / (4 * volume / 0.025)
    assert alone == pytest.approx(8.95, abs=0.01)
    single = taking_turns("single")
    single["event"]["settings"]["as_left"].update(pumps_in_group=1, alternation="none")
    assert si(single, "well.starts-per-hour") == pytest.approx(alone, rel=0.05)
    assert si(taking_turns(), "well.starts-per-hour") == pytest.approx(alone / 2, rel=0.05)
    assert severities(taking_turns(), "well.starts") == []


def test_the_lift_down_at_the_stop_level():
    """9 m from the highest level at 2.0 m, 1.2 m more at 0.8 m."""
    assert si(taking_turns(), "system.static-lift-at-stop-level") == pytest.approx(10.2)


# -- three pumps on one header ------------------------------------------------------------------

SHUT_OFF, FALL = 60.0, 20.0 / 0.02**2  # m, m/(m3/s)^2: 40 m at 20 L/s each
LIFT, DESIGN = 25.0, 40.0  # m at no flow and at 60 L/s


def three_on_one_header() -> Document:
    """Each h = 60 - 50000 q^2; the system 25 + 4167 Q^2, 40 m at 60 L/s. No slip: 1500 rpm."""
    rows = [(flow, SHUT_OFF - FALL * (flow / 1e3) ** 2) for flow in range(0, 33, 2)]
    return {
        "site": {
            "kind": "booster", "suction_kind": "pressurised_main",
            "static_lift_low": of(LIFT, "m"), "static_lift_high": of(LIFT, "m"),
            "system_design_flow": q("60", "L/s"), "system_design_head": of(DESIGN, "m"),
        },
        "pump": {
            "type": "end_suction", "rated_speed": q("1500", "rpm"), "rated_flow": q("20", "L/s"),
            "rated_head": q("40", "m"),
            "curve_points": [{"flow": of(f, "L/s"), "head": of(h, "m")} for f, h in rows],
        },
        "drive": {"tag": "D-1"},
        "motor": {
            "kind": "synchronous_reluctance", "poles": 4, "rating_in_use": 0,
            "ratings": [{"frequency": q("50", "Hz"), "speed": q("1500", "rpm")}],
        },
        "event": {"kind": "start_up", "settings": {"as_left": {
            "regulation": "open_loop", "minimum_frequency": q("35", "Hz"),
            "maximum_frequency": q("50", "Hz"), "pump_arrangement": "staged", "pumps_in_group": 3,
        }}},
    }  # fmt: skip


@pytest.mark.parametrize(("name", "hertz"), [("maximum", 50.0), ("minimum", 35.0)])
def test_one_of_three_alone_on_the_system(name, hertz):
    """60 s^2 - 50000 q^2 = 25 + 4167 q^2: 25.4 L/s at 50 Hz, 9.0 L/s at 35 Hz, not 20 and 14."""
    system = (DESIGN - LIFT) / 0.06**2
    alone = sqrt((SHUT_OFF * (hertz / 50) ** 2 - LIFT) / (FALL + system))
    found = si(three_on_one_header(), f"system.flow-at-{name}-speed")
    assert found == pytest.approx(alone, rel=0.005)


def test_where_nothing_flows_from_a_pump_on_the_header():
    """50 sqrt(25 / 60) = 32.27 Hz."""
    found = si(three_on_one_header(), "speed.zero-flow-at-lowest-suction")
    assert found == pytest.approx(50 * sqrt(LIFT / SHUT_OFF), abs=0.02)


# -- a high lift --------------------------------------------------------------------------------


def high_lift() -> Document:
    """1500 m of steel, 254.5 mm by 9.3 mm, 70 L/s up 140 m."""
    return {
        "site": {
            "kind": "raw_water", "suction_kind": "wet_well", "liquid_kind": "raw_water",
            "suction_level_low": q("0", "m"), "suction_level_high": q("0", "m"),
            "liquid_temperature_max": q("15", "degC"), "static_lift_low": q("140", "m"),
            "static_lift_high": q("140", "m"), "system_design_flow": q("70", "L/s"),
            "system_design_head": q("150", "m"),
            "pipeline": {
                "length": q("1500", "m"), "inside_diameter": q("254.5", "mm"),
                "wall_thickness": q("9.3", "mm"), "material": "steel",
                "pressure_rating": q("25", "bar"), "high_point_elevation": q("140", "m"),
            },
            "surge_protection": "none",
        },
        "pump": {"type": "end_suction"},
        "pump_set": {"drive": None},
        "event": {"kind": "start_up", "liquid_temperature": q("15", "degC")},
    }  # fmt: skip


def test_surge_of_a_high_lift():
    """K of water at 15 degC 2.14 GPa, steel 207 GPa, both from memory: a = sqrt(K / rho) /
    sqrt(1 + K D / (E e)) = 1293 m/s, 2 L / a = 2.32 s; 70 L/s are 1.376 m/s, a v / g = 181 m.
    """
    bulk, rho, modulus = 2.14e9, 999.1, 207e9
    wave = sqrt(bulk / rho) / sqrt(1 + bulk * 0.2545 / (modulus * 0.0093))
    speed = 0.070 / (pi / 4 * 0.2545**2)
    assert (wave, speed) == (pytest.approx(1293, abs=5), pytest.approx(1.376, abs=0.001))
    assert si(high_lift(), "surge.wave-speed") == pytest.approx(wave, rel=0.01)
    assert si(high_lift(), "surge.reflection-time") == pytest.approx(3000 / wave, rel=0.01)
    head = si(high_lift(), "surge.instant-stop-head")
    assert head == pytest.approx(wave * speed / 9.80665, rel=0.01)


def test_a_high_lift_without_protection_is_told_of_power_failure():
    """140 m and 181 m are 31.5 bar in a main for 25 bar; the set runs down before 2.3 s are over.

    Across the line every stop is like that: it is told without a drive too.
    """
    assert severities(high_lift(), "ramp.surge") == ["review"]
    strong = high_lift()
    strong["site"]["pipeline"] |= {"pressure_rating": q("40", "bar"), "high_point_elevation": None}
    assert severities(strong, "ramp.surge") == []


# -- a drive at 2500 m --------------------------------------------------------------------------


def on_a_mountain() -> Document:
    """45 kW on a drive of 105 A, 40 degC at the drive, 2500 m."""
    return {
        "site": {"elevation": q("2500", "m"), "kind": "booster"},
        "motor": {
            "kind": "induction", "poles": 4, "rating_in_use": 0, "ambient_rated": q("40", "degC"),
            "altitude_rated": q("1000", "m"), "insulation_class": "F",
            "ratings": [{"power": q("45", "kW"), "voltage": q("400", "V"), "current": q("80", "A"),
                         "frequency": q("50", "Hz"), "speed": q("1480", "rpm")}],
        },
        "drive": {
            "rated_current_normal_duty": q("105", "A"), "ambient_at_drive": q("40", "degC"),
            "derating_start_altitude": q("1000", "m"), "derating_per_100m": q("1", "%"),
            "ambient_rated": q("40", "degC"), "carrier_at_rating": q("4", "kHz"),
        },
        "pump_set": {"tag": "PS-1"},
        "event": {
            "kind": "start_up", "settings": {"as_left": {"carrier_frequency": q("4", "kHz")}},
        },
    }  # fmt: skip


def test_a_drive_at_2500_metres():
    """ISO 2533: 101.325 kPa (1 - 0.0065 2500 / 288.15)^5.2559 = 74.7 kPa. 1 % a 100 m above
    1000 m leave 85 % of 105 A, 89.3 A; a motor of class F loses 1 K a 100 m: 25 degC. Both common
    practice, from memory.
    """
    air = 101325 * (1 - 0.0065 * 2500 / 288.15) ** 5.2559
    assert si(on_a_mountain(), "npsh.atmospheric-pressure") == pytest.approx(air, rel=1e-3)
    assert si(on_a_mountain(), "drive.available-current") == pytest.approx(0.85 * 105, rel=1e-3)
    warmest = si(on_a_mountain(), "motor.allowed-ambient") - 273.15
    assert warmest == pytest.approx(25, abs=0.1)
