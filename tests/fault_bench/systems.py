"""The pipe system around a pump set, and the points it runs at on the day."""

from collections.abc import Callable
from copy import copy
from dataclasses import replace

from . import physics
from .physics import bisect, velocity_head
from .stations import Point, Station, bore_here

LARGEST_LOAD = 0.97


def lay_out(station: Station) -> bool:
    """Give the set its heights, its system and its points; False where something does not fit."""
    machine = station.machine
    machine.bore_suction = bore_here(station, machine.bore_suction)
    machine.bore_discharge = bore_here(station, machine.bore_discharge)
    _heights(station)
    if not _frequencies(station):
        return False
    laid = _keep_pressure(station) if station.regulation == "pressure" else _lift(station)
    if not (laid and _points(station) and _suction_is_enough(station)):
        return False
    _transducer(station)
    return True


# -- heights and levels -----------------------------------------------------------------------


def _heights(station: Station) -> None:
    pen, chance = station.pen, station.chance
    station.z_suction = pen.rounded("length", chance.uniform(0.2, 0.9), 0.1)
    station.z_discharge = pen.rounded("length", chance.uniform(0.4, 1.4), 0.1)
    station.z_sensor, station.eye = station.z_discharge, station.z_suction
    if chance.random() < 0.3:
        station.z_sensor = pen.rounded("length", station.z_discharge + chance.uniform(0.2, 2), 0.1)
    low, spread = _grade(station)
    step = 0.1 if not pen.us else 0.5
    station.level["low"] = pen.rounded("length", low, step)
    station.level["high"] = pen.rounded("length", low + spread, step)
    share = chance.uniform(0.2, 0.8)
    station.level["day"] = station.level["low"] + share * (
        station.level["high"] - station.level["low"]
    )


def _grade(station: Station) -> tuple[float, float]:
    """Lowest grade line of the suction over the datum, and how far it may rise [m]."""
    chance = station.chance
    if station.suction == "pressurised_main":
        return _main_pressure(station)
    if station.suction == "flooded_tank":
        return chance.uniform(1.0, 3.0), chance.uniform(0.5, 3.0)
    if station.suction == "suction_lift":
        return -chance.uniform(1.5, 3.0), chance.uniform(0.3, 1.0)
    if station.suction == "well":
        head = station.machine.hydraulics.head
        high = -head * chance.uniform(0.15, 0.45)
        drawn = min(head * 0.12, chance.uniform(2, 12))
        return high - drawn, drawn
    depth = chance.uniform(4.0, 7.0)
    return -depth, chance.uniform(0.8, 1.5)


def _main_pressure(station: Station) -> tuple[float, float]:
    """A main's pressures as grade lines, whole digits of the place's unit at the gauge."""
    chance, weight = station.chance, station.weight
    low = station.pen.rounded(
        "pressure", chance.uniform(1.2e5, 3.2e5), 1 if station.pen.us else 0.1
    )
    spread = station.pen.rounded(
        "pressure", chance.uniform(0.2e5, 0.8e5), 1 if station.pen.us else 0.1
    )
    return station.z_suction + low / weight, max(spread, 0.1e5) / weight


# -- speeds -----------------------------------------------------------------------------------


def _frequencies(station: Station) -> bool:
    """The maximum frequency, and a pump that the motor carries there, run-out included."""
    motor, chance = station.motor, station.chance
    station.maximum = motor.base_frequency
    if station.driven and chance.random() < 0.12:
        station.maximum = round(motor.base_frequency * chance.uniform(0.9, 0.98))
    if not station.driven:
        station.maximum = motor.frequency
    pump = station.machine.hydraulics
    speed = station.speed_of(station.maximum)
    usable = motor.run_power * min(station.maximum / motor.base_frequency, 1.0)
    needed = pump.highest_power(speed, station.rho)
    wanted = chance.uniform(0.72, LARGEST_LOAD)
    if motor.extended:
        wanted = min(wanted, 0.93)
    shrink = usable * wanted / needed
    if not 0.5 < shrink < 1.6:
        return False
    _trim(station, shrink)
    return True


