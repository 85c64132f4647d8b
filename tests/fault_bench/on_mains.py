"""Mistakes at a main: its summit, its bore, its ramp, what flows in."""

from .mistakes import in_unit, mistake, mistake_on_a_drive, number, times
from .on_loops import is_softened
from .physics import vapour_pressure
from .plates import high_point
from .stand import Entered
from .systems import WARMEST
from .writing import FOOT, q, stepped


def _has_summit(e: Entered) -> bool:
    return e.station.driven and e.station.summit > 0


@mistake("minimum frequency for the outlet of a main over a hill", "speed.zero-flow")
def minimum_for_the_outlet(e: Entered) -> bool | None:
    """Over the hill nothing flows at the frequency at which the outlet would be reached."""
    station = e.station
    if not _has_summit(e):
        return False
    outlet = station.zero_flow("high", above=-station.summit)
    lowest = max(outlet + 0.3, number(e.document["pump"]["minimum_frequency_permitted"]))
    if lowest > station.zero_flow("high") - 1.5:
        return False  # half a hertz is allowed, and a drive may make up for the slip besides
    e.settings["minimum_frequency"] = q(stepped(lowest, 0.1), "Hz")
    return None


@mistake("feet of a hill written as metres", "speed.zero-flow")
def hill_in_feet(e: Entered) -> bool | None:
    """The summit's height in feet, written as metres; in feet, three times too high."""
    station = e.station
    if not _has_summit(e):
        return False
    top = station.pen.si("length", e.document["site"]["pipeline"]["high_point_elevation"]) / FOOT
    pump = station.machine.hydraulics
    reached = pump.head_at(0.0, station.top_speed, made=False) + station.level["high"]
    if top < 1.05 * reached + 1:
        return False
    e.document["site"]["pipeline"]["high_point_elevation"] = station.pen.put("length", top)
    return None


@mistake("high point over the sea", "speed.zero-flow")
def high_point_over_the_sea(e: Entered) -> bool | None:
    station, main = e.station, e.document["site"].get("pipeline")
    if not station.driven or not main or "high_point_elevation" not in main:
        return False
    top = high_point(station) + station.elevation
    pump = station.machine.hydraulics
    reached = pump.head_at(0.0, station.top_speed, made=False) + station.level["high"]
    if top < 1.05 * reached + 1:
        return False
    main["high_point_elevation"] = station.pen.put("length", top, step=0.1)
    return None


@mistake_on_a_drive("bore of the main twice as large", "main.velocity")
def wide_main(e: Entered) -> bool | None:
    main = e.document["site"].get("pipeline")
    if not main:
        return False
    main["inside_diameter"] = times(main["inside_diameter"], e.chance.uniform(2.0, 2.4))
    main["wall_thickness"] = times(main["wall_thickness"], 2.2)
    return None


@mistake_on_a_drive("peak inflow in the other unit", "station.inflow")
def inflow_unit(e: Entered) -> bool | None:
    peak = e.document["site"].get("inflow_peak")
    if not peak:
        return False
    other = {"m3/h": "L/s", "gpm": "m3/h"}.get(peak["unit"])
    if other is None:
        return False  # L/s read otherwise are less than there is, which drowns nobody
    e.document["site"]["inflow_peak"] = in_unit(peak, other)
    return None


@mistake_on_a_drive("tenths of a second set for a ramp up", "ramp.too-short")
def no_ramp(e: Entered) -> bool | None:
    if "inertia" in e.document["motor"]:
        return False
    e.settings["ramp_up_time"] = q("0.1", "s")
    return None


@mistake_on_a_drive("ramp too quick for what it turns", "ramp.start-torque")
def quick_ramp(e: Entered) -> bool | None:
    if "inertia" not in e.document["motor"]:
        return False
    e.settings["ramp_up_time"] = q("0.05", "s")
    for name in ("first_ramp_time", "first_ramp_to_frequency"):
        e.settings.pop(name, None)
    return None


