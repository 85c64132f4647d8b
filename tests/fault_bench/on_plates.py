"""Mistakes on plates and on the site's own data."""

from . import tables
from .mistakes import in_unit, mistake, mistake_on_a_drive, number, swapped
from .plates import motor_diameter
from .stand import Entered
from .writing import FOOT, q, significant

LARGEST_PREMIUM = 500 * 746.0
"""Power up to which the tables of premium efficiency go [W]; NEMA MG 1 Table 12-12."""


@mistake("power in hp for kW, or kW for hp", "motor.power-balance")
def power_unit(e: Entered) -> None:
    for line in e.document["motor"]["ratings"]:
        line["power"] = in_unit(line["power"], "kW" if line["power"]["unit"] == "hp" else "hp")


@mistake("current of the other voltage tap", "motor.power-balance")
def current_of_other_tap(e: Entered) -> bool | None:
    if not e.station.motor.low_tap:
        return False
    e.plate["current"] = e.document["motor"]["ratings"][0]["current"]
    return None


@mistake("voltage of the other tap", "motor.power-balance")
def voltage_of_other_tap(e: Entered) -> bool | None:
    if not e.station.motor.low_tap:
        return False
    e.plate["voltage"] = e.document["motor"]["ratings"][0]["voltage"]
    return None


@mistake("digits of the plate current swapped", "motor.power-balance")
def swapped_current(e: Entered) -> bool | None:
    other = swapped(e.plate["current"]["value"])
    if other is None or abs(float(other) / number(e.plate["current"]) - 1) < 0.15:
        return False
    e.plate["current"] = q(other, "A")
    return None


@mistake("current of the second rating mistyped", "motor.ratings-agree")
def second_rating(e: Entered) -> bool | None:
    if not e.station.motor.low_tap:
        return False
    low = e.document["motor"]["ratings"][0]
    low["current"] = q(f"{number(low['current']) * 1.26:.3g}", "A")
    return None


@mistake("plate frequency of the other mains", "motor.slip")
def other_mains(e: Entered) -> bool | None:
    motor = e.station.motor
    if motor.kind != "induction" or motor.other_mains:
        return False
    e.plate["frequency"] = q(50 if motor.frequency == 60 else 60, "Hz")
    return None


@mistake("speed of another pole count", "motor.poles")
def speed_of_other_poles(e: Entered) -> bool | None:
    motor = e.station.motor
    if motor.kind != "induction" or motor.other_mains:
        return False
    poles = 4 if motor.poles == 2 else 2
    slip = (motor.synchronous - motor.speed) / motor.synchronous
    e.plate["speed"] = q(f"{120 * motor.frequency / poles * (1 - slip):.0f}", "rpm")
    return None


@mistake("synchronous speed for rated speed", "motor.slip")
def no_load_speed(e: Entered) -> bool | None:
    if e.station.motor.kind != "induction":
        return False
    e.plate["speed"] = q(f"{e.station.motor.synchronous:g}", "rpm")
    return None


@mistake("pole count of a sister motor", "motor.poles")
def poles(e: Entered) -> None:
    motor = e.station.motor
    e.document["motor"]["poles"] = 4 if motor.poles != 4 else 6
    if e.station.driven:
        # What is set in the drive is a copy of it.
        e.settings["motor_poles"] = e.document["motor"]["poles"]


@mistake("efficiency of a lower class than claimed", "motor.efficiency-class")
def lower_class(e: Entered) -> bool | None:
    motor = e.station.motor
    lower = {"ie3": "ie2", "ie4": "ie3"}
    if motor.claimed == "premium" and motor.power > LARGEST_PREMIUM:
        return False  # no table says what a premium motor of that size has
    if motor.claimed == "premium":
        worse = tables.nominal_step(motor.efficiency * 100, -3)
    elif motor.claimed in lower:
        worse = tables.by_formula(lower[motor.claimed], motor.poles, motor.power / 1e3)
    else:
        return False
    e.plate["efficiency"] = q(f"{worse:.1f}", "%")
    return None


@mistake_on_a_drive("a single-phase motor", "motor.single-phase-on-drive")
def one_phase(e: Entered) -> None:
    e.document["motor"]["phases"] = 1


@mistake("elevation in feet, or a digit too many", "site.elevation")
def elevation(e: Entered) -> bool | None:
    metres = e.station.elevation
    factor = 3.2808 if 4000 < metres * 3.2808 < 6000 else 10.0
    if not 4100 < metres * factor < 5900:
        return False
    e.document["site"]["elevation"] = q(f"{metres * factor:.0f}", "m")
    return None


