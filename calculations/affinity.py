"""Affinity laws: what a change of speed does to a point of a pump's own curve.

They move the curve, not the duty: against static head the duty has to be solved on the moved
curve (`calculations.pump_curves`).
"""

import math
from dataclasses import dataclass

from calculations import guards
from calculations.water import head_of_pressure


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """A point of a pump's curve: flow [m3/s] and head [m]."""

    flow: float
    head: float


def scaled_point(*, flow: float, head: float, from_speed: float, to_speed: float) -> OperatingPoint:
    """Where a point of the pump's curve lies at another speed.

    flow: at the first speed [m3/s].
    head: at the first speed [m].
    from_speed, to_speed: speeds of rotation [1/s], above zero.
    Returns flow [m3/s] and head [m] at the other speed.
    Valid for tests from 50 % to 120 % of the specified speed; water-like liquids.
    Raises InvalidInput for a speed not above zero or values that are not finite.
    Equation: Q ~ n, H ~ n^2.
    Source: HI-DATA, equation 1.B.6; HI14.6-2011, 14.6.5.7.2.
    """
    guards.finite(flow=flow, head=head)
    guards.positive(from_speed=from_speed, to_speed=to_speed)
    ratio = to_speed / from_speed
    return OperatingPoint(flow=flow * ratio, head=head * ratio * ratio)


def scaled_power(*, power: float, from_speed: float, to_speed: float) -> float:
    """Shaft power of the same point of the curve at another speed.

    power: at the first speed [W].
    from_speed, to_speed: speeds of rotation [1/s], above zero.
    Returns the power [W].
    Valid where efficiency stays the same, within about 20 % of speed.
    Raises InvalidInput for a speed not above zero or a power that is not finite.
    Equation: P ~ n^3.
    Source: HI-DATA, equation 1.B.6.
    """
    guards.finite(power=power)
    guards.positive(from_speed=from_speed, to_speed=to_speed)
    return power * (to_speed / from_speed) ** 3


def head_at_zero_flow(
    *, set_pressure: float, suction_pressure: float, transmitter_above_gauge: float, density: float
) -> float:
    """Head that a pump has to hold at a set point while nothing flows.

    set_pressure: gauge pressure at the regulating transmitter [Pa].
    suction_pressure: gauge pressure at the suction gauge [Pa].
    transmitter_above_gauge: transmitter's elevation minus the suction gauge's [m].
    density: of the liquid [kg/m3], above zero.
    Returns the head [m]; negative where the suction alone holds the set point.
    Raises InvalidInput for a density not above zero or values that are not finite.
    Equation: H = (p_set - p_s)/(rho g) + dz. Lowest suction gives the highest head (sleep), highest
    suction the lowest (over-pressure, early sleep).
    Source: hydrostatics; ISO9906-2012, 3.2.
    """
    guards.finite(
        set_pressure=set_pressure,
        suction_pressure=suction_pressure,
        transmitter_above_gauge=transmitter_above_gauge,
    )
    difference = set_pressure - suction_pressure
    return head_of_pressure(pressure=difference, density=density) + transmitter_above_gauge


def zero_flow_speed(*, speed: float, shut_off_head: float, required_head: float) -> float:
    """Lowest speed at which a pump holds a head; below it nothing flows.

    speed: that the shut-off head belongs to [1/s], above zero.
    shut_off_head: head at zero flow at that speed [m], above zero.
    required_head: to be held at zero flow [m]; zero or less needs no speed at all.
    Returns the speed [1/s].
    Raises InvalidInput for a value outside these ranges.
    Equation: n0 = n sqrt(H / H0).
    Source: HI-DATA, equation 1.B.6, at zero flow; EPANET-2.2 shuts its pump at the same ratio.
    """
    guards.positive(speed=speed, shut_off_head=shut_off_head)
    guards.finite(required_head=required_head)
    return speed * math.sqrt(max(required_head, 0.0) / shut_off_head)
