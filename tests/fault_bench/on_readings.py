"""Mistakes in tests and readings of the day."""

from . import physics
from .drives import AWG
from .mistakes import in_unit, mistake, mistake_on_a_drive, number, times
from .on_loops import has_charge
from .stand import Entered
from .writing import q, significant

FLOWS = {"gpm": ("L/s", "m3/h"), "m3/h": ("L/s", "gpm"), "L/s": ("m3/h", "gpm")}
PASCALS = {"psi": 6894.757, "bar": 1e5, "kPa": 1e3}
HEAD_SHARE = 0.2
"""Share of the head [1] from which an atmosphere is no matter of instruments; no source."""

PER_SECOND = {"gpm": 6.30902e-5, "m3/h": 1 / 3600, "L/s": 1e-3}


@mistake_on_a_drive("insulation tested with the drive connected", "insulation.drive-connected")
def drive_connected(e: Entered) -> None:
    e.document["event"]["motor_tests"]["insulation"]["drive_disconnected"] = False


@mistake("insulation tested with too high a voltage", "insulation.test-voltage")
def tested_with_2500_volts(e: Entered) -> None:
    e.document["event"]["motor_tests"]["insulation"]["test_voltage"] = q(2500, "V")


@mistake("a wet winding", "insulation.minimum")
def wet_winding(e: Entered) -> None:
    found = e.document["event"]["motor_tests"]["insulation"]
    megohms = "0.3" if e.station.motor.immersed else "2.0"
    found |= {"resistance_1_min": q(megohms, "Mohm"), "resistance_30_s": q(megohms, "Mohm")}
    found.pop("resistance_10_min", None)


@mistake("a poor joint in one lead", "winding.resistance-unbalance")
def poor_joint(e: Entered) -> bool | None:
    found = e.document["event"]["motor_tests"]["winding_resistance"]
    index = e.chance.randrange(3)
    found["values"][index] = times(found["values"][index], 1.16, 4)
    # A step of more than 1 % of the reading shows nothing, and no rule judges it.
    return None if number(found["resolution"]) < 0.008 * number(found["values"][0]) else False


@mistake("currents uneven at the motor", "winding.current-unbalance")
def uneven_currents(e: Entered) -> bool | None:
    name = "currents_drive_output"
    if not e.station.driven or name not in e.points[0]:
        return False
    first = e.points[0][name]
    if number(first[0]) < 0.75 * number(e.plate["current"]):
        return False
    e.points[0][name] = [times(first[0], share) for share in (1.0, 0.84, 1.16)]
    return None


@mistake_on_a_drive("one of two parallel leads in the clamp", "load.current-expected")
def half_current(e: Entered) -> bool | None:
    if e.settings["control_mode"] == "volts_per_hertz_quadratic":
        return False
    for name in ("currents_drive_output", "currents_drive_display"):
        if name in e.points[0]:
            e.points[0][name] = [times(each, 0.5) for each in e.points[0][name]]
    return None


@mistake_on_a_drive("motor overloaded", "load.current-nameplate")
def overloaded(e: Entered) -> None:
    plate = e.station.motor.service_factor_current or e.station.motor.current
    name = next(n for n in e.points[0] if n.startswith("currents_drive_") and "input" not in n)
    e.points[0][name] = [q(significant(plate * 1.25, 3), "A")] * 3


@mistake("a joint of 0.8 ohm in the protective earth", "earth.continuity")
def earth(e: Entered) -> None:
    e.document["event"]["earth_tests"][0]["resistance"] = q(f"{0.8 + _copper(e):.2f}", "ohm")


def _copper(e: Entered) -> float:
    """One conductor of the motor's cable [ohm], where there is one; 0.0172 ohm mm2/m at 20 degC."""
    drive = e.document.get("drive") or {}
    if "motor_cable_length" not in drive:
        return 0.0
    size = drive["motor_cable_conductor"]
    area = dict(AWG)[size] if isinstance(size, str) else number(size)
    return 0.0172 * e.station.pen.si("length", drive["motor_cable_length"]) / area


@mistake("protective earth open", "earth.continuity")
def open_earth(e: Entered) -> None:
    e.document["event"]["earth_tests"][0] |= {"open_circuit": True}


@mistake_on_a_drive("turning backwards on the drive", "rotation.reversed")
def backwards(e: Entered) -> None:
    e.document["event"]["rotation"]["drive_direction"] = "reversed"


