"""What the drive was left with."""

from .drives import level_zero
from .motors import amperes, power_text, ratings
from .plates import floor_level, permitted
from .stations import Station
from .writing import Document, q, significant, stepped


def settings(station: Station, plates: Document) -> Document:
    """Settings of a drive that was set by the plate and the place."""
    found = _motor_data(station) | _speeds(station, plates) | _responses(station, plates)
    if station.regulation == "pressure":
        found |= _pressure_loop(station, plates)
    elif station.regulation == "level":
        found |= _level_loop(station, plates)
    elif station.regulation == "flow":
        found |= _flow_loop(station, plates)
    else:
        lowest = found["minimum_frequency"]
        found |= {
            "regulation": "speed_from_external_controller", "speed_reference_signal": "4-20 mA",
            "frequency_at_lower_reference": lowest,
            "frequency_at_upper_reference": found["maximum_frequency"],
        }  # fmt: skip
        if station.kind == "lift_station":
            found |= _levels(station, plates)
    return found


def _motor_data(station: Station) -> Document:
    """Plate values as they are typed in: now and then with a digit less."""
    motor, chance = station.motor, station.chance
    current = amperes(motor.current)
    if motor.current < 100 and chance.random() < 0.2:
        current = stepped(motor.current, 0.1)
        station.oddities.add("current rounded to a tenth")
    overload = current
    if motor.service_factor_current:
        overload = amperes(motor.service_factor_current)
    magnets = motor.kind == "permanent_magnet"
    power = power_text(motor)
    if motor.extended:
        power = q(significant(motor.run_power / 1e3, 3), "kW")
    elif motor.hp and chance.random() < 0.1:
        power = q(significant(motor.power / 1e3, 3), "kW")
        station.oddities.add("power of a US motor in kW")
    return {
        "motor_kind": motor.kind, "motor_poles": motor.poles, "motor_power": power,
        "motor_voltage": q("400" if motor.extended else f"{motor.voltage:g}", "V"),
        "motor_frequency": q(f"{round(motor.base_frequency):g}" if motor.extended
                             else f"{motor.frequency:g}", "Hz"),
        "motor_current": q(current, "A"), "motor_speed": q(f"{motor.run_speed:.0f}", "rpm"),
        "motor_identification": "standstill",
        "control_mode": "synchronous_vector" if magnets else chance.choice(
            ("vector", "vector", "volts_per_hertz_linear", "volts_per_hertz_quadratic")
        ),
        "duty_class": "normal", "overload_current": q(overload, "A"),
        "overload_basis": "absolute", "overload_class": _trip_class(station), **_links(station),
    }  # fmt: skip


def _links(station: Station) -> Document:
    """How the terminals are linked, where the drive asks for it."""
    if station.apart.random() > 0.25:
        return {}
    return {"motor_connection": ratings(station.motor)[station.motor.in_use]["connection"]}


def _trip_class(station: Station) -> str:
    """Class 10 for a motor in a well, as their makers ask; else what was found in the drive."""
    drawn = station.chance.choice(("10", "20"))
    return "10" if station.machine.type == "submersible_well" else drawn


def _speeds(station: Station, plates: Document) -> Document:
    chance = station.chance
    if station.regulation == "pressure":
        usual = max(permitted(station), chance.choice((0.5, 0.6, 0.66)) * station.hertz)
        lowest = min(usual, station.zero_flow("low")) if chance.random() < 0.85 else (
            station.zero_flow("low")
        )  # fmt: skip
        lowest = min(lowest, station.points[-1].frequency - 0.5)
        if lowest < station.zero_flow("high"):
            station.oddities.add("minimum below zero flow in pressure service")
        station.minimum = max(permitted(station), float(int(lowest)))
    else:
        station.minimum = max(permitted(station), float(-int(-station.minimum)))
    carrier = chance.choice((2, 3, 4))
    if plates["drive"]["output_filter_fitted"] == "sine_wave":
        carrier = 4
    up, down = _ramps(station, plates)
    found = {
        "minimum_frequency": q(f"{station.minimum:g}", "Hz"),
        "maximum_frequency": q(f"{round(station.maximum, 1):g}", "Hz"),
        "ramp_reference": chance.choice(("to_maximum_frequency", "to_rated_frequency")),
        "ramp_up_time": q(f"{up:g}", "s"), "ramp_down_time": q(f"{down:g}", "s"),
        "stop_mode": "ramp", "start_mode": "normal",
        "carrier_frequency": q(carrier, "kHz"),
        "output_filter": plates["drive"]["output_filter_fitted"],
    }  # fmt: skip
    if station.machine.type == "submersible_well":
        found |= {
            "first_ramp_time": q(1, "s"), "first_ramp_to_frequency": q(30, "Hz"),
            "last_ramp_time": q(1, "s"), "last_ramp_from_frequency": q(30, "Hz"),
        }  # fmt: skip
    return found


