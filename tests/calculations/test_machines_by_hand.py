"""Six more set-ups worked by hand: machines, drives, transmitters, a vessel, tests of a motor.

A pump that lifts out of a pond in the hills, a motor whose plate is in horsepower, one that runs to
87 Hz, a transmitter below the header that it is scaled for, a booster that sleeps on a vessel, a
motor after its rewinding. Nothing of `calculations` made a figure here. Forms and constants are
those of handbooks: T = 5252 hp / rpm (lbf ft), NEMA MG 1 12.45, IEEE 43, ISO 2533, Boyle, IEC
60381-1. Plates and places are invented.
"""

from math import exp, sqrt

import pytest

from tests.calculations.building import changed, derived, judged, severities
from tests.calculations.building_plates import Document, q

LEFT = "/event/settings/as_left"


def si(document: Document, identity: str) -> float:
    return derived(judged(document), identity).si


def shown(document: Document, identity: str) -> tuple[float, str]:
    found = derived(judged(document), identity).shown
    return float(found.value), found.unit


# -- a suction lift in the hills ----------------------------------------------------------------


def out_of_a_pond() -> Document:
    """40 L/s out of a pond 4.2 m below the eye at its lowest, 1200 m up, water of 30 degC.

    The curve 36 - 7500 q^2 (m, m3/s) meets the system 14 + 6250 q^2 at 40 L/s and 50 Hz.
    """
    rows = [(flow, 36 - 7500 * (flow / 1e3) ** 2, 2.0 + flow / 40) for flow in range(0, 61, 5)]
    return {
        "site": {
            "kind": "raw_water", "suction_kind": "suction_lift", "elevation": q("1200", "m"),
            "liquid_temperature_max": q("30", "degC"), "liquid_kind": "raw_water",
            "suction_level_low": q("-4.2", "m"), "suction_level_high": q("-3.0", "m"),
            "suction_loss": q("0.6", "m"), "suction_loss_at_flow": q("40", "L/s"),
            "static_lift_low": q("14", "m"), "static_lift_high": q("14", "m"),
            "system_design_flow": q("40", "L/s"), "system_design_head": q("24", "m"),
        },
        "pump": {
            "type": "end_suction", "rated_speed": q("1450", "rpm"), "rated_flow": q("40", "L/s"),
            "rated_head": q("24", "m"),
            "curve_points": [
                {"flow": q(str(f), "L/s"), "head": q(f"{h:.6g}", "m"),
                 "npsh_required": q(f"{need:.6g}", "m")} for f, h, need in rows
            ],
        },
        "drive": {"tag": "D-1"},
        "motor": {
            "kind": "induction", "poles": 4, "rating_in_use": 0,
            "ratings": [{"frequency": q("50", "Hz"), "speed": q("1450", "rpm")}],
        },
        "event": {"kind": "start_up", "settings": {"as_left": {
            "regulation": "open_loop", "maximum_frequency": q("50", "Hz"),
            "minimum_frequency": q("42", "Hz"),
        }}},
    }  # fmt: skip


def test_suction_head_of_a_pump_above_a_pond():
    """ISO 2533: 87.7 kPa at 1200 m; steam table at 30 degC: 4.247 kPa, 995.65 kg/m3.
    (87.7 - 4.247) / 9.764 - 4.2 - 0.6 = 3.75 m, against 3.0 m that the pump needs.

    The plate tells no power: three quarters of the rated slip of 50 rpm, 1462.5 rpm at 50 Hz.
    36 (1462.5 / 1450)^2 - 0.0075 Q^2 = 14 + 0.00625 Q^2: 40.56 L/s.
    """
    air = 101.325 * (1 - 0.0065 * 1200 / 288.15) ** 5.2559
    available = (air - 4.247) / (0.99565 * 9.80665) - 4.2 - 0.6
    assert available == pytest.approx(3.75, abs=0.01)
    assert si(out_of_a_pond(), "npsh.available-at-lowest-suction") == pytest.approx(
        available, abs=0.02
    )
    assert si(out_of_a_pond(), "system.flow-at-maximum-speed") * 1e3 == pytest.approx(
        40.56, abs=0.1
    )


@pytest.mark.parametrize(
    ("level", "said"),
    [
        # 3.75 m: more than 3.0 m by 0.75 m
        ("-4.2", []),
        # 3.45 m: less than 0.6 m more than it needs
        ("-4.5", ["note"]),
        # 2.75 m: less than it needs
        ("-5.2", ["review"]),
    ],
)
def test_what_is_said_of_the_lowest_pond(level, said):
    pond = changed(out_of_a_pond(), {"/site/suction_level_low": q(level, "m")})
    assert severities(pond, "npsh.lowest-suction") == said


