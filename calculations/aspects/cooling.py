"""How an immersed motor is cooled: what flows past it, and how far the liquid covers it."""

from math import hypot, pi

from calculations.aspects import levels
from calculations.case import Case
from calculations.errors import InvalidInput
from calculations.rules.scope import is_immersed


def is_in_a_well(case: Case) -> bool:
    """Whether an immersed motor hangs in a casing, without a shroud or jacket."""
    shrouded = case.find("/site/cooling_shroud") is True or case.is_("/motor/cooling", "jacket")
    return is_immersed(case) and case.is_("/site/suction_kind", "well") and not shrouded


def is_in_a_wet_well(case: Case) -> bool:
    """Whether an immersed motor stands in a wet well without a jacket."""
    in_pit = case.is_("/site/suction_kind", "wet_well")
    return is_immersed(case) and in_pit and not case.is_("/motor/cooling", "jacket")


def velocity(case: Case, flow: float) -> float:
    """Velocity [m/s] past a motor in its casing at a flow [m3/s]."""
    casing = case.si("/site/casing_inside_diameter")
    outside = case.si("/motor/outside_diameter")
    if outside >= casing:
        raise InvalidInput("outside_diameter", "expected less than the casing's inside diameter")
    return flow / (pi / 4 * (casing**2 - outside**2))


def area_uncertainty(case: Case, diameters: float) -> float:
    """What a share of both diameters [1] leaves open of the area between them [1]."""
    casing, outside = case.si("/site/casing_inside_diameter"), case.si("/motor/outside_diameter")
    return 2 * diameters * hypot(casing**2, outside**2) / (casing**2 - outside**2)


def slowest_velocity(case: Case) -> float:
    """Velocity [m/s] past the motor at the least flow that is allowed for long."""
    return velocity(case, case.si("/pump/minimum_continuous_flow"))


def velocity_in_empty_casing(case: Case) -> float:
    """The same without the motor [m/s]: no more than what flows past it."""
    casing, flow = case.require("/site/casing_inside_diameter", "/pump/minimum_continuous_flow")
    return float(flow.si / (pi / 4 * casing.si**2))


def stop_elevation(case: Case) -> float:
    """Elevation at which the pump is stopped [m over the site datum]."""
    return levels.elevation(case, "stop_level")