def _ramps(station: Station, plates: Document) -> tuple[float, float]:
    """Up by habit; down as long as a main needs it, by 2 L dv / (g t) and a margin of four."""
    up = station.chance.choice((8, 10, 15, 20))
    main = plates["site"].get("pipeline")
    if main is None:
        return up, station.chance.choice((10, 15, 20, 30))
    length = station.pen.si("length", main["length"])
    bore = station.pen.si("bore", main["inside_diameter"])
    velocity = station.design_flow / (0.7854 * bore**2)
    rating = station.pen.si("pressure", main["pressure_rating"])
    rest = station.weight * (station.lift["high"] + station.level["low"])
    room = max((rating - rest) / station.weight, 5.0)
    if station.dip:
        room = min(room, station.dip)  # nor is air drawn in at the high point
    stop = 2 * length * velocity / (9.81 * room)
    within = 1 - station.zero_flow("low") / station.maximum
    return up, float(max(20, 10 * -int(-(stop / max(within, 0.05) * 2.5) // 10)))


def _responses(station: Station, plates: Document) -> Document:
    """Restart, faults, hand."""
    motor = plates["motor"]
    found: Document = {
        "restart_delay": q(10, "s"), "restart_attempts": 3, "automatic_reset_count": 3,
        "automatic_reset_delay": q(30, "s"), "restart_after_power_loss": "restart_after_delay",
        "power_loss_response": "ride_through", "reverse_inhibited": True,
        "emc_filter_earthed": "connected", "output_phase_loss_response": "trip",
        "input_phase_loss_response": "none" if station.phases == 1 else "trip",
        "earth_fault_response": "trip", "no_flow_response": "none", "pump_arrangement": "single",
        "motor_thermal_sensor_response": "none" if motor["thermal_sensor"] == "none" else "trip",
        "hand_speed": q(f"{round((station.minimum + station.maximum) / 2):g}", "Hz"),
        "hand_protections_active": True, "dry_run_method": "none",
        "remote_control": {"start_source": "local", "status_signals": "running, fault"},
    }  # fmt: skip
    if motor.get("leak_sensor"):
        found["leak_sensor_response"] = "trip"
    if station.suction == "well":
        found |= {"dry_run_method": "underload", "dry_run_delay": q(5, "s"),
                  "dry_run_response": "stop_and_retry",
                  "dry_run_retry_delay": q(1800, "s")}  # fmt: skip
        found |= _dry_run_level(station)
    elif station.suction == "wet_well":
        found |= {"dry_run_method": "float", "dry_run_delay": q(3, "s"),
                  "dry_run_response": "stop"}  # fmt: skip
    elif station.suction != "pressurised_main":
        found |= {"dry_run_method": "flow_switch", "dry_run_delay": q(10, "s"),
                  "dry_run_response": "stop"}  # fmt: skip
    return found


def _dry_run_level(station: Station) -> Document:
    """Stop by the water over a transducer: under the pumping water, over the pump."""
    if not station.transducer:
        return {}
    at = station.transducer + 0.4 * (station.level["low"] - station.transducer)
    reference = "transmitter_zero" if station.apart.random() < 0.8 else "site_datum"
    if reference == "transmitter_zero":
        at -= station.transducer
    return {"dry_run_method": "level", "level_reference": reference,
            "dry_run_threshold": station.pen.put("length", at, step=0.1)}  # fmt: skip


# -- pressure ---------------------------------------------------------------------------------


def _pressure_loop(station: Station, plates: Document) -> Document:
    chance, pen = station.chance, station.pen
    sensor = plates["sensors"][0]
    upper = pen.si("pressure", sensor["upper_range_value"])
    fine = 1 if pen.us else 0.05
    boost = pen.rounded("pressure", min(0.03 * station.set_point, 0.3e5), fine)
    wake = station.set_point - max(0.06 * station.set_point, 0.2e5)
    held = station.weight * (station.level["high"] - station.z_sensor)
    found: Document = {
        "regulation": "closed_loop_in_drive", "regulated_quantity": "discharge_pressure",
        "set_point": pen.put("pressure", station.set_point, step=1 if pen.us else 0.1),
        "set_point_source": "local", "set_point_datum": "transmitter",
        "feedback_signal": sensor["output"],
        "input_selector": "current" if "mA" in sensor["output"] else "voltage",
        "feedback_at_lower_signal": pen.put("pressure", 0, step=1),
        "feedback_at_upper_signal": pen.put("pressure", upper, step=1),
        "feedback_filter_time": q("0.2", "s"), "action": "rising_feedback_slows",
        "proportional_gain": q("1.5", "1"), "gain_form": "series",
        "integral_time": q(chance.choice((3, 5, 8)), "s"), "derivative_time": q(0, "s"),
        "signal_loss_response": "stop", "signal_loss_delay": q(2, "s"),
        **_sleep(station),
        "sleep_delay": q(30, "s"), "sleep_boost": pen.put("pressure", boost, step=fine),
        "sleep_boost_time_limit": q(20, "s"), "wake_basis": "absolute",
        "wake_value": pen.put("pressure", max(wake, held * 1.03), step=fine),
        "wake_delay": q(2, "s"),
    }  # fmt: skip
    found |= _limits(station, plates, upper, fine) | _lost_below(station, sensor)
    _scaling(station, found, upper)
    if station.raised:
        found["flow_compensation"] = _compensation(station, found, upper)
    return found


def _compensation(station: Station, found: Document, upper: float) -> Document:
    """The set point counts at no flow; friction up to the design flow is added to it."""
    aim = found["set_point"]
    by_unit = {"%": upper / 100}
    more = station.raised / by_unit.get(aim["unit"], station.pen.unit("pressure")[1])
    return {
        "at_zero_flow": dict(aim),
        "at_design_flow": q(f"{float(aim['value']) + more:.2f}", aim["unit"]),
    }


def _lost_below(station: Station, sensor: Document) -> Document:
    """The signal below which it counts as lost, where the drive asks for it."""
    if sensor["output"] != "4-20 mA" or station.apart.random() > 0.35:
        return {}
    return {"signal_loss_threshold": q(station.apart.choice(("2", "3", "3.6")), "mA")}


def _sleep(station: Station) -> Document:
    """A little above the zero-flow frequency at the lowest suction.

    Where that is about the pump's best flow at the highest suction, or much of it at the lowest, no
    frequency tells that nobody draws water: the flow does.
    """
    above = station.chance.uniform(0.8, 1.8) * station.hertz / 50
    wanted = max(station.zero_flow("low") + above, station.minimum)
    pump, speed = station.machine.hydraulics, station.speed_of(wanted)
    best = pump.flow * speed / pump.speed
    for share, end in ((0.95, "high"), (0.6, "low")):
        if pump.head_at(share * best, speed, made=False) > station.static_head(end):
            return {"sleep_method": "flow"}
    return {"sleep_method": "frequency", "sleep_frequency": q(stepped(wanted, 0.1), "Hz")}


def _limits(station: Station, plates: Document, upper: float, fine: float) -> Document:
    """High and low limits around the set point, and of the suction."""
    pen = station.pen
    site = plates["site"]
    tops = [site[n] for n in ("discharge_pressure_limit", "relief_valve_setting") if n in site]
    ceiling = min([pen.si("pressure", each) for each in tops] + [0.96 * upper])
    wanted = station.set_point * 1.15 + 0.4e5
    high = min(wanted, ceiling)
    low = station.set_point * 0.55
    found = {
        "high_discharge_limit": pen.put("pressure", high - fine / 2, step=fine),
        "high_discharge_limit_delay": q(2, "s"), "high_discharge_limit_response": "stop",
        "high_discharge_limit_measured_by": "regulating_sensor",
        "low_discharge_limit": pen.put("pressure", low, step=fine),
        "low_discharge_limit_delay": q(60, "s"), "low_discharge_limit_response": "stop",
        "low_discharge_limit_measured_by": "regulating_sensor",
    }  # fmt: skip
    if station.suction == "pressurised_main":
        lowest = (station.level["low"] - station.z_suction) * station.weight
        found |= {
            "low_suction_limit": pen.put("pressure", lowest * 0.5, step=fine),
            "low_suction_limit_delay": q(5, "s"), "low_suction_limit_response": "stop_and_retry",
            "low_suction_limit_measured_by": "suction_sensor",
            "dry_run_method": "suction_pressure", "dry_run_delay": q(5, "s"),
            "dry_run_threshold": pen.put("pressure", lowest * 0.5, step=fine),
            "dry_run_response": "stop_and_retry", "dry_run_retry_delay": q(600, "s"),
        }  # fmt: skip
    return found


PERCENT = ("set_point", "wake_value", "sleep_boost", "low_discharge_limit", "high_discharge_limit")


def _scaling(station: Station, found: Document, upper: float) -> None:
    """Ordinary ways to scale otherwise: in %, shifted for the height, dead zero with a shift."""
    chance, pen = station.chance, station.pen
    way = chance.random()
    if way < 0.10:
        for name in PERCENT:
            share = pen.si("pressure", found[name]) / upper * 100
            found[name] = q(stepped(share, 0.1), "%")
        found["feedback_at_lower_signal"] = q(0, "%")
        found["feedback_at_upper_signal"] = q(100, "%")
        station.oddities.add("scaled in %")
    elif way < 0.16 and found["feedback_signal"] == "4-20 mA":
        found["feedback_signal"] = "0-20 mA"
        found["feedback_at_lower_signal"] = pen.put("pressure", -0.25 * upper, step=0.01)
        station.oddities.add("0-20 mA entered with a negative lower value")
    elif way < 0.24:
        shift = station.z_sensor * station.weight
        for name, at in (("lower", 0.0), ("upper", upper)):
            found[f"feedback_at_{name}_signal"] = pen.put("pressure", at + shift, step=0.01)
        found["set_point_datum"] = "pump_datum"
        for name in ("set_point", "wake_value", "low_discharge_limit", "high_discharge_limit"):
            value = pen.si("pressure", found[name]) + shift
            found[name] = pen.put("pressure", value, step=0.01)
        station.oddities.add("scaling shifted for the tapping's height")


# -- level ------------------------------------------------------------------------------------


def _levels(station: Station, plates: Document) -> Document:
    """Levels over the floor, in order."""
    pen = station.pen
    floor = floor_level(station)
    low, high = (station.level[end] - floor for end in ("low", "high"))
    heights = {
        "low_level_cutoff": low - 0.2, "stop_level": low + 0.05, "start_level": high,
        "lag_start_level": high + 0.25, "high_level_alarm": high + 0.6,
    }  # fmt: skip
    found: Document = {name: pen.put("length", height, step=0.01 if not pen.us else 0.1)
                       for name, height in heights.items()}  # fmt: skip
    found["level_reference"] = "floor"
    if station.chance.random() < 0.6:
        found |= {
            "pump_arrangement": "alternating", "pumps_in_group": 2, "pumps_maximum_running": 1,
            "alternation": "at_sleep", "failover": "start by float, fixed speed",
        }  # fmt: skip
    return found


def _level_loop(station: Station, plates: Document) -> Document:
    chance, pen = station.chance, station.pen
    sensor = plates["sensors"][0]
    found = _levels(station, plates)
    start, stop = (pen.si("length", found[f"{name}_level"]) for name in ("start", "stop"))
    over_floor = level_zero(station) - floor_level(station)
    upper = pen.si("length", sensor["upper_range_value"])
    station.set_point = pen.rounded("length", stop + 0.6 * (start - stop), 0.01)
    return found | {
        "regulation": "closed_loop_in_drive", "regulated_quantity": "level_emptying",
        "set_point": pen.put("length", station.set_point, step=0.01), "set_point_source": "local",
        "feedback_signal": "4-20 mA", "input_selector": "current",
        "feedback_at_lower_signal": pen.put("length", over_floor, step=0.01),
        "feedback_at_upper_signal": pen.put("length", over_floor + upper, step=0.01),
        "feedback_filter_time": q(1, "s"), "action": "rising_feedback_speeds_up",
        "proportional_gain": q(2, "1"), "gain_form": "series",
        "integral_time": q(60, "s") if chance.random() < 0.8 else "off",
        "derivative_time": q(0, "s"), "sleep_method": "none",
        "signal_loss_response": "preset_speed",
        "signal_loss_frequency": q(f"{round(station.maximum * 0.9):g}", "Hz"),
        "signal_loss_delay": q(2, "s"),
    }  # fmt: skip


# -- flow -------------------------------------------------------------------------------------


def _flow_loop(station: Station, plates: Document) -> Document:
    """A flow that is kept by the meter behind the pump; without its signal the pump stops."""
    meter = next(each for each in plates["sensors"] if each["quantity"] == "flow")
    return {
        "regulation": "closed_loop_in_drive", "regulated_quantity": "flow",
        "set_point": station.pen.put("flow", station.set_point, digits=3),
        "set_point_source": "local", "feedback_signal": meter["output"],
        "input_selector": "current",
        "feedback_at_lower_signal": dict(meter["lower_range_value"]),
        "feedback_at_upper_signal": dict(meter["upper_range_value"]),
        "feedback_filter_time": q(1, "s"), "action": "rising_feedback_slows",
        "proportional_gain": q("0.5", "1"), "gain_form": "series",
        "integral_time": q(station.apart.choice((10, 15, 20)), "s"), "derivative_time": q(0, "s"),
        "sleep_method": "none", "signal_loss_response": "stop", "signal_loss_delay": q(2, "s"),
        **_lost_below(station, meter),
    }  # fmt: skip