@mistake("levels over the sea", "site.datum")
def levels_over_the_sea(e: Entered) -> bool | None:
    site = e.document["site"]
    if "suction_level_low" not in site or e.station.suction == "wet_well":
        return False
    if number(site["elevation"]) < 50:
        return False
    metre = 0.3048 if site["elevation"]["unit"] == "ft" else 1.0
    gauged = any("suction_pressure" in point for point in e.document["event"]["duty_points"])
    if not gauged and e.station.suction != "suction_lift":
        lowest = min(number(site[f"suction_level_{end}"]) for end in ("low", "high"))
        if (lowest + number(site["elevation"])) * metre < 55:
            return False  # a tank may stand there: nothing tells
    for end in ("low", "high"):
        level = site[f"suction_level_{end}"]
        if level["unit"] != site["elevation"]["unit"]:
            return False
        over = number(level) + number(site["elevation"])
        site[f"suction_level_{end}"] = q(f"{over:.2f}", level["unit"])
    return None


@mistake("curve printed for the other mains frequency", "curve.speed")
def curve_speed(e: Entered) -> None:
    found = e.document["pump"]["rated_speed"]
    factor = 1.2 if e.station.hertz == 50 else 1 / 1.2
    e.document["pump"]["rated_speed"] = q(f"{number(found) * factor:.0f}", "rpm")


@mistake("heads of the curve in another unit", "curve.columns")
def curve_heads(e: Entered) -> None:
    for row in e.document["pump"]["curve_points"]:
        row["head"] = q(row["head"]["value"], "ft" if row["head"]["unit"] == "m" else "m")


@mistake("powers of the curve in another unit", "curve.columns")
def curve_powers(e: Entered) -> None:
    """As a catalogue prints them, kW for hp: 998.2 kg/m3 x 9.80665 m/s2 of cold water."""
    curve = e.station.machine.hydraulics
    for row in e.document["pump"]["curve_points"][1:]:
        flow, head = e.station.pen.si("flow", row["flow"]), e.station.pen.si("head", row["head"])
        power = 998.2 * 9.80665 * flow * head / curve.efficiency_at(flow, curve.speed)
        row["shaft_power"] = q(significant(power / 1000, 4), "hp")


@mistake("point of a head moved in the curve", "curve.shape")
def curve_shape(e: Entered) -> None:
    row = e.document["pump"]["curve_points"][e.chance.choice((1, 2, 3))]
    row["head"] = q(f"{number(row['head']) / 10:.4g}", row["head"]["unit"])


@mistake("two flows of the curve swapped", "curve.shape")
def curve_order(e: Entered) -> None:
    rows = e.document["pump"]["curve_points"]
    rows[2]["flow"], rows[3]["flow"] = rows[3]["flow"], rows[2]["flow"]


@mistake("pump set above the water", "well.levels")
def pump_above_water(e: Entered) -> bool | None:
    site = e.document["site"]
    if e.station.suction != "well":
        return False
    depth = site["static_water_depth"]
    site["pump_setting_depth"] = q(f"{number(depth) * 0.7:.1f}", depth["unit"])
    return None


@mistake("casing too wide for the motor", "motor.cooling")
def wide_casing(e: Entered) -> bool | None:
    site = e.document["site"]
    if e.station.machine.type != "submersible_well":
        return False
    bore = site["casing_inside_diameter"]
    unit = e.station.pen.unit("bore")[1]
    # So wide that less than 0.05 m/s are left, too little for a slim motor as well. Where a lift
    # alone sets what flows, that is never as little as the pump may give.
    station, outside = e.station, motor_diameter(e.station)
    kept = station.regulation == "pressure"
    flow = station.machine.minimum_flow if kept else station.design_flow
    wide = (outside**2 + flow / 0.05 / 0.7854) ** 0.5
    site["casing_inside_diameter"] = q(f"{max(number(bore) * 2, wide / unit):.3g}", bore["unit"])
    return None


@mistake("year of the motor after the visit", "record.dates")
def built_later(e: Entered) -> None:
    e.document["motor"]["year_built"] = 2032


@mistake("lowest and highest of the site in each other's place", "site.order")
def ends_swapped(e: Entered) -> bool | None:
    site = e.document["site"]
    pairs = (("static_lift_low", "static_lift_high"),
             ("suction_pressure_low", "suction_pressure_high"),
             ("suction_level_low", "suction_level_high"))  # fmt: skip
    for low, high in pairs:
        if low in site and high in site and number(site[low]) != number(site[high]):
            site[low], site[high] = site[high], site[low]
            return None
    return False