def _trim(station: Station, factor: float) -> None:
    """Another width of the same pump: flow and power grow by a factor."""
    machine = station.machine
    pump = machine.hydraulics
    machine.hydraulics = type(pump)(**{**pump.__dict__, "flow": pump.flow * factor})
    machine.minimum_flow *= factor
    machine.bore_suction = bore_here(station, machine.bore_suction * factor**0.5)
    machine.bore_discharge = bore_here(station, machine.bore_discharge * factor**0.5)


# -- what the system asks ---------------------------------------------------------------------


def _keep_pressure(station: Station) -> bool:
    """A set point that the pump holds at its design flow at 86 to 97 % of its top speed."""
    chance, pen, pump = station.chance, station.pen, station.machine.hydraulics
    speed = station.top_speed * chance.uniform(0.86, 0.96)
    flow = pump.flow * speed / pump.speed * chance.uniform(0.85, 1.08)
    head = pump.head_at(flow, speed, made=False)
    step = 1 if pen.us else 0.1
    station.suction_loss = chance.uniform(0.2, 0.6)
    losses = riser_loss(station, flow)
    aim = station.weight * (head - losses + station.level["low"] - station.z_sensor)
    if station.apart.random() < 0.12:
        share = station.apart.uniform(0.05, 0.12)
        station.raised = pen.rounded("pressure", max(share * aim, 0.1e5), step)
        station.oddities.add("set point raised with the flow")
    station.set_point = pen.rounded("pressure", aim - station.raised, step)
    if not 1.0e5 < station.set_point < 20e5:
        return False
    station.design_flow = flow
    spread = station.level["high"] - station.level["low"]
    station.design_head = head - spread / 2
    if station.static_head("high") < 0.35 * head:
        return False
    station.lift["high"] = head * chance.uniform(0.75, 0.9)
    station.lift["low"] = station.lift["high"] - spread
    station.lift["day"] = (station.lift["low"] + station.lift["high"]) / 2
    room = station.frequency_of(speed) - station.zero_flow("low")
    return room > 3.5 * station.hertz / 50 and station.lift["low"] > 2


def _lift(station: Station) -> bool:
    """A static lift and a main that the pump meets near its best point."""
    chance, pump = station.chance, station.machine.hydraulics
    # At fixed speed nothing turns slower than the supply lets it.
    share = chance.uniform(0.93, 0.99) if station.driven else 1.0
    speed = station.top_speed * share
    flow = pump.flow * speed / pump.speed * chance.uniform(0.85, 1.08)
    head = pump.head_at(flow, speed, made=False)
    spread = station.level["high"] - station.level["low"]
    step = 0.1 if not station.pen.us else 0.5
    high = station.pen.rounded("length", head * chance.uniform(0.35, 0.75), step)
    station.lift = {"high": high, "low": high - spread}
    day = station.level["day"] - station.level["low"]
    station.lift["day"] = high - day
    if station.lift["low"] < 1:
        return False
    _summit(station)
    station.friction = (head - high) / flow**2
    station.design_flow, station.design_head = flow, head
    station.suction_loss = chance.uniform(0.1, 0.4)
    return station.zero_flow("low") < station.maximum * 0.88


def _summit(station: Station) -> None:
    """Now and then a main runs over a hill: the lift up there counts, and the outlet lies lower."""
    if station.apart.random() > 0.12:
        return
    over = station.pen.rounded("length", station.apart.uniform(1.6, 6.0), 0.1)
    if station.lift["low"] - over > 1:
        station.summit = over
        station.oddities.add("main over a summit")


def riser_loss(station: Station, flow: float) -> float:
    """Friction in the rising pipe of a well [m]."""
    if station.suction != "well":
        return 0.0
    if station.riser == 0:
        depth = -station.level["low"] + station.chance.uniform(6, 20)
        step = 1.0 if not station.pen.us else 5.0
        station.riser = station.pen.rounded("length", depth, step)
        station.eye = -station.riser
        # A rising pipe is chosen to lose a few percent of the head.
        machine = station.machine
        while (
            physics.pipe_loss(machine.hydraulics.flow, station.riser, machine.bore_discharge, 130)
            > 0.04 * machine.hydraulics.head
        ):
            machine.bore_discharge = bore_here(station, machine.bore_discharge * 1.1)
    return physics.pipe_loss(flow, station.riser, station.machine.bore_discharge, 130)


