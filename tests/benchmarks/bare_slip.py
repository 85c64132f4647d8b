"""Speed and frequency of a loaded motor as bare floats: slip in proportion to torque.

The pump's torque stands at the points of its curve, over the motor's rated one; between them it
runs along straight lines. At no flow it is 45 % of that at best efficiency, and no more than at the
first point and a tenth.
"""

from bisect import bisect_right
from collections.abc import Callable
from math import sqrt
from typing import Any

from tests.benchmarks.bare_curves import Curve, value

G = 9.80665


class Slip:
    """The motor of `n` with the torque of its pump."""

    def __init__(self, n: Any, heads: Curve, etas: Curve, density: float) -> None:
        """Torques at the points of the curve, at its own speed."""
        self.own, self.field, self.base = n.curve_speed, 2.0 / n.poles, n.frequency
        self.rated = (1.0 - n.speed * n.poles / 2.0 / n.frequency) * n.frequency
        self.proportion = n.speed / n.frequency
        weight = density * G / n.curve_speed * n.speed / n.power
        points = [(q, weight * q * value(heads, q) / value(etas, q)) for q in n.curve_flows[1:]]
        at_best = along(points, max(n.best_flow, points[0][0]))
        self.torques = [(0.0, min(0.45 * at_best, 1.1 * points[0][1])), *points]

    def speed(self, frequency: float, flow: float) -> float:
        """At a frequency [Hz] and a flow [m3/s] [1/s]."""
        found = self.field * frequency
        for _ in range(2):
            found = self.under(frequency, along(self.torques, flow * self.own / found))
        return found

    def under(self, frequency: float, torque: float) -> float:
        """At a frequency [Hz] and a torque at the curve's own speed, over the rated one [1/s]."""
        unloaded, weakening = self.field * frequency, max(frequency / self.base, 1.0) ** 2
        per_square = self.field * self.rated * weakening * torque / self.own**2
        return 2.0 * unloaded / (1.0 + sqrt(1.0 + 4.0 * per_square * unloaded))

    def frequency_under(self, speed: float, torque: float) -> float:
        """At a speed [1/s] and a torque at the curve's own speed, over the rated one [Hz]."""
        unloaded, slip = speed / self.field, self.rated * torque * (speed / self.own) ** 2
        if unloaded + slip <= self.base:
            return unloaded + slip
        return 2.0 * unloaded / (1.0 + sqrt(1.0 - 4.0 * slip * unloaded / self.base**2))

    def speed_where(self, frequency: float, flow_at: Callable[[float], float]) -> float:
        """At a frequency [Hz] where the flow hangs on the speed [1/s]."""
        guess = (self.proportion * frequency + self.speed(frequency, 0.0)) / 2.0
        return self.speed(frequency, flow_at(guess))

    def frequency(self, speed: float, flow: float) -> float:
        """At a speed [1/s] and a flow [m3/s] [Hz]."""
        return self.frequency_under(speed, along(self.torques, flow * self.own / speed))


def along(points: list[tuple[float, float]], at: float) -> float:
    """On straight lines between points; beyond the last it stays as there."""
    above = bisect_right([x for x, _ in points], at)
    if above == len(points):
        return points[-1][1]
    (low, a), (high, b) = points[above - 1], points[above]
    return a + (b - a) * (at - low) / (high - low)
