"""Mistakes in sleep, wake and levels."""

from .mistakes import mistake, mistake_on_a_drive, number, times
from .on_loops import in_units, keeps_pressure
from .plates import floor_level
from .stand import Entered
from .writing import q, stepped


def _sleeps_on_frequency(e: Entered) -> bool:
    return keeps_pressure(e) and "sleep_frequency" in e.settings


def _has_levels(e: Entered) -> bool:
    return e.station.driven and "start_level" in e.settings


# -- sleep and wake ---------------------------------------------------------------------------


@mistake("wake above the set point", "loop.wake")
def wake_above(e: Entered) -> bool | None:
    if not keeps_pressure(e):
        return False
    e.settings["wake_value"] = times(e.settings["set_point"], 1.06)
    return None


@mistake("wake difference entered as a value", "loop.wake")
def wake_difference(e: Entered) -> bool | None:
    if not in_units(e):
        return False
    away = number(e.settings["set_point"]) - number(e.settings["wake_value"])
    e.settings["wake_value"] = q(f"{away:.2f}", e.settings["set_point"]["unit"])
    return None


@mistake("sleep below zero flow", "loop.sleep-order")
def never_sleeps(e: Entered) -> bool | None:
    if not _sleeps_on_frequency(e):
        return False
    wanted = e.station.zero_flow("low") - 3
    if wanted < e.station.minimum:
        e.settings["minimum_frequency"] = e.document["pump"]["minimum_frequency_permitted"]
    if wanted < number(e.document["pump"]["minimum_frequency_permitted"]) + 0.5:
        return False
    e.settings["sleep_frequency"] = q(stepped(wanted, 0.1), "Hz")
    return None


@mistake("minimum frequency above sleep", "loop.sleep-range")
def minimum_above_sleep(e: Entered) -> bool | None:
    if not _sleeps_on_frequency(e):
        return False
    wanted = number(e.settings["sleep_frequency"]) + 0.5
    if e.trace is not None and max(e.trace[1]["output_frequency"][1]) < wanted + 1:
        return False  # the step would have been held by it
    e.settings["minimum_frequency"] = q(stepped(wanted, 0.1), "Hz")
    return None


@mistake("falls asleep at the design flow", "loop.sleep-order")
def sleeps_at_once(e: Entered) -> bool | None:
    if not _sleeps_on_frequency(e):
        return False
    top = number(e.settings["maximum_frequency"])
    if e.station.zero_flow("low") > top - 3:
        return False
    e.settings["sleep_frequency"] = q(stepped(top - 0.2, 0.1), "Hz")
    return None


@mistake("sleep at the very edge of zero flow", "loop.sleep-window", by_note=True)
def narrow(e: Entered) -> bool | None:
    """A note is enough: where slip leaves much uncertain, no more can be told.

    Nothing where plate and curve let zero flow be expected half a hertz lower than it is: only a
    reading at the closed valve shows there that the room is narrow.
    """
    if not _sleeps_on_frequency(e) or e.station.zero_flow("low") < e.station.minimum + 0.3:
        return False
    sleep = e.station.zero_flow("low") + 0.05
    shut = any(point["purpose"] == "shut_off" for point in e.points)
    if not shut and sleep > e.station.zero_flow_as_told("low") + 0.47:
        return False
    e.settings["sleep_frequency"] = q(stepped(sleep, 0.01), "Hz")
    return None


@mistake("nothing for no demand", "speed.dead-head")
def dead_head(e: Entered) -> bool | None:
    if not keeps_pressure(e) or e.settings["dry_run_method"] in ("underload", "flow_switch"):
        return False
    e.settings["sleep_method"] = "none"
    return None


# -- levels -----------------------------------------------------------------------------------


@mistake("start level below stop level", "level.order")
def start_below_stop(e: Entered) -> bool | None:
    if not _has_levels(e):
        return False
    left = e.settings
    left["start_level"], left["stop_level"] = left["stop_level"], left["start_level"]
    return None


@mistake("high alarm above the overflow", "level.alarm-below-overflow")
def high_alarm(e: Entered) -> bool | None:
    if not _has_levels(e):
        return False
    pen = e.station.pen
    overflow = pen.si("length", e.document["site"]["overflow_level"]) - floor_level(e.station)
    e.settings["high_level_alarm"] = pen.put("length", overflow + 0.2)
    return None


@mistake("start level over the inlet", "level.inlet")
def over_the_inlet(e: Entered) -> bool | None:
    if not _has_levels(e) or "inlet_invert" not in e.document["site"]:
        return False
    pen = e.station.pen
    low, high = (e.station.level[end] for end in ("low", "high"))
    e.document["site"]["inlet_invert"] = pen.put("length", (low + high) / 2, step=0.01)
    return None


@mistake("lag start at the start level", "level.order")
def lag_with_lead(e: Entered) -> bool | None:
    if not _has_levels(e) or "lag_start_level" not in e.settings:
        return False
    e.settings["lag_start_level"] = e.settings["start_level"]
    tests = e.document["event"].get("level_tests", [])
    e.document["event"]["level_tests"] = [each for each in tests if each["name"] != "lag_start"]
    return None


@mistake("start and stop level too near", "well.starts")
def near_levels(e: Entered) -> bool | None:
    if not _has_levels(e):
        return False
    pen, left = e.station.pen, e.settings
    start, stop = (pen.si("length", left[f"{name}_level"]) for name in ("start", "stop"))
    near = stop + (start - stop) / 100
    left["start_level"] = pen.put("length", near, step=0.001)
    for test in e.document["event"]["level_tests"]:
        if test["name"] == "start":
            test |= {"level_measured": left["start_level"], "level_indicated": left["start_level"]}
    return None


@mistake_on_a_drive("no dry-run protection of a well pump", "well.dry-run")
def no_dry_run(e: Entered) -> bool | None:
    if e.station.suction != "well":
        return False
    e.settings["dry_run_method"] = "none"
    return None


def _keeps_level(e: Entered) -> bool:
    """A level loop scaled in units, its levels set."""
    scaled = e.station.regulation == "level" and _has_levels(e)
    return scaled and e.settings["feedback_at_upper_signal"]["unit"] != "%"


@mistake("low cut-off below the transmitter's zero", "level.in-range")
def cut_off_unread(e: Entered) -> bool | None:
    if not _keeps_level(e):
        return False
    pen, left = e.station.pen, e.settings
    zero = pen.si("length", left["feedback_at_lower_signal"])
    left["low_level_cutoff"] = pen.put("length", zero - 0.05, step=0.01)
    return None


@mistake("level kept where the pump has stopped already", "level.set-point")
def kept_below_stop(e: Entered) -> bool | None:
    if not _keeps_level(e) or e.document.get("neighbours"):
        return False  # the other set of the well would keep another level
    e.settings["set_point"] = e.settings["stop_level"]
    return None


@mistake("set point of the night off the scale", "loop.set-point-in-span")
def night_off_the_scale(e: Entered) -> bool | None:
    if not _keeps_level(e):
        return False
    night = times(e.settings["feedback_at_upper_signal"], 1.04)
    e.settings["set_point_alternatives"] = [{"set_point": night, "schedule": "22:00 to 06:00"}]
    return None
