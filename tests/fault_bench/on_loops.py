"""Mistakes in speeds, ramps, loop and limits."""

from dataclasses import replace

from . import visits
from .mistakes import in_unit, mistake, mistake_on_a_drive, number, times
from .physics import bisect
from .stand import Entered
from .stations import CLOSED
from .writing import q, stepped


def keeps_pressure(e: Entered) -> bool:
    return e.station.regulation == "pressure"


def has_charge(e: Entered) -> bool:
    """A vessel that gives water while the pump sleeps, and whose charge was read."""
    return keeps_pressure(e) and "vessel_checks" in e.document["event"]


def in_units(e: Entered) -> bool:
    """A pressure loop whose set point is written as a pressure."""
    return keeps_pressure(e) and e.settings["set_point"]["unit"] != "%"


def is_closed(e: Entered) -> bool:
    return e.station.regulation in CLOSED


def is_softened(e: Entered) -> bool:
    """Whether a vessel takes up what a quick stop does to the main."""
    return bool(e.document["site"]["surge_protection"] == "air_vessel")


def _is_scaled(e: Entered) -> bool:
    """A loop scaled in units for the signal that the sensor gives.

    Where both signals differ by name, a wrong scaling and a wrong signal look the same.
    """
    if not is_closed(e) or e.settings["feedback_at_upper_signal"]["unit"] == "%":
        return False
    return bool(e.settings["feedback_signal"] == e.document["sensors"][0]["output"])


# -- speeds and ramps -------------------------------------------------------------------------


@mistake_on_a_drive("minimum and maximum frequency swapped", "speed.order")
def swapped_range(e: Entered) -> None:
    left = e.settings
    left["minimum_frequency"], left["maximum_frequency"] = (
        left["maximum_frequency"], left["minimum_frequency"],
    )  # fmt: skip


@mistake("minimum frequency below the pump's", "speed.minimum-permitted")
def low_minimum(e: Entered) -> bool | None:
    if not keeps_pressure(e):
        return False
    e.settings["minimum_frequency"] = q(15, "Hz")
    return None


@mistake_on_a_drive("minimum frequency below zero flow on a lift", "speed.zero-flow")
def below_zero_flow(e: Entered) -> bool | None:
    if keeps_pressure(e):
        return False
    permitted = number(e.document["pump"]["minimum_frequency_permitted"])
    highest = e.station.zero_flow("high") - 1.5
    if permitted > highest:
        return False
    e.settings["minimum_frequency"] = q(stepped((permitted + highest) / 2, 0.1), "Hz")
    return None


@mistake_on_a_drive("maximum frequency with a digit too many", "speed.maximum-speed")
def high_maximum(e: Entered) -> bool | None:
    if e.station.maximum > 64:
        return False
    e.settings["maximum_frequency"] = times(e.settings["maximum_frequency"], 10)
    return None


@mistake_on_a_drive("maximum frequency of the other mains", "speed.maximum-speed")
def sixty_for_fifty(e: Entered) -> bool | None:
    if abs(e.station.maximum - 50) > 0.5 or e.station.hertz == 60:
        return False
    if e.station.motor.base_frequency != 50:
        return False
    e.settings["maximum_frequency"] = q(60, "Hz")
    return None


@mistake_on_a_drive("no quick first ramp for a well pump", "ramp.submersible")
def slow_ramp(e: Entered) -> bool | None:
    if e.station.machine.type != "submersible_well":
        return False
    for name in ("first_ramp_time", "first_ramp_to_frequency"):
        del e.settings[name]
    return None


@mistake("ramp down far too short for the main", "ramp.surge")
def short_ramp(e: Entered) -> bool | None:
    main = e.document["site"].get("pipeline")
    if not e.station.driven or main is None or is_softened(e):
        return False
    pen, station = e.station.pen, e.station
    bore = pen.si("bore", main["inside_diameter"])
    velocity = station.design_flow / (0.7854 * bore**2)
    # Slow stop within a second by 2 L dv / (g t), fast stop with the slowest wave there is.
    slow = 2 * pen.si("length", main["length"]) * velocity / 9.81
    rise = min(slow, {"pe": 250.0}.get(main["material"], 900.0) * velocity / 9.81)
    rest = station.lift["high"] + station.level["low"]
    if rest + 0.9 * rise < 1.15 * pen.si("pressure", main["pressure_rating"]) / station.weight:
        return False
    e.settings["ramp_down_time"] = q("0.5", "s")
    e.settings.pop("last_ramp_time", None)
    e.settings.pop("last_ramp_from_frequency", None)
    return None


# -- feedback ---------------------------------------------------------------------------------


@mistake("voltage input for a current signal", "loop.signal-type")
def current_into_voltage(e: Entered) -> bool | None:
    if not is_closed(e) or e.document["sensors"][0]["output"] != "4-20 mA":
        return False
    e.settings["feedback_signal"] = e.chance.choice(("0-10 V", "2-10 V", "0-5 V"))
    return None


