"""A pump's curves at any speed, from the points that its maker or a test gave."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from calculations import guards
from calculations.affinity import zero_flow_speed
from calculations.constants import STANDARD_GRAVITY
from calculations.curve_shapes import CurveShape, PowerLaw, through_points
from calculations.errors import InvalidInput

COLD_WATER_DENSITY = 998.2
"""Density that curves are drawn for [kg/m3]: clean water near 20 degC; ISO9906-2012, 5.3."""

FLAT_SHARE = 0.001
"""Head over one stretch, as a share of the highest, below which it counts as flat; no source."""


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One row of a pump's curve: flow [m3/s], head [m], and what else is known there.

    Efficiency [1], shaft power [W] and required suction head [m] may be missing.
    """

    flow: float
    head: float
    efficiency: float | None = None
    shaft_power: float | None = None
    npsh_required: float | None = None


class ShapeProblemKind(StrEnum):
    """What can be odd about the points of a curve."""

    STARTS_LATE = "the first point is not at zero flow"
    DUPLICATE_FLOW = "two points have the same flow"
    FLOW_GOES_BACK = "the flow goes back, so the curve crosses itself"
    RISING = "the head rises with flow"
    FLAT = "the head does not change with flow"


@dataclass(frozen=True, slots=True)
class ShapeProblem:
    """An oddity of a curve, and the index of the point at which it shows."""

    kind: ShapeProblemKind
    index: int


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """The curves of one pump at one speed [1/s], and by the affinity laws at any other.

    Every answer is None where the points say nothing: a column that was not given, or a flow
    beyond the last point. Build it with `fit_pump_curve` or `pump_curve_from_equation`.
    """

    speed: float
    heads: CurveShape
    efficiencies: CurveShape | None = None
    shaft_powers: CurveShape | None = None
    npsh_required_heads: CurveShape | None = None
    density: float = COLD_WATER_DENSITY
    _shut_off: float = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_shut_off", self.heads.value(0.0))

    def highest_flow(self, *, speed: float) -> float:
        """Flow of the last point at a speed.

        speed: of rotation [1/s], above zero.
        Returns the flow [m3/s].
        Raises InvalidInput for a speed not above zero.
        Equation: Q ~ n. Source: HI-DATA, equation 1.B.6.
        """
        return self.heads.knots[-1] * self._ratio(speed)

    def shut_off_head(self, *, speed: float) -> float:
        """Head at zero flow at a speed.

        speed: of rotation [1/s], above zero.
        Returns the head [m].
        Raises InvalidInput for a speed not above zero.
        Equation: H ~ n^2. Source: HI-DATA, equation 1.B.6.
        """
        return self._shut_off * self._ratio(speed) ** 2

    def head(self, *, flow: float, speed: float, extrapolate: bool = False) -> float | None:
        """Head at a flow and a speed.

        flow: of one pump [m3/s], zero or more.
        speed: of rotation [1/s], above zero.
        extrapolate: go on beyond the last point with the slope found there.
        Returns the head [m], or None beyond the last point.
        Raises InvalidInput for a value outside these ranges.
        Equation: H = s^2 h(Q / s), s = n / n_curve. Source: HI-DATA, equation 1.B.6.
        """
        ratio, at = self._at(flow, speed)
        value = self.heads.value(at) if extrapolate else self.heads.known(at)
        return None if value is None else value * ratio**2

    def flow_at_head(self, *, head: float, speed: float) -> float | None:
        """Flow at which a pump whose heads fall all the way (`heads.falls`) gives a head.

        head: at the pump [m], zero or more.
        speed: of rotation [1/s], above zero.
        Returns the flow [m3/s], 0 from the head at zero flow on, beyond the last point with the
        slope found there; None where the curve goes on level and never comes down to it.
        Raises InvalidInput for a value outside these ranges.
        Equation: s^2 h(Q / s) = H, s = n / n_curve. Source: HI-DATA, equation 1.B.6.
        """
        if not 0.0 <= head < math.inf:
            guards.not_negative(head=head)
        ratio = self._ratio(speed)
        if head >= self._shut_off * ratio**2:
            return 0.0
        at = self.heads.abscissa(head / ratio**2)
        return None if at is None else at * ratio

    def slope(self, *, flow: float, speed: float) -> float | None:
        """How steeply head changes with flow.

        flow: of one pump [m3/s], zero or more.
        speed: of rotation [1/s], above zero.
        Returns the slope [m per m3/s], negative where the curve falls; None beyond the last point.
        Raises InvalidInput for a value outside these ranges.
        Equation: dH/dQ = s h'(Q / s). Source: HI-DATA, equation 1.B.6.
        """
        ratio, at = self._at(flow, speed)
        return None if self.heads.known(at) is None else ratio * self.heads.slope(at)

    def efficiency(self, *, flow: float, speed: float) -> float | None:
        """Pump efficiency at a flow and a speed.

        flow: of one pump [m3/s], zero or more.
        speed: of rotation [1/s], above zero.
        Returns the ratio [1], or None where the points say nothing.
        Valid within about 20 % of the curve's speed; lower speeds lose a little.
        Raises InvalidInput for a value outside these ranges.
        Equation: eta = eta_curve(Q / s). Source: HI14.6-2011, 14.6.5.7.2.
        """
        at = self._at(flow, speed)[1]
        return None if self.efficiencies is None else self.efficiencies.known(at)

    def shaft_power(
        self, *, flow: float, speed: float, density: float = COLD_WATER_DENSITY
    ) -> float | None:
        """Power that the pump takes at its shaft.

        flow: of one pump [m3/s], zero or more.
        speed: of rotation [1/s], above zero.
        density: of the liquid pumped [kg/m3], above zero.
        Returns the power [W], from the power column, else from head and efficiency; None where
        the points say nothing.
        Raises InvalidInput for a value outside these ranges.
        Equation: P = s^3 P_curve(Q / s), or P = rho g Q H / eta. Source: HI-DATA, 1.B.6.
        """
        if not 0.0 < density < math.inf:
            guards.positive(density=density)
        ratio, at = self._at(flow, speed)
        return self._power(ratio, at, flow, density)

    def highest_shaft_power(
        self, *, flows: Sequence[float], density: float = COLD_WATER_DENSITY
    ) -> float | None:
        """Highest power that the pump takes at one of several flows, at the curve's own speed.

        flows: of one pump [m3/s], zero or more; those beyond the last point count for nothing.
        density: of the liquid pumped [kg/m3], above zero.
        Returns the power [W], or None where the points say nothing.
        Raises InvalidInput for a value outside these ranges.
        Equation and source: as `shaft_power`.
        """
        guards.positive(density=density)
        guards.not_negative(flows=min(flows, default=0.0))
        powers = [self._power(1.0, flow, flow, density) for flow in flows]
        return max([power for power in powers if power is not None], default=None)

    def npsh_required(self, *, flow: float, speed: float) -> float | None:
        """Suction head that the pump needs, at 3 % head drop.

        flow: of one pump [m3/s], zero or more.
        speed: of rotation [1/s], above zero.
        Returns the head [m], or None where the points say nothing.
        Valid to first order; tests hold it within 80 % to 120 % of speed.
        Raises InvalidInput for a value outside these ranges.
        Equation: NPSH3 = s^2 NPSH3_curve(Q / s). Source: HI14.6-2011, 14.6.5.7.2.
        """
        ratio, at = self._at(flow, speed)
        heads = self.npsh_required_heads
        value = None if heads is None else heads.known(at)
        return None if value is None else value * ratio**2

    def best_efficiency_flow(self, *, speed: float) -> float | None:
        """Flow at which efficiency is highest.

        speed: of rotation [1/s], above zero.
        Returns the flow [m3/s]; None without efficiencies, or where they still rise at the last
        point, so that the best lies beyond it.
        Raises InvalidInput for a speed not above zero.
        Equation: largest efficiency among the curve's knots; it is monotone between them.
        Source: ISO9906-2012, 3.2; FRITSCH-BUTLAND-1984.
        """
        ratio = self._ratio(speed)
        if self.efficiencies is None:
            return None
        best = max(self.efficiencies.knots, key=self.efficiencies.value)
        return best * ratio if best < self.efficiencies.knots[-1] else None

    def zero_flow_speed(self, *, required_head: float) -> float:
        """Lowest speed at which the pump holds a head; below it nothing flows.

        required_head: to be held at zero flow [m].
        Returns the speed [1/s].
        Raises InvalidInput for a head that is not finite.
        Equation: n0 = n sqrt(H / H0). Source: HI-DATA, equation 1.B.6, at zero flow.
        """
        return zero_flow_speed(
            speed=self.speed, shut_off_head=self._shut_off, required_head=required_head
        )

    def _power(self, ratio: float, at: float, flow: float, density: float) -> float | None:
        of_column = None if self.shaft_powers is None else self.shaft_powers.known(at)
        if of_column is not None:
            return of_column * ratio**3 * density / self.density
        head = self.heads.known(at)
        efficiency = None if self.efficiencies is None else self.efficiencies.known(at)
        if head is None or not efficiency:
            return None
        # `hydraulics.hydraulic_power`, of arguments that whoever asks has looked at.
        return density * STANDARD_GRAVITY * flow * (head * ratio**2) / efficiency

    def _ratio(self, speed: float) -> float:
        if not 0.0 < speed < math.inf:  # asked at every point that is read: no call for nothing
            guards.positive(speed=speed)
        return speed / self.speed

    def _at(self, flow: float, speed: float) -> tuple[float, float]:
        """Speed over the curve's own [1], and the flow there that is similar to `flow` [m3/s]."""
        if not (0.0 <= flow < math.inf and 0.0 < speed < math.inf):
            guards.not_negative(flow=flow)
            guards.positive(speed=speed)
        ratio = speed / self.speed
        return ratio, flow / ratio


