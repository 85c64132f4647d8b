"""Mistakes in what guards a motor: explosive air, its relay, the level that stops it dry."""

from math import sqrt

from .mistakes import mistake, mistake_on_a_drive, number, times
from .stand import Entered
from .writing import q, significant

# -- explosive air ------------------------------------------------------------------------------


def _protected(e: Entered) -> bool:
    return e.station.area in ("zone_1", "class1_div1") and e.station.motor.immersed


@mistake("motor without protection in explosive air", "motor.hazardous-area")
def unprotected(e: Entered) -> bool | None:
    motor = e.document["motor"]
    if not _protected(e) or e.station.area != "zone_1":
        return False
    motor["enclosure"] = "submersible"
    motor.pop("explosion_protection", None)
    if e.chance.random() < 0.5:
        motor["explosion_protection"] = "none"
    return None


@mistake("motor that is marked for an outer area", "motor.hazardous-area")
def marked_for_outside(e: Entered) -> bool | None:
    motor = e.document["motor"]
    if not _protected(e) or "explosion_protection" not in motor:
        return False
    outer = {"zone_1": "epl_gc", "class1_div1": "class1_div2"}
    motor["explosion_protection"] = outer[e.station.area]
    return None


@mistake("protected enclosure, and no protection on the plate", "motor.hazardous-area")
def plate_without_mark(e: Entered) -> bool | None:
    if not _protected(e):
        return False
    e.document["motor"]["explosion_protection"] = "none"
    return None


@mistake_on_a_drive("protected motor on a drive without its sensor", "motor.hazardous-area")
def no_sensor(e: Entered) -> bool | None:
    if not _protected(e):
        return False
    e.document["motor"]["thermal_sensor"] = "none"
    e.document["motor"].pop("thermal_sensor_count", None)
    e.settings["motor_thermal_sensor_response"] = "none"
    return None


@mistake_on_a_drive("sensor of a protected motor that only alarms", "motor.thermal-sensor")
def only_alarms(e: Entered) -> bool | None:
    if not _protected(e):
        return False
    e.settings["motor_thermal_sensor_response"] = "alarm"
    return None


# -- relay --------------------------------------------------------------------------------------


def _has_relay(e: Entered) -> bool:
    return not e.station.driven and "settings" in e.document["event"]


@mistake("relay at the top of its scale", "motor.overload-relay")
def relay_high(e: Entered) -> bool | None:
    if not _has_relay(e):
        return False
    e.settings["overload_current"] = times(e.plate["current"], e.chance.uniform(1.45, 1.8))
    return None


@mistake("relay as it came, below the load", "motor.overload-relay")
def relay_low(e: Entered) -> bool | None:
    if not _has_relay(e):
        return False
    drawn = max(number(each) for point in e.points for each in point["currents_drive_input"])
    low = 0.82 * drawn
    if abs(low / number(e.plate["current"]) * sqrt(3) - 1) < 0.06:
        return False  # as inside the delta of a star-delta starter
    e.settings["overload_current"] = q(significant(low, 3), "A")
    return None


# -- dry-run level --------------------------------------------------------------------------------


def _stop_at(e: Entered, elevation: float) -> bool | None:
    """The dry-run level set to an elevation [m over the datum], as the settings count it."""
    if not e.station.transducer:
        return False
    if e.settings["level_reference"] == "transmitter_zero":
        elevation -= e.station.pen.si("length", e.document["sensors"][-1]["zero_elevation"])
    e.settings["dry_run_threshold"] = e.station.pen.put("length", elevation, step=0.1)
    return None


@mistake("dry-run level over the water at rest", "well.dry-run-level")
def over_static(e: Entered) -> bool | None:
    return _stop_at(e, e.station.level["high"] + e.chance.uniform(1, 4))


@mistake("dry-run level over the pumping water", "well.dry-run-level")
def over_pumped(e: Entered) -> bool | None:
    level = e.station.level
    return _stop_at(e, level["low"] + 0.5 * (level["high"] - level["low"]))


@mistake("dry-run level under the pump", "well.dry-run-level")
def under_pump(e: Entered) -> bool | None:
    return _stop_at(e, e.station.eye - e.chance.uniform(1, 3))


