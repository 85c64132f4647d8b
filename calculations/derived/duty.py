"""Derived values of duty points: head, what the curve says, power, efficiency, suction head."""

from calculations import hydraulics
from calculations.aspects import duty, liquid, pumping
from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing
from calculations.rule import Value, fixed, like


def curve_head(case: Case, place: str) -> float:
    """Head that the curve gives at the point's flow and speed [m]."""
    found = pumping.curve(case).head(flow=duty.flow(case, place), speed=duty.speed(case, place))
    if found is None:
        raise Missing("/pump/curve_points", because="the flow lies beyond the curve")
    return found


def hydraulic_power(case: Case, place: str) -> float:
    """Power given to the liquid [W]."""
    return hydraulics.hydraulic_power(
        flow=duty.flow(case, place),
        head=duty.total_head(case, place),
        density=liquid.density(case),
    )


def wire_to_water(case: Case, place: str) -> float:
    """Power given to the liquid over the power at the drive's input [1]."""
    taken = case.quantity(f"{place}/power_drive_input")
    if taken.si <= 0:
        raise Missing(f"{place}/power_drive_input", because="no power")
    return hydraulic_power(case, place) / taken.si


IN_THE_WELL = ("submersible_sewage", "vertical_turbine")


def eye_elevation(case: Case, place: str) -> float:
    """Height of the impeller's eye [m over the site datum]: at the datum, beside which heights of
    a dry pump are measured.

    A well pump's is its setting depth; that of a pump whose impellers hang or stand in a wet well
    is near the well's floor, else not higher than the suction gauge or the suction sensor.
    """
    floor = case.find("/site/wet_well_floor")
    if case.is_("/site/suction_kind", "well"):
        return -case.si("/site/pump_setting_depth")
    if not case.is_("/pump/type", "submersible_well", *IN_THE_WELL):
        return 0.0
    if floor is not None and case.is_("/pump/type", *IN_THE_WELL):
        return float(floor.si)
    for pointer in (f"{place}/suction_gauge_elevation", "/suction_sensor/tapping_elevation"):
        found = case.find(pointer)
        if found is not None:
            return float(found.si)
    raise Missing("/site/wet_well_floor")


def npsh_available(case: Case, place: str) -> float:
    """Net positive suction head available at a point [m]: from a gauge, else from the surface."""
    air, vapour = liquid.atmosphere(case), liquid.vapour_pressure(case)
    eye, density, through = eye_elevation(case, place), liquid.density(case), duty.flow(case, place)
    if case.find(f"{place}/suction_pressure") is not None:
        return hydraulics.npsh_available_from_gauge(
            atmospheric_pressure_absolute=air, suction=duty.gauge(case, place, "suction"),
            flow=through, vapour_pressure_absolute=vapour, eye_elevation=eye, density=density,
        )  # fmt: skip
    return hydraulics.npsh_available_from_surface(
        atmospheric_pressure_absolute=air, surface_pressure=0.0, vapour_pressure_absolute=vapour,
        static_head=duty.water_level(case, place) - eye,
        suction_loss=suction_loss(case, through), density=density,
    )  # fmt: skip


def suction_loss(case: Case, flow: float) -> float:
    """Friction from the surface to the pump at a flow [m]; none for a pump in the liquid."""
    if case.is_("/pump/type", "submersible_well", "submersible_sewage", "vertical_turbine"):
        return 0.0
    loss, at = case.si("/site/suction_loss"), case.si("/site/suction_loss_at_flow")
    if at <= 0:
        raise Missing("/site/suction_loss_at_flow", because="no flow")
    return loss * (flow / at) ** 2


HEAD_UNIT = like("/pump/rated_head", "m")

VALUES = (
    Value(
        id="duty.total-head",
        title="Total head of the pump at a duty point",
        formula="H = (p_d - p_s)/(rho g) + z_d - z_s + (v_d^2 - v_s^2)/(2 g)",
        source="ISO 9906:2012, 3.2",
        unit=HEAD_UNIT,
        compute_each=duty.total_head,
        each=POINTS,
    ),
    Value(
        id="duty.curve-head",
        title="Head that the curve gives at the point's flow and speed",
        formula="H = s^2 h(Q / s)",
        source="HI engineering data, equation 1.B.6 (affinity laws)",
        unit=HEAD_UNIT,
        compute_each=curve_head,
        each=POINTS,
    ),
    Value(
        id="duty.hydraulic-power",
        title="Power given to the liquid",
        formula="P = rho g Q H",
        source="ISO 9906:2012, 3.2",
        unit=like("/rating/power", "kW"),
        compute_each=hydraulic_power,
        each=POINTS,
    ),
    Value(
        id="duty.wire-to-water-efficiency",
        title="Power in the liquid over power at the drive's input",
        formula="eta = rho g Q H / P_input",
        source="ISO 9906:2012, 3.2 (overall efficiency)",
        unit=fixed("%"),
        compute_each=wire_to_water,
        each=POINTS,
    ),
    Value(
        id="npsh.available",
        title="Net positive suction head available at a duty point",
        formula="(p_atm + p_s - p_v)/(rho g) + z_gauge - z_eye + v^2/(2 g), or from the surface",
        source="ISO 9906:2012, 3.2; IF97; ISO 2533:1975",
        unit=HEAD_UNIT,
        compute_each=npsh_available,
        each=POINTS,
    ),
)