@mistake("turning backwards across the line", "rotation.bypass")
def backwards_across(e: Entered) -> bool | None:
    if e.station.driven:
        return False
    e.document["event"]["rotation"]["bypass_direction"] = "reversed"
    return None


@mistake("backwards, by the head at closed valve", "rotation.reversed")
def low_shut_off(e: Entered) -> bool | None:
    station = e.station
    pump = station.machine.hydraulics
    if not station.driven or station.suction == "well" or station.machine.type == "split_case":
        return False
    point = e.points[-1]
    frequency = station.maximum * 0.8
    head = 0.6 * pump.head_at(0.0, station.speed_shut(frequency))
    grade = station.level["day"]
    pressure = station.weight * (head + grade - station.z_discharge)
    if pressure < 0.2e5:
        return False
    closed = {
        "purpose": "shut_off", "frequency": q(f"{frequency:.1f}", "Hz"),
        "flow": station.pen.put("flow", 0, step=1), "flow_method": point["flow_method"],
        "discharge_pressure": station.pen.put("pressure", pressure),
        "discharge_gauge_elevation": point["discharge_gauge_elevation"],
        "instruments": ["I-7"],
    }  # fmt: skip
    if "suction_pressure" in point:
        closed["suction_gauge_elevation"] = point["suction_gauge_elevation"]
        at_gauge = (grade - station.z_suction) * station.weight
        closed["suction_pressure"] = station.pen.put("pressure", at_gauge)
    if "suction_level" in point:
        closed["suction_level"] = point["suction_level"]
    e.points.append(closed)
    return None


# -- duty points ------------------------------------------------------------------------------


PSI_IN_A_BAR = 14.504


@mistake("suction in psi written as bar, and the discharge moved with it", "suction.reading")
def psi_for_bar(e: Entered) -> bool | None:
    if e.station.suction != "pressurised_main" or e.points[0]["suction_pressure"]["unit"] != "bar":
        return False
    for point in e.points:
        read, other = point["suction_pressure"], point["discharge_pressure"]
        more = number(read) * (PSI_IN_A_BAR - 1)
        point["suction_pressure"] = q(f"{number(read) + more:.2f}", "bar")
        point["discharge_pressure"] = q(f"{number(other) + more:.2f}", "bar")
    return None if other["unit"] == "bar" else False


@mistake("suction read by a gauge that shows absolute pressure", "suction.reading")
def absolute_suction(e: Entered) -> bool | None:
    """Where an atmosphere is a good part of the head, and more than the suction may rise by."""
    station, highest = e.station, e.document["site"].get("suction_pressure_high")
    air = physics.atmosphere(station.elevation)
    if station.suction != "pressurised_main":
        return False
    if any(air < HEAD_SHARE * point.head * station.weight for point in station.points):
        return False
    for point in e.points:
        read = point["suction_pressure"]
        room = (number(highest) - number(read)) * PASCALS[read["unit"]]
        if room > air / 2:
            return False
        more = air / PASCALS[read["unit"]]
        point["suction_pressure"] = q(f"{number(read) + more:.2f}", read["unit"])
    return None


@mistake("flow read in another unit", "curve.point")
def flow_unit(e: Entered) -> None:
    point = e.points[0]
    unit = point["flow"]["unit"]
    other = FLOWS[unit][0]
    factor = PER_SECOND[unit] / PER_SECOND[other]
    point["flow"] = times(point["flow"], factor)


@mistake("discharge pressure read in another unit", "curve.point")
def pressure_unit(e: Entered) -> None:
    point = e.points[0]
    factor = 1 / 14.504 if point["discharge_pressure"]["unit"] == "psi" else 14.504
    point["discharge_pressure"] = times(point["discharge_pressure"], factor)


@mistake("flow with a digit moved", "curve.point")
def flow_digit(e: Entered) -> None:
    e.points[0]["flow"] = times(e.points[0]["flow"], e.chance.choice((0.1, 10)))


@mistake("digits of the discharge pressure moved", "curve.point")
def pressure_digit(e: Entered) -> None:
    e.points[1]["discharge_pressure"] = times(e.points[1]["discharge_pressure"], 10, 4)


