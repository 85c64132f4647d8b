"""What a pipe system asks of a pump: static head and friction, or points of a curve."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Protocol

from calculations import guards
from calculations.curve_shapes import PiecewiseCubic, through_points
from calculations.errors import InvalidInput

TURBULENT_EXPONENT = 2.0
"""Exponent of flow in the friction of rough pipes; Darcy-Weisbach, by definition."""

HAZEN_WILLIAMS_EXPONENT = 1.852
"""Exponent of flow in the Hazen-Williams formula; EPANET-2.2, chapter 12."""

# EPANET-2.2, chapter 12: 4.727 with feet and cubic feet per second, here in SI.
_HAZEN_WILLIAMS_SI = 4.727 * math.pow(0.3048, 4.871 - 3.0 * 1.852)


class SystemCurve(Protocol):
    """Head that a system needs for a flow, and the flows for which that is known."""

    @property
    def knots(self) -> tuple[float, ...]:
        """Flows between which the curve only rises or only falls [m3/s]."""

    @property
    def lowest_flow(self) -> float:
        """Smallest flow that the curve is known for [m3/s]."""

    @property
    def highest_flow(self) -> float:
        """Largest flow that the curve is known for [m3/s]."""

    def head(self, flow: float) -> float:
        """Head needed for a flow [m]."""


@dataclass(frozen=True, slots=True)
class FrictionCurve:
    """Static head [m] plus coefficient [m per (m3/s)^exponent] times flow to an exponent [1]."""

    static_head: float
    coefficient: float
    exponent: float = TURBULENT_EXPONENT

    # The curve never falls, and is known for any flow.
    knots: ClassVar[tuple[float, ...]] = ()
    lowest_flow: ClassVar[float] = 0.0
    highest_flow: ClassVar[float] = math.inf

    def __post_init__(self) -> None:
        fits = 0.0 <= self.coefficient < math.inf and 0.0 < self.exponent < math.inf
        if not (fits and math.isfinite(self.static_head)):
            guards.finite(static_head=self.static_head)
            guards.not_negative(coefficient=self.coefficient)
            guards.positive(exponent=self.exponent)

    def head(self, flow: float) -> float:
        """Head needed for a flow of zero or more [m]."""
        return self.static_head + self.coefficient * math.pow(flow, self.exponent)


@dataclass(frozen=True, slots=True)
class PointsCurve:
    """A system curve through recorded points; it says nothing outside them."""

    shape: PiecewiseCubic

    @property
    def knots(self) -> tuple[float, ...]:
        """Flows of the points [m3/s]."""
        return self.shape.knots

    @property
    def lowest_flow(self) -> float:
        """Flow of the first point [m3/s]."""
        return self.shape.knots[0]

    @property
    def highest_flow(self) -> float:
        """Flow of the last point [m3/s]."""
        return self.shape.knots[-1]

    def head(self, flow: float) -> float:
        """Head needed for a flow between the first and the last point [m]."""
        return self.shape.value(flow)


def system_through_design_point(
    *,
    static_head: float,
    design_flow: float,
    design_head: float,
    exponent: float = TURBULENT_EXPONENT,
) -> FrictionCurve:
    """System curve from its static head and its design point.

    static_head: needed at zero flow [m].
    design_flow: at the design point [m3/s], above zero.
    design_head: at the design point [m], not below the static head.
    exponent: of flow in the friction [1], above zero.
    Returns the curve.
    Valid for turbulent flow with the same valves open.
    Raises InvalidInput for a value outside these ranges.
    Equation: H = H_s + (H_d - H_s) (Q / Q_d)^m.
    Source: HI-DATA, system curves.
    """
    guards.positive(design_flow=design_flow, exponent=exponent)
    guards.finite(static_head=static_head, design_head=design_head)
    if design_head < static_head:
        raise InvalidInput("design_head", f"expected at least the static head {static_head:g} m")
    coefficient = (design_head - static_head) / math.pow(design_flow, exponent)
    return FrictionCurve(static_head=static_head, coefficient=coefficient, exponent=exponent)


def system_through_points(*, flows: Sequence[float], heads: Sequence[float]) -> PointsCurve:
    """System curve through recorded points.

    flows: strictly rising, zero or more [m3/s]; at least two.
    heads: needed at these flows [m].
    Returns the curve; with two points it is static head plus k Q^2, known between the points.
    Raises InvalidInput for flows that do not rise or are negative, fewer than two points, or
    values that are not finite.
    Equation: as in `curve_shapes.through_points`.
    Source: FRITSCH-BUTLAND-1984.
    """
    guards.all_not_negative(flows=flows)
    return PointsCurve(shape=through_points(abscissas=flows, ordinates=heads))


def hazen_williams_coefficient(*, length: float, bore: float, roughness: float) -> float:
    """Friction coefficient of a water main for a curve with exponent 1.852.

    length: of the main [m], zero or more.
    bore: inside diameter [m], above zero.
    roughness: Hazen-Williams C of the pipe [1], above zero; 100 rough to 150 smooth.
    Returns the coefficient [m per (m3/s)^1.852].
    Valid for water near 15 degC in mains above 50 mm at about 0.5 to 3 m/s.
    Raises InvalidInput for a value outside these ranges.
    Equation: K = 10.667 L / (C^1.852 d^4.871).
    Source: EPANET-2.2, chapter 12.
    """
    guards.not_negative(length=length)
    guards.positive(bore=bore, roughness=roughness)
    resistance = math.pow(roughness, -HAZEN_WILLIAMS_EXPONENT) * math.pow(bore, -4.871)
    return _HAZEN_WILLIAMS_SI * length * resistance
