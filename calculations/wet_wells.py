"""Wet wells: pump flow from a falling level, and how often the pump starts."""

import math
from dataclasses import dataclass

from calculations import guards
from calculations.errors import InvalidInput


@dataclass(frozen=True, slots=True)
class PumpCycle:
    """One cycle of a pump that starts and stops on level: time to fill and time to empty [s]."""

    fill_time: float
    run_time: float

    @property
    def cycle_time(self) -> float:
        """From one start to the next [s]."""
        return self.fill_time + self.run_time

    @property
    def starts_per_hour(self) -> float:
        """Starts in an hour of steady inflow [1/h], the way that plates state their limit."""
        return 3600.0 / self.cycle_time


def plan_area(*, diameter: float) -> float:
    """Plan area of a round well.

    diameter: inside, at the levels of the test [m], above zero.
    Returns the area [m2].
    Raises InvalidInput for a diameter not above zero.
    Equation: A = pi d^2 / 4.
    Source: geometry.
    """
    guards.positive(diameter=diameter)
    return math.pi * diameter * diameter / 4.0


def inflow_from_filling(*, area: float, level_rise: float, fill_time: float) -> float:
    """Inflow to a well while no pump runs.

    area: plan area between the levels, net of benching [m2], above zero.
    level_rise: of the surface [m], zero or more.
    fill_time: for that rise [s], above zero.
    Returns the inflow [m3/s].
    Raises InvalidInput for a value outside these ranges.
    Equation: Q_in = A dh / t.
    Source: continuity; method in LIFT-STATION-CALIBRATION.
    """
    guards.positive(area=area, fill_time=fill_time)
    guards.not_negative(level_rise=level_rise)
    return area * level_rise / fill_time


def drawdown_flow(*, area: float, level_drop: float, drawdown_time: float, inflow: float) -> float:
    """Pump flow from the fall of the level, with what flowed in meanwhile.

    area: plan area between the levels, net of benching [m2], above zero.
    level_drop: of the surface while pumping; negative where the inflow won [m].
    drawdown_time: for that drop [s], above zero.
    inflow: during the test [m3/s], zero or more; leaving it out reads low.
    Returns the flow of the pumps that ran [m3/s].
    Raises InvalidInput for a value outside these ranges.
    Equation: Q = A dh / t + Q_in.
    Source: continuity; method in LIFT-STATION-CALIBRATION.
    """
    guards.positive(area=area, drawdown_time=drawdown_time)
    guards.finite(level_drop=level_drop)
    guards.not_negative(inflow=inflow)
    return area * level_drop / drawdown_time + inflow


def pump_cycle(*, volume: float, pump_flow: float, inflow: float) -> PumpCycle:
    """Times of one cycle of a pump that starts and stops on level.

    volume: between stop and start level [m3], above zero.
    pump_flow: while running [m3/s], above the inflow.
    inflow: steady [m3/s], above zero.
    Returns the times to fill and to empty.
    Valid for a fixed speed, or for a variable one while the inflow is less than the flow at
    minimum speed; above that the pump follows the inflow and does not cycle.
    Raises InvalidInput for a value outside these ranges, also where the pump would never stop.
    Equation: T = V / (Q - Q_in) + V / Q_in.
    Source: MIL-HDBK-1005-9A, 2.5.3.6; EI-11C201, chapter 7.
    """
    guards.positive(volume=volume, pump_flow=pump_flow, inflow=inflow)
    if inflow >= pump_flow:
        raise InvalidInput("inflow", "expected less than the pump's flow: it would never stop")
    return PumpCycle(fill_time=volume / inflow, run_time=volume / (pump_flow - inflow))


def minimum_volume(*, pump_flow: float, cycle_time: float) -> float:
    """Smallest volume between stop and start level that keeps a cycle from being shorter.

    pump_flow: while running [m3/s], above zero.
    cycle_time: shortest allowed from start to start [s], above zero.
    Returns the volume [m3], for the worst inflow, half of the pump's flow.
    Raises InvalidInput for a value outside these ranges.
    Equation: V = T Q / 4.
    Source: MIL-HDBK-1005-9A, 2.5.3.6; EI-11C201, chapter 7.
    """
    guards.positive(pump_flow=pump_flow, cycle_time=cycle_time)
    return cycle_time * pump_flow / 4.0
