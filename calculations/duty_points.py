"""Where pumps and system meet: solved on the curve at its speed, never scaled from another duty."""

from collections.abc import Callable
from enum import StrEnum
from itertools import pairwise
from typing import NamedTuple

from calculations import guards
from calculations.curve_shapes import ROUNDING
from calculations.pump_curves import PumpCurve
from calculations.roots import crossings, root
from calculations.system_curves import FrictionCurve, SystemCurve

_SAME = 1e-9  # share of the shut-off head below which two heads are one
_LEAST_FLOW = 1e-9  # of the highest flow, below which nothing flows
_PARTS = 16  # of a stretch where both curves rise or both fall


class Outcome(StrEnum):
    """How pump and system meet."""

    ONE = "one duty point"
    SEVERAL = "several duty points: the pump may settle at any of them"
    NO_FLOW = "no flow: the system asks for more head than the pump gives"
    FLAT = "both curves are flat and lie on each other: any flow in a range"
    BEYOND_CURVE = "the curves meet beyond the last point that is known"
    BEFORE_CURVE = "any meeting lies below the first point that is known of the system"


class DutyPoint(NamedTuple):
    """A meeting of pumps and system: all pumps' flow [m3/s], head [m], one pump's flow [m3/s]."""

    flow: float
    head: float
    pump_flow: float


class DutySolution(NamedTuple):
    """Every duty point, rising in flow, or why there is none.

    `shut_off_head` is the pump's at this speed [m]; `static_head` the system's at zero flow [m],
    None where its points do not reach zero. FLAT gives the two ends of the range as points.
    """

    outcome: Outcome
    points: tuple[DutyPoint, ...]
    shut_off_head: float
    static_head: float | None

    @property
    def point(self) -> DutyPoint | None:
        """The duty point where there is exactly one."""
        return self.points[0] if self.outcome is Outcome.ONE else None


def duty_points(
    *,
    curve: PumpCurve,
    system: SystemCurve,
    speed: float,
    pumps: int = 1,
    extrapolate: bool = False,
) -> DutySolution:
    """Duty of equal pumps in parallel, all at one speed, on a system.

    curve: of one pump.
    system: head over the flow of all pumps together.
    speed: of every pump [1/s], above zero.
    pumps: running in parallel [1], one or more.
    extrapolate: continue the pump's curve beyond its last point, down to zero head.
    Returns all duty points, or the reason why there is none.
    Raises InvalidInput for a speed not above zero or no pump.
    Equation: s^2 h(Q / (N s)) = H_system(Q); flows of parallel pumps add at equal head.
    Source: HI-DATA, 1.B (affinity, parallel pumps and system curves).
    """
    guards.within(pumps=pumps, lowest=1, highest=100, unit="pumps")
    shut_off = curve.shut_off_head(speed=speed)
    ratio, pump, needed = speed / curve.speed, curve.heads.value, system.head

    def pump_head(flow: float) -> float:
        return ratio * ratio * pump(flow / ratio)

    def surplus(flow: float) -> float:
        return ratio * ratio * pump(flow / ratio) - needed(pumps * flow)

    def solution(outcome: Outcome, flows: list[float]) -> DutySolution:
        points = tuple([DutyPoint(pumps * flow, pump_head(flow), flow) for flow in flows])
        static = system.head(0.0) if system.lowest_flow == 0.0 else None
        return DutySolution(outcome, points, shut_off, static)

    low = system.lowest_flow / pumps
    high = min(_highest_flow(curve, speed, extrapolate), system.highest_flow / pumps)
    if high <= low:
        return solution(Outcome.BEFORE_CURVE, [])
    if curve.heads.falls and not system.knots:
        flows, at_high = _only_meeting(surplus, low, high)
        return solution(Outcome.ONE if flows else _reason(at_high, low), flows)
    ends = []
    for flow in _edges(curve, system, speed, pumps, low, high):
        head, asked = pump_head(flow), needed(pumps * flow)
        ends.append(_End(flow, head, asked, head - asked))
    stretches = list(pairwise(ends))
    level = _SAME * shut_off
    flat = [
        stretch
        for stretch in stretches
        if abs(stretch[0].surplus) <= level and _is_flat(surplus, *stretch, level)
    ]
    if flat:
        return solution(Outcome.FLAT, [flat[0][0].flow, flat[-1][1].flow])
    flows = _meetings(surplus, stretches)
    if flows:
        return solution(Outcome.ONE if len(flows) == 1 else Outcome.SEVERAL, flows)
    return solution(_reason(ends[-1].surplus, low), [])


