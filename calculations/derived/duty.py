"""Derived values of duty points: head, what the curve says, power, efficiency, suction head."""

from calculations import hydraulics
from calculations.aspects import duty, liquid, load, pumping, suction
from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing, once
from calculations.rule import Value, fixed, like


def curve_head(case: Case, place: str) -> float:
    """Head that the curve gives at the point's flow and speed [m]."""
    found = pumping.curve(case).head(flow=duty.flow(case, place), speed=duty.speed(case, place))
    if found is None:
        raise Missing("/pump/curve_points", because="the flow lies beyond the curve")
    return found


@once
def hydraulic_power(case: Case, place: str) -> float:
    """Power given to the liquid [W]."""
    return hydraulics.hydraulic_power(
        flow=duty.flow(case, place),
        head=duty.total_head(case, place),
        density=liquid.density(case),
    )


@once
def wire_to_water(case: Case, place: str) -> float:
    """Power given to the liquid over the power from the supply [1]: at a drive's input."""
    taken = case.quantity(load.power_place(case, place))
    if taken.si <= 0:
        raise Missing(load.power_place(case, place), because="no power")
    return hydraulics.wire_to_water_efficiency(
        flow=duty.flow(case, place), head=duty.total_head(case, place),
        density=liquid.density(case), electrical_power=taken.si,
    )  # fmt: skip


@once
def npsh_available(case: Case, place: str) -> float:
    """Net positive suction head available at a point [m]: from a gauge, else from the surface."""
    suction.require_datum(case)
    air, vapour = liquid.atmosphere(case), liquid.vapour_pressure(case)
    eye, density, through = suction.eye(case, place), liquid.density(case), duty.flow(case, place)
    if case.find(f"{place}/suction_pressure") is not None:
        return hydraulics.npsh_available_from_gauge(
            atmospheric_pressure_absolute=air, suction=duty.gauge(case, place, "suction"),
            flow=through, vapour_pressure_absolute=vapour, eye_elevation=eye, density=density,
        )  # fmt: skip
    return hydraulics.npsh_available_from_surface(
        atmospheric_pressure_absolute=air, surface_pressure=0.0, vapour_pressure_absolute=vapour,
        static_head=duty.water_level(case, place) - eye,
        suction_loss=suction.loss(case, through), density=density,
    )  # fmt: skip


HEAD_UNIT = like("/pump/rated_head", "m")

VALUES = (
    Value(
        id="duty.total-head",
        title="Total head of the pump at a duty point",
        formula="H = (p_d - p_s)/(rho g) + z_d - z_s + (v_d^2 - v_s^2)/(2 g), or from the surface, "
        "with the loss up to the pump",
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
        title="Power in the liquid over power from the supply",
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
