"""Words for people: of fields, of closed lists, of units and of places in a record.

Most labels follow from the field's own name; the tables hold those that need better words.
"""

import re
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from calculations.units import KINDS

_LABELS = {
    "ambient_max": "Ambient temperature, highest",
    "ambient_rated": "Ambient temperature, rated",
    "applied_head_difference": "Reference over sensor",
    "at": "Measured at",
    "back_emf": "Back-EMF",
    "bearing_frequency": "Lowest frequency of the bearing film",
    "bearing_time_limit": "Longest time to reach it",
    "bore_discharge": "Bore at discharge",
    "bore_suction": "Bore at suction",
    "bypass_direction": "Direction on bypass",
    "carrier_derating_per_khz": "Carrier derating per kHz",
    "currents_drive_display": "Currents",
    "currents_drive_input": "Currents",
    "currents_drive_output": "Currents",
    "d_inductance": "Direct-axis inductance",
    "dc_bus_voltage": "D.C. bus voltage",
    "dc_choke": "D.C. choke",
    "derating_per_100m": "Derating per 100 m",
    "device_time": "Device's clock",
    "drawdown_tests": "Draw-down tests",
    "drive_direction": "Direction on the drive",
    "dry_run_method": "Dry run, found by",
    "dry_run_threshold": "Dry run, threshold",
    "dry_run_delay": "Dry run, delay",
    "dry_run_response": "Dry run, response",
    "dry_run_retry_delay": "Dry run, delay before retry",
    "emc_filter_earthed": "Interference filter to earth",
    "eye_elevation": "Height of the impeller's eye",
    "extended_constant_torque": "Run at rated V/Hz above rated frequency",
    "filter_carrier_max": "Filter, highest carrier frequency",
    "filter_carrier_min": "Filter, lowest carrier frequency",
    "functional_safety_stop": "Safe torque-off input",
    "gain_form": "Form of the controller",
    "impeller_diameter_max": "Impeller diameter, largest",
    "indicated_at": "Read at",
    "input_voltage_max": "Input voltage, highest",
    "input_voltage_min": "Input voltage, lowest",
    "isolation_confirmed": "Isolation and lock-out confirmed",
    "lag_start_level": "Start level of the lag pump",
    "liquid_temperature_max": "Liquid temperature, highest",
    "liquid_temperature_min": "Liquid temperature, lowest",
    "liquid_vapour_pressure_absolute": "Liquid vapour pressure, absolute",
    "loop_load": "Load in the loop",
    "low_discharge_limit": "Low discharge limit (burst main)",
    "maker_text": "Maker, as on the plate",
    "model_text": "Model, as on the plate",
    "motor_identification": "Motor identification run",
    "performed_at": "Begun",
    "performed_until": "Ended",
    "pre_charge_as_found": "Pre-charge as found",
    "pre_charge_as_left": "Pre-charge as left",
    "pre_charge_pressure_design": "Pre-charge pressure, design",
    "power_drive_display": "Power",
    "power_drive_input": "Power",
    "power_drive_output": "Power",
    "process_isolation": "Can be isolated and vented",
    "proportional_gain": "Proportional gain (% output per % span)",
    "pumps_maximum_running": "Pumps running, at most",
    "q_inductance": "Quadrature-axis inductance",
    "resistance_10_min": "Resistance after 10 min",
    "resistance_1_min": "Resistance after 1 min",
    "resistance_30_s": "Resistance after 30 s",
    "resource": "Piece",
    "result_resistance": "Resistance found",
    "sha256": "SHA-256",
    "sleep_boost": "Rise before sleep",
    "sleep_boost_time_limit": "Rise before sleep, longest",
    "static_lift_high": "Static lift, highest",
    "static_lift_low": "Static lift, lowest",
    "step_kind": "Kind of step",
    "straight_downstream_diameters": "Straight pipe downstream (diameters)",
    "straight_upstream_diameters": "Straight pipe upstream (diameters)",
    "suction_level_depth": "Suction level, depth",
    "suction_level_high": "Suction level, highest",
    "suction_level_low": "Suction level, lowest",
    "suction_pressure_high": "Suction pressure, highest",
    "suction_pressure_low": "Suction pressure, lowest",
    "tolerance_percent_of_span": "Tolerance, of span",
    "transmission_ratio": "Motor speed over pump speed",
    "values": "Phase to phase",
    "velocity_rms": "Velocity, r.m.s.",
    "voltages_drive_display": "Voltages",
    "voltages_drive_input": "Voltages",
    "voltages_drive_output": "Voltages",
}