@mistake("power at the input in hp", "efficiency.sum-of-parts")
def power_unit(e: Entered) -> None:
    e.points[0]["power_drive_input"] = in_unit(e.points[0]["power_drive_input"], "hp")


@mistake("power at the input written with one phase only", "efficiency.sum-of-parts")
def one_phase(e: Entered) -> None:
    e.points[0]["power_drive_input"] = times(e.points[0]["power_drive_input"], 1 / 3)


@mistake("power ten times too large", "efficiency.wire-to-water")
def power_digit(e: Entered) -> None:
    e.points[0]["power_drive_input"] = times(e.points[0]["power_drive_input"], 10)


@mistake("inflow left out of a draw-down", "flow.drawdown")
def no_inflow(e: Entered) -> bool | None:
    tests = e.document["event"].get("drawdown_tests")
    if not tests or e.points[0]["flow_method"] != "installed_meter":
        return False
    test, pen, station = tests[0], e.station.pen, e.station
    by_fill = pen.si("length", test["fill_rise"]) / number(test["fill_time"])
    if by_fill * pen.si("area", test["plan_area"]) < 0.17 * station.points[0].flow:
        return False
    for name in ("fill_rise", "fill_time"):
        del test[name]
    test["inflow_method"] = "none"
    return None


@mistake("radius taken for diameter in a draw-down", "flow.drawdown")
def wrong_area(e: Entered) -> bool | None:
    tests = e.document["event"].get("drawdown_tests")
    if not tests or e.points[0]["flow_method"] != "installed_meter":
        return False
    tests[0]["plan_area"] = times(tests[0]["plan_area"], e.chance.choice((4, 0.25)))
    return None


@mistake("levels shown from another zero", "level.zero-offset")
def other_zero(e: Entered) -> bool | None:
    if e.station.kind != "lift_station":
        return False
    for test in e.document["event"]["level_tests"]:
        if "level_indicated" in test:
            shown = test["level_indicated"]
            test["level_indicated"] = q(f"{number(shown) + 0.5:.2f}", shown["unit"])
    return None


@mistake("backup float hung too low", "level.backup")
def low_float(e: Entered) -> bool | None:
    if e.station.kind != "lift_station" or not e.station.driven:
        return False
    for test in e.document["event"]["level_tests"]:
        if test["name"] == "float":
            test["level_measured"] = times(e.settings["start_level"], 0.9)
    return None


@mistake("vessel charged above the wake pressure", "vessel.precharge")
def charged_high(e: Entered) -> bool | None:
    if not has_charge(e):
        return False
    check = e.document["event"]["vessel_checks"][0]
    check["pre_charge_as_left"] = times(check["pre_charge_as_left"], 1.6)
    return None


@mistake("vessel hardly charged", "vessel.precharge")
def charged_low(e: Entered) -> bool | None:
    if not has_charge(e):
        return False
    check = e.document["event"]["vessel_checks"][0]
    check["pre_charge_as_left"] = times(check["pre_charge_as_left"], 0.5)
    return None


@mistake("depths below a cover for levels by tape", "level.zero-offset")
def from_the_cover(e: Entered) -> bool | None:
    tests = [t for t in e.document["event"].get("level_tests") or () if "level_indicated" in t]
    if len(tests) < 2:
        return False
    for test in tests:
        read = test["level_measured"]
        cover = 20 if read["unit"] == "ft" else 6
        test["level_measured"] = q(f"{cover - number(read):.2f}", read["unit"])
    return None


HEIGHTS = ("suction_level_low", "suction_level_high", "wet_well_floor", "overflow_level",
           "tapping_elevation", "zero_elevation", "suction_gauge_elevation",
           "discharge_gauge_elevation", "suction_level")  # fmt: skip


@mistake("heights over the sea at a station near it", "site.datum")
def over_the_sea(e: Entered) -> bool | None:
    """Every height of a station 12 to 40 m above the sea, as the map counts it."""
    if e.station.elevation > 300:
        return False
    pen, sea = e.station.pen, e.chance.uniform(12, 40)
    e.document["site"]["elevation"] = pen.put("length", sea, step=1)
    event = e.document["event"]
    for holder in (e.document["site"], *e.document["sensors"], *event["duty_points"]):
        for name in HEIGHTS:
            if name in holder:
                over = pen.si("length", holder[name]) + sea
                holder[name] = pen.put("length", over, step=0.01)
    return None