def fit_pump_curve(
    *, points: Sequence[CurvePoint], speed: float, density: float = COLD_WATER_DENSITY
) -> PumpCurve:
    """Pump curves through given points.

    points: at least two, the first at zero flow, flow strictly rising [m3/s], head above zero [m],
    efficiency between 0 and 1 [1], shaft power [W] and required suction head [m] above zero.
    speed: that the points belong to [1/s], above zero.
    density: that the shaft powers belong to [kg/m3], above zero.
    Returns the curves. A column needs two values; efficiency is zero at zero flow by definition.
    Rising and flat stretches are fitted as they are: `shape_problems` names them.
    Raises InvalidInput for points outside these ranges.
    Equation: as in `curve_shapes.through_points`.
    Source: FRITSCH-BUTLAND-1984.
    """
    guards.positive(speed=speed, density=density)
    _refuse_unusable(points)
    return PumpCurve(
        speed=speed,
        heads=through_points(
            abscissas=[point.flow for point in points], ordinates=[point.head for point in points]
        ),
        efficiencies=_fit_column(_efficiencies(points)),
        shaft_powers=_fit_column([(point.flow, point.shaft_power) for point in points]),
        npsh_required_heads=_fit_column([(point.flow, point.npsh_required) for point in points]),
        density=density,
    )


