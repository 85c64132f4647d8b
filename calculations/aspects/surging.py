"""The main when its flow stops: wave, ramp, power failure. A first look, not a surge study."""

from math import pi

from calculations import surge, water
from calculations.aspects import (
    group,
    holding,
    liquid,
    pump_torque,
    pumping,
    ramps,
    suction,
    system,
)
from calculations.aspects.holding import NEAR_OUTLET
from calculations.case import Case, Missing
from calculations.duty_points import speeds_through
from calculations.surge import PIPE_ELASTIC_MODULUS, LowestPressure, StopSurge

PIPELINE = "/site/pipeline"
SOFTENING = ("air_vessel", "one_way_tank", "flywheel")


def wave_speed(case: Case) -> float:
    """Speed of a pressure wave in the main [m/s]: as recorded, else by Korteweg."""
    stated = case.find("/site/wave_speed_override")
    if stated is not None:
        return float(stated.si)
    bore, wall = case.require(f"{PIPELINE}/inside_diameter", f"{PIPELINE}/wall_thickness")
    material = case.word(f"{PIPELINE}/material")
    if material not in PIPE_ELASTIC_MODULUS:
        raise Missing("/site/wave_speed_override")
    if not liquid.is_water(case):  # nor is it as stiff
        raise Missing("/site/wave_speed_override", because=liquid.NOT_WATER)
    temperature = liquid.temperature(case)
    return surge.wave_speed(
        bulk_modulus=water.bulk_modulus(temperature=temperature), density=liquid.density(case),
        bore=bore.si, wall_thickness=wall.si, elastic_modulus=PIPE_ELASTIC_MODULUS[material],
    )  # fmt: skip


def reflection_time(case: Case) -> float:
    """Time after which the wave is back [s]."""
    return surge.reflection_time(length=case.si(f"{PIPELINE}/length"), wave_speed=wave_speed(case))


def velocity(case: Case) -> float:
    """Velocity in the main at the system's design flow [m/s]."""
    return system.main_velocity(case, case.si("/site/system_design_flow"))


def instant_head(case: Case) -> float:
    """Change of head when the design flow stops at once [m]."""
    return surge.joukowsky_head(wave_speed=wave_speed(case), velocity_change=velocity(case))


def flow_stop_time(case: Case) -> float:
    """Time within the ramp down after which the flow ends [s], from the design point on.

    None of it where the pump is let coast.
    """
    if case.is_("/settings/stop_mode", "coast"):
        return 0.0
    begins, ends = _speeds(case)
    from_, to = (
        pumping.frequency(case, begins, _design_flow(case)),
        pumping.frequency(case, ends, 0.0),
    )
    return max(ramps.down_time(case, from_) - ramps.down_time(case, to), 0.0)


def coasting_time(case: Case) -> float:
    """Time after which a pump without power makes no flow any more [s].

    J dw/dt = -T (w/w0)^2 from the design point on: t = J w0^2 / P (n0/n - 1), w = 2 pi n;
    equation of rotation.
    The torque is taken to go with the square of the speed, P being the most that the pump asks for
    at that speed between no flow and the design point. Under static head the flow falls faster than
    the speed: a radial pump asks for less torque then, and coasts longer than is told here, an
    axial one for more.
    Where little or no static head ends the flow, it falls at first as if it ended in J w0^2 / P.
    """
    begins, ends = _speeds(case)
    if begins <= ends:
        return 0.0
    share = min(begins / ends - 1, 1.0) if ends > 0 else 1.0
    ratio = pumping.transmission(case)
    inertia = case.si("/pump/inertia") + case.si("/motor/inertia") * ratio**2
    return float(inertia * (2 * pi * begins) ** 2 / _braking_power(case, begins) * share)


def _braking_power(case: Case, speed: float) -> float:
    """The most shaft power [W] at a speed [1/s] from the design point back to no flow."""
    curve, density, last = pumping.curve(case), liquid.density(case), _design_flow(case)
    ratio = speed / curve.speed
    flows = [last, *(knot * ratio for knot in curve.heads.knots if knot * ratio < last)]
    found = [curve.shaft_power(flow=flow, speed=speed, density=density) for flow in flows]
    if not found[0]:
        raise Missing("/pump/curve_points", because="no power at the design point")
    closed = pump_torque.closed_valve_power_of_axial(case, curve)
    return max(*(each or 0.0 for each in found), closed * ratio**3)


def _speeds(case: Case) -> tuple[float, float]:
    """Speeds of the design point and of zero flow there, at the highest lift [1/s]."""
    curve, head = pumping.curve(case), case.si("/site/system_design_head")
    speeds = speeds_through(curve=curve, flow=_design_flow(case), head=head)
    if not speeds:
        raise Missing("/pump/curve_points", because="the design point lies beyond the curve")
    static = min(_highest_lift(case), head)
    return speeds[-1], curve.zero_flow_speed(required_head=static)


def _design_flow(case: Case) -> float:
    """This pump's share of the design flow [m3/s]."""
    return case.si("/site/system_design_flow") / group.sharing(case)


def ramp_surge(case: Case) -> StopSurge:
    """Head rise when the drive ramps down from the design point, by the simple estimate."""
    return surge.stop_surge(
        length=case.si(f"{PIPELINE}/length"), wave_speed=wave_speed(case),
        velocity_change=velocity(case), stop_time=flow_stop_time(case),
    )  # fmt: skip


def coasting_surge(case: Case) -> StopSurge:
    """Head rise when the pump is let coast from the design point, by the simple estimate."""
    return surge.stop_surge(
        length=case.si(f"{PIPELINE}/length"), wave_speed=wave_speed(case),
        velocity_change=velocity(case), stop_time=coasting_time(case),
    )  # fmt: skip


