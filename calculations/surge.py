"""Pressure surges in a main when its flow stops: estimates for a first look, not a surge study."""

import math
from dataclasses import dataclass
from enum import StrEnum

from calculations import guards
from calculations.constants import STANDARD_GRAVITY
from calculations.water import pressure_of_head

PIPE_ELASTIC_MODULUS = {
    "ductile_iron": 165e9,
    "cast_iron": 100e9,
    "steel": 207e9,
    "pvc": 2.8e9,
    "pe": 0.9e9,
    "grp": 20e9,
    "concrete": 30e9,
}
"""Short-term elastic modulus of pipe materials [Pa]; all from memory, so that callers may set it.

Plastics: the long-term values of data sheets are far lower and give too slow a wave.
"""


class Anchorage(StrEnum):
    """How a main is held along its axis."""

    EXPANSION_JOINTS = "expansion joints throughout"
    ANCHORED_THROUGHOUT = "anchored throughout"
    ANCHORED_UPSTREAM = "anchored at its upstream end"


@dataclass(frozen=True, slots=True)
class StopSurge:
    """Head rise when a flow stops within a time [m], the limits around it, and the wave's time.

    `slow` is True where the stop takes longer than the wave's return.
    """

    head_rise: float
    instant_head_rise: float
    reflection_time: float
    slow: bool


@dataclass(frozen=True, slots=True)
class LowestPressure:
    """Lowest gauge pressure at a place [Pa]; where the column separates it is the vapour's."""

    pressure: float
    column_separates: bool


def anchorage_factor(*, anchorage: Anchorage, poisson_ratio: float = 0.3) -> float:
    """Factor by which a main's restraint changes how much its wall gives.

    anchorage: how the main is held.
    poisson_ratio: of the pipe material [1], 0 to 0.5.
    Returns the factor c [1].
    Valid for thin walls.
    Raises InvalidInput for a ratio outside that range.
    Equation: 1, 1 - nu^2, or 1 - nu/2.
    Source: WYLIE-STREETER-1993, chapter 1 (from memory).
    """
    guards.within(poisson_ratio=poisson_ratio, lowest=0.0, highest=0.5, unit="")
    if anchorage is Anchorage.EXPANSION_JOINTS:
        return 1.0
    if anchorage is Anchorage.ANCHORED_THROUGHOUT:
        return 1.0 - poisson_ratio**2
    return 1.0 - poisson_ratio / 2.0


def wave_speed(
    *,
    bulk_modulus: float,
    density: float,
    bore: float,
    wall_thickness: float,
    elastic_modulus: float,
    anchorage_factor: float = 1.0,
) -> float:
    """Speed at which a change of pressure runs along a main.

    bulk_modulus: of the liquid [Pa], above zero.
    density: of the liquid [kg/m3], above zero.
    bore: inside diameter [m], above zero.
    wall_thickness: of the pipe [m], above zero.
    elastic_modulus: of the pipe's wall, short-term [Pa], above zero.
    anchorage_factor: as from `anchorage_factor` [1], above zero.
    Returns the speed [m/s].
    Valid for thin round walls and liquid without gas; a little gas makes it much slower.
    Raises InvalidInput for a value not above zero.
    Equation: a = sqrt(K / rho) / sqrt(1 + K D c / (E e)).
    Source: KORTEWEG-1878; WYLIE-STREETER-1993, chapter 1.
    """
    guards.positive(bulk_modulus=bulk_modulus, density=density, bore=bore)
    guards.positive(wall_thickness=wall_thickness, elastic_modulus=elastic_modulus)
    guards.positive(anchorage_factor=anchorage_factor)
    give = bulk_modulus * bore * anchorage_factor / (elastic_modulus * wall_thickness)
    return math.sqrt(bulk_modulus / density) / math.sqrt(1.0 + give)


def joukowsky_head(*, wave_speed: float, velocity_change: float) -> float:
    """Change of head when a flow changes faster than the wave returns.

    wave_speed: in the main [m/s], above zero.
    velocity_change: that is stopped [m/s], zero or more.
    Returns the change of head [m]: a rise before the obstacle, a fall behind it.
    Raises InvalidInput for a value outside these ranges.
    Equation: dH = a dV / g.
    Source: JOUKOWSKY-1898.
    """
    guards.positive(wave_speed=wave_speed)
    guards.not_negative(velocity_change=velocity_change)
    return wave_speed * velocity_change / STANDARD_GRAVITY


