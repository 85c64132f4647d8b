"""The start-up of a station: tests, readings with the noise of their instruments, protections."""

from copy import deepcopy
from math import sqrt
from typing import Any

from .plates import floor_level
from .stations import CLOSED, Point, Station
from .writing import Document, q, significant, stepped

VERIFIED = ("PT-1", "PT-2", "LT-1")
TRACE = "01890a5d-ac96-774b-bcce-b302099a8057"
CHECKED = ("coupling_aligned", "guard_fitted", "lubricated", "turned_by_hand", "primed_and_vented",
           "suction_valve_open", "anchor_bolts", "cooling_path_clear")  # fmt: skip
PHOTOS = ("motor_plate", "drive_plate", "sensor_plate", "terminal_links")


def event(station: Station, plates: Document, settings: Document | None) -> Document:
    """A complete start-up."""
    pen, chance = station.pen, station.chance
    # A room is ventilated for what its motor allows at the altitude: 1 K less for each 100 m.
    ambient = min(chance.uniform(14, 34), 37 - max(station.elevation - 1000, 0) / 100)
    found: Document = {
        "kind": "start_up", "performed_at": "2026-05-14T09:30:00+00:00",
        "performed_until": "2026-05-14T15:10:00+00:00",
        "parties": {"performed_by": "First technician"}, "isolation_confirmed": True,
        "ambient_temperature": pen.temperature(ambient),
        "liquid_temperature": pen.temperature(station.liquid),
        "reading_unit_system": "us" if pen.us else "si",
        "instruments": [each["serial"] for each in plates["instruments"]], "hours_run": q(2, "h"),
        "start_count": 5, "energy_counter": q(35, "kWh"), "supply": _supply(station),
        "motor_tests": _motor_tests(station, plates, ambient),
        "earth_tests": [{"from": "motor frame", "to": "earth bar",
                         "resistance": q(stepped(chance.uniform(0.02, 0.3), 0.01), "ohm")}],
        "mechanical_checks": [{"item": item, "result": "ok"} for item in CHECKED],
        "rotation": _rotation(station),
        "duty_points": [duty_point(station, plates, each) for each in station.points],
        "attachments": [
            {"purpose": each, "name": f"{each}.jpg", "sha256": "b" * 64} for each in PHOTOS
        ],
    }  # fmt: skip
    if settings is not None:
        found["settings"] = {"as_left": settings}
        found["settings_file"] = {"purpose": "settings_file", "name": "d.bin", "sha256": "a" * 64}
    elif station.apart.random() < 0.7:
        found["settings"] = {"as_left": relay(station)}
    if station.kind == "lift_station":
        found["level_tests"] = _level_tests(station, settings)
        if chance.random() < 0.8:
            found["drawdown_tests"] = [_drawdown(station)]
    _closed_loop(station, plates, settings, found)
    if plates["site"]["surge_protection"] == "air_vessel":
        _surge_vessel(station, plates, found)
    found["protection_tests"] = _protections(station, settings)
    if not plates["pump"].get("curve_points"):
        found["not_possible"] = [
            {"task": f"pump plate, curve {each}", "reason": "none is left"}
            for each in ("points", "origin")
        ]
    return found


def relay(station: Station) -> Document:
    """The overload relay of a set without a drive: by the plate, or inside a star-delta's delta.

    What a code grants beside a service factor of 1.15 is used now and then.
    """
    motor, apart = station.motor, station.apart
    amperes = motor.current
    if motor.hp and motor.service_factor >= 1.15 and apart.random() < 0.2:
        amperes *= 1.2
    elif not motor.hp and not motor.immersed and motor.power > 5e3 and apart.random() < 0.3:
        amperes /= sqrt(3)
        station.oddities.add("relay inside the delta")
    set_at = significant(amperes, 2 if amperes < 10 else 3)
    return {"overload_current": q(set_at, "A"), "overload_basis": "absolute",
            "overload_class": "10"}  # fmt: skip


TODAY, BEFORE = "2026-05-14", "2025-05-06"
CALIBRATED_BEFORE = ("2025-01-14", "2026-01-14")


