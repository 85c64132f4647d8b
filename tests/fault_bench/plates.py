"""Site, machines, sensors and instruments of a station as documents."""

from typing import Any

from . import motors
from .stations import Station
from .writing import Document, q, stepped

PRESSURES = {True: (60, 100, 150, 200, 250, 300, 400, 500, 600, 800),
             False: (4, 6, 10, 16, 25, 40, 60, 100)}  # fmt: skip
RANGES = {True: (100, 150, 200, 300, 500), False: (6, 10, 16, 25, 40)}
PRACTICES = {"us": "us_nec", "canadian": "canadian", "iec": "iec", "iec60": "iec"}


LONG_MAIN, SHORT_MAIN = 900.0, 150.0  # m


def standard(station: Station, pascals: float, table: dict[bool, tuple[int, ...]]) -> float:
    """The smallest standard pressure at or above a value [Pa]."""
    factor = station.pen.unit("pressure")[1]
    steps = table[station.pen.us]
    return next((step for step in steps if step * factor >= pascals), steps[-1]) * factor


# -- site -------------------------------------------------------------------------------------


def site(station: Station) -> Document:
    """The pump station."""
    pen, chance = station.pen, station.chance
    closed = station.regulation == "pressure"
    sewage = station.kind == "lift_station"
    found: Document = {
        "code": "S-01", "name": "Bench", "kind": station.kind,
        "elevation": pen.put("length", station.elevation, step=10),
        "time_zone": "UTC", "electrical_practice": PRACTICES[station.practice],
        "supply_source": "utility" if chance.random() < 0.9 else "generator",
        "supply_nominal_voltage": q(f"{station.supply:g}", "V"),
        "supply_frequency": q(f"{station.hertz:g}", "Hz"), "supply_phases": station.phases,
        "supply_earthing": "solid_star", "datum_description": "floor of the pump room",
        "liquid_kind": "sewage" if sewage else "potable" if closed else "raw_water",
        "liquid_temperature_min": pen.temperature(5), "liquid_temperature_max": pen.temperature(26),
        "suction_kind": station.suction,
        "static_lift_low": pen.put("head", station.lift["low"] - station.summit, step=0.1),
        "static_lift_high": pen.put("head", station.lift["high"] - station.summit, step=0.1),
        "system_design_flow": pen.put("flow", station.design_flow, digits=3),
        "system_design_head": pen.put("head", station.design_head, digits=3),
        "zero_demand_possible": closed, "minimum_flow_path": "none",
        "surge_protection": "none", "check_valve_kind": "ball" if sewage else "swing",
        "hazardous_area": station.area, "confined_space": sewage,
    }  # fmt: skip
    if station.practice == "us":
        found["available_fault_current"] = q(chance.choice((10, 14, 18, 22, 25)), "kA")
    _suction(station, found)
    _pressures(station, found)
    if closed:
        return found
    if sewage and station.apart.random() < 0.6:
        peak = station.design_flow * station.apart.uniform(0.4, 0.9)
        found["inflow_peak"] = pen.put("flow", peak, digits=2)
    if chance.random() < 0.6 or station.summit:
        found["pipeline"] = _pipeline(station)
        # Nobody leaves a long main, or one over a hill, to a power failure.
        length = station.pen.si("length", found["pipeline"]["length"])
        if length > LONG_MAIN:
            vessel = station.by_itself("surge vessel").random() < 0.4 and at_rest(station) > 1.5e5
            found["surge_protection"] = "air_vessel" if vessel else "surge_anticipator"
        elif (station.summit or station.dip) and length > SHORT_MAIN:
            found["surge_protection"] = "other"
    return found


def _suction(station: Station, found: Document) -> None:
    pen, level = station.pen, station.level
    if station.suction == "pressurised_main":
        for end in ("low", "high"):
            pascals = (level[end] - station.z_suction) * station.weight
            found[f"suction_pressure_{end}"] = pen.put("pressure", pascals)
    elif station.suction == "well":
        found |= {
            "static_water_depth": pen.put("length", -level["high"], step=0.1),
            "pumping_water_depth": pen.put("length", -level["low"], step=0.1),
            "pumping_water_depth_at_flow": pen.put("flow", station.design_flow, digits=3),
            "pump_setting_depth": pen.put("length", station.riser, step=0.1),
            "well_depth": pen.put("length", station.riser + station.chance.uniform(5, 40), step=1),
            "tested_yield": pen.put(
                "flow",
                station.machine.hydraulics.flow * station.chance.uniform(1.15, 1.8),
                digits=3,
            ),
            "casing_inside_diameter": pen.put("bore", casing(station), digits=3),
            "cooling_shroud": False,
        }
    else:
        for end in ("low", "high"):
            found[f"suction_level_{end}"] = pen.put("length", level[end], step=0.01)
    if station.suction == "wet_well":
        found |= _wet_well(station)
    if station.suction in ("pressurised_main", "flooded_tank", "suction_lift"):
        found["suction_loss"] = pen.put("head", station.suction_loss, step=0.01)
        found["suction_loss_at_flow"] = pen.put("flow", station.design_flow, digits=3)


