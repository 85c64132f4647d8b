"""How an immersed motor is cooled: what flows past it, and how far the liquid covers it."""

from math import hypot, pi

from calculations.aspects import group, holding, levels, loop, system
from calculations.case import Case, Missing, Waits
from calculations.errors import InvalidInput
from calculations.rules.scope import is_immersed
from calculations.units import US_FLOWS, Quantity


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


def velocity_unit(case: Case) -> str:
    """The unit that velocities are read in beside the flows that are written."""
    flows = (case.find("/pump/minimum_continuous_flow"), case.find(loop.SET_POINT))
    us = any(flow is not None and flow.unit in US_FLOWS for flow in flows)
    return "ft/s" if us else "m/s"


def area_uncertainty(case: Case, diameters: float) -> float:
    """What a share of both diameters [1] leaves open of the area between them [1]."""
    casing, outside = case.si("/site/casing_inside_diameter"), case.si("/motor/outside_diameter")
    return 2 * diameters * hypot(casing**2, outside**2) / (casing**2 - outside**2)


def keeps_flow(case: Case) -> bool:
    """Whether the drive keeps the flow of this pump alone, and nobody sets it from elsewhere."""
    of_flow = loop.is_known_closed(case) and case.is_("/settings/regulated_quantity", "flow")
    return of_flow and not case.is_("/settings/set_point_source", "remote") and (
        bool(loop.aims(case)) and group.sharing(case) == 1
    )  # fmt: skip


def least_flow(case: Case) -> tuple[Quantity, float]:
    """The least flow that passes the motor for long, as written and in SI [m3/s].

    The lowest one that a loop keeps; else the least that the pump may run at.
    """
    if not keeps_flow(case):
        stated = case.quantity("/pump/minimum_continuous_flow")
        return stated, stated.si
    kept = {place: loop.process_value(case, place) for place in loop.aims(case)}
    lowest = min(kept, key=kept.__getitem__)
    return case.quantity(lowest), kept[lowest]


def flow_at_lowest_speed(case: Case) -> float:
    """Flow [m3/s] at the least speed where no pressure is kept; 0 where that is not known.

    At the highest lift: at any other more flows. Others on the same main push it back.
    """
    at = "/rating/frequency" if case.fixed_speed else "/settings/minimum_frequency"
    if not (case.fixed_speed or holding.lifts(case)) or not _pumps_alone(case):
        return 0.0
    try:
        return system.flow(case, case.si(at), "low")
    except (Missing, Waits):
        return 0.0


def _pumps_alone(case: Case) -> bool:
    """Whether no other set is known that may pump into the same main meanwhile."""
    if not any(group.may_share_header(case, each) for each in case.subject.neighbours or ()):
        return group.sharing(case) == 1
    one = case.find("/settings/pumps_maximum_running") == 1
    return one or case.is_("/settings/pump_arrangement", "duty_standby")


def slowest_velocity(case: Case) -> float:
    """Velocity [m/s] past the motor at the least flow that passes it for long."""
    return velocity(case, least_flow(case)[1])


def velocity_in_empty_casing(case: Case) -> float:
    """The same without the motor [m/s]: no more than what flows past it."""
    casing, flow = case.si("/site/casing_inside_diameter"), least_flow(case)[1]
    return float(flow / (pi / 4 * casing**2))


def stop_elevation(case: Case) -> float:
    """Elevation at which the pump is stopped [m over the site datum]."""
    return levels.elevation(case, "stop_level")
