"""Plain rules of plates, drive, settings and loop; `bare_rules` says which and what for."""

from math import inf, sqrt

from calculations.findings import Severity, Shown
from calculations.rule import about, percent, show
from tests.benchmarks.bare_curves import value
from tests.benchmarks.bare_events import LEFT, RATING, TESTED, WINDING
from tests.benchmarks.bare_formulas import CURRENTS, _unbalance
from tests.benchmarks.bare_telling import (
    Told,
    above,
    flow_at_head,
    hydraulics,
    needed_head,
    places_of,
)


def supply_phases(told: Told) -> None:
    """As many voltages as phases."""
    place, at = "/event/supply/line_voltages", told.known.at
    if told.lacks("supply.phases", place, "/site/supply_phases", place):
        return
    found, phases = len(at[place]), at["/site/supply_phases"]
    if found != phases:
        compared = {"voltages": Shown(str(found), "1"), "phases": Shown(str(phases), "1")}
        told.say("supply.phases", "count", "review", place, compared)


def motor_slip(told: Told) -> None:
    """Ordinary slip at the stated poles."""
    at, speed = told.known.at, f"{RATING}/speed"
    if told.lacks("motor.slip", RATING, "/motor/kind", speed, f"{RATING}/frequency"):
        return
    slip = 1.0 - at[speed] * at["/motor/poles"] / 2.0 / at[f"{RATING}/frequency"]
    largest = 0.15 if at.get(f"{RATING}/power", inf) < 750.0 else 0.1
    if slip <= 0.0 or above(slip, largest + told.known.half[speed] / at[speed]) or slip < 0.002:
        raise NotImplementedError("slip")


def table_current(told: Told) -> None:
    """Plate current against the code's table."""
    at, half, current = told.known.at, told.known.half, f"{RATING}/current"
    needs = ("/site/electrical_practice", f"{RATING}/power", f"{RATING}/voltage", current)
    if told.lacks("motor.full-load-current-table", RATING, *needs):
        return
    horsepower = at[f"{RATING}/power"] / 745.6998715822702
    nearest = min(CURRENTS, key=lambda each: abs(each - horsepower))
    ratio = at[current] / CURRENTS[nearest]
    margin = ratio * half[current] / at[current]
    if above(0.6, ratio + margin) or above(ratio - margin, 1.15):
        raise NotImplementedError("outside the table")


def motor_frequency(told: Told) -> None:
    """Frequency as set against the plate's."""
    at, place = told.known.at, f"{LEFT}/motor_frequency"
    needs = (place, f"{RATING}/frequency", f"{RATING}/voltage")
    if told.lacks("drive.motor-frequency", place, *needs):
        return
    if above(abs(at[place] / at[f"{RATING}/frequency"] - 1.0), 0.05):
        raise NotImplementedError("another frequency")


def environment(told: Told) -> None:
    """Air at the drive, and altitude."""
    at, place = told.known.at, "/drive/ambient_at_drive"
    if told.lacks("drive.environment", place, place):
        return
    if at.get("/site/elevation", 0.0) > at.get("/drive/altitude_limit", inf):
        raise NotImplementedError("too high")
    limit = at.get("/drive/ambient_max", 328.15)
    if above(at[place] - told.known.half[place], limit):
        air = told.known.text[place]
        shown = about(limit, air.unit)
        compared = {"air": air, "limit": shown}
        told.say("drive.environment", "hot", "review", place, compared, str(shown), assumed="")


def cable_length(told: Told) -> None:
    """Motor cable against the drive's own limit."""
    known, place = told.known, "/drive/motor_cable_length"
    highest = "/drive/maximum_motor_cable_length"
    if told.lacks("drive.cable-length", place, place, highest):
        return
    if above(known.at[place] - known.half[place], known.at[highest]):
        compared = {"length": known.text[place], "highest": known.text[highest]}
        told.say("drive.cable-length", "long", "review", place, compared, "the drive's own limit")


def reflected_wave(told: Told) -> None:
    """Peak at the motor's terminals at the end of a long cable."""
    at, place = told.known.at, "/drive/motor_cable_length"
    if at.get("/drive/output_filter_fitted") in ("sine_wave", "dv_dt"):
        return
    if told.lacks("drive.reflected-wave", place, place, "/drive/output_filter_fitted"):
        return
    supply, highest = at["/site/supply_nominal_voltage"], "/drive/maximum_motor_cable_length"
    length = at[place] - told.known.half[place]
    length = min(length, at.get(highest, length))
    if not above(length, 150e6 * 0.1e-6 / 2.0) or supply < 380.0:
        return
    if at["/drive/output_filter_fitted"] == "reactor":
        raise NotImplementedError("a reactor")
    bears = at.get("/motor/peak_voltage_limit")
    if bears is None or above(1.9 * sqrt(2.0) * supply, bears):
        raise NotImplementedError("a peak")


