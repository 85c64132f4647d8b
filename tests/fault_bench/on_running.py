"""Mistakes in how the set runs beside its loop: in hand, after faults, and what counters say."""

from .mistakes import mistake, mistake_on_a_drive, number, times
from .on_loops import has_charge
from .stand import Entered
from .writing import Document, q, significant


@mistake_on_a_drive("hand speed above the maximum frequency", "speed.hand")
def hand_speed(e: Entered) -> None:
    e.settings["hand_speed"] = times(e.settings["maximum_frequency"], 1.25)


@mistake_on_a_drive("protections off in hand", "protection.in-hand")
def hand_protections(e: Entered) -> None:
    e.settings["hand_protections_active"] = False


@mistake_on_a_drive("no response to a lost phase or an earth fault", "drive.fault-responses")
def no_response(e: Entered) -> None:
    faults = ["output_phase_loss_response"]
    if e.document["site"].get("supply_earthing") not in ("unearthed", "impedance_earthed"):
        faults.append("earth_fault_response")
    if e.station.phases == 3:
        faults.append("input_phase_loss_response")
    e.settings[e.chance.choice(faults)] = "none"


@mistake_on_a_drive("slow overload on a well motor", "drive.overload-class")
def trip_class(e: Entered) -> bool | None:
    if e.station.machine.type != "submersible_well":
        return False
    e.settings["overload_class"] = e.chance.choice(("20", "30"))
    return None


@mistake_on_a_drive("well pump starts again at once", "well.restart")
def at_once(e: Entered) -> bool | None:
    if e.station.machine.type != "submersible_well":
        return False
    if e.chance.random() < 0.5:
        e.settings.update(restart_after_power_loss="restart", restart_delay=q(0, "s"))
    else:
        e.settings["automatic_reset_delay"] = q(0, "s")
    return None


def _has_vessel(e: Entered) -> bool:
    return e.station.regulation == "pressure" and bool(e.document.get("vessels"))


@mistake("starts of a counter that stands for something else", "vessel.starts")
def many_starts(e: Entered) -> bool | None:
    if not _has_vessel(e):
        return False
    e.document["event"]["start_count"] = 3000
    return None


@mistake("the same of a set without a vessel", "motor.starts")
def many_starts_without_vessel(e: Entered) -> bool | None:
    if _has_vessel(e):
        return False
    e.document["event"]["start_count"] = 3000
    return None


@mistake("liquid's temperature in the other unit", "site.liquid-temperature")
def liquid_unit(e: Entered) -> bool | None:
    found = e.document["event"]["liquid_temperature"]
    celsius = found["unit"] == "degC"
    read = number(found)
    other = (read - 32) / 1.8 if celsius else read * 1.8 + 32
    # 10 degC are 50 degF: far enough apart to be told, and within what can be entered.
    if abs(other - read) < 15 or not -4 < (other if celsius else (read - 32) / 1.8) < 90:
        return False
    e.document["event"]["liquid_temperature"] = q(found["value"], "degF" if celsius else "degC")
    return None


@mistake("drive that makes power", "load.drive-power")
def makes_power(e: Entered) -> bool | None:
    point = e.points[0]
    name = next((n for n in ("power_drive_output", "power_drive_display") if n in point), None)
    if not e.station.driven or name is None or "power_drive_input" not in point:
        return False
    point[name] = times(point["power_drive_input"], 1.2)
    return None


@mistake("a digit lost of the output voltage", "load.voltage")
def lost_digit(e: Entered) -> bool | None:
    point = e.points[0]
    name = next((n for n in ("voltages_drive_output", "voltages_drive_display") if n in point), "")
    if not e.station.driven or not name:
        return False
    point[name] = [q(significant(number(each) / 10, 2), "V") for each in point[name]]
    return None


@mistake_on_a_drive("voltages of the motor from line to neutral", "load.apparent-power")
def to_neutral(e: Entered) -> bool | None:
    """Of the most loaded point: at little load the power factor hides it."""
    for name in ("drive_output", "drive_display"):
        for point in e.points:
            if f"voltages_{name}" not in point or f"power_{name}" not in point:
                continue
            volts, amperes = (
                number(point[f"{each}_{name}"][0]) for each in ("voltages", "currents")
            )
            if number(point[f"power_{name}"]) * 1e3 / (volts * amperes) < 1.12:
                continue
            point[f"voltages_{name}"] = [times(each, 3**-0.5) for each in point[f"voltages_{name}"]]
            return None
    return False


@mistake_on_a_drive("current on the display ten times off", "load.power")
def displayed_current(e: Entered) -> bool | None:
    for point in e.points:
        read = point.get("currents_drive_output")
        if read and number(read[0]) > 0.5 * number(e.plate["current"]):
            point["currents_drive_display"] = [times(read[0], e.chance.choice((0.1, 10)))]
            return None
    return False