def a_year_before(station: Station, plates: Document, settings: Document | None) -> Document:
    """The start-up of the same set, as sound, with readings of its own."""
    found = deepcopy(plates)
    event_then = event(station, found, deepcopy(settings))
    found["event"] = event_then
    for name in ("performed_at", "performed_until"):
        event_then[name] = event_then[name].replace(TODAY, BEFORE)
    for step in event_then.get("step_tests", ()):
        step["time"] = step["time"].replace(TODAY, BEFORE)
    for each in found["instruments"]:
        each["calibrated_on"], each["due_on"] = CALIBRATED_BEFORE
    now = plates["event"]["motor_tests"]["insulation"]
    for name in ("resistance_30_s", "resistance_1_min", "resistance_10_min"):
        event_then["motor_tests"]["insulation"].pop(name, None)
        if name in now:
            event_then["motor_tests"]["insulation"][name] = dict(now[name])
    tests = plates["event"]["motor_tests"]
    event_then["motor_tests"]["winding_resistance"] = deepcopy(tests["winding_resistance"])
    shaken_alike(event_then["duty_points"], plates["event"]["duty_points"])
    station.oddities.add("visited a year before")
    return found


def shaken_alike(then: list[Document], now: list[Document]) -> None:
    """At its points of `then` a set shakes as it does at those of `now`."""
    for before, point in zip(then, now, strict=True):
        for name in ("vibration", "bearing_temperatures", "motor_temperature"):
            before.pop(name, None)
            if name in point:
                before[name] = deepcopy(point[name])


# -- electrical -------------------------------------------------------------------------------


def _supply(station: Station) -> Document:
    """Within the usual band, a little unbalanced; the generator's frequency wanders more."""
    chance = station.chance
    mean = station.supply * chance.uniform(0.965, 1.045)
    spread = min(abs(chance.gauss(0, 0.006)), 0.015)
    shares = [(-1, 0.3, 0.7), (0.2, 0.8, -1), (1, -0.4, -0.6)][chance.randrange(3)]
    volts = [mean * (1 + spread * share) for share in shares][: 1 if station.phases == 1 else 3]
    link: Document = {}
    if station.driven and station.apart.random() < 0.3:
        link["dc_bus_voltage"] = q(round(mean * station.apart.uniform(1.33, 1.42)), "V")
    return link | {
        "measured_at": "drive_input" if station.driven else "incoming_terminals",
        "under_load": True, "line_voltages": [q(round(each), "V") for each in volts],
        "frequency": q(stepped(station.hertz * chance.uniform(0.997, 1.003), 0.1), "Hz"),
    }  # fmt: skip


def _motor_tests(station: Station, plates: Document, ambient: float) -> Document:
    motor, chance = station.motor, station.chance
    lost = motor.power * (1 / motor.efficiency - 1)
    ohms = 2 * 0.35 * lost / (3 * motor.current**2)
    values = [ohms * (1 + chance.uniform(-0.006, 0.006)) for _ in range(3)]
    fine = chance.random() < 0.6
    if fine or ohms < 0.02:
        texts, resolution, method = [significant(v, 4) for v in values], None, "four_wire"
        resolution = 10 ** -(len(texts[0].split(".")[1]) if "." in texts[0] else 0)
    else:
        step = 0.01 if ohms < 5 else 0.1
        texts, resolution, method = [stepped(v + 0.05, step) for v in values], step, "two_wire"
        station.oddities.add("winding by two wires")
    at = "well_head" if station.suction == "well" and motor.immersed else "motor_terminals"
    tested: Document = {
        "winding_resistance": {
            "values": [q(text, "ohm") for text in texts], "method": method,
            "resolution": q(f"{resolution:.6f}".rstrip("0").rstrip("."), "ohm"),
            "winding_temperature": station.pen.temperature(ambient), "at": at,
        },
        "insulation": _insulation(station, ambient, at),
    }  # fmt: skip
    return tested


def _insulation(station: Station, ambient: float, at: str) -> Document:
    motor, chance = station.motor, station.chance
    cable = motor.immersed
    low, high = (15, 400) if cable else (20, 600) if motor.old else (250, 6000)
    megohms = low * (high / low) ** chance.random()
    if cable and chance.random() < 0.1:
        megohms = chance.uniform(6, 15)
        station.oddities.add("wet motor with cable, 6 to 15 Mohm")
    temperature = station.liquid if cable else ambient
    found: Document = {
        "test_voltage": q(500, "V"),
        "resistance_30_s": q(significant(megohms * 0.85, 2), "Mohm"),
        "resistance_1_min": q(significant(megohms, 2), "Mohm"),
        "winding_temperature": station.pen.temperature(max(temperature, 11.0)),
        "humidity": q(round(chance.uniform(30, 55)), "%"), "drive_disconnected": True,
        "includes_cable": cable, "discharged": True, "at": at,
    }  # fmt: skip
    if chance.random() < 0.2:
        found["resistance_10_min"] = q(significant(megohms * chance.uniform(1.0, 1.8), 2), "Mohm")
        station.oddities.add("polarization index below 2")
    return found