def casing(station: Station) -> float:
    """Inside diameter of a casing [m] in which 0.2 m/s and more pass a motor of its size."""
    outside = motor_diameter(station)
    area = station.machine.minimum_flow / 0.22
    return min(1.6 * outside, (outside**2 + area / 0.7854) ** 0.5)


def motor_diameter(station: Station) -> float:
    """Of an immersed motor in a casing [m]."""
    kilowatts = station.motor.power / 1e3
    return 0.095 if kilowatts < 7 else 0.14 if kilowatts < 38 else 0.19


def _wet_well(station: Station) -> Document:
    pen, level = station.pen, station.level
    floor = floor_level(station)
    return {
        "wet_well_area": pen.put("area", well_area(station), digits=3),
        "wet_well_floor": pen.put("length", floor, step=0.01),
        "inlet_invert": pen.put("length", level["high"] + 0.2, step=0.01),
        "overflow_level": pen.put("length", level["high"] + 1.5, step=0.01),
    }


def floor_level(station: Station) -> float:
    """Of the wet well, the pump standing on it [m], as written."""
    return station.pen.rounded("length", station.level["low"] - 0.6, 0.01)


def well_area(station: Station) -> float:
    """So large that the pump starts seldom enough [m2]."""
    between = station.level["high"] - station.level["low"]
    return max(station.design_flow * 900 / 4 / between * 1.5, 1.2)


def _pressures(station: Station, found: Document) -> None:
    """Pipework that bears shut-off pressure; now and then a relief valve does it instead."""
    pen = station.pen
    highest = max(station.shut_off_pressure(station.maximum), 1e5)
    limit = standard(station, highest * 1.03, PRESSURES)
    relief = 0.0
    if station.regulation == "pressure":
        smaller = standard(station, station.set_point * 1.35 + 0.5e5, PRESSURES)
        if smaller < limit and station.chance.random() < 0.4:
            limit, relief = smaller, 0.95 * smaller
            station.oddities.add("relief valve below shut-off")
        found["minimum_service_pressure"] = pen.put(
            "pressure", station.set_point * 0.6, step=1 if pen.us else 0.1
        )
    found["discharge_pressure_limit"] = pen.put("pressure", limit, step=1 if pen.us else 0.1)
    if relief:
        found["relief_valve_setting"] = pen.put("pressure", relief, step=1 if pen.us else 0.1)


def _pipeline(station: Station) -> Document:
    from .pumps import bore
    from .stations import bore_here

    pen = station.pen
    inside = bore_here(station, bore(station.design_flow, station.chance.uniform(1.0, 1.7)))
    material = station.chance.choice(("ductile_iron", "pe", "steel"))
    wall = inside * (0.1 if material == "pe" else 0.03) + 0.003
    rating = standard(
        station, max(station.shut_off_pressure(station.maximum) * 1.2, 9e5), PRESSURES
    )
    found = {
        "length": pen.put("length", station.chance.uniform(60, 1500), step=10),
        "inside_diameter": pen.put("bore", inside),
        "wall_thickness": pen.put("bore", wall, step=0.01 if pen.us else 0.1),
        "material": material,
        "pressure_rating": pen.put("pressure", rating, step=1),
    }
    where = station.apart.random()
    if not station.summit and 0.3 < where < 0.5 and station.lift["low"] > 8:
        station.dip = station.apart.uniform(4.0, 0.7 * station.lift["low"])
        station.oddities.add("main with a high point on its way")
    if station.summit or station.dip or where < 0.3:
        found["high_point_elevation"] = pen.put("length", high_point(station), step=0.1)
    return found


def at_rest(station: Station) -> float:
    """Lowest pressure at the datum while nothing flows into a main [Pa]."""
    return station.weight * (station.level["low"] + station.lift["low"])


def high_point(station: Station) -> float:
    """Of a main [m over the datum]: its summit, one on its way, or the outlet that it rises to."""
    return station.level["high"] + station.lift["low"] - station.dip


# -- machines ---------------------------------------------------------------------------------