def _system(station: Station) -> Callable[[float], float]:
    """Total head that the system asks of the made pump on the day, by flow."""
    machine = station.machine

    def head(flow: float) -> float:
        if station.regulation != "pressure":
            return station.lift["day"] + station.friction * flow**2
        above = velocity_head(flow, machine.bore_discharge) + riser_loss(station, flow)
        kept = aim(station, flow) / station.weight + station.z_sensor + above
        return kept - grade_at(station, flow)

    return head


def aim(station: Station, flow: float) -> float:
    """Pressure kept at the transmitter [Pa]: raised with the square of the flow, as friction is."""
    return station.set_point + station.raised * (flow / station.design_flow) ** 2


def grade_at(station: Station, flow: float) -> float:
    """Total suction head at the gauge on the day [m over the datum]."""
    if station.suction in ("pressurised_main", "flooded_tank", "suction_lift"):
        return station.level["day"] - _suction_friction(station, flow)
    return station.level["day"]


def _suction_friction(station: Station, flow: float) -> float:
    if station.design_flow <= 0:
        return 0.0
    return station.suction_loss * (flow / station.design_flow) ** 2


def again(
    station: Station, head: float = 1.0, power: float = 1.0, suction_loss: float = 0.0
) -> list[Point] | None:
    """The points of the same set with a pump that is worn, or more loss at its suction [m].

    None where it would not carry them any more.
    """
    other = copy(station)
    other.points, other.machine = [], copy(station.machine)
    pump = station.machine.hydraulics
    other.machine.hydraulics = replace(
        pump, made_head=pump.made_head * head, made_power=pump.made_power * power
    )
    if suction_loss:
        other.suction_loss += suction_loss
        other.friction += suction_loss / station.design_flow**2
    if station.regulation != "pressure":
        return other.points if _points(other) else None
    shares = [(each.purpose, each.flow / station.design_flow) for each in station.points]
    other.points = [_point_at(other, purpose, share) for purpose, share in shares]
    return other.points if _are_ordinary(other) else None


# -- points -----------------------------------------------------------------------------------


def _points(station: Station) -> bool:
    if station.regulation == "pressure":
        least = _share_awake(station)
        if least is None:
            return False
        for share, purpose in ((1.0, "design"), ((1 + least) / 2, "normal"), (least, "minimum")):
            station.points.append(_point_at(station, purpose, share))
    elif station.driven:
        if not _lift_points(station):
            return False
    else:
        _fixed_points(station)
    return _are_ordinary(station)


def _point_at(station: Station, purpose: str, share: float) -> Point:
    """The point at a share of the design flow [1], on the system of the day."""
    flow = station.design_flow * share
    head = _system(station)(flow)
    return _point(station, purpose, flow, head, station.machine.hydraulics.speed_for(flow, head))


def _share_awake(station: Station) -> float | None:
    """Least share of the design flow [1] at which the set would not fall asleep on the day."""
    awake = station.zero_flow("low") + 1.9 * station.hertz / 50
    for share in (0.45, 0.55, 0.65, 0.75):
        if _point_at(station, "minimum", share).frequency > awake:
            return share
    return None


def _lift_points(station: Station) -> bool:
    """Three frequencies between the highest and one well above zero flow."""
    lowest = max(station.zero_flow("low") * 1.06, station.zero_flow("low") + 1.5)
    highest = station.maximum * 0.995
    if lowest > highest - 4:
        return False
    pump = station.machine.hydraulics
    # A fall over the way down would leave nothing of the least flow.
    while lowest < highest - 3 and _flow_at(station, lowest) < _least(station, lowest) * 1.3:
        lowest += 0.5
    station.minimum = lowest
    for frequency, purpose in (
        (highest, "design"), ((highest + lowest) / 2, "normal"), (lowest + 0.3, "minimum"),
    ):  # fmt: skip
        speed = station.speed_of(round(frequency, 1))
        flow = pump.flow_on(_system(station), speed)
        if flow <= 0:
            return False
        head = pump.head_at(flow, speed)
        station.points.append(_point(station, purpose, flow, head, speed))
    return station.maximum - station.minimum > 3


def _flow_at(station: Station, frequency: float) -> float:
    return station.machine.hydraulics.flow_on(_system(station), station.speed_of(frequency))