def _rotation(station: Station) -> Document:
    way = "flow" if station.motor.immersed else "uncoupled_bump"
    found: Document = {"method": way, "phases_swapped_at": "not_swapped"}
    if station.driven:
        return found | {"drive_direction": "correct"}
    return found | {"bypass_direction": "correct"}


# -- duty points ------------------------------------------------------------------------------


def duty_point(station: Station, plates: Document, point: Point) -> Document:
    pen, chance = station.pen, station.chance
    gauge = station.motor.more["gauge"]
    step = station.motor.more["gauge_step"] * (1 if pen.us else 0.1)
    noise = max(-1.0, min(1.0, chance.gauss(0, 0.4)))
    metered = chance.random() < 0.75
    method = "installed_meter" if metered else "strap_on"
    error = chance.gauss(0, 0.004 if metered else 0.014)
    found: Document = {
        "purpose": point.purpose, "frequency": q(stepped(point.frequency, 0.1), "Hz"),
        "flow": pen.put("flow", point.flow * (1 + error), digits=3), "flow_method": method,
        "discharge_pressure": pen.put(
            "pressure", point.discharge + noise * gauge, step=step if step < 1 else 1
        ),
        "discharge_gauge_elevation": pen.put("length", station.z_discharge, step=0.1),
        "other_pumps_running": 0, "steady_for": q(300, "s"),
        "instruments": ["I-7", "I-3"] + ([] if metered else ["I-8"]),
    }  # fmt: skip
    if not station.motor.immersed and chance.random() < 0.7:
        found |= {"speed": q(round(point.speed * 60), "rpm"), "speed_measured": True}
        found["instruments"].append("I-6")
    found |= _suction(station, point, gauge) | _electrical(station, point)
    return found | _felt(station, point)


def _felt(station: Station, point: Point) -> Document:
    """Temperatures and vibration of a dry set, where they were taken at its design point."""
    apart, pen = station.apart, station.pen
    if station.motor.immersed or point.purpose != "design" or apart.random() > 0.35:
        return {}
    shaken = (apart.uniform(0.7, 3.5) for _ in range(2))
    return {
        "motor_temperature": pen.temperature(apart.uniform(45, 80)),
        "bearing_temperatures": [pen.temperature(apart.uniform(30, 68)) for _ in range(2)],
        "vibration": [
            {"location": at, "direction": "horizontal",
             "velocity_rms": _velocity(station, each)}
            for at, each in zip(("drive end", "other end"), shaken, strict=True)
        ],
    }  # fmt: skip


def _velocity(station: Station, millimetres: float) -> Document:
    """Of vibration, in mm/s or, where the place has its own units, in in/s."""
    if station.pen.us:
        return q(stepped(millimetres / 25.4, 0.01), "in/s")
    return q(stepped(millimetres, 0.1), "mm/s")


def _suction(station: Station, point: Point, gauge: float) -> Document:
    pen, chance = station.pen, station.chance
    if station.suction == "well":
        return {"suction_level_depth": pen.put("length", -point.suction_grade, step=0.1)}
    if station.suction == "wet_well":
        return {"suction_level": pen.put("length", point.suction_grade, step=0.01)}
    from .physics import velocity_head

    head = point.suction_grade - station.z_suction
    head -= velocity_head(point.flow, station.machine.bore_suction)
    error = max(-1.0, min(1.0, chance.gauss(0, 0.4))) * min(gauge, 0.02e5)
    return {
        "suction_pressure": pen.put("pressure", head * station.weight + error),
        "suction_gauge_elevation": pen.put("length", station.z_suction, step=0.1),
    }  # fmt: skip