def sudden_surge(case: Case, least: float) -> StopSurge:
    """Head rise when the design flow ends in `least` [s]: no set runs down faster without power."""
    return surge.stop_surge(
        length=case.si(f"{PIPELINE}/length"), wave_speed=wave_speed(case),
        velocity_change=velocity(case), stop_time=least,
    )  # fmt: skip


def static_grade(case: Case) -> float:
    """Grade line of the discharge at rest [m over the site datum], at the highest lift."""
    return suction.grade(case, "low") + case.si(holding.LIFT["low"])


def _highest_lift(case: Case) -> float:
    """The highest lift [m]: to the outlet, or over a summit of the main that stands above it.

    An air valve up there lets no siphon hold: the main stays full as far as the summit.
    """
    lift, over = case.si(holding.LIFT["low"]), holding.over_summit(case, "low")
    return lift if over is None else max(lift, over)


def what_stands_highest(case: Case) -> str:
    """What says how high the liquid stands over the main at rest, in words."""
    to_outlet = _highest_lift(case) == case.si(holding.LIFT["low"])
    return "the highest lift" if to_outlet else "the high point of the main"


def pressure_at_rest(case: Case) -> float:
    """Pressure in the main at rest, at the height of the site datum [Pa]."""
    return liquid.pressure(case, suction.grade(case, "low") + _highest_lift(case))


def ends_at_high_point(case: Case) -> bool:
    """Whether the main's high point is its outlet: the tank holds its level there, whatever runs.

    The grade at rest is that of the outlet, somewhere between the lowest and the highest lift.
    """
    low, high = (case.find(place) for place in (holding.LIFT["high"], holding.LIFT["low"]))
    elevation = case.si(f"{PIPELINE}/high_point_elevation")
    if low is None or high is None:
        return False
    lowest = suction.grade(case, "high") + low.si
    ends = (lowest, static_grade(case))
    return bool(min(ends) - NEAR_OUTLET <= elevation <= max(ends) + NEAR_OUTLET)


def is_summit(case: Case) -> bool:
    """Whether the main's high point lies above the grade at rest: where air valves belong."""
    return case.si(f"{PIPELINE}/high_point_elevation") >= static_grade(case)


def high_point(case: Case, head_drop: float) -> LowestPressure:
    """Lowest pressure at the main's high point when the head falls by so much [m].

    At a summit the liquid passes at the pressure of the air, from which the head falls; what the
    grade at rest leaves of it, whatever stopped, may be less.
    """
    at_rest = _lowest(case, static_grade(case), 0.0)
    return min(_falling(case, head_drop), at_rest, key=lambda each: each.pressure)


def tears(case: Case, head_drop: float) -> bool:
    """Whether the fall of head alone [m] brings the high point to the vapour's pressure."""
    return _falling(case, head_drop).column_separates


def _falling(case: Case, head_drop: float) -> LowestPressure:
    summit = case.si(f"{PIPELINE}/high_point_elevation")
    return _lowest(case, max(static_grade(case), summit), head_drop)


def _lowest(case: Case, grade: float, head_drop: float) -> LowestPressure:
    return surge.lowest_pressure(
        steady_grade_elevation=grade,
        elevation=case.si(f"{PIPELINE}/high_point_elevation"), head_drop=head_drop,
        density=liquid.density(case), atmospheric_pressure_absolute=liquid.atmosphere(case),
        vapour_pressure_absolute=liquid.vapour_pressure(case),
    )  # fmt: skip


def require_unsoftened(case: Case) -> None:
    """Raise `Missing` where a vessel or a flywheel softens what the estimate says."""
    if case.is_("/site/surge_protection", *SOFTENING):
        kind = case.word("/site/surge_protection").replace("_", " ")
        raise Missing("/site/surge_protection", because=f"only a study tells what the {kind} does")


def allowed_rise(case: Case) -> float:
    """Head that a stop may add to the rest, or take from it at the main's high point [m].

    What the rating leaves and, where the high point is no outlet, what it has over the air's
    pressure; nothing is asked of a high point that lies above the grade line even at rest.
    """
    rating = case.si(f"{PIPELINE}/pressure_rating")
    room = liquid.head(case, rating - pressure_at_rest(case))
    high = case.find(f"{PIPELINE}/high_point_elevation")
    if high is None or ends_at_high_point(case) or high.si >= static_grade(case):
        return room
    return float(min(room, static_grade(case) - high.si))


LONGEST_RAMP = 3600.0
"""Longest ramp that a drive is set to [s]: the limit of what is entered."""
USUAL_RAMP = 120.0
"""Beyond it a ramp is none that a pump is usually stopped by [s]; common practice, no source."""


def shortest_ramp(case: Case) -> float:
    """Ramp-down time, as the drive counts it, whose estimated surge stays within bounds [s]."""
    ramp = settable_ramp(case)
    if ramp is None:
        at = case.place("/settings/ramp_down_time")
        raise Missing(at, because="no ramp of a drive is long enough")
    return ramp


def settable_ramp(case: Case) -> float | None:
    """The same; None where no drive is set to one so long."""
    room = allowed_rise(case)
    if room <= 0:
        raise Missing(f"{PIPELINE}/pressure_rating", because="exceeded at rest")
    needed = surge.shortest_stop_time(
        length=case.si(f"{PIPELINE}/length"), wave_speed=wave_speed(case),
        velocity_change=velocity(case), allowed_rise=room,
    )  # fmt: skip
    now = flow_stop_time(case)
    if now <= 0:
        raise Missing(case.place("/settings/ramp_down_time"), because="the ramp stops no flow")
    ramp = case.si("/settings/ramp_down_time") * needed / now
    return ramp if ramp <= LONGEST_RAMP else None