def output_capacitors(told: Told) -> None:
    """No capacitors behind a drive."""
    place = "/drive/output_capacitors"
    if not told.lacks("drive.output-capacitors", place, place) and told.known.at[place]:
        told.say("drive.output-capacitors", "fitted", "stop", place, {})


def voltage_of_the_test(told: Told) -> None:
    """Test voltage of the insulation against the winding's."""
    known, place, plate = told.known, f"{TESTED}/insulation/test_voltage", f"{RATING}/voltage"
    if told.lacks("insulation.test-voltage", place, place, plate):
        return
    if known.at[plate] >= 1000.0:
        raise NotImplementedError("higher voltage")
    usual, tested, half = 500.0, known.at[place], known.half[place]
    if above(usual * 0.85, tested + half) or above(tested - half, usual * 1.15):
        shown = str(show(usual, "V"))
        compared = {"voltage": known.text[place], "plate": known.text[plate]}
        variant = "high" if tested > usual else "low"
        told.say("insulation.test-voltage", variant, "review", place, compared, shown, usual=shown)


def resistance_unbalance(told: Told) -> None:
    """Winding resistance from phase to phase."""
    known, at = told.known, told.known.at
    if told.lacks("winding.resistance-unbalance", WINDING, WINDING):
        return
    values = at[WINDING]
    unbalance = _unbalance(values)
    written = 2 * max(known.half[f"{WINDING}/{index}"] for index in range(len(values)))
    resolution = max(written, at.get(f"{TESTED}/winding_resistance/resolution", 0.0))
    coarse = resolution / (sum(values) / len(values))
    review = 0.01 if at[f"{RATING}/voltage"] >= 1000.0 else 0.02
    if above(coarse, 0.01):
        raise NotImplementedError("too coarse")
    if not above(unbalance - coarse, review):
        return
    four_wire = at.get(f"{TESTED}/winding_resistance/method") == "four_wire"
    severity: Severity = "stop" if above(unbalance - coarse, 0.05) and four_wire else "review"
    compared = {
        name: known.text[f"{WINDING}/{index}"]
        for index, name in enumerate(("first", "second", "third"))
    }
    told.say(
        "winding.resistance-unbalance", "unbalance", severity, WINDING,
        compared | {"unbalance": about(unbalance, "%")},
        f"{percent(review)} review, {percent(0.05)} stop, both plus {percent(coarse)} of "
        "resolution",
    )  # fmt: skip


def speed_order(told: Told) -> None:
    """Minimum below maximum frequency."""
    known = told.known
    low, high = f"{LEFT}/minimum_frequency", f"{LEFT}/maximum_frequency"
    if told.lacks("speed.order", low, low, high):
        return
    if known.at[low] >= known.at[high]:
        variant = "equal" if known.at[low] == known.at[high] else "reversed"
        compared = {"minimum": known.text[low], "maximum": known.text[high]}
        told.say("speed.order", variant, "stop", low, compared)
    elif known.at.get(f"{LEFT}/skip_bands"):
        raise NotImplementedError("skipped bands")


def maximum_power(told: Told) -> None:
    """Shaft power along the whole curve at the maximum frequency."""
    at, place = told.known.at, f"{LEFT}/maximum_frequency"
    if told.waits("speed.maximum-power", place, "speed.order"):
        return
    power = f"{RATING}/power"
    needs = (place, power, f"{RATING}/frequency", f"{RATING}/speed", "/pump/curve_points")
    if told.lacks("speed.maximum-power", place, *needs):
        return
    made = hydraulics(told)
    last = made.flows[-1]
    flows = (*(last * step / 16 for step in range(1, 17)), *made.flows[1:])
    highest = max(q * value(made.heads, q) / value(made.etas, q) for q in flows) * made.weight
    torque = highest / made.speed * at[f"{RATING}/speed"] / at[power]
    needed = highest * (made.slip.under(at[place], torque) / made.speed) ** 3
    share = needed / (at[power] * min(at[place] / at[f"{RATING}/frequency"], 1.0))
    if above(share / (1 + min(told.known.half[power] / at[power], 0.01)), 1.0):
        raise NotImplementedError("overloaded")


