"""The torque that a pump asks of its motor along its curve, and how well that is known."""

from bisect import bisect_right
from dataclasses import dataclass
from math import inf
from typing import NamedTuple

from calculations import motors
from calculations.aspects import liquid
from calculations.case import Case
from calculations.pump_curves import PumpCurve

CLOSED_VALVE = (0.30, 0.45, 0.65)
"""Least, likely and most shaft power at no flow, over that at best efficiency [1], of a radial
pump whose curve does not tell it; from memory."""

CLOSED_VALVE_BOWLS = (0.30, 0.45, 0.90)
"""The same of pumps whose impellers are often of mixed flow; from memory."""

BOWLS = ("vertical_turbine", "submersible_well", "submersible_sewage")

CLOSED_VALVE_AXIAL = (0.9, 1.3, 2.0)
"""The same of a pump of axial or mixed flow; from memory."""

FROM_MEMORY = (
    "shaft power at no flow, where the curve tells none, "
    f"{100 * CLOSED_VALVE[1]:.0f} % of that at best efficiency "
    f"({100 * CLOSED_VALVE[0]:.0f} to {100 * CLOSED_VALVE[2]:.0f} %; "
    f"of an axial pump {100 * CLOSED_VALVE_AXIAL[1]:.0f} %): from memory"
)
"""What is told of these wherever a figure rests on them."""

MOTOR_LOADED = (0.5, 0.75, 1.0)
"""Least, likely and most torque at best efficiency, over the motor's rated one [1], of a pump whose
curve tells no power: motors are chosen so; common practice, no source."""

SOME_FLOW = 1e-9
"""Flow from which a pump without a curve counts as open [m3/s]."""

BY_CURVE = 0.1
"""What the power of a curve may be off by [1]; acceptance grade 2, ISO9906-2012, and wear."""


class Asked(NamedTuple):
    """Torque over the motor's rated one [1]: least, likely and most that it may be."""

    least: float
    likely: float
    most: float

    def between(self, other: "Asked", part: float) -> "Asked":
        """What lies a part [1] of the way to another."""
        return Asked(
            self.least + part * (other.least - self.least),
            self.likely + part * (other.likely - self.likely),
            self.most + part * (other.most - self.most),
        )


@dataclass(frozen=True, slots=True)
class Torques:
    """Torque at the curve's own speed, at rising flows [m3/s] from none on."""

    flows: tuple[float, ...]
    asked: tuple[Asked, ...]

    def at(self, flow: float) -> Asked:
        """At a flow [m3/s] at the curve's own speed; beyond the last it stays as there."""
        above = bisect_right(self.flows, flow)
        if above == len(self.flows):
            return self.asked[-1]
        low, high = self.flows[above - 1], self.flows[above]
        return self.asked[above - 1].between(self.asked[above], (flow - low) / (high - low))

    def likely(self, flow: float) -> float:
        """What is likely alone [1], as `at` has it: far more is asked of this one."""
        above = bisect_right(self.flows, flow)
        if above == len(self.flows):
            return self.asked[-1].likely
        low, high = self.flows[above - 1], self.flows[above]
        before, after = self.asked[above - 1].likely, self.asked[above].likely
        return before + (flow - low) / (high - low) * (after - before)


def of_no_curve(case: Case) -> Torques:
    """What a pump asks whose curve is not known: all that is told apart is whether it is shut."""
    return _from_none(case, ((SOME_FLOW, _spread(MOTOR_LOADED)),), SOME_FLOW)


def along(case: Case, curve: PumpCurve, motor_speed: float) -> Torques:
    """Along a pump's curve, `motor_speed` [1/s] being the motor's at the curve's own speed.

    Straight lines between the points of the curve. Where its points tell no power at no flow, that
    is a share of the power at best efficiency; where they tell none at all, the motor is taken to
    be chosen for the pump.
    """
    flows = curve.heads.knots
    best = _best_flow(case, curve)
    power, speed = case.find("/rating/power"), case.find("/rating/speed")
    if power is None or speed is None or power.si <= 0 or speed.si <= 0:
        return _from_none(case, ((best, _spread(MOTOR_LOADED)),), best)
    rated = motors.rated_torque(power=power.si, speed=speed.si)
    told, density = [], liquid.density(case)
    for flow in flows:
        at = curve.shaft_power(flow=flow, speed=curve.speed, density=density)
        if at and (flow > 0 or curve.shaft_powers is not None):
            told.append((flow, motors.rated_torque(power=at, speed=motor_speed) / rated))
    known = tuple([(flow, _by_curve(share)) for flow, share in told])
    return _from_none(case, known or ((best, _spread(MOTOR_LOADED)),), best)


def closed_valve_power_of_axial(case: Case, curve: PumpCurve) -> float:
    """Shaft power [W] of an axial pump at no flow and the curve's own speed; 0 of other pumps.

    Where its curve tells none, that is the likely share of the power at best efficiency.
    """
    if not case.is_("/pump/type", "axial_or_mixed_flow"):
        return 0.0
    told, at_best = (
        curve.shaft_power(flow=flow, speed=curve.speed, density=liquid.density(case))
        for flow in (0.0, _best_flow(case, curve))
    )
    return told or CLOSED_VALVE_AXIAL[1] * (at_best or 0.0)


def _best_flow(case: Case, curve: PumpCurve) -> float:
    """Flow [m3/s] of best efficiency at the curve's own speed, or what it is likely to be."""
    last = curve.heads.knots[-1]
    stated = case.find("/pump/best_efficiency_flow") or case.find("/pump/rated_flow")
    found = stated.si if stated is not None else curve.best_efficiency_flow(speed=curve.speed)
    flow = found if found is not None else 0.75 * last
    return float(min(flow, last)) if flow > 0 else last


def _from_none(case: Case, known: tuple[tuple[float, Asked], ...], best: float) -> Torques:
    if known[0][0] > 0:
        at_best = _torques(known).at(max(best, known[0][0]))
        known = ((0.0, _closed(case, at_best, known[0][1])), *known)
    return _torques(known)


def _torques(known: tuple[tuple[float, Asked], ...]) -> Torques:
    flows, asked = zip(*known, strict=True)
    return Torques(flows, asked)


def _closed(case: Case, at_best: Asked, first: Asked) -> Asked:
    """At no flow; a radial pump asks no more there than at the first flow that is told."""
    axial = case.is_("/pump/type", "axial_or_mixed_flow")
    radial = CLOSED_VALVE_BOWLS if case.is_("/pump/type", *BOWLS) else CLOSED_VALVE
    shares, highest = (CLOSED_VALVE_AXIAL, inf) if axial else (radial, first.most)
    least, likely, most = (
        min(share * each, highest)
        for share, each in zip(shares, (at_best.least, at_best.likely, at_best.most), strict=True)
    )
    return Asked(least, min(likely, most), most)


def _spread(shares: tuple[float, float, float]) -> Asked:
    return Asked(*shares)


def _by_curve(share: float) -> Asked:
    return Asked(share * (1 - BY_CURVE), share, share * (1 + BY_CURVE))
