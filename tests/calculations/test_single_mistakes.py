"""Good stations are silent, and one mistake lights one rule of the whole catalogue."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from calculations.catalogue import RULES

from . import stations
from .building import booster, changed, in_metric, judged, nameplate, serious
from .building_plates import Document, q
from .stations import LEFT

ELECTRICAL = (
    "site.", "supply.", "motor.", "drive.", "insulation.", "winding.", "load.", "earth.",
    "rotation.",
)  # fmt: skip


def plate() -> Document:
    """A US 230/460 V plate alone."""
    return {"motor": nameplate()}


GOOD: dict[str, Callable[[], Document]] = {
    "booster": booster,
    "plate of 230 and 460 V": plate,
    "permanent magnets": stations.permanent_magnet,
    "87 Hz in delta": stations.eighty_seven_hertz,
    "immersed in a well": stations.well,
    "1,800 m": stations.high_site,
    "an old motor": stations.old_motor,
    "a single phase": stations.fed_by_one_phase,
}

# A plate alone has no visit to evaluate.
PARTIAL = ("plate of 230 and 460 V",)


@pytest.mark.parametrize("name", GOOD)
def test_good_stations_are_silent(name: str) -> None:
    document = GOOD[name]()
    assert serious(judged(document), ELECTRICAL) == []
    assert serious(judged(in_metric(document)), ELECTRICAL) == []


def test_the_booster_is_silent_to_the_whole_catalogue() -> None:
    judgement = judged(booster())
    assert judgement.findings == ()
    # The rows of its step test are not at hand here.
    assert [each.rule for each in judgement.not_evaluated] == ["trace.time"]


@pytest.mark.parametrize("name", [name for name in GOOD if name not in PARTIAL])
def test_every_electrical_rule_of_a_complete_start_up_is_evaluated(name: str) -> None:
    lacking = judged(GOOD[name]()).not_evaluated
    assert [each.rule for each in lacking if each.rule.startswith(ELECTRICAL)] == []


def amperes(*values: str) -> list[Document]:
    """Three currents, equal where one is given."""
    return [q(value, "A") for value in values] * (1 if len(values) == 3 else 3)


def volts(*values: str) -> list[Document]:
    """Three voltages."""
    return [q(value, "V") for value in values]


LINES = "/event/supply/line_voltages"
AMPERES = "/event/duty_points/0/currents_drive_output"
RATED = "/drive/rated_current_normal_duty"
CABLE = "/drive/motor_cable_length"
OVER_BYPASS = "/event/rotation/bypass_direction"
OWN_OVERLOAD = "/pump_set/bypass_own_overload"
INSULATION = "/event/motor_tests/insulation"

# Each a single slip or fault on the clean booster, and the one rule that tells it.
MISTAKES: tuple[tuple[str, Mapping[str, Any], str, str], ...] = (
    ("elevation in metres", {"/site/elevation": q("5280", "m")}, "site.elevation", "review"),
    ("two voltages", {LINES: volts("480", "479")}, "supply.phases", "review"),
    ("a blown fuse", {LINES: volts("480", "480", "0")}, "supply.unbalance", "stop"),
    ("a loose joint", {LINES: volts("481", "480", "457")}, "supply.unbalance", "review"),
    ("line to neutral", {LINES: volts("277", "278", "277")}, "supply.voltage-range", "stop"),
    ("600 V supply", {LINES: volts("600", "601", "599")}, "supply.voltage-range", "stop"),
    ("slow generator", {"/event/supply/frequency": q("58.0", "Hz")}, "supply.frequency", "review"),
    ("unearthed supply", {"/site/supply_earthing": "unearthed"}, "supply.earthing", "review"),
    (
        "weak drive fuses",
        {"/drive/short_circuit_rating": q("10", "kA")},
        "supply.fault-rating",
        "review",
    ),
    ("plate at 50 Hz", {"/motor/ratings/1/frequency": q("50", "Hz")}, "motor.slip", "review"),
    ("no-load speed", {"/motor/ratings/1/speed": q("1800", "rpm")}, "motor.slip", "review"),
    ("speed of 50 Hz", {"/motor/ratings/1/speed": q("1475", "rpm")}, "motor.slip", "review"),
    ("two poles", {"/motor/poles": 2}, "motor.poles", "review"),
    ("kW for hp", {"/motor/ratings/1/power": q("60", "kW")}, "motor.power-balance", "review"),
    (
        "digits of the current",
        {"/motor/ratings/1/current": q("86.7", "A")},
        "motor.power-balance",
        "review",
    ),
    (
        "current of 230 V",
        {"/motor/ratings/1/current": q("137", "A")},
        "motor.power-balance",
        "review",
    ),
    (
        "voltage of 230 V",
        {"/motor/ratings/1/voltage": q("230", "V")},
        "motor.power-balance",
        "review",
    ),
    ("other column", {"/motor/ratings/0/current": q("173", "A")}, "motor.ratings-agree", "review"),
    ("one phase", {"/motor/phases": 1}, "motor.single-phase-on-drive", "stop"),
    (
        "standard efficiency",
        {"/motor/ratings/1/efficiency": q("94.1", "%")},
        "motor.efficiency-class",
        "review",
    ),
    (
        "unused thermistors",
        {f"{LEFT}/motor_thermal_sensor_response": "none"},
        "motor.thermal-sensor",
        "review",
    ),
    (
        "magnets in the drive",
        {f"{LEFT}/motor_kind": "permanent_magnet"},
        "drive.motor-kind",
        "stop",
    ),
    ("drive at 50 Hz", {f"{LEFT}/motor_frequency": q("50", "Hz")}, "drive.volts-per-hertz", "stop"),
    ("drive at 230 V", {f"{LEFT}/motor_voltage": q("230", "V")}, "drive.volts-per-hertz", "stop"),
    ("drive at 430 V", {f"{LEFT}/motor_voltage": q("430", "V")}, "drive.volts-per-hertz", "review"),
    ("links for 230 V", {"/motor/rating_in_use": 0}, "drive.volts-per-hertz", "stop"),
    (
        "drive set for 400 V 50 Hz",
        {f"{LEFT}/motor_voltage": q("400", "V"), f"{LEFT}/motor_frequency": q("50", "Hz")},
        "drive.motor-frequency",
        "review",
    ),
    ("drive in kW", {f"{LEFT}/motor_power": q("60", "kW")}, "drive.motor-power", "review"),
    ("drive at 137 A", {f"{LEFT}/motor_current": q("137", "A")}, "drive.motor-current", "stop"),
    ("drive at 78.6 A", {f"{LEFT}/motor_current": q("78.6", "A")}, "drive.motor-current", "review"),
    (
        "synchronous speed set",
        {f"{LEFT}/motor_speed": q("1800", "rpm")},
        "drive.motor-speed",
        "review",
    ),
    (
        "overload by the table",
        {f"{LEFT}/overload_current": q("96.3", "A")},
        "drive.overload-setting",
        "stop",
    ),
    (
        "overload at 115 %",
        {f"{LEFT}/overload_current": q("79", "A")},
        "drive.overload-setting",
        "review",
    ),
    (
        "overload too low",
        {f"{LEFT}/overload_current": q("45", "A")},
        "drive.overload-setting",
        "review",
    ),
    ("a drive too small", {RATED: q("52", "A")}, "drive.rated-current", "stop"),
    (
        "a drive in thin air",
        {RATED: q("69", "A"), "/site/elevation": q("2000", "m")},
        "drive.rated-current",
        "review",
    ),
    ("a hot cabinet", {"/drive/ambient_at_drive": q("131", "degF")}, "drive.environment", "review"),
    (
        "filter not set",
        {f"{LEFT}/output_filter": "sine_wave"},
        "drive.output-filter-setting",
        "review",
    ),
    ("a long cable", {CABLE: q("400", "ft")}, "drive.cable-length", "review"),
    (
        "a weak winding",
        {"/motor/peak_voltage_limit": q("1000", "V")},
        "drive.reflected-wave",
        "review",
    ),
    (
        "a thin cable",
        {"/drive/motor_cable_conductor": "14 AWG", CABLE: q("100", "ft")},
        "drive.cable-ampacity",
        "review",
    ),
    ("capacitors left in", {"/drive/output_capacitors": True}, "drive.output-capacitors", "stop"),
    (
        "identification skipped",
        {f"{LEFT}/motor_identification": "skipped"},
        "drive.identification",
        "review",
    ),
    (
        "tested with the drive",
        {f"{INSULATION}/drive_disconnected": False},
        "insulation.drive-connected",
        "review",
    ),
    (
        "tested with 1000 V",
        {f"{INSULATION}/test_voltage": q("1000", "V")},
        "insulation.test-voltage",
        "review",
    ),
    (
        "a wet winding",
        {
            f"{INSULATION}/resistance_1_min": q("3", "Mohm"),
            f"{INSULATION}/resistance_30_s": q("3", "Mohm"),
        },
        "insulation.minimum",
        "stop",
    ),
    (
        "a poor joint",
        {"/event/motor_tests/winding_resistance/values/2": q("0.1304", "ohm")},
        "winding.resistance-unbalance",
        "stop",
    ),
    (
        "one phase high",
        {AMPERES: amperes("52.7", "47.0", "58.5")},
        "winding.current-unbalance",
        "review",
    ),
    ("an overloaded motor", {AMPERES: amperes("82.0")}, "load.current-nameplate", "stop"),
    ("one of two leads", {AMPERES: amperes("26.3")}, "load.current-expected", "review"),
    (
        "earth of 0.8 ohm",
        {"/event/earth_tests/0/resistance": q("0.8", "ohm")},
        "earth.continuity",
        "review",
    ),
    ("an open earth", {"/event/earth_tests/0/open_circuit": True}, "earth.continuity", "stop"),
    (
        "turning backwards",
        {"/event/rotation/drive_direction": "reversed"},
        "rotation.reversed",
        "stop",
    ),
    (
        "bypass turning backwards",
        {"/pump_set/bypass": "manual", OWN_OVERLOAD: True, OVER_BYPASS: "reversed"},
        "rotation.bypass",
        "stop",
    ),
    (
        "a bypass without overload",
        {"/pump_set/bypass": "manual", OWN_OVERLOAD: False, OVER_BYPASS: "correct"},
        "drive.bypass",
        "review",
    ),
)


@pytest.mark.parametrize(
    ("changes", "rule", "severity"),
    [pytest.param(*mistake[1:], id=mistake[0]) for mistake in MISTAKES],
)
def test_one_mistake_one_finding(changes: Mapping[str, Any], rule: str, severity: str) -> None:
    document = changed(booster(), changes)
    assert serious(judged(document)) == [(rule, severity)]
    assert serious(judged(in_metric(document))) == [(rule, severity)]


def test_the_metric_station_has_the_same_subjects() -> None:
    for _, changes, _, _ in MISTAKES:
        document = changed(booster(), changes)
        found = [(f.rule, f.severity, f.subject) for f in judged(document).findings]
        metric = [(f.rule, f.severity, f.subject) for f in judged(in_metric(document)).findings]
        assert metric == found


def test_every_mistake_is_told_by_a_rule_of_the_catalogue() -> None:
    known = {rule.id for rule in RULES}
    assert {rule for _, _, rule, _ in MISTAKES} <= known