@mistake("a lift that the pump never reaches", "speed.zero-flow")
def too_high_a_lift(e: Entered) -> bool | None:
    if e.station.regulation == "pressure" or not e.document.get("drive"):
        return False
    site, first = e.document["site"], e.document["pump"]["curve_points"][0]["head"]
    if site["static_lift_high"]["unit"] != first["unit"]:
        return False
    for name in ("static_lift_low", "static_lift_high", "system_design_head"):
        site[name] = q(f"{number(first) * 1.25:.1f}", first["unit"])
    return None


@mistake("a system curve that falls", "system.curve")
def falling_system(e: Entered) -> bool | None:
    if e.station.regulation == "pressure":
        return False
    site = e.document["site"]
    flow, head = site["system_design_flow"], site["system_design_head"]
    middle = q(f"{number(flow) / 2:.3g}", flow["unit"])
    site["system_curve_points"] = [
        {"flow": q(0, flow["unit"]), "head": site["static_lift_high"]},
        {"flow": middle, "head": q(f"{number(head) * 1.2:.4g}", head["unit"])},
        {"flow": flow, "head": head},
    ]
    return None


OTHER = {"m": "ft", "ft": "m"}
SIZE = {"m": 1.0, "ft": FOOT}


def _written_in_the_other_unit(e: Entered, name: str, beside: str = "") -> bool | None:
    """Nothing where it lies on the same side of what is `beside` it, and no farther from it, than
    as it was meant: then nothing is odd about it."""
    site = e.document["site"]
    if name not in site or abs(number(site[name])) < 1:
        return False
    if beside in site:
        value, unit = number(site[name]), site[name]["unit"]
        near = number(site[beside]) * SIZE[site[beside]["unit"]]
        meant, read = (value * SIZE[each] - near for each in (unit, OTHER[unit]))
        if (meant > 0) is (read > 0) and abs(read) <= abs(meant):
            return False
    site[name] = in_unit(site[name], OTHER[site[name]["unit"]])
    return None


@mistake("lowest lift in feet among metres, or the reverse", "site.order")
def lift_in_another_unit(e: Entered) -> bool | None:
    return _written_in_the_other_unit(e, "static_lift_low")


@mistake("highest level in feet among metres, or the reverse", "site.order")
def level_in_another_unit(e: Entered) -> bool | None:
    if number(e.document["site"].get("suction_level_high", {"value": "0"})) > 10:
        return False  # so high over the pump it looks like one over the sea
    return _written_in_the_other_unit(e, "suction_level_high", "suction_level_low")


@mistake("a well's bottom in feet among metres, or the reverse", "well.levels")
def bottom_in_another_unit(e: Entered) -> bool | None:
    return _written_in_the_other_unit(e, "well_depth")


@mistake("static depth in feet among metres, or the reverse", "well.levels")
def static_in_another_unit(e: Entered) -> bool | None:
    return _written_in_the_other_unit(e, "static_water_depth")


@mistake("pumping depth in feet among metres, or the reverse", "well.levels")
def pumping_in_another_unit(e: Entered) -> bool | None:
    return _written_in_the_other_unit(e, "pumping_water_depth")


@mistake("setting depth in feet among metres, or the reverse", "well.levels")
def setting_in_another_unit(e: Entered) -> bool | None:
    return _written_in_the_other_unit(e, "pump_setting_depth")


@mistake("lowest level in feet among metres, or the reverse", "site.order")
def lowest_level_in_another_unit(e: Entered) -> bool | None:
    return _written_in_the_other_unit(e, "suction_level_low", "suction_level_high")


@mistake("floor of the well above its lowest level", "site.order")
def floor_too_high(e: Entered) -> bool | None:
    """As where its sign was lost, or it was read off another drawing."""
    site = e.document["site"]
    floor, low = site.get("wet_well_floor"), site.get("suction_level_low")
    if floor is None or low is None:
        return False
    step = 0.3 if low["unit"] == "m" else 1.0
    site["wet_well_floor"] = q(f"{number(low) + step:.2f}", low["unit"])
    return None


@mistake("sign of the lowest level lost", "site.order")
def lowest_level_without_sign(e: Entered) -> bool | None:
    site = e.document["site"]
    low, high = site.get("suction_level_low"), site.get("suction_level_high")
    if low is None or high is None or number(low) >= 0 or -number(low) <= number(high):
        return False
    site["suction_level_low"] = q(low["value"].lstrip("-"), low["unit"])
    return None