def _electrical(station: Station, point: Point) -> Document:
    motor, chance = station.motor, station.chance
    amperes = motor.current_at(point.torque_share) * (1 + chance.gauss(0, 0.015))
    power = motor.electrical_power(point.shaft, point.torque_share, point.frequency)
    power *= 1 + chance.gauss(0, 0.004)
    if not station.driven:
        return {
            "currents_drive_input": _three(station, amperes, 0.015),
            "voltages_drive_input": [q(round(station.supply * 1.01), "V")] * 3,
            "power_drive_input": _kilowatts(power),
        }
    found: Document = {}
    volts = motor.voltage * min(point.frequency / motor.frequency, motor.stretch)
    place = "drive_output" if chance.random() < 0.75 else "drive_display"
    found[f"currents_{place}"] = _three(station, amperes, 0.008)
    found[f"voltages_{place}"] = [q(round(volts), "V")] * 3
    found[f"power_{place}"] = _kilowatts(power)
    taken = power / 0.972 + 0.004 * motor.power
    found["power_drive_input"] = _kilowatts(taken * (1 + chance.gauss(0, 0.004)))
    if chance.random() < 0.2:
        uneven = taken / (sqrt(3) * station.supply * 0.93)
        found["currents_drive_input"] = _three(station, uneven, 0.2)
        station.oddities.add("input currents uneven by a rectifier")
    return found


def _kilowatts(power: float) -> Document:
    return q(significant(power / 1e3, 3), "kW")


def _three(station: Station, amperes: float, spread: float) -> list[Document]:
    """Three phases, each read on a clamp."""
    away = [station.chance.uniform(-spread, spread) for _ in range(3)]
    return [q(significant(amperes * (1 + each), 3), "A") for each in away]


# -- levels -----------------------------------------------------------------------------------


def _level_tests(station: Station, settings: Document | None) -> list[Document]:
    """Thresholds by tape against what is shown; the float by tape alone."""
    pen, chance = station.pen, station.chance
    high = station.level["high"] - floor_level(station)
    named = {"start_level": high, "stop_level": station.level["low"] + 0.05 - floor_level(station)}
    tests = []
    for name, height in named.items():
        at = pen.si("length", settings[name]) if settings and name in settings else height
        tests.append({
            "name": name.removesuffix("_level"),
            "level_measured": pen.put("length", at + chance.gauss(0, 0.004), step=0.01),
            "level_indicated": pen.put("length", at + chance.gauss(0, 0.004), step=0.01),
        })  # fmt: skip
    tests.append({"name": "float", "level_measured": pen.put("length", high + 0.85, step=0.01)})
    return tests


def _drawdown(station: Station) -> Document:
    """A draw-down at the design point, the inflow found by filling before; good to 5 %."""
    pen, chance = station.pen, station.chance
    point = station.points[0]
    area = pen.si("area", pen.put("area", _area(station), digits=3))
    inflow = point.flow * chance.uniform(0.1, 0.4)
    drop = station.level["high"] - station.level["low"]
    seconds = drop * area / (point.flow - inflow) * (1 + chance.gauss(0, 0.02))
    rise = drop * 0.5
    start = station.level["high"] - floor_level(station)
    found: Document = {
        "plan_area": pen.put("area", area, digits=3),
        "level_start": pen.put("length", start, step=0.01),
        "level_end": pen.put("length", start - drop, step=0.01), "time": q(round(seconds), "s"),
        "inflow_method": "fill_before", "fill_rise": pen.put("length", rise, step=0.01),
        "fill_time": q(round(rise * area / inflow), "s"), "pumps_running": 1,
    }  # fmt: skip
    if station.driven:
        found["frequency"] = q(stepped(point.frequency, 0.1), "Hz")
    return found


def _area(station: Station) -> float:
    from .plates import well_area

    return well_area(station)


# -- closed loop ------------------------------------------------------------------------------


def _closed_loop(
    station: Station, plates: Document, settings: Document | None, found: Document
) -> None:
    if station.regulation not in CLOSED or settings is None:
        return
    from .checks import step_test, verification

    found["sensor_verifications"] = [
        verification(station, sensor, settings)
        for sensor in plates["sensors"]
        if sensor["tag"] in VERIFIED or (station.regulation, sensor["tag"]) == ("flow", "FT-1")
    ]
    found["step_tests"] = [step_test(station, settings)]
    found["traces"] = [{"id": TRACE, "name": "step.csv", "sha256": "c" * 64}]
    if station.regulation == "pressure" and station.chance.random() < 0.7:
        _vessel(station, plates, settings, found)


