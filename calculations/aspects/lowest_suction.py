"""Suction head where it is scarcest: lowest suction, highest temperature, maximum frequency."""

from dataclasses import dataclass

from calculations import hydraulics, water
from calculations.aspects import liquid, pumping, suction, system
from calculations.case import Case, Missing
from calculations.constants import ICE_POINT

MAXIMUM = "/settings/maximum_frequency"
WARMEST = "/site/liquid_temperature_max"


@dataclass(frozen=True, slots=True)
class Scarcest:
    """Flow [m3/s], speed [1/s], and suction head available there [m]."""

    flow: float
    speed: float
    available: float


def scarcest(case: Case) -> Scarcest:
    """What the pump has where this pump alone meets the system at the lowest suction."""
    return case.once(_scarcest)


def _scarcest(case: Case) -> Scarcest:
    frequency = case.si("/rating/frequency" if case.fixed_speed else MAXIMUM)
    flow = system.flow(case, frequency, "low")
    if flow <= 0:
        raise Missing(MAXIMUM, because="nothing flows at the lowest suction")
    warmest = max(case.si(WARMEST), ICE_POINT)
    available = hydraulics.npsh_available_from_surface(
        atmospheric_pressure_absolute=liquid.atmosphere(case), surface_pressure=0.0,
        vapour_pressure_absolute=liquid.vapour_pressure_at(case, WARMEST),
        static_head=suction.grade(case, "low") - suction.eye(case),
        suction_loss=suction.loss(case, flow), density=water.density(temperature=warmest),
    )  # fmt: skip
    return Scarcest(flow, pumping.speed(case, frequency), available)