# Parts of ids that belong together more closely than the others.
_JOINED = {
    "drawdown": "draw-down",
    "no load": "no-load",
    "npsh": "NPSH",
    "pre charge": "pre-charge",
    "shut off": "shut-off",
    "wire to water": "wire-to-water",
    "zero flow": "zero-flow",
}

_WORDS = {
    "canadian": "Canadian",
    "class1_div1": "class I, division 1",
    "class1_div2": "class I, division 2",
    "class2_div1": "class II, division 1",
    "class2_div2": "class II, division 2",
    "corner_earthed_delta": "corner-earthed delta",
    "dc_brake": "d.c. brake",
    "drawdown": "draw-down",
    "duty_standby": "duty and standby",
    "dv_dt": "dV/dt",
    "epact": "energy-efficient (before premium)",
    "epl_ga": "level Ga",
    "epl_gb": "level Gb",
    "epl_gc": "level Gc",
    "fitted_linked_out": "fitted, linked out",
    "fitted_wired": "fitted and wired",
    "flow_strap_on": "strap-on flow meter",
    "grp": "GRP",
    "high_leg_delta": "high-leg delta",
    "ie1": "IE1",
    "ie2": "IE2",
    "ie3": "IE3",
    "ie4": "IE4",
    "ie5": "IE5",
    "iec": "IEC",
    "lag_takeover": "lag takes over",
    "lead_lag": "lead and lag",
    "level_emptying": "level, emptying",
    "level_filling": "level, filling",
    "low_resistance_ohmmeter": "low-resistance ohmmeter",
    "low_pressure_burst": "low pressure (burst main)",
    "motor_overtemperature": "motor over-temperature",
    "multimeter_true_rms": "multimeter, true r.m.s.",
    "no_flow_switch": "no-flow switch",
    "one_way_tank": "one-way tank",
    "pe": "PE",
    "pm_assisted_reluctance": "permanent-magnet-assisted reluctance",
    "power_loss_restart": "restart after power loss",
    "pt100": "Pt100",
    "pt1000": "Pt1000",
    "ptc": "PTC",
    "pvc": "PVC",
    "re_verification": "re-verification",
    "self_priming": "self-priming",
    "shut_off": "shut-off",
    "shut_off_head": "shut-off head",
    "si": "SI",
    "solid_star": "solidly earthed star",
    "sound_vibration": "sound and vibration meter",
    "start_up": "start-up",
    "strap_on": "strap-on meter",
    "us": "US",
    "us_nec": "US (NEC)",
    "yes_stated": "yes, stated",
}

_UNITS = {
    "1": "",
    "Mohm": "MΩ",
    "Gohm": "GΩ",
    "N.m": "N·m",
    "degC": "°C",
    "degF": "°F",
    "delta_degF": "°F (difference)",
    "ft2": "ft²",
    "ft3": "ft³",
    "ft3/s": "ft³/s",
    "ftH2O": "ftH₂O",
    "hp_metric": "hp (metric)",
    "inH2O": "inH₂O",
    "kg.m2": "kg·m²",
    "kg/m3": "kg/m³",
    "kWh/m3": "kWh/m³",
    "kgf/cm2": "kgf/cm²",
    "kohm": "kΩ",
    "lb.ft2": "lb·ft²",
    "lbf.ft": "lbf·ft",
    "m2": "m²",
    "m3": "m³",
    "m3/d": "m³/d",
    "m3/h": "m³/h",
    "mH2O": "mH₂O",
    "mm2": "mm²",
    "mo": "months",
    "mohm": "mΩ",
    "ohm": "Ω",
}

