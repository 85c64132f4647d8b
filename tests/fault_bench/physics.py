"""An independent solution of pump, pipe and water, with nothing of the code under test.

Water: density by Tanaka and others, Metrologia 38 (2001) 301; vapour pressure by Buck (1996); air
by the usual barometric formula of the standard atmosphere. Pumps are smooth curves in shares of
their best point; speeds follow by affinity; everything else is found by bisection.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, pi

GRAVITY = 9.80665


def density(celsius: float) -> float:
    """Of water [kg/m3], 0 to 40 degC."""
    t = celsius
    return 999.97495 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))


def vapour_pressure(celsius: float) -> float:
    """Absolute, of water [Pa]."""
    return 611.21 * exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))


def atmosphere(elevation: float) -> float:
    """Absolute pressure of the air [Pa] at an elevation [m]."""
    return 101325.0 * (1 - 2.25577e-5 * elevation) ** 5.25588


def velocity_head(flow: float, bore: float) -> float:
    """[m] in a bore [m]."""
    return (flow / (pi / 4 * bore**2)) ** 2 / (2 * GRAVITY)


def pipe_loss(flow: float, length: float, bore: float, roughness: float) -> float:
    """Friction by Hazen and Williams [m]."""
    return float(10.67 * length * flow**1.852 / (roughness**1.852 * bore**4.87))


def bisect(function: Callable[[float], float], low: float, high: float) -> float:
    """A zero of a function that rises from `low` to `high`."""
    for _ in range(80):
        middle = (low + high) / 2
        if function(middle) > 0:
            high = middle
        else:
            low = middle
    return (low + high) / 2


@dataclass(frozen=True)
class Pump:
    """A centrifugal pump: best point, shape, and how far the made one is off its catalogue."""

    speed: float  # 1/s
    flow: float  # m3/s at best efficiency
    head: float  # m
    efficiency: float
    shut_off: float  # head at no flow over head at best efficiency
    power_of_flow: float  # exponent of the fall
    end: float  # end of the curve over best flow
    npsh: float  # m at best efficiency
    made_head: float = 1.0
    made_power: float = 1.0

    def head_at(self, flow: float, speed: float, made: bool = True) -> float:
        """Head [m] at a flow and a speed."""
        ratio = speed / self.speed
        share = flow / (ratio * self.flow)
        fall = (self.shut_off - 1) * share**self.power_of_flow
        return ratio**2 * self.head * (self.shut_off - fall) * (self.made_head if made else 1.0)

    def efficiency_at(self, flow: float, speed: float) -> float:
        """Efficiency by the catalogue [1]."""
        share = flow / (speed / self.speed * self.flow)
        return self.efficiency * (1 - (1 - share) ** 2)

    def power_at(self, flow: float, speed: float, rho: float = 1000.0, made: bool = True) -> float:
        """Shaft power [W]; at no flow the limit of the curve."""
        least = 1e-3 * self.flow * speed / self.speed
        flow = max(flow, least)
        head = self.head_at(flow, speed, made=False)
        power = rho * GRAVITY * flow * head / self.efficiency_at(flow, speed)
        return power * (self.made_power if made else 1.0)

    def npsh_at(self, flow: float, speed: float) -> float:
        """Suction head needed at 3 % head drop [m]."""
        ratio = speed / self.speed
        share = flow / (ratio * self.flow)
        return ratio**2 * self.npsh * (0.7 + 0.3 * share**2)

    def speed_for(self, flow: float, head: float, made: bool = True) -> float:
        """Speed [1/s] at which it gives this flow at this head."""
        lowest = flow / (self.flow * 3)
        return bisect(
            lambda n: self.head_at(flow, n, made) - head, lowest * self.speed, 4 * self.speed
        )

    def flow_on(self, system: Callable[[float], float], speed: float) -> float:
        """Flow [m3/s] where it meets a system; 0 where it does not reach its static head."""
        if self.head_at(0.0, speed) <= system(0.0):
            return 0.0
        end = 2.5 * self.flow * speed / self.speed
        return bisect(lambda flow: system(flow) - self.head_at(flow, speed), 0.0, end)

    def highest_power(self, speed: float, rho: float = 1000.0) -> float:
        """Highest shaft power along the catalogue's curve [W]."""
        end = self.end * self.flow * speed / self.speed
        steps = [end * index / 60 for index in range(61)]
        return max(self.power_at(flow, speed, rho, made=False) for flow in steps)