def _vessel(station: Station, plates: Document, settings: Document, found: Document) -> None:
    """A bladder tank, charged below the wake pressure and measured drained."""
    from .plates import PRESSURES, standard

    pen, chance = station.pen, station.chance
    wake = station.set_point - max(0.06 * station.set_point, 0.2e5)
    charge = wake * chance.uniform(0.78, 0.93)
    bears = standard(station, station.shut_off_pressure(station.maximum) * 1.05, PRESSURES)
    step = 1 if pen.us else 0.1
    plates["vessels"] = [{
        "tag": "V-1", "serial": "T-1", "kind": "bladder", "location": "discharge_header",
        "volume": pen.put("volume", chance.choice((0.1, 0.3, 0.5)), digits=2),
        "maximum_pressure": pen.put("pressure", bears, step=1),
        "pre_charge_pressure_design": pen.put("pressure", charge, step=step),
    }]  # fmt: skip
    found["vessel_checks"] = [{
        "vessel": "V-1", "pre_charge_as_found": pen.put("pressure", charge, step=step),
        "pre_charge_as_left": pen.put("pressure", charge, step=step), "system_drained": True,
    }]  # fmt: skip


def _surge_vessel(station: Station, plates: Document, found: Document) -> None:
    """Charged to a share of the pressure at rest, as a study of the main asked for."""
    from .plates import PRESSURES, at_rest, standard

    pen, chance = station.pen, station.by_itself("charge of a surge vessel")
    charge = at_rest(station) * chance.uniform(0.55, 0.75)
    bears = standard(station, station.shut_off_pressure(station.maximum) * 1.1, PRESSURES)
    step = 1 if pen.us else 0.1
    plates["vessels"] = [{
        "tag": "V-2", "serial": "T-2", "kind": "surge_vessel", "location": "discharge_header",
        "volume": pen.put("volume", chance.choice((1.0, 2.0, 5.0)), digits=2),
        "maximum_pressure": pen.put("pressure", bears, step=1),
        "pre_charge_pressure_design": pen.put("pressure", charge, step=step),
    }]  # fmt: skip
    read = pen.put("pressure", charge * chance.uniform(0.97, 1.03), step=step)
    found["vessel_checks"] = [{
        "vessel": "V-2", "pre_charge_as_found": read, "pre_charge_as_left": dict(read),
        "system_drained": True,
    }]  # fmt: skip
    station.oddities.add("main with a surge vessel")


# -- protections ------------------------------------------------------------------------------


def _protections(station: Station, settings: Document | None) -> list[Document]:
    """Those of the kind of station; some with the value at which they acted."""
    functions = ["power_loss_restart", "emergency_stop", "local_isolator"]
    acted: dict[str, Any] = {}
    if station.regulation in CLOSED:
        functions.append("loss_of_feedback")
    if station.kind in ("booster", "well"):
        functions.append("high_pressure")
    if station.kind == "booster":
        functions.append("low_suction")
    if station.suction == "well":
        functions.append("dry_run")
    if station.kind == "lift_station":
        functions += ["float_backup", "seal_leak", "motor_overtemperature", "lag_takeover"]
    if settings is not None and "high_discharge_limit" in settings:
        entered = settings["high_discharge_limit"]
        if entered["unit"] != "%":
            value = station.pen.si("pressure", entered) * (1 + station.chance.gauss(0, 0.006))
            acted["high_pressure"] = station.pen.put("pressure", value)
    test = {"how_provoked": "by hand", "expected": "acts", "observed": "acts", "passed": True}
    return [
        {"function": each}
        | test
        | ({"limit_at_trip": acted[each]} if each in acted else {})
        | _timed(station, each, settings or {})
        for each in functions
    ]


TIMED = {"low_suction": "low_suction_limit_delay", "high_pressure": "high_discharge_limit_delay",
         "dry_run": "dry_run_delay", "loss_of_feedback": "signal_loss_delay"}  # fmt: skip


def _timed(station: Station, function: str, settings: Document) -> Document:
    """How long it took, by a watch in the hand."""
    delay = settings.get(TIMED.get(function, ""))
    if delay is None or station.apart.random() > 0.5:
        return {}
    return {"delay_measured": q(stepped(float(delay["value"]) + station.apart.uniform(0, 1.5), 0.5),
                                delay["unit"])}  # fmt: skip