def reflection_time(*, length: float, wave_speed: float) -> float:
    """Time after which the wave is back from the far end of a main.

    length: of the main [m], above zero.
    wave_speed: in the main [m/s], above zero.
    Returns the time [s].
    Raises InvalidInput for a value not above zero.
    Equation: T = 2 L / a.
    Source: MICHAUD-1878; WYLIE-STREETER-1993, chapter 1.
    """
    guards.positive(length=length, wave_speed=wave_speed)
    return 2.0 * length / wave_speed


def stop_surge(
    *, length: float, wave_speed: float, velocity_change: float, stop_time: float
) -> StopSurge:
    """Head rise when the flow in a main is brought to rest along a straight line of velocity.

    length: of the main [m], above zero.
    wave_speed: in the main [m/s], above zero.
    velocity_change: that is stopped [m/s], zero or more.
    stop_time: in which the flow, not the speed of the pump, ends [s], zero or more.
    Returns the rise [m], the rise of an instant stop [m], and the reflection time [s].
    Valid for one main of one bore without air; the velocity's own time law matters.
    Raises InvalidInput for values outside these ranges.
    Equation: a dV/g up to t = 2L/a, then 2 L dV/(g t).
    Source: JOUKOWSKY-1898; MICHAUD-1878.
    """
    guards.not_negative(stop_time=stop_time)
    instant = joukowsky_head(wave_speed=wave_speed, velocity_change=velocity_change)
    returned = reflection_time(length=length, wave_speed=wave_speed)
    slow = stop_time > returned
    rise = instant * returned / stop_time if slow else instant
    return StopSurge(rise, instant, returned, slow)


def shortest_stop_time(
    *, length: float, wave_speed: float, velocity_change: float, allowed_rise: float
) -> float:
    """Shortest straight-line stop of the flow whose estimated rise stays within a limit.

    length: of the main [m], above zero.
    wave_speed: in the main [m/s], above zero.
    velocity_change: that is stopped [m/s], zero or more.
    allowed_rise: of head over the steady one [m], above zero.
    Returns the time [s]; 0 where even an instant stop stays within the limit.
    Raises InvalidInput for values outside these ranges.
    Equation: t = 2 L dV / (g dH).
    Source: MICHAUD-1878.
    """
    guards.positive(allowed_rise=allowed_rise)
    instant = joukowsky_head(wave_speed=wave_speed, velocity_change=velocity_change)
    if instant <= allowed_rise:
        return 0.0
    return reflection_time(length=length, wave_speed=wave_speed) * instant / allowed_rise


def flow_stop_time(
    *, ramp_time: float, operating_speed_ratio: float, static_head: float, shut_off_head: float
) -> float:
    """Time within a speed ramp at which the flow ends and the check valve shuts.

    ramp_time: of a straight ramp from the shut-off head's speed to rest [s], zero or more.
    operating_speed_ratio: speed at which the ramp begins over that speed [1], above zero.
    static_head: of the system [m]; at zero or less the flow lasts as long as the pump turns.
    shut_off_head: at zero flow at that speed [m], above zero.
    Returns the time from the start of the ramp [s]; 0 where nothing flows at the start.
    Valid for a slow ramp: the inertia of the water is left out.
    Raises InvalidInput for values outside these ranges.
    Equation: t = t_ramp (s_op - sqrt(H_s / H_0)).
    Source: HI-DATA, equation 1.B.6, at zero flow, with a straight ramp.
    """
    guards.not_negative(ramp_time=ramp_time)
    guards.positive(operating_speed_ratio=operating_speed_ratio)
    stop_ratio = _stop_ratio(static_head, shut_off_head)
    return ramp_time * max(operating_speed_ratio - stop_ratio, 0.0)