class _End(NamedTuple):
    """An end of a stretch: flow of one pump [m3/s], its head, the system's, and the surplus [m]."""

    flow: float
    pump: float
    system: float
    surplus: float


def flows_at_head(
    *, curve: PumpCurve, head: float, speed: float, pumps: int = 1, extrapolate: bool = False
) -> DutySolution:
    """Flows at which equal pumps in parallel give a head.

    curve: of one pump.
    head: at the pumps [m].
    speed: of every pump [1/s], above zero.
    pumps: running in parallel [1], one or more.
    extrapolate: continue the pump's curve beyond its last point.
    Returns all such flows; NO_FLOW above the curve, where a check valve stays shut.
    Raises InvalidInput for a value outside these ranges.
    Equation: s^2 h(Q / (N s)) = H.
    Source: HI-DATA, equation 1.B.6.
    """
    level = FrictionCurve(static_head=head, coefficient=0.0)
    return duty_points(curve=curve, system=level, speed=speed, pumps=pumps, extrapolate=extrapolate)


def speeds_through(*, curve: PumpCurve, flow: float, head: float) -> tuple[float, ...]:
    """Speeds at which a pump's curve runs through a point.

    curve: of one pump.
    flow: of one pump [m3/s], zero or more.
    head: at that flow [m], above zero.
    Returns the speeds [1/s], rising: one for a falling curve, none where the point lies to the
    right of all that is known of the curve.
    Raises InvalidInput for a value outside these ranges.
    Equation: the parabola H ~ Q^2 through the point meets the curve at flow Q_c; n = n_curve Q/Q_c.
    Source: HI-DATA, equation 1.B.6.
    """
    guards.not_negative(flow=flow)
    guards.positive(head=head)
    if flow == 0.0:
        return (curve.zero_flow_speed(required_head=head),)
    similar = FrictionCurve(static_head=0.0, coefficient=head / flow**2)
    met = duty_points(curve=curve, system=similar, speed=curve.speed)
    return tuple(sorted(curve.speed * flow / point.flow for point in met.points))


def _highest_flow(curve: PumpCurve, speed: float, extrapolate: bool) -> float:
    last = curve.heads.knots[-1]
    slope = curve.heads.slope(last)
    beyond = curve.heads.value(last) / -slope if extrapolate and slope < 0.0 else 0.0
    return (last * ROUNDING + beyond) * speed / curve.speed


def _edges(
    curve: PumpCurve, system: SystemCurve, speed: float, pumps: int, low: float, high: float
) -> list[float]:
    """One pump's flows [m3/s] between which both curves are monotone."""
    of_pump = [knot * speed / curve.speed for knot in curve.heads.knots]
    of_system = [knot / pumps for knot in system.knots]
    last = high / ROUNDING**2
    inner = sorted({knot for knot in (*of_pump, *of_system) if low < knot < last})
    return [low, *inner, high]


def _only_meeting(
    surplus: Callable[[float], float], low: float, high: float
) -> tuple[list[float], float]:
    """Where a surplus that falls all the way from no flow is zero, and that at the end."""
    at_low, at_high = surplus(low), surplus(high)
    if at_low <= 0.0 or at_high > 0.0:
        return [], at_high
    flow = root(surplus, low, high, at_low, at_high)
    return [flow] if flow > _LEAST_FLOW * high else [], at_high


def _is_flat(surplus: Callable[[float], float], start: _End, end: _End, level: float) -> bool:
    middle = 0.5 * (start.flow + end.flow)
    return abs(end.surplus) <= level and abs(surplus(middle)) <= level


def _meetings(surplus: Callable[[float], float], stretches: list[tuple[_End, _End]]) -> list[float]:
    ends = (stretches[0][0], *(end for _, end in stretches))
    found = [end.flow for end in ends if end.surplus == 0.0]
    for start, end in stretches:
        both_rise_or_fall = (end.pump - start.pump) * (end.system - start.system) > 0.0
        if both_rise_or_fall:
            found += crossings(surplus, start.flow, end.flow, _PARTS)
        elif start.surplus * end.surplus < 0.0:
            found.append(root(surplus, start.flow, end.flow, start.surplus, end.surplus))
    least = _LEAST_FLOW * stretches[-1][1].flow
    apart = [flow for flow in sorted(found) if flow > least]
    return [flow for i, flow in enumerate(apart) if i == 0 or flow - apart[i - 1] > least]


def _reason(at_high: float, low: float) -> Outcome:
    """Why they meet nowhere, so that one of both is higher at every flow."""
    if at_high > 0.0:
        return Outcome.BEYOND_CURVE
    return Outcome.BEFORE_CURVE if low > 0.0 else Outcome.NO_FLOW