def pump_curve_from_equation(
    *, speed: float, shut_off_head: float, coefficient: float, exponent: float = 2.0
) -> PumpCurve:
    """Head curve of a pump that is given by an equation instead of points.

    speed: that the equation belongs to [1/s], above zero.
    shut_off_head: H0 [m], above zero.
    coefficient: B [m per (m3/s)^C], above zero.
    exponent: C [1], at least 1.
    Returns a curve without efficiency, power and suction head, known down to zero head.
    Raises InvalidInput for a value outside these ranges.
    Equation: H = H0 - B Q^C; at other speeds s^2 H0 - B s^(2-C) Q^C.
    Source: EPANET-2.2, chapter 12.
    """
    guards.positive(speed=speed, shut_off_head=shut_off_head, coefficient=coefficient)
    guards.within(exponent=exponent, lowest=1.0, highest=10.0, unit="")
    heads = PowerLaw(intercept=shut_off_head, coefficient=coefficient, exponent=exponent)
    return PumpCurve(speed=speed, heads=heads)


def shape_problems(
    *, points: Sequence[CurvePoint], flat_share: float = FLAT_SHARE
) -> tuple[ShapeProblem, ...]:
    """What is odd about the points of a pump curve, fitted or not.

    points: in the order given; flow [m3/s], head [m].
    flat_share: change of head over one stretch, as a share of the highest head, that counts as
    none [1]; no source, so that callers may set it.
    Returns the problems in the order of the points; empty for a curve that falls all the way.
    Raises InvalidInput for no points or values that are not finite.
    """
    if not points:
        raise InvalidInput("points", "expected at least one point")
    guards.all_finite(flow=[point.flow for point in points], head=[point.head for point in points])
    level = flat_share * max(abs(point.head) for point in points)
    found = [ShapeProblem(ShapeProblemKind.STARTS_LATE, 0)] if points[0].flow > 0.0 else []
    for index in range(1, len(points)):
        kind = _stretch_problem(points[index - 1], points[index], level)
        found += [ShapeProblem(kind, index)] if kind else []
    return tuple(found)


def _stretch_problem(
    before: CurvePoint, after: CurvePoint, level: float
) -> ShapeProblemKind | None:
    rise = after.head - before.head
    if after.flow == before.flow:
        return ShapeProblemKind.DUPLICATE_FLOW
    if after.flow < before.flow:
        return ShapeProblemKind.FLOW_GOES_BACK
    if abs(rise) <= level:
        return ShapeProblemKind.FLAT
    return ShapeProblemKind.RISING if rise > 0.0 else None


def _refuse_unusable(points: Sequence[CurvePoint]) -> None:
    if len(points) < 2:
        raise InvalidInput("points", f"expected at least 2, got {len(points)}")
    if points[0].flow != 0.0:
        raise InvalidInput("points", "expected the first point at zero flow")
    for point in points:
        if not 0.0 < point.head < math.inf:
            guards.positive(head=point.head)
        for argument in ("efficiency", "shaft_power", "npsh_required"):
            value = getattr(point, argument)
            if value is not None and not (math.isfinite(value) and value >= 0.0):
                raise InvalidInput(argument, f"expected zero or more, got {value}")
        if point.efficiency is not None and point.efficiency >= 1.0:
            raise InvalidInput("efficiency", f"expected below 1, got {point.efficiency:g}")


def _efficiencies(points: Sequence[CurvePoint]) -> list[tuple[float, float | None]]:
    return [(point.flow, 0.0 if point.flow == 0.0 else point.efficiency) for point in points]


def _fit_column(column: Sequence[tuple[float, float | None]]) -> CurveShape | None:
    known = [(flow, value) for flow, value in column if value is not None]
    if len(known) < 2:
        return None
    flows, values = zip(*known, strict=True)
    return through_points(abscissas=flows, ordinates=values)
