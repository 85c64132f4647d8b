"""What the pump has to hold before anything flows: a pressure that is kept, or a static lift."""

from calculations.aspects import loop, pumping, suction
from calculations.aspects.in_order import SITE_ORDER, higher
from calculations.aspects.pumping import Off
from calculations.aspects.suction import End
from calculations.case import Case, Missing, Waits, once
from calculations.rules.scope import has_drive
from calculations.units import Quantity

LIFT: dict[End, str] = {"low": "/site/static_lift_high", "high": "/site/static_lift_low"}
"""The lowest suction goes with the highest lift."""


@once
def lifts(case: Case) -> bool:
    """Whether the drive is known to pump against a static lift instead of keeping a pressure."""
    return has_drive(case) and case.find("/settings/regulation") is not None and not _keeps(case)


@once
def _keeps(case: Case) -> bool:
    return loop.is_closed(case) and not case.is_(
        "/settings/regulated_quantity", "flow", "temperature", *loop.LEVELS
    )


def required_head(case: Case, end: End) -> float:
    """Head [m] at no flow, at the lowest or highest suction."""
    case.require("/settings/regulation")
    if lifts(case):
        return _lift(case, end)
    case.require("/settings/regulated_quantity")
    return loop.required_head(case, end)


def _lift(case: Case, end: End) -> float:
    lowest, highest = case.find(LIFT["high"]), case.find(LIFT["low"])
    if lowest and highest and higher(lowest, highest):
        raise Waits(SITE_ORDER)
    suction.require_fit(case, LIFT[end])
    lift = case.si(LIFT[end])
    over = over_summit(case, end)
    return lift if over is None else max(lift, over)


SUMMIT = "/site/pipeline/high_point_elevation"
NEAR_OUTLET = 1.0
"""Height over the outlet within which a high point is the outlet itself [m]; no source."""


def over_summit(case: Case, end: End) -> float | None:
    """Head [m] that lifts the liquid over the main's high point; None where the outlet is higher.

    The flow has to begin over it. An air valve there lets no siphon hold, and none is counted on.
    """
    summit = case.find(SUMMIT)
    if summit is None:
        return None
    outlets = [suction.grade(case, each) + lift.si for each, lift in _known_lifts(case)]
    if not outlets or summit.si <= max(outlets) + NEAR_OUTLET:
        return None
    return float(summit.si - suction.grade(case, end))


def _known_lifts(case: Case) -> list[tuple[End, Quantity]]:
    known = [(end, case.find(LIFT[end])) for end in suction.ENDS]
    return [(end, lift) for end, lift in known if lift is not None]


def is_kept_from_a_well(case: Case) -> bool:
    """Whether a pressure is kept out of a well, whose level falls with the flow alone."""
    return case.is_("/site/suction_kind", "well") and not lifts(case)


def drawdown(case: Case, flow: float) -> float:
    """What a well falls by [m] below its static level at a flow [m3/s]: in proportion to it."""
    pumped, static, at = case.require(
        "/site/pumping_water_depth", "/site/static_water_depth", "/site/pumping_water_depth_at_flow"
    )
    suction.require_fit(case, "/site/pumping_water_depth", "/site/static_water_depth")
    if at.si <= 0:
        raise Missing("/site/pumping_water_depth_at_flow", because="no flow")
    return float(max(pumped.si - static.si, 0.0) * flow / at.si)


@once
def zero_flow_frequency(case: Case, end: End) -> float:
    """Frequency [Hz] below which nothing flows, at the lowest or highest suction."""
    return pumping.zero_flow_frequency(case, head_at_no_flow(case, end))


def zero_flow_off(case: Case, end: End) -> Off:
    """What that may be off by for the motor's slip, the curve being right."""
    return pumping.zero_flow_off(case, head_at_no_flow(case, end))


@once
def head_at_no_flow(case: Case, end: End) -> float:
    """Head [m] at no flow: a well that gives nothing stands at its static level."""
    return required_head(case, "high" if is_kept_from_a_well(case) else end)


def require_flow(case: Case) -> None:
    """Raise `Waits` where nothing flows at the highest lift, even at the maximum frequency."""
    highest = case.find("/settings/maximum_frequency")
    begins = case.known("speed.zero-flow-at-lowest-suction") if lifts(case) else None
    if highest is not None and begins is not None and highest.si <= begins:
        raise Waits("speed.zero-flow")