_NAMES = {unit for units in KINDS.values() for unit in units} | _UNITS.keys()
_SYMBOLS = "|".join(map(re.escape, sorted(_NAMES - {"1"}, reverse=True)))
_WITH_UNIT = re.compile(rf"(?<=[0-9]) ({_SYMBOLS})(?![\w/.^*-]*\w)")
_PRINTED = "|".join(map(re.escape, sorted(set(_UNITS.values()) - {""}, reverse=True)))
WITH_UNIT = rf"[0-9](?: (?:{_SYMBOLS}|{_PRINTED})(?![\w/.^*-]*\w))"
"""The last digit with a unit as it is entered or printed: 8 m3/h, 8 m³/h."""
_NO_BREAK = "\N{NO-BREAK SPACE}"

# What one element of a list is called.
_ELEMENTS = {
    "as_found": "as found, point",
    "as_left": "as left, point",
    "curve_points": "curve point",
    "drawdown_tests": "draw-down test",
    "needs": "need",
    "not_in_register": "piece not in the register",
    "not_possible": "task not possible",
    "replaced": "replaced piece",
    "system_curve_points": "system curve point",
    "vibration": "vibration",
}

# Left out of a place in words, because what follows says enough.
_ROOTS = frozenset({"event", "snapshot", "judgement"})

_CAPITALS = {"npsh": "NPSH", "emf": "EMF", "id": "identifier", "rms": "r.m.s."}


@cache
def label(name: str) -> str:
    """What a field is called on paper."""
    if name in _LABELS:
        return _LABELS[name]
    words = " ".join(_CAPITALS.get(word, word) for word in name.split("_"))
    return words[:1].upper() + words[1:]


@cache
def word(value: str) -> str:
    """What one word of a closed list is called on paper."""
    return _WORDS.get(value, value.replace("_", " "))


def other_words() -> Mapping[str, str]:
    """Words of closed lists that are not told as they are sent, with underscores as spaces."""
    return _WORDS


def unit(symbol: str) -> str:
    """A unit as it is printed; nothing for plain numbers."""
    return _UNITS.get(symbol, symbol)


def with_units(sentence: str) -> str:
    """What a rule says, its units as they are printed and on the line of their digits.

    20.7 m3/h becomes 20.7 m³/h.
    """
    return _WITH_UNIT.sub(lambda found: _NO_BREAK + unit(found[1]), sentence)


@cache
def dotted(identity: str) -> str:
    """The words of a rule's or derived value's id: `motor.rated-torque`, "Motor: rated torque"."""
    subject, _, rest = identity.partition(".")
    words = rest.replace("-", " ")
    for apart, together in _JOINED.items():
        words = words.replace(apart, together)
    return f"{label(subject)}: {words}" if rest else label(subject)


def place(pointer: str, names: Mapping[str, str] | None = None) -> str:
    """A JSON Pointer in words; `names` are what the things at some places are called."""
    words: list[str] = []
    at = ""
    for step in pointer.split("/")[1:]:
        at += "/" + step
        if step.isdigit() and words:
            words[-1] = f"{_element(at.split('/')[-2])} {_called(at, step, names or {})}"
        elif words and words[-1] == "settings":
            words[-1] += f" {_lower(label(step))}"
        else:
            words.append(_lower(label(step)))
    if words[0:1] and words[0] in _ROOTS and len(words) > 1:
        words = words[1:]
    return ", ".join(words)


def path(steps: Sequence[str | int]) -> str:
    """The label of a field inside of others, "Settings file, name"; elements by their number."""
    words: list[str] = []
    for step in [each for each in steps if each != "parties"] or steps:
        if isinstance(step, int):
            words[-1] += f" {step + 1}"
        else:
            words.append(label(step))
    return ", ".join([words[0], *map(_lower, words[1:])])


def _called(at: str, step: str, names: Mapping[str, str]) -> str:
    return names.get(at) or str(int(step) + 1)


def _element(name: str) -> str:
    if name in _ELEMENTS:
        return _ELEMENTS[name]
    words = _lower(label(name))
    return words.removesuffix("s") if not words.endswith("ss") else words


def _lower(words: str) -> str:
    """Words behind others: "D.C. choke" as "d.c. choke", while SHA-256 and NPSH stay."""
    first, space, rest = words.partition(" ")
    if "." in first:
        return first.lower() + space + rest
    return words if words[1:2].isupper() else words[:1].lower() + words[1:]


def sentence(value: Any) -> str:
    """Words with a capital at the beginning."""
    text = str(value)
    return text[:1].upper() + text[1:]