@mistake("live zero read as dead zero", "loop.signal-type")
def dead_zero(e: Entered) -> bool | None:
    if not is_closed(e) or e.settings["feedback_signal"] != "4-20 mA":
        return False
    e.settings["feedback_signal"] = "0-20 mA"
    return None


@mistake("input selector on the other position", "loop.input-selector")
def selector(e: Entered) -> bool | None:
    if not is_closed(e):
        return False
    other = {"current": "voltage", "voltage": "current"}
    e.settings["input_selector"] = other[e.settings["input_selector"]]
    return None


@mistake("scaling of another transmitter", "loop.scaling")
def other_range(e: Entered) -> bool | None:
    if not _is_scaled(e):
        return False
    factor = e.chance.choice((0.6, 0.75, 1.5, 2.0))
    e.settings["feedback_at_upper_signal"] = times(e.settings["feedback_at_upper_signal"], factor)
    return None


@mistake("scaling in the other unit", "loop.scaling")
def other_unit(e: Entered) -> bool | None:
    upper = e.settings["feedback_at_upper_signal"] if _is_scaled(e) else {"unit": "%"}
    other = {"psi": "bar", "bar": "psi", "m": "ft", "ft": "m"}.get(upper["unit"])
    if other is None:
        return False
    for end in ("lower", "upper"):
        name = f"feedback_at_{end}_signal"
        e.settings[name] = in_unit(e.settings[name], other)
    return None


@mistake("transmitter's range entered wrong", "loop.scaling")
def sensor_range(e: Entered) -> bool | None:
    if not _is_scaled(e):
        return False
    sensor = e.document["sensors"][0]
    if number(sensor["upper_range_value"]) == 100:
        return False  # what was applied up to 100 then looks like a share of the range in %
    sensor["upper_range_value"] = times(sensor["upper_range_value"], e.chance.choice((0.5, 1.6)))
    return None


@mistake("direction of the loop", "loop.action")
def action(e: Entered) -> bool | None:
    if not is_closed(e):
        return False
    ways = ("rising_feedback_slows", "rising_feedback_speeds_up")
    e.settings["action"] = ways[e.settings["action"] == ways[0]]
    return None


@mistake("no response to a lost signal", "loop.signal-loss")
def signal_loss(e: Entered) -> bool | None:
    if not is_closed(e):
        return False
    e.settings["signal_loss_response"] = "none"
    return None


@mistake("integral part off", "loop.integral-off")
def integral(e: Entered) -> bool | None:
    if not keeps_pressure(e):
        return False
    e.settings["integral_time"] = e.chance.choice(("off", q(0, "s")))
    return None


@mistake("gain in % entered as a factor", "loop.gain")
def gain_in_percent(e: Entered) -> bool | None:
    if not keeps_pressure(e):
        return False
    e.settings["proportional_gain"] = q(e.chance.choice((80, 150, 400)), "1")
    return None


@mistake("milliseconds of the feedback's filter entered as seconds", "loop.feedback-filter")
def filter_in_seconds(e: Entered) -> bool | None:
    if not keeps_pressure(e):
        return False
    e.settings["feedback_filter_time"] = q(e.chance.choice((50, 100)), "s")
    return None


@mistake("delay of the high-pressure limit in minutes", "protection.delay-set")
def delay_in_minutes(e: Entered) -> bool | None:
    if not keeps_pressure(e) or "high_discharge_limit_delay" not in e.settings:
        return False
    e.settings["high_discharge_limit_delay"] = q(2, "min")
    for test in e.document["event"].get("protection_tests", ()):
        if test["function"] == "high_pressure" and "delay_measured" in test:
            test["delay_measured"] = q(120, "s")
    return None


@mistake("a difference to be kept, measured by one gauge cell", "loop.differential")
def difference_of_one(e: Entered) -> bool | None:
    """Where a suction sensor stands beside it the drive may subtract."""
    if not keeps_pressure(e) or "suction_sensor" in e.document["pump_set"]:
        return False
    e.settings["regulated_quantity"] = "differential_pressure"
    return None


@mistake("full speed on a lost level, with nothing to stop it dry", "loop.signal-loss")
def level_lost(e: Entered) -> bool | None:
    if e.station.regulation != "level":
        return False
    e.settings["signal_loss_response"] = "maximum_speed"
    e.settings["dry_run_response"] = e.chance.choice(("alarm", "none"))
    return None


@mistake("a loop that leaves the drive at full speed", "loop.set-point-held")
def not_regulated(e: Entered) -> bool | None:
    """The same flow through a throttled valve, at the speed of the highest frequency."""
    if not keeps_pressure(e):
        return False
    station = e.station
    index = next((i for i, each in enumerate(station.points) if each.purpose == "normal"), None)
    if index is None:
        return False
    was, pump = station.points[index], station.machine.hydraulics
    speed = was.speed * (station.maximum - 0.5) / was.frequency
    head = pump.head_at(was.flow, speed)
    shaft = pump.power_at(was.flow, speed, station.rho)
    point = replace(
        was, head=head, speed=speed, shaft=shaft, frequency=station.maximum - 0.5,
        torque_share=shaft / speed / station.motor.rated_torque,
        discharge=was.discharge + (head - was.head) * station.weight,
    )  # fmt: skip
    wanted = max(0.18 * station.set_point, 0.6e5) + 0.3e5 + station.raised
    if point.discharge - was.discharge < wanted or point.torque_share > 1:
        return False
    e.points[index] = visits.duty_point(station, e.document, point)
    return None