def pump(station: Station) -> Document:
    """The pump with its catalogue's curve."""
    pen, machine = station.pen, station.machine
    curve = machine.hydraulics
    highest = standard(station, station.shut_off_pressure(station.maximum) * 1.1, PRESSURES)
    found: Document = {
        "tag": "P-1", "serial": "K-1001", "type": machine.type,
        "rated_speed": q(f"{machine.speed:.0f}", "rpm"),
        "rated_flow": pen.put("flow", curve.flow, digits=3),
        "rated_head": pen.put("head", curve.head, digits=3),
        "stages": machine.stages, "suction_sides": machine.sides,
        "best_efficiency_flow": pen.put("flow", curve.flow, digits=3),
        "minimum_continuous_flow": pen.put("flow", machine.minimum_flow, digits=2),
        "minimum_frequency_permitted": q(f"{permitted(station):g}", "Hz"),
        "maximum_speed_permitted": q(f"{machine.speed * 1.04:.0f}", "rpm"),
        "maximum_working_pressure": pen.put("pressure", highest, step=1),
        "maximum_starts_per_hour": station.chance.choice((12, 15, 20)),
        "bore_suction": pen.put("bore", machine.bore_suction),
        "bore_discharge": pen.put("bore", machine.bore_discharge),
    }  # fmt: skip
    if station.apart.random() < 0.03:
        station.oddities.add("a pump without a curve")
    else:
        found |= {"curve_points": curve_points(station), "curve_origin": "catalogue"}
    if machine.type == "submersible_well":
        found["bearing_frequency"] = q(f"{permitted(station):g}", "Hz")
        found["bearing_time_limit"] = q(station.chance.choice((1, 1.5, 2)), "s")
    if station.chance.random() < 0.4:
        found["acceptance_grade"] = station.chance.choice(("2B", "3B", "1B"))
    if station.inertia:
        found["inertia"] = _inertia(station, 0.3 * station.inertia)
    return found


def permitted(station: Station) -> float:
    """Lowest frequency of the pump's manual [Hz]."""
    if station.machine.type == "submersible_well":
        return 30.0
    return 20.0 if station.hertz == 50 else 25.0


def curve_points(station: Station) -> list[Document]:
    """Seven points as a catalogue prints them."""
    pen, curve = station.pen, station.machine.hydraulics
    rows = []
    for index in range(7):
        flow = curve.flow * curve.end * index / 6
        row: Document = {
            "flow": pen.put("flow", flow, digits=3) if index else pen.put("flow", 0, step=1),
        }
        flow = pen.si("flow", row["flow"])
        row["head"] = pen.put("head", curve.head_at(flow, curve.speed, made=False), digits=4)
        if index:
            efficiency = curve.efficiency_at(flow, curve.speed) * 100
            row["efficiency"] = q(stepped(efficiency, 0.1), "%")
            row["npsh_required"] = pen.put("head", curve.npsh_at(flow, curve.speed), digits=2)
        rows.append(row)
    return rows


def motor(station: Station) -> Document:
    """The motor with every line of its plate."""
    found, chance = station.motor, station.chance
    sewage = station.machine.type == "submersible_sewage"
    well = station.machine.type == "submersible_well"
    document: Document = {
        "tag": "M-1", "serial": "W-2002", "kind": found.kind, "phases": 3, "poles": found.poles,
        "ratings": motors.ratings(found), "rating_in_use": found.in_use,
        "service_factor": q(f"{found.service_factor:g}", "1"),
        "efficiency_class": found.claimed, "year_built": found.year,
        "design_letter": "B" if found.hp else "N", "duty": "continuous" if found.hp else "S1",
        "insulation_class": "B" if found.old else "F", "temperature_rise_class": "B",
        "enclosure": _enclosure(station),
        "cooling": "jacket" if sewage else "immersed" if well else "shaft_fan",
        "immersed": found.immersed,
        "inverter_suitability": "no" if found.old else "yes_stated",
        "thermal_sensor": "switch" if sewage else "none" if well or found.old else "ptc",
        "maximum_starts_per_hour": chance.choice((12, 15, 20)),
    }  # fmt: skip
    if document["thermal_sensor"] != "none":
        document["thermal_sensor_count"] = 3
    if sewage:
        document |= {"leak_sensor": True} | _marking(station)
    if well:
        document["outside_diameter"] = station.pen.put("bore", motor_diameter(station), digits=3)
    if found.service_factor_current:
        document["service_factor_current"] = q(motors.amperes(found.service_factor_current), "A")
    if found.power >= 75e3 and station.driven:
        document["bearing_current_protection"] = chance.choice(("insulated_bearing", "shaft_ring"))
    if not found.old and chance.random() < 0.5:
        document["peak_voltage_limit"] = q(1800 if found.voltage > 500 else 1600, "V")
    if found.extended or chance.random() < 0.3:
        document["maximum_frequency"] = q(f"{round(found.base_frequency * 1.15):g}", "Hz")
    if found.extended:
        document["extended_constant_torque"] = True
    if station.inertia:
        document["inertia"] = _inertia(station, station.inertia)
    return document