@mistake_on_a_drive("skip band over the normal point", "speed.skip-bands")
def skip_band(e: Entered) -> bool | None:
    normal = next((each for each in e.points if each.get("purpose") in ("normal", "design")), None)
    if normal is None:
        return False
    e.settings["skip_bands"] = [{"centre": normal["frequency"], "width": q("1.0", "Hz")}]
    return None


@mistake("winding resistance ten or a thousand times off", "winding.resistance-level")
def winding_unit(e: Entered) -> None:
    found = e.document["event"]["motor_tests"]["winding_resistance"]
    factor = e.chance.choice((30, 100, 0.01, 0.001))
    found["values"] = [times(each, factor, 4) for each in found["values"]]
    found["resolution"] = times(found["resolution"], factor, 4)


@mistake("pre-charge read with the vessel full", "vessel.precharge")
def not_drained(e: Entered) -> bool | None:
    if not has_charge(e):
        return False
    e.document["event"]["vessel_checks"][0]["system_drained"] = False
    return None


@mistake("high limit above what the pipework bears", "protection.high-limit")
def above_pipework(e: Entered) -> bool | None:
    limit = e.settings.get("high_discharge_limit") if e.station.driven else None
    if not limit or limit["unit"] == "%":
        return False
    e.settings["high_discharge_limit"] = times(e.document["site"]["discharge_pressure_limit"], 1.15)
    # A switch sees it, whatever the transmitter's range is; the drive's limit is not provoked.
    e.settings["high_discharge_limit_measured_by"] = "pressure_switch"
    for test in e.document["event"]["protection_tests"]:
        test.pop("limit_at_trip", None)
    # What the pump reaches at no flow is another finding where nothing else holds it down.
    shut_off = e.station.shut_off_pressure(e.station.maximum)
    bears = number(e.document["site"]["discharge_pressure_limit"])
    return None if shut_off < bears * e.station.pen.unit("pressure")[1] else False


@mistake_on_a_drive("current limit far below the motor's current", "drive.current-limit")
def low_limit(e: Entered) -> None:
    e.settings["current_limit"] = times(e.plate["current"], 0.3)


@mistake_on_a_drive("dry run by low load set above the load", "well.low-load")
def high_threshold(e: Entered) -> bool | None:
    if e.settings["dry_run_method"] != "underload":
        return False
    e.settings["dry_run_threshold"] = times(e.plate["current"], 3)
    return None


@mistake_on_a_drive("speed held when the feedback is lost", "loop.held-speed")
def held_speed(e: Entered) -> bool | None:
    if e.station.regulation != "pressure":
        return False
    site = e.document["site"]
    if not site.get("zero_demand_possible") or site.get("minimum_flow_path") not in (None, "none"):
        return False
    if e.settings["sleep_method"] != "frequency":
        return False
    if e.settings["dry_run_method"] in ("underload", "flow_switch"):
        return False  # it ends pumping at no flow, too
    e.settings["signal_loss_response"] = "hold_speed"
    return None


@mistake("winding left charged after the test", "insulation.discharged")
def charged(e: Entered) -> None:
    e.document["event"]["motor_tests"]["insulation"]["discharged"] = False


@mistake_on_a_drive("phases exchanged at the supply of a drive", "rotation.exchanged-at-supply")
def exchanged_at_supply(e: Entered) -> bool | None:
    rotation = e.document["event"]["rotation"]
    if rotation["method"] in ("uncoupled_bump", "shaft_seen"):
        rotation["method"] = "shut_off_head"  # which tells nothing of the way it turns
    rotation["phases_swapped_at"] = "supply"
    return None


def _surge_check(e: Entered) -> Document | None:
    """The check of a vessel that no sleep asks for."""
    if e.document["site"]["surge_protection"] != "air_vessel":
        return None
    found: Document = e.document["event"]["vessel_checks"][0]
    return found


@mistake("a surge vessel that has lost its gas", "vessel.precharge-design")
def gas_lost(e: Entered) -> bool | None:
    check = _surge_check(e)
    if check is None:
        return False
    read = times(check["pre_charge_as_left"], e.chance.uniform(0.3, 0.55))
    check["pre_charge_as_found"], check["pre_charge_as_left"] = read, dict(read)
    return None


@mistake("charge of a surge vessel set by a gauge in the other unit", "vessel.precharge-design")
def charged_in_other_unit(e: Entered) -> bool | None:
    """So many psi for as many bar; where psi are usual, bar written down and called psi."""
    check = _surge_check(e)
    if check is None:
        return False
    read, unit = number(check["pre_charge_as_left"]) / 14.504, "psi" if e.station.pen.us else "bar"
    check["pre_charge_as_left"] = q(f"{read:.2f}", unit)
    return None
