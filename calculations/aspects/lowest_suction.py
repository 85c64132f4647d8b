"""Suction head where it is scarcest: lowest suction, highest temperature, highest flow."""

from dataclasses import dataclass
from math import inf

from calculations import hydraulics
from calculations.aspects import holding, liquid, loop, pumping, suction, system
from calculations.case import Case, Missing, once
from calculations.duty_points import speeds_through

DESIGN_FLOW = "/site/system_design_flow"
MAXIMUM = "/settings/maximum_frequency"


@dataclass(frozen=True, slots=True)
class Scarcest:
    """Flow [m3/s], speed [1/s], and suction head available there [m]."""

    flow: float
    speed: float
    available: float


@once
def scarcest(case: Case) -> Scarcest:
    """What the pump has at its highest flow on the system, alone, at the lowest suction.

    That is at the maximum frequency; a drive that keeps a pressure slows down above the design
    flow, since nobody draws more.
    """
    flow, speed = _highest(case)
    available = hydraulics.npsh_available_from_surface(
        atmospheric_pressure_absolute=liquid.atmosphere(case), surface_pressure=0.0,
        vapour_pressure_absolute=liquid.vapour_pressure_at(case, liquid.WARMEST),
        static_head=suction.lowest_in_service(case, flow) - suction.eye(case),
        suction_loss=0.0, density=liquid.density_at(case, liquid.WARMEST),
    )  # fmt: skip
    return Scarcest(flow, speed, available)


def _highest(case: Case) -> tuple[float, float]:
    """Highest flow [m3/s] at the lowest suction, and the speed there [1/s]."""
    frequency = case.si("/rating/frequency" if case.fixed_speed else MAXIMUM)
    if loop.is_closed(case) and not holding.lifts(case):
        drawn, needed = _as_drawn(case)
        if needed < pumping.speed(case, frequency, drawn):
            return drawn, needed
    flow = system.flow(case, frequency, "low")
    if flow <= 0:
        raise Missing(case.place(MAXIMUM), because="nothing flows at the lowest suction")
    return flow, pumping.speed(case, frequency, flow)


def _as_drawn(case: Case) -> tuple[float, float]:
    """The design flow [m3/s], and the speed [1/s] that it takes: infinite beyond the curve.

    The design head belongs to the lowest suction: no lift is asked for.
    """
    if case.find(system.POINTS):
        drawn = case.si(DESIGN_FLOW)
        asked = system.curve(case, "low").head(drawn)
    else:
        drawn, asked = (each.si for each in case.require(DESIGN_FLOW, "/site/system_design_head"))
    speeds = speeds_through(curve=pumping.curve(case), flow=drawn, head=asked)
    return drawn, min(speeds, default=inf)