@mistake("dry-run level entered as a depth", "well.dry-run-level")
def as_depth(e: Entered) -> bool | None:
    if not e.station.transducer:
        return False
    zero = e.station.pen.si("length", e.document["sensors"][-1]["zero_elevation"])
    depth = -(e.station.transducer + 0.4 * (e.station.level["low"] - e.station.transducer))
    counted = zero if e.settings["level_reference"] == "transmitter_zero" else 0.0
    if counted + depth < e.station.level["high"] + 0.5:
        return False  # it lies in the water as well
    e.settings["dry_run_threshold"] = e.station.pen.put("length", depth, step=0.1)
    return None


@mistake("transducer hung over the water", "well.dry-run-level")
def hung_high(e: Entered) -> bool | None:
    if not e.station.transducer:
        return False
    over = e.station.level["high"] + e.chance.uniform(0.5, 3)
    e.document["sensors"][-1]["zero_elevation"] = e.station.pen.put("length", over, step=0.1)
    return None


# -- what is set to act ---------------------------------------------------------------------------


def _watches_suction(e: Entered) -> bool:
    return "low_suction_limit" in e.settings


@mistake_on_a_drive("nothing that stops a pump without suction", "protection.dry-run")
def nothing_stops_it_dry(e: Entered) -> bool | None:
    if not _watches_suction(e):
        return False
    e.settings["dry_run_method"] = "none"
    e.settings["low_suction_limit_response"] = e.chance.choice(("none", "alarm"))
    return None


@mistake_on_a_drive("low suction read at the discharge", "protection.low-suction-limit")
def read_at_the_discharge(e: Entered) -> bool | None:
    if not _watches_suction(e):
        return False
    e.settings["low_suction_limit_measured_by"] = "regulating_sensor"
    return None


@mistake_on_a_drive("lift station that stays stopped after a cut", "station.power-return")
def stays_stopped(e: Entered) -> bool | None:
    if e.station.regulation != "level" or e.station.kind != "lift_station":
        return False
    e.settings["restart_after_power_loss"] = "stay_stopped"
    return None


@mistake_on_a_drive("restart timed that is not set", "protection.response")
def restart_not_set(e: Entered) -> bool | None:
    tests = e.document["event"].get("protection_tests", [])
    timed = [each for each in tests if each["function"] == "power_loss_restart"]
    if not timed or e.station.kind == "lift_station":
        return False
    timed[0]["delay_measured"] = q(12, "s")
    e.settings["restart_after_power_loss"] = "stay_stopped"
    return None


@mistake_on_a_drive("faults reset at once", "protection.delay-set")
def reset_at_once(e: Entered) -> bool | None:
    if e.station.suction == "well" or not e.settings.get("automatic_reset_count"):
        return False
    e.settings["automatic_reset_delay"] = q(0, "s")
    return None


@mistake_on_a_drive("minutes for seconds of the ramp up", "ramp.too-long")
def ramp_in_minutes(e: Entered) -> bool | None:
    ramp = e.settings.get("ramp_up_time")
    if ramp is None or e.station.machine.type == "submersible_well":
        return False
    e.settings["ramp_up_time"] = q(ramp["value"], "min")
    return None


@mistake_on_a_drive("ends of the speed reference exchanged", "loop.speed-reference")
def reference_upside_down(e: Entered) -> bool | None:
    names = ("frequency_at_lower_reference", "frequency_at_upper_reference")
    if e.settings.get("regulation") != "speed_from_external_controller":
        return False
    low, high = (e.settings[name] for name in names)
    e.settings[names[0]], e.settings[names[1]] = high, low
    return None


@mistake_on_a_drive("place of the regulating sensor exchanged", "loop.sensor-side")
def at_the_other_side(e: Entered) -> bool | None:
    if e.settings.get("regulated_quantity") != "discharge_pressure":
        return False
    named = e.document["pump_set"].get("regulating_sensor")
    for sensor in e.document["sensors"]:
        if named in (sensor.get("tag"), sensor.get("id"), sensor.get("serial")):
            sensor["location"] = "suction"
            return None
    return False


# -- bearings -------------------------------------------------------------------------------------


@mistake_on_a_drive("motor without what keeps current from its bearings", "motor.bearing-currents",
                    by_note=True)  # fmt: skip
def bearings(e: Entered) -> bool | None:
    if "bearing_current_protection" not in e.document["motor"] or e.station.motor.immersed:
        return False
    e.document["motor"]["bearing_current_protection"] = "none"
    return None