def _inertia(station: Station, inertia: float) -> Document:
    """As catalogues print it."""
    return station.pen.put("inertia", inertia, digits=3)


MARKINGS = {"zone_1": "epl_gb", "zone_2": "epl_gc", "class1_div1": "class1_div1"}


def _marking(station: Station) -> Document:
    """What is marked for the area; now and then only the enclosure was written down."""
    marking = MARKINGS.get(station.area)
    written = marking and (station.area == "zone_2" or station.apart.random() < 0.8)
    return {"explosion_protection": marking} if written else {}


def _enclosure(station: Station) -> str:
    """A motor in the well is protected where the air over it may explode."""
    if not station.motor.immersed:
        return "totally_enclosed"
    if station.area not in ("zone_1", "class1_div1"):
        return "submersible"
    station.oddities.add("explosion-protected motor")
    return "explosion_protected"


# -- the set ----------------------------------------------------------------------------------


def pump_set(station: Station) -> Document:
    """What is joined."""
    found: Document = {"tag": "PS-1", "pump": "P-1", "motor": "M-1", "bypass": "none",
                       "transmission": "direct", "flow_meter": "FT-1"}  # fmt: skip
    found["drive"] = "D-1" if station.driven else None
    if station.regulation == "pressure":
        found |= {"regulating_sensor": "PT-1", "discharge_header": "H-1"}
        if station.suction == "pressurised_main":
            found["suction_sensor"] = "PT-2"
    if station.regulation == "flow":
        found["regulating_sensor"] = "FT-1"
    if station.transducer:
        found["level_sensor"] = "LT-1"
    if station.regulation == "level":
        found |= {"regulating_sensor": "LT-1", "level_sensor": "LT-1"}
    return found


def instruments(station: Station) -> list[Document]:
    """What the technician carries, in calibration; gauges of ordinary or of good accuracy."""
    pen, chance = station.pen, station.chance
    dates = {"calibrated_on": "2026-01-12", "due_on": "2027-01-12"}
    unit, factor = pen.unit("pressure")
    shut_off = station.shut_off_pressure(station.maximum)
    high = f"{standard(station, shut_off * 1.2, RANGES) / factor:g}"
    fine = chance.choice(("0.025", "0.05"))

    def one(serial: str, kind: str, top: Any, unit: str, **accuracy: Any) -> Document:
        return {"serial": serial, "kind": kind, "range_low": q(0, unit), "range_high": q(top, unit),
                **dates, **accuracy}  # fmt: skip

    gauge_range = _gauge_range(station)
    gauge = chance.choices(("0.1", "0.25", "0.5", "1.0"), (30, 30, 25, 15))[0]
    station.motor.more["gauge"] = float(gauge) / 100 * gauge_range
    station.motor.more["gauge_step"] = 0.1 if float(gauge) < 0.5 else 0.5
    beyond = pen.put("flow", 2.5 * station.machine.hydraulics.flow, digits=2)  # of any meter here
    lent = [one("I-10", "other", beyond["value"], beyond["unit"],
                percent_of_reading=q("0.2", "%"))]  # fmt: skip
    return [
        one("I-1", "pressure_calibrator", high, unit, percent_of_range=q(fine, "%")),
        one("I-2", "multimeter_true_rms", 1000, "V", percent_of_reading=q("0.5", "%")),
        one("I-3", "power_analyser", 1000, "kW", percent_of_reading=q("1", "%")),
        one("I-4", "insulation_tester", 10000, "Mohm", percent_of_reading=q("5", "%")),
        one("I-5", "low_resistance_ohmmeter", 20, "ohm", percent_of_reading=q("0.5", "%")),
        one("I-6", "tachometer", 10000, "rpm", percent_of_reading=q("0.05", "%")),
        one("I-7", "pressure_gauge", f"{gauge_range / factor:g}", unit,
            percent_of_range=q(gauge, "%")),
        one("I-8", "flow_strap_on", 10000 if pen.us else 2000, pen.unit("flow")[0],
            percent_of_reading=q("3", "%")),
        {"serial": "I-9", "kind": "tape", "range_low": pen.put("length", 0, step=1),
         "range_high": pen.put("length", 10, step=1),
         "resolution": pen.put("length", 0.003, step=0.001 if not pen.us else 0.01), **dates},
        *(lent if station.regulation == "flow" else ()),
    ]  # fmt: skip


def _gauge_range(station: Station) -> float:
    """A gauge that fits: the next standard range over the highest reading [Pa]."""
    highest = max(point.discharge for point in station.points)
    return standard(station, highest * 1.2, PRESSURES)