@mistake_on_a_drive("inertia in the other unit, a thousand times too large", "ramp.start-torque")
def inertia_unit(e: Entered) -> bool | None:
    inertia = e.document["motor"].get("inertia")
    if inertia is None:
        return False
    e.document["motor"]["inertia"] = times(inertia, 1000)
    return None


@mistake("pipework rated below what the pump gives at no flow", "speed.maximum-pressure")
def weak_pipework(e: Entered) -> bool | None:
    station = e.station
    if not station.driven or station.regulation == "pressure":
        return False
    highest = station.shut_off_pressure(station.maximum)
    if highest < 1e5:
        return False
    e.document["site"]["discharge_pressure_limit"] = station.pen.put("pressure", 0.8 * highest)
    return None


@mistake("design head without the friction", "region.run-out")
def no_friction(e: Entered) -> bool | None:
    station, site = e.station, e.document["site"]
    if not station.driven or station.regulation == "pressure" or "pipeline" in site:
        return False  # in a main so much flow would be a surge as well
    lift, pump, speed = site["static_lift_high"], station.machine.hydraulics, station.top_speed
    friction = 0.03 * station.lift["high"] / station.design_flow**2
    end = pump.end * pump.flow * speed / pump.speed
    if pump.head_at(end, speed, made=False) < station.lift["low"] + 1.05 * friction * end**2:
        return False
    bare = number(lift) + station.summit / station.pen.unit("head")[1]
    site["system_design_head"] = q(f"{bare * 1.03:.1f}", lift["unit"])
    return None


@mistake_on_a_drive("ramp down too short for the main's high point", "ramp.surge")
def air_drawn_in(e: Entered) -> bool | None:
    """The flow ends at once: the head falls by more than stands over the high point."""
    station, main = e.station, e.document["site"].get("pipeline")
    if not station.dip or main is None or is_softened(e):
        return False
    bore = station.pen.si("bore", main["inside_diameter"])
    velocity = station.design_flow / (0.7854 * bore**2)
    slow = 2 * station.pen.si("length", main["length"]) * velocity / 9.81
    drop = min(slow, {"pe": 250.0}.get(main["material"], 900.0) * velocity / 9.81)
    over = station.dip + station.level["high"] - station.level["low"]
    if 0.9 * drop < 1.15 * over:
        return False
    e.settings["ramp_down_time"] = q("0.5", "s")
    for name in ("last_ramp_time", "last_ramp_from_frequency"):
        e.settings.pop(name, None)
    return None


@mistake("wall of the main with its point moved", "main.wall")
def thin_wall(e: Entered) -> bool | None:
    """A tenth of its wall carries ten times the stress: more than it bears, or none that is made.

    Of iron 3 mm are made at the least, of steel 1.5 mm; PE gives at 25 MPa: all from memory.
    """
    main = e.document["site"].get("pipeline")
    if not main:
        return False
    pen = e.station.pen
    pressure, bore, wall = (
        pen.si(kind, main[name])
        for kind, name in (
            ("pressure", "pressure_rating"), ("bore", "inside_diameter"), ("bore", "wall_thickness")
        )
    )  # fmt: skip
    made, bears = {"ductile_iron": (3e-3, 270e6), "steel": (1.5e-3, 355e6)}.get(
        main["material"], (0.0, 25e6)
    )
    thin = wall / 10
    if thin > 0.95 * made and pressure * bore / (2 * thin) < 1.05 * bears:
        return False
    main["wall_thickness"] = times(main["wall_thickness"], 0.1)
    return None


# -- the liquid -------------------------------------------------------------------------------


@mistake("density of another liquid at a station of water", "site.liquid-density")
def another_density(e: Entered) -> None:
    e.document["site"]["liquid_density"] = q(e.chance.choice((880, 1100, 1200)), "kg/m3")


@mistake("vapour pressure of water in another unit", "site.liquid-vapour-pressure")
def vapour_unit(e: Entered) -> None:
    """Kilopascals of a table, written down as psi."""
    pascals = vapour_pressure(WARMEST)
    e.document["site"]["liquid_vapour_pressure_absolute"] = q(f"{pascals / 1e3:.2f}", "psi")