# -- a motor in horsepower ----------------------------------------------------------------------


def in_horsepower() -> Document:
    """40 hp, 460 V, 60 Hz, 1775 rpm, 48.5 A, 94.1 %, 0.82: sqrt(3) 460 V 48.5 A = 38.64 kVA."""
    return {
        "site": {"kind": "booster", "electrical_practice": "us_nec"},
        "pump": {"type": "end_suction"},
        "motor": {
            "kind": "induction", "poles": 4, "rating_in_use": 0, "service_factor": q("1.15", "1"),
            "efficiency_class": "premium", "enclosure": "totally_enclosed",
            "ratings": [{
                "power": q("40", "hp"), "voltage": q("460", "V"), "current": q("48.5", "A"),
                "frequency": q("60", "Hz"), "speed": q("1775", "rpm"),
                "efficiency": q("94.1", "%"), "power_factor": q("0.82", "1"),
            }],
        },
        "drive": {"tag": "D-1"},
    }  # fmt: skip


@pytest.mark.parametrize(
    ("identity", "expected"),
    [
        # 120 60 / 4, and 25 rpm of 1800
        ("motor.synchronous-speed", 1800 / 60),
        ("motor.slip", 25 / 1800),
        # 5252 40 / 1775 = 118.4 lbf ft
        ("motor.rated-torque", 5252 * 40 / 1775 * 1.355818),
        # 29.83 kW over 38.64 kVA; 0.941 0.82 = 0.7716
        ("motor.efficiency-times-power-factor", 0.7720),
        # NFPA 70 Table 430.250: 40 hp at 460 V
        ("motor.table-full-load-current", 52),
        # NFPA 70 430.32(A)(1): 125 % with a service factor of 1.15
        ("motor.separate-overload-limit", 1.25 * 48.5),
        ("drive.overload-setting", 48.5),
        ("drive.volts-per-hertz", 460 / 60),
        # 10 CFR 431.25, table 5: 40 hp, 4 poles, enclosed
        ("motor.required-efficiency", 0.941),
    ],
)
def test_a_motor_in_horsepower(identity, expected):
    assert si(in_horsepower(), identity) == pytest.approx(expected, rel=1e-3)


# -- a motor that runs to 87 Hz -----------------------------------------------------------------


def to_87_hertz() -> Document:
    """7.5 kW, 230 / 400 V, 26.0 / 15.0 A, 1450 rpm, linked for 230 V on a drive at 400 V."""
    rating = {"power": q("7.5", "kW"), "frequency": q("50", "Hz"), "speed": q("1450", "rpm"),
              "efficiency": q("88.7", "%"), "power_factor": q("0.82", "1")}  # fmt: skip
    return {
        "site": {
            "kind": "booster", "electrical_practice": "iec",
            "supply_nominal_voltage": q("400", "V"), "supply_frequency": q("50", "Hz"),
        },
        "motor": {
            "kind": "induction", "poles": 4, "rating_in_use": 0, "extended_constant_torque": True,
            "ratings": [
                rating | {"voltage": q("230", "V"), "current": q("26.0", "A"),
                          "connection": "delta"},
                rating | {"voltage": q("400", "V"), "current": q("15.0", "A"),
                          "connection": "star"},
            ],
        },
        "drive": {"tag": "D-1"},
        "event": {"kind": "start_up", "settings": {"as_left": {
            "motor_voltage": q("400", "V"), "motor_frequency": q("87", "Hz"),
            "motor_current": q("26.0", "A"), "maximum_frequency": q("87", "Hz"),
        }}},
    }  # fmt: skip


@pytest.mark.parametrize(
    ("identity", "expected"),
    [
        # 50 400 / 230 = 86.96 Hz, and power in proportion: 13.04 kW
        ("motor.extended-frequency", 86.957),
        ("motor.extended-power", 13043.5),
        # slip stays 50 rpm: 2608.7 - 50
        ("motor.extended-speed", 2558.7 / 60),
        # 230 / 50, the same as 400 / 86.96
        ("drive.volts-per-hertz", 4.6),
        ("drive.volts-per-hertz-set", 400 / 87),
    ],
)
def test_a_motor_to_87_hertz(identity, expected):
    assert si(to_87_hertz(), identity) == pytest.approx(expected, rel=1e-4)


