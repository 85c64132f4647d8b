"""What changed since an earlier visit, and whether it is more than the instruments' noise."""

import math
from dataclasses import dataclass

from calculations import guards
from calculations.affinity import OperatingPoint, scaled_point
from calculations.errors import InvalidInput


@dataclass(frozen=True, slots=True)
class HeadChange:
    """Today's point at the earlier speed, and changes as shares of the earlier values [1].

    `uncorrected_change` leaves the speed out, to show how far it would mislead.
    """

    corrected: OperatingPoint
    change: float
    flow_difference: float
    uncorrected_change: float


def head_change(
    *, base: OperatingPoint, base_speed: float, now: OperatingPoint, now_speed: float
) -> HeadChange:
    """Change of head against an earlier visit, at the earlier visit's speed.

    base, now: flow [m3/s] and head [m], above zero.
    base_speed, now_speed: of rotation [1/s], above zero.
    Returns the corrected point and the changes.
    Valid where the corrected flow is near the earlier one (`flow_difference`), otherwise compare
    each point with the curve instead.
    Raises InvalidInput for a value not above zero.
    Equation: H' = H (n_base/n)^2 at Q' = Q n_base/n; (H' - H_base)/H_base.
    Source: HI-DATA, equation 1.B.6.
    """
    guards.positive(base_flow=base.flow, base_head=base.head, flow=now.flow, head=now.head)
    corrected = scaled_point(
        flow=now.flow, head=now.head, from_speed=now_speed, to_speed=base_speed
    )
    return HeadChange(
        corrected=corrected,
        change=corrected.head / base.head - 1.0,
        flow_difference=corrected.flow / base.flow - 1.0,
        uncorrected_change=now.head / base.head - 1.0,
    )


def relative_change(*, before: float, now: float) -> float:
    """Change as a share of the earlier value.

    before: earlier value [any unit], not zero.
    now: later value [same unit].
    Returns the share [1].
    Raises InvalidInput for an earlier value of zero or values that are not finite.
    Equation: (x - x_0) / |x_0|.
    Source: definition.
    """
    guards.finite(before=before, now=now)
    if before == 0.0:
        raise InvalidInput("before", "expected a value other than zero")
    return (now - before) / abs(before)


def energy_per_volume_change(*, efficiency_before: float, efficiency_now: float) -> float:
    """Change of the energy for each unit of volume at the same head.

    efficiency_before, efficiency_now: wire to water [1], above zero.
    Returns the share [1]; positive where more energy is needed.
    Raises InvalidInput for a value not above zero.
    Equation: eta_0 / eta - 1.
    Source: e = rho g H / eta, by definition.
    """
    guards.positive(efficiency_before=efficiency_before, efficiency_now=efficiency_now)
    return efficiency_before / efficiency_now - 1.0


def combined_uncertainty(*parts: float) -> float:
    """Uncertainty of a product or quotient from the relative ones of its independent factors.

    parts: relative uncertainties with one coverage factor [1], zero or more; at least one.
    Returns the relative uncertainty [1].
    Raises InvalidInput for no parts or a negative one.
    Equation: u = sqrt(sum of squares).
    Source: JCGM-100-2008, 5.1.6.
    """
    if not parts:
        raise InvalidInput("parts", "expected at least one uncertainty")
    for part in parts:
        guards.not_negative(parts=part)
    return math.hypot(*parts)


def is_real_change(
    *, change: float, uncertainty_before: float, uncertainty_now: float, limit: float
) -> bool:
    """Whether a change lies beyond both the instruments' noise and a limit.

    change: as a share of the earlier value [1].
    uncertainty_before, uncertainty_now: relative, expanded, of the two values [1], zero or more.
    limit: that matters [1], zero or more.
    Returns True only beyond the combined uncertainty and beyond the limit.
    Raises InvalidInput for values outside these ranges.
    Equation: |change| > max(limit, sqrt(u_0^2 + u^2)).
    Source: JCGM-100-2008, 5.1.2; common practice.
    """
    guards.finite(change=change)
    guards.not_negative(limit=limit)
    noise = combined_uncertainty(uncertainty_before, uncertainty_now)
    return abs(change) > max(limit, noise)
