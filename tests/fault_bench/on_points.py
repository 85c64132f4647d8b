"""Points that a set should not run at, and readings of them that cannot be."""

from dataclasses import replace

from . import physics, systems, visits
from .mistakes import mistake, mistake_on_a_drive, number, times
from .stand import Entered
from .stations import Point
from .writing import q


@mistake("tachometer that counts two marks a turn", "speed.measured")
def two_marks(e: Entered) -> bool | None:
    point = next((each for each in e.points if each.get("speed_measured")), None)
    if point is None:
        return False
    point["speed"] = q(round(number(point["speed"]) * 2), "rpm")
    return None


@mistake_on_a_drive("a tenfold power at the drive's output", "load.power")
def tenfold(e: Entered) -> bool | None:
    name = next((n for n in ("power_drive_output", "power_drive_display") if n in e.points[0]), "")
    if not name:
        return False
    e.points[0][name] = times(e.points[0][name], 10)
    return None


ALLOWED = 0.08
"""Share by which a head may rise with flow, beside what the gauges leave open."""


def _point_of(e: Entered, was: Point, flow: float, purpose: str) -> Point | None:
    """Another point at the same speed, by a valve; None where the motor would not carry it."""
    station, pump = e.station, e.station.machine.hydraulics
    head = pump.head_at(flow, was.speed)
    shaft = pump.power_at(flow, was.speed, station.rho)
    grade = systems.grade_at(station, flow)
    above = physics.velocity_head(flow, station.machine.bore_discharge)
    above += systems.riser_loss(station, flow)
    found = replace(
        was, purpose=purpose, flow=flow, head=head, shaft=shaft, suction_grade=grade,
        torque_share=shaft / was.speed / station.motor.rated_torque,
        discharge=station.weight * (head + grade - station.z_discharge - above),
    )  # fmt: skip
    return found if found.torque_share < 1 and found.discharge > 0.2e5 else None


@mistake("throttled below the pump's least flow", "region.minimum-flow")
def throttled(e: Entered) -> bool | None:
    station, was = e.station, e.station.points[-1]
    if station.regulation == "pressure":
        return False  # it slows down instead
    least = station.machine.minimum_flow * was.speed / station.machine.hydraulics.speed
    point = _point_of(e, was, 0.5 * least, "minimum")
    if point is None:
        return False
    e.points[-1] = visits.duty_point(station, e.document, point)
    return None


@mistake("run out beyond the end of its curve", "region.operating")
def run_out(e: Entered) -> bool | None:
    """A burst main, say: the same speed against much less head."""
    station, was, pump = e.station, e.station.points[0], e.station.machine.hydraulics
    if station.regulation == "pressure" or e.document["event"].get("drawdown_tests"):
        return False  # or else the draw-down tells of another flow at this frequency
    end = pump.end * pump.flow * was.speed / pump.speed
    point = _point_of(e, was, 1.1 * end, "maximum")
    if point is None or not systems.has_suction(station, point):
        return False
    e.points.append(visits.duty_point(station, e.document, point))
    return None


@mistake("a valve nearly shut in the main", "system.flow")
def nearly_shut(e: Entered) -> bool | None:
    """Every point lies on the pump's curve, at less than its flow on the main as designed.

    The slowest is read between the others: near zero flow nothing tells a valve. Nothing where a
    draw-down or another visit tells of the flow without it.
    """
    station = e.station
    event = e.document["event"]
    if station.regulation not in ("level", "external") or e.earlier is not None:
        return False
    if station.suction == "well" or event.get("drawdown_tests") or len(station.points) < 2:
        return False
    design, normal = station.points[:2]
    between = replace(normal, purpose="minimum", speed=0.6 * normal.speed + 0.4 * design.speed)
    found = [_behind_a_valve(e, was) for was in (design, normal, between)]
    if None in found or design.frequency - normal.frequency < 2:
        return False
    event["duty_points"] = [visits.duty_point(station, e.document, each) for each in found if each]
    return None


def _behind_a_valve(e: Entered, was: Point) -> Point | None:
    station, pump = e.station, e.station.machine.hydraulics
    on_main = pump.flow_on(
        lambda flow: station.lift["high"] + station.friction * flow**2, was.speed
    )
    flow = 0.6 * on_main
    asked = station.lift["high"] + station.friction * flow**2
    least = station.machine.minimum_flow * was.speed / pump.speed
    if flow < 1.15 * least or pump.head_at(flow, was.speed) < 1.2 * asked:
        return None
    found = _point_of(e, was, flow, was.purpose)
    if found is None:
        return None
    return replace(found, frequency=station.motor.frequency_at(found.speed, found.torque_share))


def _starved(e: Entered, air: float) -> list[Point] | None:
    """The points with so much loss at the suction that the first of them cavitates."""
    pump = e.station.machine.hydraulics
    for loss in range(1, 14):
        found = systems.again(e.station, suction_loss=float(loss))
        if found is None:
            return None
        needed = pump.npsh_at(found[0].flow, found[0].speed)
        if 0.3 < air + found[0].suction_grade < 0.95 * needed:
            return found
    return None


@mistake("a clogged strainer at the suction", "npsh.margin")
def clogged(e: Entered) -> bool | None:
    station = e.station
    if station.suction not in ("flooded_tank", "suction_lift", "pressurised_main"):
        return False
    air = physics.atmosphere(station.elevation) - physics.vapour_pressure(station.liquid)
    air /= station.weight
    if air + station.points[0].suction_grade > 18:
        return False  # no strainer takes as much as a main under pressure gives
    found = _starved(e, air)
    if found is None:
        return False
    drawn = [visits.duty_point(station, e.document, each) for each in found]
    visits.shaken_alike(drawn, e.points)
    e.document["event"]["duty_points"] = drawn
    return None


@mistake("highest temperature of the liquid in degF, written in degC", "npsh.lowest-suction")
def hot_liquid(e: Entered) -> bool | None:
    """79 degF as degC: the vapour takes nearly half of the air's pressure."""
    eye = 0.0 if e.station.suction in ("well", "wet_well") else e.station.eye
    in_a_pit = e.station.suction == "wet_well" and e.station.machine.type == "end_suction"
    if in_a_pit or systems.lowest_margin(e.station, 79.0) > -0.9 - eye:
        return False
    e.document["site"]["liquid_temperature_max"] = q("79", "degC")
    return None


@mistake("a digit too many in a flow, of a pump without a curve", "curve.points-agree",
         without_curve=True)  # fmt: skip
def without_curve(e: Entered) -> bool | None:
    """The least flow becomes the largest: its head is far too high for that."""
    station, (*others, odd) = e.station, e.station.points
    most = max(others, key=lambda each: each.flow / each.speed)
    if "speed" not in e.points[others.index(most)] or "speed" not in e.points[-1]:
        return False  # a small motor's slip leaves much of its head open
    gauges = sum(station.motor.more["gauge"] / station.weight / each.head for each in (most, odd))
    written = odd.head + physics.velocity_head(10 * odd.flow, station.machine.bore_discharge)
    written -= physics.velocity_head(odd.flow, station.machine.bore_discharge)
    rise = written / most.head * (most.speed / odd.speed) ** 2 - 1
    if rise < ALLOWED + 2 * gauges:  # two gauges make a head
        return False
    e.points[-1]["flow"] = times(e.points[-1]["flow"], 10)
    return None