@mistake("pumps that come and go", "station.staging")
def staged_too_near(e: Entered) -> bool | None:
    """Two share what one gave: slower than they are taken away at."""
    station, pump = e.station, e.station.machine.hydraulics
    if not keeps_pressure(e) or station.suction == "well":
        return False
    on = station.maximum - 0.5
    shared, fast = 0.0, station.speed_of(on)
    for end in ("low", "high"):
        head = station.static_head(end)
        if pump.head_at(0.0, fast, made=False) < head * 1.05:
            return False
        flow = bisect(
            lambda through, head=head: head - pump.head_at(through, fast, made=False),
            0.0, pump.flow * 1.25 * fast / pump.speed,
        )  # fmt: skip
        alike = pump.speed_for(flow / 2, head, made=False)
        shared = max(shared, station.frequency_of(alike))
    off = shared + 0.35 * (on - shared)
    if on - off < 0.8 or off - shared < 0.6:
        return False
    left = e.settings
    left.pop("sleep_frequency", None)
    left |= {
        "sleep_method": "flow",
        "pump_arrangement": "lead_lag", "pumps_in_group": 2, "pumps_maximum_running": 2,
        "stage_on_frequency": q(stepped(on, 0.1), "Hz"), "stage_on_delay": q(10, "s"),
        "stage_off_frequency": q(stepped(off, 0.1), "Hz"), "stage_off_delay": q(10, "s"),
        "alternation": "at_sleep", "failover": "the other pump leads",
    }  # fmt: skip
    return None


@mistake("a second controller above the drive", "loop.two-controllers")
def two_controllers(e: Entered) -> bool | None:
    if not is_closed(e):
        return False
    e.settings["speed_reference_signal"] = "4-20 mA"
    return None


# -- set point and limits ---------------------------------------------------------------------


@mistake("set point in bar on a psi display, or the other way", "loop.set-point-unit")
def set_point_unit(e: Entered) -> bool | None:
    if not in_units(e):
        return False
    factor = 1 / 14.504 if e.station.pen.us else 14.504
    e.settings["set_point"] = times(e.settings["set_point"], factor)
    return None


@mistake("set point above the relief valve", "loop.limits-order")
def above_relief(e: Entered) -> bool | None:
    if not in_units(e):
        return False
    lower = times(e.settings["set_point"], 0.9)
    e.document["site"]["relief_valve_setting"] = lower
    return None


@mistake("high limit below the set point", "loop.limits-order")
def low_high_limit(e: Entered) -> bool | None:
    if not in_units(e):
        return False
    e.settings["high_discharge_limit"] = times(e.settings["set_point"], 0.97)
    _acted_there(e)
    return None


def _acted_there(e: Entered) -> None:
    """The protection acts where its limit is."""
    for test in e.document["event"]["protection_tests"]:
        if test["function"] == "high_pressure" and "limit_at_trip" in test:
            test["limit_at_trip"] = e.settings["high_discharge_limit"]


@mistake("high limit beyond the transmitter's range", "loop.limit-measurable")
def unseen_limit(e: Entered) -> bool | None:
    site = e.document["site"]
    if not in_units(e) or e.document["sensors"][0]["output"] != "4-20 mA":
        return False
    upper = e.settings["feedback_at_upper_signal"]
    limits = [site.get("relief_valve_setting"), site["discharge_pressure_limit"],
              e.document["pump"].get("maximum_working_pressure"),
              *(each["maximum_pressure"] for each in e.document.get("vessels", ()))]  # fmt: skip
    if any(limit and number(limit) < number(upper) * 1.06 for limit in limits):
        return False
    shut_off = e.station.shut_off_pressure(e.station.maximum)
    bears = min(number(limit) for limit in limits if limit)
    if shut_off > bears * e.station.pen.unit("pressure")[1]:
        return False
    e.settings["high_discharge_limit"] = times(upper, 1.04)
    _acted_there(e)
    return None


@mistake("low suction limit above the ordinary suction", "protection.low-suction-limit")
def suction_limit(e: Entered) -> bool | None:
    if not keeps_pressure(e) or "low_suction_limit" not in e.settings:
        return False
    low = e.document["site"]["suction_pressure_low"]
    e.settings["low_suction_limit"] = times(low, 1.05)
    return None


@mistake("low pressure limit above the set point", "loop.limits-order")
def low_limit(e: Entered) -> bool | None:
    if not in_units(e):
        return False
    e.settings["low_discharge_limit"] = times(e.settings["set_point"], 1.05)
    return None
