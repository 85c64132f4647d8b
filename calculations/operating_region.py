"""Where on its curve a pump runs, measured from its best efficiency at the speed of the day."""

import math
from dataclasses import dataclass
from enum import StrEnum

from calculations import guards
from calculations.errors import InvalidInput
from calculations.hydraulics import US_PER_METRIC_SPECIFIC_SPEED
from calculations.pump_curves import PumpCurve

PREFERRED_REGION = (0.70, 1.20)
"""Lowest and highest share of best-efficiency flow [1]; HI9.6.3-2012, 9.6.3.1 (secondary text)."""

PREFERRED_REGION_HIGH_SPECIFIC_SPEED = (0.80, 1.20)
"""The same above HIGH_SPECIFIC_SPEED; HI9.6.3-2012 (secondary text). Remembered: 0.80 to 1.15."""

HIGH_SPECIFIC_SPEED = 4500.0 / US_PER_METRIC_SPECIFIC_SPEED
"""Specific speed (1/min, m3/s, m) above which the region is narrower; 4,500 in US units."""


class RegionState(StrEnum):
    """Position of a flow against the preferred region."""

    LEFT = "below the preferred region"
    INSIDE = "inside the preferred region"
    RIGHT = "above the preferred region"


@dataclass(frozen=True, slots=True)
class OperatingRegion:
    """Flow as a share of best-efficiency flow at the speed [1], and where that lies."""

    ratio: float
    state: RegionState


def preferred_region(*, specific_speed: float | None = None) -> tuple[float, float]:
    """Preferred operating region of a rotodynamic pump.

    specific_speed: metric, of one stage (1/min, m3/s, m), above zero; None where not known.
    Returns lowest and highest share of best-efficiency flow [1]. Published texts disagree for
    high specific speeds, so that rules let callers set other bounds.
    Raises InvalidInput for a specific speed not above zero.
    Equation: 70 % to 120 %; 80 % to 120 % above a US specific speed of 4,500.
    Source: HI9.6.3-2012, 9.6.3.1 (secondary text).
    """
    if specific_speed is None:
        return PREFERRED_REGION
    guards.positive(specific_speed=specific_speed)
    high = specific_speed > HIGH_SPECIFIC_SPEED
    return PREFERRED_REGION_HIGH_SPECIFIC_SPEED if high else PREFERRED_REGION


def operating_region(
    *,
    flow: float,
    best_efficiency_flow: float,
    speed_ratio: float,
    region: tuple[float, float] = PREFERRED_REGION,
) -> OperatingRegion:
    """Position of a flow in the preferred region at the speed of the day.

    flow: of one pump [m3/s], zero or more.
    best_efficiency_flow: at the curve's own speed [m3/s], above zero.
    speed_ratio: speed of the day over the curve's own [1], above zero.
    region: lowest and highest share of best-efficiency flow [1], rising.
    Returns the share [1] and its position.
    Raises InvalidInput for values outside these ranges.
    Equation: Q / (s Q_BEP); best-efficiency flow moves with the speed.
    Source: HI9.6.3-2012, 9.6.3.1; HI-DATA, equation 1.B.6.
    """
    guards.not_negative(flow=flow)
    guards.positive(best_efficiency_flow=best_efficiency_flow, speed_ratio=speed_ratio)
    lowest, highest = region
    if not 0.0 <= lowest < highest:
        raise InvalidInput("region", f"expected a rising pair, got {lowest:g} to {highest:g}")
    ratio = flow / (best_efficiency_flow * speed_ratio)
    if ratio < lowest:
        return OperatingRegion(ratio, RegionState.LEFT)
    return OperatingRegion(ratio, RegionState.RIGHT if ratio > highest else RegionState.INSIDE)


def speed_at_minimum_flow(
    *, curve: PumpCurve, minimum_flow: float, required_head: float, drawdown: float = 0.0
) -> float | None:
    """Speed below which a pump that holds a head gives less than its minimum continuous flow.

    curve: of one pump.
    minimum_flow: minimum continuous flow at the curve's own speed [m3/s], zero or more.
    required_head: that the pump holds [m]; zero or less needs no speed at all.
    drawdown: what a well falls by at the minimum flow [m], zero or more; in proportion to flow.
    Returns the speed [1/s]; None where the minimum flow lies beyond the curve's last point.
    Valid where the minimum flow moves with the speed, as heat and recirculation limits do.
    Raises InvalidInput for values outside these ranges.
    Equation: n = n_curve s, s^2 h(Q_min) = H + D s; without draw-down n_curve sqrt(H / h(Q_min)).
    Source: HI-DATA, equation 1.B.6; THEIS-1935 (draw-down in proportion to flow).
    """
    guards.finite(required_head=required_head)
    guards.not_negative(drawdown=drawdown)
    head = curve.head(flow=minimum_flow, speed=curve.speed)
    if head is None or head <= 0.0:
        return None
    held = max(required_head, 0.0)
    return curve.speed * (drawdown + math.sqrt(drawdown**2 + 4 * head * held)) / (2 * head)