# -- a transmitter below what it is scaled for ----------------------------------------------------


def below_the_header() -> Document:
    """0 to 16 bar, 4 to 20 mA, at -3.2 m; the set point of 5.5 bar counts at the datum."""
    rows = (("0", "0.01"), ("4", "4.02"), ("8", "8.03"), ("12", "12.02"), ("16", "16.01"),
            ("12", "12.06"), ("8", "8.07"), ("4", "4.05"), ("0", "0.01"))  # fmt: skip
    points = [
        {"applied": q(at, "bar"), "indicated": q(read, "bar"), "direction": direction}
        for (at, read), direction in zip(rows, ["up"] * 5 + ["down"] * 4, strict=True)
    ]
    return {
        "site": {"kind": "booster", "liquid_temperature_max": q("15", "degC")},
        "pump_set": {"regulating_sensor": "PT-1"},
        "sensors": [{
            "tag": "PT-1", "quantity": "pressure", "output": "4-20 mA", "location": "discharge",
            "lower_range_value": q("0", "bar"), "upper_range_value": q("16", "bar"),
            "tapping_elevation": q("-3.2", "m"), "tolerance_percent_of_span": q("0.5", "%"),
        }],
        "drive": {"tag": "D-1"},
        "event": {
            "kind": "start_up", "liquid_temperature": q("15", "degC"),
            "settings": {"as_left": {
                "regulation": "closed_loop_in_drive", "regulated_quantity": "discharge_pressure",
                "set_point": q("5.5", "bar"), "set_point_datum": "pump_datum",
                "feedback_signal": "4-20 mA",
                "feedback_at_lower_signal": q("-0.314", "bar"),
                "feedback_at_upper_signal": q("15.686", "bar"),
            }},
            "sensor_verifications": [{"sensor": "PT-1", "as_left": points}],
        },
    }  # fmt: skip


WATER_COLUMN = 999.1 * 9.80665 * 3.2 / 1e5  # bar, 15 degC: 0.3135


def test_the_signal_of_a_transmitter_below_its_datum():
    """It stands 3.2 m lower and sees 0.314 bar more: 5.814 bar of 16 are 9.81 mA."""
    expected = 4 + (5.5 + WATER_COLUMN) / 16 * 16
    value, unit = shown(below_the_header(), "sensor.signal-at-set-point")
    assert (value, unit) == (pytest.approx(expected, abs=0.002), "mA")


def test_what_the_drive_should_show_for_a_transmitter_below_its_datum():
    found = below_the_header()
    lower = si(found, "sensor.scaling-at-lower-signal") / 1e5
    upper = si(found, "sensor.scaling") / 1e5
    assert (lower, upper) == (
        pytest.approx(-WATER_COLUMN, abs=0.001), pytest.approx(16 - WATER_COLUMN, abs=0.001),
    )  # fmt: skip


def test_largest_error_and_hysteresis_of_nine_points():
    """8.07 for 8 is 0.44 % of 16 bar; 8.07 - 8.03 on the way down and up 0.25 %, as 12.06 - 12.02.

    IEC 61298-2: of span; the indications are those of the transmitter's own display.
    """
    found = changed(below_the_header(), {
        f"{LEFT}/feedback_at_lower_signal": q("0", "bar"),
        f"{LEFT}/feedback_at_upper_signal": q("16", "bar"),
        f"{LEFT}/set_point_datum": "transmitter",
    })  # fmt: skip
    assert si(found, "sensor.largest-error") == pytest.approx(0.07 / 16, rel=1e-6)
    assert si(found, "sensor.hysteresis") == pytest.approx(0.04 / 16, rel=1e-6)


# -- a booster that sleeps on a vessel ------------------------------------------------------------


def on_a_vessel() -> Document:
    """300 L behind a membrane, 3.1 bar in it, wake at 3.6 bar, stop at 4.5 bar; 250 m up."""
    return {
        "site": {"kind": "booster", "elevation": q("250", "m"), "suction_kind": "flooded_tank"},
        "pump": {"type": "end_suction", "rated_flow": q("36", "m3/h")},
        "pump_set": {"regulating_sensor": "PT-1"},
        "drive": {"tag": "D-1"},
        "sensors": [{
            "tag": "PT-1", "quantity": "pressure", "output": "4-20 mA", "location": "discharge",
            "lower_range_value": q("0", "bar"), "upper_range_value": q("10", "bar"),
        }],
        "vessels": [{
            "tag": "V-1", "kind": "bladder", "volume": q("300", "L"),
            "pre_charge_pressure_design": q("3.1", "bar"), "location": "discharge_header",
        }],
        "event": {"kind": "start_up", "settings": {"as_left": {
            "regulation": "closed_loop_in_drive", "regulated_quantity": "discharge_pressure",
            "set_point": q("4.2", "bar"), "sleep_method": "frequency",
            "sleep_boost": q("0.3", "bar"), "wake_basis": "absolute",
            "wake_value": q("3.6", "bar"), "feedback_at_lower_signal": q("0", "bar"),
            "feedback_at_upper_signal": q("10", "bar"),
        }}},
    }  # fmt: skip


