"""Heads, power and suction of a pump, from what gauges and meters read."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from calculations import guards
from calculations.constants import STANDARD_GRAVITY
from calculations.water import head_of_pressure

US_PER_METRIC_SPECIFIC_SPEED = math.sqrt(15850.3231414891) / math.pow(1.0 / 0.3048, 0.75)
"""Specific speed in (1/min, US gpm, ft) per unit in (1/min, m3/s, m): 51.645; by definition."""


class Gauge(NamedTuple):
    """A pressure gauge on a pipe: gauge pressure [Pa], elevation [m], bore at the tapping [m]."""

    pressure: float
    elevation: float
    bore: float


@dataclass(frozen=True, slots=True)
class TotalHead:
    """Total head of a pump and its parts, each in [m]."""

    pressure_head: float
    elevation_head: float
    velocity_head: float
    loss_head: float = 0.0

    @property
    def total(self) -> float:
        """Sum of the parts [m]."""
        return self.pressure_head + self.elevation_head + self.velocity_head + self.loss_head


@dataclass(frozen=True, slots=True)
class NpshMargin:
    """Suction head left over: available minus required [m], and available over required [1]."""

    difference: float
    ratio: float


def velocity(*, flow: float, bore: float) -> float:
    """Mean velocity in a full round pipe.

    flow: volume rate [m3/s].
    bore: inside diameter [m], above zero.
    Returns the velocity [m/s] with the flow's sign.
    Raises InvalidInput for a bore not above zero or a flow that is not finite.
    Equation: v = 4 Q / (pi d^2).
    Source: continuity, by definition.
    """
    if not (0.0 < bore < math.inf and math.isfinite(flow)):
        guards.finite(flow=flow)
        guards.positive(bore=bore)
    return 4.0 * flow / (math.pi * bore * bore)


def velocity_head(*, velocity: float) -> float:
    """Head that a liquid carries by its motion.

    velocity: mean in the pipe [m/s].
    Returns the head [m], zero or more.
    Raises InvalidInput for a velocity that is not finite.
    Equation: h = v^2 / (2 g).
    Source: ISO9906-2012, 3.2.
    """
    if not math.isfinite(velocity):
        guards.finite(velocity=velocity)
    return velocity * velocity / (2.0 * STANDARD_GRAVITY)


def total_head(*, flow: float, suction: Gauge, discharge: Gauge, density: float) -> TotalHead:
    """Total head of a pump between two gauges, with their elevations and velocity heads.

    flow: through both gauges' pipes [m3/s], zero or more.
    suction, discharge: readings, elevations over one datum, bores at the tappings.
    density: of the liquid on the day [kg/m3], above zero.
    Returns the parts and their sum [m].
    Valid for gauge lines filled with the liquid, or gauges read at their own height.
    Raises InvalidInput for a value outside these ranges.
    Equation: H = (p_d - p_s)/(rho g) + z_d - z_s + (v_d^2 - v_s^2)/(2 g).
    Source: ISO9906-2012, 3.2; HI14.6-2011.
    """
    guards.not_negative(flow=flow)
    guards.finite(discharge_elevation=discharge.elevation, suction_elevation=suction.elevation)
    pressure_difference = discharge.pressure - suction.pressure
    return TotalHead(
        pressure_head=head_of_pressure(pressure=pressure_difference, density=density),
        elevation_head=discharge.elevation - suction.elevation,
        velocity_head=_velocity_head_in(discharge, flow) - _velocity_head_in(suction, flow),
    )


def total_head_from_level(
    *, flow: float, water_level: float, discharge: Gauge, density: float, pipe_loss: float = 0.0
) -> TotalHead:
    """Total head of a pump that draws from a free surface, as in a well or wet well.

    flow: through the discharge pipe [m3/s], zero or more.
    water_level: elevation of the free surface while pumping [m].
    discharge: gauge at the pump's outlet or at the well head.
    density: of the liquid on the day [kg/m3], above zero.
    pipe_loss: friction from the surface to the gauge, rising pipe included [m], zero or more.
    Returns the parts and their sum [m].
    Valid for a surface under atmospheric pressure.
    Raises InvalidInput for a value outside these ranges.
    Equation: H = p_d/(rho g) + z_d - z_surface + v_d^2/(2 g) + h_f.
    Source: ISO9906-2012, 3.2, with the suction reference taken at the free surface.
    """
    guards.not_negative(flow=flow, pipe_loss=pipe_loss)
    guards.finite(water_level=water_level, discharge_elevation=discharge.elevation)
    return TotalHead(
        pressure_head=head_of_pressure(pressure=discharge.pressure, density=density),
        elevation_head=discharge.elevation - water_level,
        velocity_head=_velocity_head_in(discharge, flow),
        loss_head=pipe_loss,
    )


def hydraulic_power(*, flow: float, head: float, density: float) -> float:
    """Power that the pump gives to the liquid.

    flow: volume rate [m3/s].
    head: total head of the pump [m].
    density: of the liquid [kg/m3], above zero.
    Returns the power [W].
    Raises InvalidInput for a density not above zero or values that are not finite.
    Equation: P = rho g Q H.
    Source: ISO9906-2012, 3.2.
    """
    power = density * STANDARD_GRAVITY * flow * head
    if not (density > 0.0 and math.isfinite(power)):  # no calls where nothing is wrong
        guards.finite(flow=flow, head=head)
        guards.positive(density=density)
    return power


def wire_to_water_efficiency(
    *, flow: float, head: float, density: float, electrical_power: float
) -> float:
    """Share of the electrical power that arrives in the liquid.

    flow: volume rate [m3/s], zero or more.
    head: total head of the pump [m].
    density: of the liquid [kg/m3], above zero.
    electrical_power: at the drive's input, not its display [W], above zero.
    Returns the ratio [1]; above 1 is returned as it is, and shows that a reading is wrong.
    Raises InvalidInput for a value outside these ranges.
    Equation: eta = rho g Q H / P.
    Source: ISO9906-2012, 3.2 (overall efficiency).
    """
    guards.not_negative(flow=flow)
    guards.positive(electrical_power=electrical_power)
    return hydraulic_power(flow=flow, head=head, density=density) / electrical_power


def specific_energy(*, power: float, flow: float) -> float:
    """Energy spent for each unit of volume pumped.

    power: electrical [W], zero or more.
    flow: volume rate [m3/s], above zero.
    Returns the energy per volume [J/m3]; 3.6e6 J/m3 are 1 kWh/m3.
    Raises InvalidInput for a value outside these ranges.
    Equation: e = P / Q.
    Source: definition.
    """
    guards.not_negative(power=power)
    guards.positive(flow=flow)
    return power / flow


def npsh_available_from_surface(
    *,
    atmospheric_pressure_absolute: float,
    surface_pressure: float,
    vapour_pressure_absolute: float,
    static_head: float,
    suction_loss: float,
    density: float,
) -> float:
    """Net positive suction head available, reckoned from the surface that the pump draws from.

    atmospheric_pressure_absolute: at the site's elevation [Pa], above zero.
    surface_pressure: gauge pressure on the surface, 0 where it is open [Pa].
    vapour_pressure_absolute: at the liquid's temperature on the day [Pa], zero or more.
    static_head: surface above the impeller's eye; negative for a lift [m].
    suction_loss: friction from the surface to the pump at this flow [m], zero or more.
    density: of the liquid [kg/m3], above zero.
    Returns the head [m]; negative means that the pump cannot draw.
    Valid for liquid without dissolved gas; gas in sewage and wells lowers it.
    Raises InvalidInput for a value outside these ranges.
    Equation: NPSHA = (p_atm + p_surface - p_v)/(rho g) + h_static - h_f.
    Source: ISO9906-2012, 3.2; HI9.6.1.
    """
    guards.positive(atmospheric_pressure_absolute=atmospheric_pressure_absolute)
    guards.not_negative(
        vapour_pressure_absolute=vapour_pressure_absolute, suction_loss=suction_loss
    )
    guards.finite(surface_pressure=surface_pressure, static_head=static_head)
    above_vapour = atmospheric_pressure_absolute + surface_pressure - vapour_pressure_absolute
    return head_of_pressure(pressure=above_vapour, density=density) + static_head - suction_loss


def npsh_available_from_gauge(
    *,
    atmospheric_pressure_absolute: float,
    suction: Gauge,
    flow: float,
    vapour_pressure_absolute: float,
    eye_elevation: float,
    density: float,
) -> float:
    """Net positive suction head available, from a gauge at the pump's suction: the better source.

    atmospheric_pressure_absolute: at the site's elevation [Pa], above zero.
    suction: gauge close to the pump's inlet.
    flow: through the suction pipe [m3/s], zero or more.
    vapour_pressure_absolute: at the liquid's temperature on the day [Pa], zero or more.
    eye_elevation: of the impeller's eye, over the gauge's datum [m].
    density: of the liquid [kg/m3], above zero.
    Returns the head [m].
    Valid for liquid without dissolved gas; gas in sewage and wells lowers it.
    Raises InvalidInput for a value outside these ranges.
    Equation: NPSHA = (p_atm + p_s - p_v)/(rho g) + z_gauge - z_eye + v^2/(2 g).
    Source: ISO9906-2012, 3.2; HI14.6-2011.
    """
    guards.positive(atmospheric_pressure_absolute=atmospheric_pressure_absolute)
    guards.not_negative(vapour_pressure_absolute=vapour_pressure_absolute, flow=flow)
    guards.finite(eye_elevation=eye_elevation, suction_elevation=suction.elevation)
    above_vapour = atmospheric_pressure_absolute + suction.pressure - vapour_pressure_absolute
    head = head_of_pressure(pressure=above_vapour, density=density)
    return head + suction.elevation - eye_elevation + _velocity_head_in(suction, flow)


def npsh_margin(*, available: float, required: float) -> NpshMargin:
    """Suction head left over beyond what the pump needs.

    available: net positive suction head available [m].
    required: at 3 % head drop, at the actual flow and speed [m], above zero.
    Returns difference [m] and ratio [1].
    Raises InvalidInput for a required head not above zero or an available one not finite.
    Equation: NPSHA - NPSH3 and NPSHA / NPSH3.
    Source: HI9.6.1.
    """
    guards.finite(available=available)
    guards.positive(required=required)
    return NpshMargin(difference=available - required, ratio=available / required)


def specific_speed(
    *, speed: float, flow: float, head: float, stages: int = 1, suction_sides: int = 1
) -> float:
    """Metric specific speed of an impeller at its best efficiency point.

    speed: of rotation [1/s], above zero.
    flow: of the whole pump at best efficiency [m3/s], above zero.
    head: of the whole pump at best efficiency [m], above zero.
    stages: impellers in series that share the head [1], one or more.
    suction_sides: 1, or 2 for a double-suction impeller whose sides share the flow [1].
    Returns n_q in (1/min, m3/s, m); times US_PER_METRIC_SPECIFIC_SPEED in (1/min, US gpm, ft).
    Raises InvalidInput for a value outside these ranges.
    Equation: n_q = n sqrt(Q / sides) / (H / stages)^0.75. Some US texts keep the whole flow of a
    double-suction pump: pass suction_sides=1 for those.
    Source: HI-DATA; HI9.6.3-2012.
    """
    guards.positive(speed=speed, flow=flow, head=head)
    guards.within(stages=stages, lowest=1, highest=400, unit="stages")
    guards.within(suction_sides=suction_sides, lowest=1, highest=2, unit="suction sides")
    return 60.0 * speed * math.sqrt(flow / suction_sides) / math.pow(head / stages, 0.75)


def _velocity_head_in(gauge: Gauge, flow: float) -> float:
    return velocity_head(velocity=velocity(flow=flow, bore=gauge.bore))