def run_down_flow_stop_time(
    *,
    inertia: float,
    speed: float,
    shaft_power: float,
    speed_ratio: float,
    static_head: float,
    shut_off_head: float,
) -> float | None:
    """Time after a power failure at which the flow ends while the set runs down.

    inertia: of motor, coupling, pump and the water in it [kg.m2], zero or more.
    speed: of rotation when the power fails [1/s], above zero.
    shaft_power: taken by the pump at that moment [W], above zero.
    speed_ratio: that speed over the shut-off head's speed [1], above zero.
    static_head: of the system [m].
    shut_off_head: at zero flow at the shut-off head's speed [m], above zero.
    Returns the time [s]; None without static head, where the flow lasts as long as the set turns.
    Valid as a first look: load torque as the square of speed, inertia of the water left out.
    Raises InvalidInput for values outside these ranges.
    Equation: t = J w^2/P (s / sqrt(H_s/H_0) - 1), w = 2 pi n.
    Source: equation of rotation, derived; HI-DATA, equation 1.B.6, at zero flow.
    """
    guards.not_negative(inertia=inertia)
    guards.positive(speed=speed, shaft_power=shaft_power, speed_ratio=speed_ratio)
    stop_ratio = _stop_ratio(static_head, shut_off_head)
    if stop_ratio == 0.0:
        return None
    run_down = inertia * (2.0 * math.pi * speed) ** 2 / shaft_power
    return run_down * max(speed_ratio / stop_ratio - 1.0, 0.0)


def power_failure_head_drop(
    *, length: float, wave_speed: float, velocity: float, flow_stop_time: float = 0.0
) -> float:
    """Fall of head behind the pump when its power fails; no ramp softens it.

    length: of the main [m], above zero.
    wave_speed: in the main [m/s], above zero.
    velocity: in the main at the moment [m/s], zero or more.
    flow_stop_time: in which the run-down set lets the flow end [s]; 0 credits no inertia.
    Returns the fall of head [m].
    Valid as a first look; the rise that follows is of like size, or more where a check valve slams
    or a vapour pocket collapses.
    Raises InvalidInput for values outside these ranges.
    Equation: as `stop_surge`.
    Source: JOUKOWSKY-1898; MICHAUD-1878.
    """
    surge = stop_surge(
        length=length, wave_speed=wave_speed, velocity_change=velocity, stop_time=flow_stop_time
    )
    return surge.head_rise


def lowest_pressure(
    *,
    steady_grade_elevation: float,
    elevation: float,
    head_drop: float,
    density: float,
    atmospheric_pressure_absolute: float,
    vapour_pressure_absolute: float,
) -> LowestPressure:
    """Lowest pressure at a high point of a main after its flow stops at the pump.

    steady_grade_elevation: hydraulic grade line at the place before the stop [m].
    elevation: of the pipe's crown there, over the same datum [m].
    head_drop: fall of head at the place [m], zero or more.
    density: of the liquid [kg/m3], above zero.
    atmospheric_pressure_absolute: at the site [Pa], above zero.
    vapour_pressure_absolute: of the liquid [Pa], zero or more.
    Returns the gauge pressure [Pa], and whether it has reached the vapour pressure.
    Valid as a first look: the wave is taken to arrive unweakened.
    Raises InvalidInput for values outside these ranges.
    Equation: p = rho g (grade - drop - z), not below p_v - p_atm.
    Source: hydrostatics; WYLIE-STREETER-1993, chapter 1.
    """
    guards.finite(steady_grade_elevation=steady_grade_elevation, elevation=elevation)
    guards.not_negative(head_drop=head_drop, vapour_pressure_absolute=vapour_pressure_absolute)
    guards.positive(atmospheric_pressure_absolute=atmospheric_pressure_absolute)
    head = steady_grade_elevation - head_drop - elevation
    pressure = pressure_of_head(head=head, density=density)
    floor = vapour_pressure_absolute - atmospheric_pressure_absolute
    return LowestPressure(max(pressure, floor), pressure <= floor)


def _stop_ratio(static_head: float, shut_off_head: float) -> float:
    """Speed ratio at which a falling speed lets the flow end."""
    guards.finite(static_head=static_head)
    guards.positive(shut_off_head=shut_off_head)
    return math.sqrt(max(static_head, 0.0) / shut_off_head)