def test_what_a_vessel_gives_while_the_pump_sleeps():
    """Boyle, absolute at 0.984 bar: 300 L 4.084 (1 / 4.584 - 1 / 5.484) = 43.9 L, at 1 % of 36 m3/h
    (0.1 L/s) for 439 s.
    """
    air = 1.01325 * (1 - 0.0065 * 250 / 288.15) ** 5.2559
    water = 300 * (3.1 + air) * (1 / (3.6 + air) - 1 / (4.5 + air))
    assert water == pytest.approx(43.9, abs=0.1)
    assert si(on_a_vessel(), "vessel.usable-volume") * 1e3 == pytest.approx(water, rel=1e-3)
    assert si(on_a_vessel(), "vessel.wake-interval") == pytest.approx(water / 0.1, rel=1e-3)


# -- a motor after its rewinding ------------------------------------------------------------------


def rewound() -> Document:
    """22 kW, 400 V, 41 A, 0.86; 85 m of 10 mm2 to it; read at 25 degC."""
    return {
        "site": {"supply_nominal_voltage": q("400", "V"), "electrical_practice": "iec"},
        "motor": {
            "kind": "induction", "poles": 4, "rating_in_use": 0, "year_built": 2019,
            "ratings": [{
                "power": q("22", "kW"), "voltage": q("400", "V"), "current": q("41", "A"),
                "frequency": q("50", "Hz"), "speed": q("1465", "rpm"),
                "power_factor": q("0.86", "1"),
            }],
        },
        "drive": {
            "motor_cable_length": q("85", "m"), "motor_cable_conductor": q("10", "mm2"),
            "output_filter_fitted": "none",
        },
        "event": {
            "kind": "start_up",
            "supply": {"line_voltages": [q(v, "V") for v in ("412", "398", "401")]},
            "motor_tests": {
                "winding_resistance": {
                    "values": [q(v, "ohm") for v in ("0.412", "0.409", "0.421")],
                },
                "insulation": {
                    "test_voltage": q("500", "V"), "winding_temperature": q("25", "degC"),
                    "resistance_30_s": q("310", "Mohm"), "resistance_1_min": q("380", "Mohm"),
                    "resistance_10_min": q("798", "Mohm"),
                },
            },
        },
    }  # fmt: skip


def cable_drop() -> float:
    """Copper 1.7241e-8 ohm m at 20 degC (IEC 60028), 75 degC: x 309.5 / 254.5; 0.08 mohm/m."""
    resistance = 1.7241e-8 * 309.5 / 254.5 / 10e-6 * 85
    reactance = 0.08e-3 * 85
    return sqrt(3) * 41 * (resistance * 0.86 + reactance * sqrt(1 - 0.86**2)) / 400


@pytest.mark.parametrize(
    ("identity", "expected"),
    [
        # IEEE 43-2013, 6.3 (from memory): thermosetting, up to 40 degC
        ("insulation.at-40-degrees", 380e6 * exp(-1245 * (1 / 298 - 1 / 313))),
        ("insulation.polarization-index", 798 / 380),
        ("insulation.absorption-ratio", 380 / 310),
        # practice of repair shops, from memory: mean 0.414 ohm, 0.007 away
        ("winding.resistance-unbalance", 0.007 / 0.414),
        # NEMA MG 1 12.45: mean 403.67 V, 8.33 V away
        ("supply.unbalance", 8.3333 / 403.6667),
        # travelling waves, from memory: there and back at 150 m/us in 0.1 us
        ("drive.critical-cable-length", 7.5),
        # the same, from memory: 0.9 of a pulse comes back at an end that is nearly open
        ("drive.terminal-peak", 1.9 * sqrt(2) * 400),
        ("drive.cable-voltage-drop", cable_drop()),
    ],
)
def test_tests_of_a_rewound_motor(identity, expected):
    assert si(rewound(), identity) == pytest.approx(expected, rel=1e-4)