def _least(station: Station, frequency: float) -> float:
    ratio = station.speed_of(frequency) / station.machine.hydraulics.speed
    return station.machine.minimum_flow * ratio


def _fixed_points(station: Station) -> None:
    """The system's own point, and two throttled ones."""
    pump = station.machine.hydraulics
    speed = station.motor.speed / 60
    own = pump.flow_on(_system(station), speed)
    for share, purpose in ((1.0, "design"), (0.8, "normal"), (0.6, "minimum")):
        flow = own * share
        station.points.append(
            _point(station, purpose, flow, pump.head_at(flow, speed), speed, fixed=True)
        )


def _point(
    station: Station, purpose: str, flow: float, head: float, speed: float, fixed: bool = False
) -> Point:
    motor, machine = station.motor, station.machine
    shaft = machine.hydraulics.power_at(flow, speed, station.rho)
    torque = shaft / speed / motor.rated_torque
    frequency = motor.frequency_at(speed, torque) if not fixed else motor.frequency
    grade = grade_at(station, flow)
    at_gauge = head + grade - station.z_discharge
    at_gauge -= velocity_head(flow, machine.bore_discharge) + riser_loss(station, flow)
    return Point(purpose, flow, head, speed, frequency, shaft, torque, grade,
                 station.weight * at_gauge)  # fmt: skip


def _are_ordinary(station: Station) -> bool:
    """No point beyond the curve, overloaded, under the least flow, or in a vacuum."""
    pump, motor = station.machine.hydraulics, station.motor
    for point in station.points:
        ratio = point.speed / pump.speed
        if point.flow > pump.end * ratio * pump.flow * 0.97 or point.torque_share > 1.0:
            return False
        if point.flow < station.machine.minimum_flow * ratio * 1.1 or point.discharge < 0.15e5:
            return False
        if point.frequency > max(station.maximum, motor.frequency) + 0.2:
            return False
    return True


def _transducer(station: Station) -> None:
    """In some wells the water over the pump is measured, a little over the pump."""
    if not station.driven or station.suction != "well" or station.apart.random() > 0.3:
        return
    hung = station.eye + station.apart.uniform(0.8, 2.5)
    station.transducer = station.pen.rounded("length", hung, 0.1)
    station.oddities.add("well pump stopped by a level")


# -- suction ----------------------------------------------------------------------------------


def _suction_is_enough(station: Station) -> bool:
    """At every point, and at the lowest and warmest that the site states."""
    if station.suction == "wet_well":
        station.eye = station.level["low"] - 0.6
    if not all(has_suction(station, point) for point in station.points):
        return False
    return lowest_margin(station, WARMEST) > 0


def has_suction(station: Station, point: Point) -> bool:
    """Whether the suction head exceeds what the pump needs there by more than the usual margin."""
    air = physics.atmosphere(station.elevation) - physics.vapour_pressure(station.liquid)
    available = air / station.weight + point.suction_grade - station.eye
    needed = station.machine.hydraulics.npsh_at(point.flow, point.speed)
    return available >= max(1.15 * needed, needed + 0.9)


WARMEST = 26.0  # degC, as sites state it


def lowest_margin(station: Station, celsius: float) -> float:
    """What is left of the suction head [m] at its lowest, at the warmest that a site states.

    At the design flow, or at what the highest lift lets through.
    """
    pump = station.machine.hydraulics
    speed, flow = station.top_speed, station.design_flow
    if station.regulation == "pressure":
        head = station.design_head + (station.level["high"] - station.level["low"]) / 2
        speed = pump.speed_for(flow, head, made=False)
    else:
        flow = pump.flow_on(lambda through: system_head(station, through), speed)
    air = physics.atmosphere(station.elevation) - physics.vapour_pressure(celsius)
    grade = station.level["low"]
    if station.suction in ("pressurised_main", "flooded_tank", "suction_lift"):
        grade -= _suction_friction(station, flow)
    return air / station.weight + grade - station.eye - 1.03 * pump.npsh_at(flow, speed) - 0.1


def system_head(station: Station, flow: float) -> float:
    """Head of the system at the highest lift, by the catalogue [m]."""
    return station.lift["high"] + station.friction * flow**2


__all__ = ["again", "bisect", "grade_at", "has_suction", "lay_out", "lowest_margin", "riser_loss",
           "system_head"]  # fmt: skip