def loop_kinds(told: Told) -> None:
    """Values of a pressure loop are pressures, or shares."""
    at, kind = told.known.at, told.known.kind
    if at["/sensors/0/quantity"] not in ("pressure", "differential_pressure"):
        raise NotImplementedError("another sensor")
    places = [
        f"{LEFT}/{name}"
        for name in (
            "set_point", "feedback_at_lower_signal", "feedback_at_upper_signal", "wake_value",
            "sleep_boost", "stage_set_point_offset",
        )
    ]  # fmt: skip
    for name in ("low_suction_limit", "low_discharge_limit", "high_discharge_limit"):
        if at.get(f"{LEFT}/{name}_measured_by") == "regulating_sensor":
            places.append(f"{LEFT}/{name}")
    places += [f"{LEFT}/low_suction_limit", f"{LEFT}/dry_run_threshold"]
    for step in places_of(told, "/event/step_tests"):
        places += [f"{step}/from_value", f"{step}/to"]
    if any(kind.get(place, "pressure") not in ("pressure", "ratio") for place in places):
        raise NotImplementedError("another kind")


def reachable(told: Told) -> None:
    """The pump holds the set point at the maximum frequency, with the flow that is wanted."""
    at, place, rule = told.known.at, f"{LEFT}/set_point", "loop.set-point-reachable"
    if told.waits(rule, place, "speed.order") or told.lacks(
        rule, place, place, f"{LEFT}/maximum_frequency", "/pump/curve_points"
    ):
        return
    made = hydraulics(told)
    needed = needed_head(told, made, "low")
    highest = at[f"{LEFT}/maximum_frequency"]
    ratio = made.slip.speed(highest, 0.0) / made.speed
    if not above(ratio * ratio * value(made.heads, 0.0), needed):
        raise NotImplementedError("out of reach")
    if flow_at_head(made, highest, needed) < at["/site/system_design_flow"] * (1 - 0.1):
        raise NotImplementedError("little flow")


def derivative(told: Told) -> None:
    """No derivative action."""
    known, place = told.known, f"{LEFT}/derivative_time"
    if known.at.get(place, 0.0) > 0.0:
        compared = {"derivative_time": known.text[place]}
        told.say("loop.derivative", "on", "note", place, compared)


def sleep_window(told: Told) -> None:
    """Room between the zero-flow and the sleep frequency, and what is drawn there."""
    at, place, rule = told.known.at, f"{LEFT}/sleep_frequency", "loop.sleep-window"
    parents = ("loop.set-point-reachable", "speed.order")
    if told.waits(rule, place, *parents) or told.lacks(rule, place, place, f"{LEFT}/set_point"):
        return
    made = hydraulics(told)
    needed = [needed_head(told, made, end) for end in ("low", "high")]
    turns = made.speed * sqrt(needed[0] / value(made.heads, 0.0))
    if at[place] - made.slip.frequency(turns, 0.0) < 0.5:
        raise NotImplementedError("narrow, or as far as slip is known")
    best = at["/pump/best_efficiency_flow"] * at[place] / made.per_speed / made.speed
    if above(flow_at_head(made, at[place], needed[1]), 0.5 * best):
        raise NotImplementedError("much flow")


def shared_sensor(told: Told) -> None:
    """One sensor for several pumps."""
    if told.known.at.get("/neighbours"):
        raise NotImplementedError("a group")


def well_levels(told: Told) -> None:
    """Depths of a well in their order."""
    if "well" in (told.known.at["/site/suction_kind"], told.known.at["/site/kind"]):
        raise NotImplementedError("a well")


DELAYS = (
    ("high_discharge_limit_delay", "high_discharge_limit", 10.0),
    ("low_suction_limit_delay", "low_suction_limit", 60.0),
    ("dry_run_delay", "dry_run_method", 60.0),
    ("no_flow_delay", "no_flow_response", 300.0),
    ("low_discharge_limit_delay", "low_discharge_limit", 600.0),
    ("signal_loss_delay", "signal_loss_response", 30.0),
    ("sleep_delay", "sleep_frequency", 900.0),
    ("wake_delay", "wake_value", 60.0),
)


def delay_set(told: Told) -> None:
    """Delays that hold a protection back too long."""
    known = told.known
    for name, of, limit in DELAYS:
        place = f"{LEFT}/{name}"
        set_ = known.at.get(place)
        if set_ is None or known.at.get(f"{LEFT}/{of}") in (None, "none"):
            continue
        if above(set_, limit):
            compared, told_limit = {"delay": known.text[place]}, f"at most {show(limit, 's')}"
            told.say("protection.delay-set", name, "review", place, compared, told_limit)
