"""Acceptance of a pump's measured points against what was guaranteed.

The grades are for tests with stated small uncertainty. A reading on site carries the uncertainty
of its own instruments and is judged by `judge_site_point`, which can also say "undecided".
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from calculations import guards
from calculations.affinity import OperatingPoint
from calculations.duty_points import flows_at_head
from calculations.errors import InvalidInput
from calculations.pump_curves import PumpCurve


@dataclass(frozen=True, slots=True)
class AcceptanceTolerance:
    """Tolerances of one grade, each as a share of the guaranteed value [1] and zero or more."""

    flow_above: float
    flow_below: float
    head_above: float
    head_below: float
    power_above: float
    efficiency_below: float


ACCEPTANCE_GRADES = {
    "1U": AcceptanceTolerance(0.10, 0.0, 0.06, 0.0, 0.10, 0.0),
    "1E": AcceptanceTolerance(0.05, 0.05, 0.03, 0.03, 0.04, 0.0),
    "1B": AcceptanceTolerance(0.05, 0.05, 0.03, 0.03, 0.04, 0.03),
    "2B": AcceptanceTolerance(0.08, 0.08, 0.05, 0.05, 0.08, 0.05),
    "2U": AcceptanceTolerance(0.16, 0.0, 0.10, 0.0, 0.16, 0.05),
    "3B": AcceptanceTolerance(0.09, 0.09, 0.07, 0.07, 0.09, 0.07),
}
"""Grades of ISO9906-2012, table 8, and HI14.6-2011; the figures are from memory."""

SMALL_PUMP_POWER = 10e3
"""Shaft power below which the wider tolerances of ISO9906-2012, 4.4.2, apply [W]; from memory."""

SITE_FLOOR = 0.05
"""Smallest tolerance that a reading on site is judged by [1]; common practice, no source."""


class CrossTouched(StrEnum):
    """Which bars of the tolerance cross a measured curve touches."""

    BOTH = "flow and head"
    HEAD = "head"
    FLOW = "flow"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True)
class CrossVerdict:
    """A measured curve against the tolerance cross; deviations as shares of the guarantee [1]."""

    touched: CrossTouched
    head_deviation: float | None
    flow_deviation: float | None

    @property
    def passes(self) -> bool:
        """True where the curve touches the cross at either bar."""
        return self.touched is not CrossTouched.NEITHER


class SiteVerdict(StrEnum):
    """What a reading on site can show about a guaranteed or recorded curve."""

    WITHIN = "within tolerance"
    UNDECIDED = "cannot be decided with these instruments"
    OUTSIDE = "outside tolerance"


@dataclass(frozen=True, slots=True)
class SitePoint:
    """A site reading against a curve at its speed: verdict, deviations [1], limits [1]."""

    verdict: SiteVerdict
    head_deviation: float | None
    flow_deviation: float | None
    head_uncertainty: float
    flow_uncertainty: float


def acceptance_tolerance(
    *,
    grade: str,
    shaft_power: float | None = None,
    small_pump_power: float = SMALL_PUMP_POWER,
) -> AcceptanceTolerance:
    """Tolerances of an agreed acceptance grade.

    grade: one of 1U, 1E, 1B, 2B, 2U, 3B.
    shaft_power: of the pump at the guaranteed point, where known [W], above zero; below
    small_pump_power the wider tolerances of small pumps take the grade's place.
    small_pump_power: limit of small pumps [W]; from memory, so that callers may set it.
    Returns the tolerances [1]; they are shares of the guaranteed values, so that -3 % on an
    efficiency of 80 % is 77.6 %.
    Raises InvalidInput for an unknown grade or a shaft power not above zero.
    Equation: table; below 10 kW flow 10 %, head 8 %, efficiency -[10 (1 - P/10 kW) + 7] %, power
    sqrt(7^2 + tau_eta^2) %.
    Source: ISO9906-2012, table 8 and 4.4.2 (figures from memory); HI14.6-2011.
    """
    if grade not in ACCEPTANCE_GRADES:
        raise InvalidInput("grade", f"expected one of {', '.join(ACCEPTANCE_GRADES)}, got {grade}")
    tolerance = ACCEPTANCE_GRADES[grade]
    if shaft_power is None:
        return tolerance
    guards.positive(shaft_power=shaft_power)
    if shaft_power >= small_pump_power:
        return tolerance
    return small_pump_tolerance(shaft_power=shaft_power)


def small_pump_tolerance(*, shaft_power: float) -> AcceptanceTolerance:
    """Tolerances of a pump that takes less than 10 kW.

    shaft_power: at the guaranteed point [W], above zero, up to 10 kW.
    Returns the tolerances [1].
    Raises InvalidInput for a shaft power outside that range.
    Equation: flow 10 %, head 8 %, efficiency -[10 (1 - P/10 kW) + 7] %, power
    sqrt(7^2 + tau_eta^2) %.
    Source: ISO9906-2012, 4.4.2 (efficiency and power from memory); HI14.6-2011.
    """
    guards.positive(shaft_power=shaft_power)
    guards.within(shaft_power=shaft_power, lowest=0.0, highest=SMALL_PUMP_POWER, unit="W")
    efficiency = 0.10 * (1.0 - shaft_power / SMALL_PUMP_POWER) + 0.07
    power = math.hypot(0.07, efficiency)
    return AcceptanceTolerance(0.10, 0.10, 0.08, 0.08, power, efficiency)


def usual_grade(*, shaft_power: float) -> str:
    """Grade that municipal water and waste water pumps have where none was agreed.

    shaft_power: at the guaranteed point [W], above zero.
    Returns 2B up to 100 kW, 1B above; further duty points are 3B unless agreed.
    Raises InvalidInput for a shaft power not above zero.
    Source: HI14.6-2011, default grades (secondary text).
    """
    guards.positive(shaft_power=shaft_power)
    return "1B" if shaft_power > 100e3 else "2B"


def cross_touched(
    *,
    guaranteed: OperatingPoint,
    head_at_guaranteed_flow: float | None,
    flow_at_guaranteed_head: float | None,
    tolerance: AcceptanceTolerance,
) -> CrossVerdict:
    """Whether a measured curve touches the tolerance cross of a guaranteed point, at either bar.

    guaranteed: flow [m3/s] and head [m], above zero.
    head_at_guaranteed_flow: of the measured curve, at the guaranteed speed [m]; None if unknown.
    flow_at_guaranteed_head: of the measured curve, at that speed [m3/s]; None if unknown.
    tolerance: of the agreed grade [1].
    Returns which bars are touched, and the deviations [1].
    Valid for witnessed tests; for readings on site see `judge_site_point`.
    Raises InvalidInput for values outside these ranges, or where both measured ones are missing.
    Equation: the head bar spans H_G (1 + tau_H) at Q_G, the flow bar Q_G (1 + tau_Q) at H_G.
    Source: ISO9906-2012, 4.4 (clause from memory).
    """
    guards.positive(guaranteed_flow=guaranteed.flow, guaranteed_head=guaranteed.head)
    if head_at_guaranteed_flow is None and flow_at_guaranteed_head is None:
        raise InvalidInput("head_at_guaranteed_flow", "expected it, or the flow at that head")
    head = _deviation(head_at_guaranteed_flow, guaranteed.head)
    flow = _deviation(flow_at_guaranteed_head, guaranteed.flow)
    on_head = _inside(head, tolerance.head_below, tolerance.head_above)
    on_flow = _inside(flow, tolerance.flow_below, tolerance.flow_above)
    return CrossVerdict(_touched(on_head, on_flow), head, flow)


def judge_measured_curve(
    *,
    measured: PumpCurve,
    guaranteed: OperatingPoint,
    speed: float,
    tolerance: AcceptanceTolerance,
) -> CrossVerdict:
    """Measured curve of a witnessed test against the tolerance cross.

    measured: curve fitted through the test's points.
    guaranteed: flow [m3/s] and head [m], above zero.
    speed: that the guarantee is for [1/s], above zero.
    tolerance: of the agreed grade [1].
    Returns which bars are touched, and the deviations [1].
    Valid where the test's points reach the guaranteed point.
    Raises InvalidInput for values outside these ranges, or a curve that ends before the point.
    Equation: affinity to the guaranteed speed, then `cross_touched`.
    Source: ISO9906-2012, 4.4 (clause from memory) and 6.1.
    """
    met = flows_at_head(curve=measured, head=guaranteed.head, speed=speed).points
    nearest = min((abs(point.flow - guaranteed.flow), point.flow) for point in met) if met else None
    return cross_touched(
        guaranteed=guaranteed,
        head_at_guaranteed_flow=measured.head(flow=guaranteed.flow, speed=speed),
        flow_at_guaranteed_head=nearest[1] if nearest else None,
        tolerance=tolerance,
    )


def efficiency_accepted(
    *, measured: float, guaranteed: float, tolerance: AcceptanceTolerance
) -> bool:
    """Whether a measured efficiency meets a guaranteed one.

    measured, guaranteed: pump efficiency at the guaranteed flow [1], above zero.
    tolerance: of the agreed grade [1].
    Returns True at or above the lowest value allowed.
    Raises InvalidInput for a value not above zero.
    Equation: eta >= eta_G (1 - tau_eta).
    Source: ISO9906-2012, 4.4, table 8 (figures from memory).
    """
    guards.positive(measured=measured, guaranteed=guaranteed)
    return _inside(measured / guaranteed - 1.0, tolerance.efficiency_below, math.inf)


def power_accepted(*, measured: float, guaranteed: float, tolerance: AcceptanceTolerance) -> bool:
    """Whether a measured shaft power meets a guaranteed one.

    measured, guaranteed: at the guaranteed flow [W], above zero.
    tolerance: of the agreed grade [1].
    Returns True at or below the highest value allowed.
    Raises InvalidInput for a value not above zero.
    Equation: P <= P_G (1 + tau_P).
    Source: ISO9906-2012, 4.4, table 8 (figures from memory).
    """
    guards.positive(measured=measured, guaranteed=guaranteed)
    return _inside(measured / guaranteed - 1.0, math.inf, tolerance.power_above)


def judge_site_point(
    *,
    curve: PumpCurve,
    flow: float,
    head: float,
    speed: float,
    tolerance: AcceptanceTolerance,
    flow_uncertainty: float,
    head_uncertainty: float,
    floor: float = SITE_FLOOR,
) -> SitePoint:
    """A point read on site against a curve, with what its instruments allow to be said.

    curve: guaranteed, catalogue or earlier curve.
    flow: of one pump [m3/s], above zero.
    head: total head at that flow [m], above zero.
    speed: on the day [1/s], above zero.
    tolerance: of the agreed grade [1]; widened to the floor on each side.
    flow_uncertainty, head_uncertainty: expanded, k = 2, as shares of the readings [1].
    floor: smallest tolerance on site [1]; common practice, so that callers may set it.
    Returns the verdict: OUTSIDE only beyond tolerance plus uncertainty in head and in flow alike.
    A flow past the end of the curve with more head than there is OUTSIDE as well: curves fall.
    Valid at 50 % to 120 % of the curve's speed.
    Raises InvalidInput for values outside these ranges.
    Equation: deviation in head at the flow, and in flow at the head, each against tolerance, then
    against tolerance + u with u_H^2 + (dH/dQ Q/H u_Q)^2 at the flow read, and u_Q^2 + (u_H H/Q /
    (dH/dQ))^2 at the flow that the curve has at the head read.
    Source: common practice; combination of uncertainties JCGM-100-2008, 5.1.2.
    """
    guards.positive(flow=flow, head=head)
    guards.not_negative(flow_uncertainty=flow_uncertainty, head_uncertainty=head_uncertainty)
    allowed = _at_least(tolerance, floor)
    expected_head = curve.head(flow=flow, speed=speed)
    met = flows_at_head(curve=curve, head=head, speed=speed).points
    nearest = min((abs(point.flow - flow), point.flow) for point in met)[1] if met else None
    head_deviation = _deviation(head, expected_head)
    flow_deviation = _deviation(flow, nearest)
    in_head = math.hypot(head_uncertainty, _steepness(curve, flow, head, speed) * flow_uncertainty)
    # A flat stretch at the flow read must not excuse a flow that belongs on a steep one.
    steepness = _steepness(curve, flow if nearest is None else nearest, head, speed)
    in_flow = math.hypot(flow_uncertainty, head_uncertainty / steepness if steepness else 0.0)
    # Of the readings so far; the deviations are shares of what the curve has.
    in_head *= head / expected_head if expected_head else 1.0
    in_flow *= flow / nearest if nearest else 1.0
    on_head = (head_deviation, allowed.head_below, allowed.head_above)
    on_flow = (flow_deviation, allowed.flow_below, allowed.flow_above)
    verdict = _site_verdict(on_head, on_flow, in_head, in_flow)
    last = curve.highest_flow(speed=speed)
    past = flow > last * (1 + allowed.flow_above + flow_uncertainty)
    least = curve.head(flow=last, speed=speed) or 0.0
    above = head > least * (1 + allowed.head_above + head_uncertainty)
    if verdict is SiteVerdict.UNDECIDED and past and above:
        verdict = SiteVerdict.OUTSIDE
    return SitePoint(verdict, head_deviation, flow_deviation, in_head, in_flow)


def head_agrees(
    *,
    curve: PumpCurve,
    flow: float,
    head: float,
    speed: float,
    tolerance: AcceptanceTolerance,
    floor: float = SITE_FLOOR,
) -> bool:
    """Whether a head read on site is the curve's at the flow read, within the tolerance.

    Arguments as for `judge_site_point`, whose verdict is then WITHIN whatever else was read.
    Returns False beyond the end of the curve.
    Raises InvalidInput for values outside the ranges of `judge_site_point`.
    Equation and source: deviation in head at the flow, as `judge_site_point`.
    """
    guards.positive(flow=flow, head=head)
    deviation = _deviation(head, curve.head(flow=flow, speed=speed))
    return _inside(deviation, max(tolerance.head_below, floor), max(tolerance.head_above, floor))


def _deviation(value: float | None, reference: float | None) -> float | None:
    return None if value is None or not reference else value / reference - 1.0


def _inside(deviation: float | None, below: float, above: float) -> bool:
    rounding = 1e-9
    return deviation is not None and -below - rounding <= deviation <= above + rounding


def _touched(on_head: bool, on_flow: bool) -> CrossTouched:
    if on_head:
        return CrossTouched.BOTH if on_flow else CrossTouched.HEAD
    return CrossTouched.FLOW if on_flow else CrossTouched.NEITHER


def _at_least(tolerance: AcceptanceTolerance, floor: float) -> AcceptanceTolerance:
    return replace(
        tolerance,
        flow_above=max(tolerance.flow_above, floor),
        flow_below=max(tolerance.flow_below, floor),
        head_above=max(tolerance.head_above, floor),
        head_below=max(tolerance.head_below, floor),
    )


def _steepness(curve: PumpCurve, flow: float, head: float, speed: float) -> float:
    """Relative change of head for a relative change of flow [1]."""
    slope = curve.slope(flow=flow, speed=speed)
    return 0.0 if slope is None else abs(slope) * flow / head


Bar = tuple[float | None, float, float]


def _site_verdict(head: Bar, flow: Bar, in_head: float, in_flow: float) -> SiteVerdict:
    if _inside(*head) or _inside(*flow):
        return SiteVerdict.WITHIN
    if head[0] is None and flow[0] is None:
        return SiteVerdict.UNDECIDED
    if _widened(head, in_head) or _widened(flow, in_flow):
        return SiteVerdict.UNDECIDED
    return SiteVerdict.OUTSIDE


def _widened(bar: Bar, uncertainty: float) -> bool:
    deviation, below, above = bar
    return _inside(deviation, below + uncertainty, above + uncertainty)
