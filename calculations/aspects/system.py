"""The pipe system, and the flow that pump and system agree on at a frequency."""

from itertools import pairwise

from calculations import system_curves
from calculations.aspects import group, holding, pumping
from calculations.aspects.suction import End
from calculations.case import Case, Missing, Waits, once
from calculations.duty_points import duty_points
from calculations.hydraulics import velocity
from calculations.system_curves import FrictionCurve, SystemCurve

RULE, POINTS = "system.curve", "/site/system_curve_points"


def falls(case: Case) -> int | None:
    """The first point of the recorded curve that asks for less head than the one before it."""
    points = case.find(POINTS) or ()
    for index, (before, here) in enumerate(pairwise(points), start=1):
        if not (before.head and here.head):
            continue
        highest = here.head.si + here.head.resolution + before.head.resolution
        if highest < before.head.si * (1 - 1e-9):
            return index
    return None


def apart_from_lifts(case: Case) -> float | None:
    """How far the curve begins outside the static lifts, as a share of its highest head [1].

    None where it does not begin at no flow, or a lift is not known.
    """
    points = [each for each in case.find(POINTS) or () if each.flow and each.head]
    low, high = (case.find(holding.LIFT[end]) for end in ("high", "low"))
    if not points or points[0].flow.si > 0 or low is None or high is None:
        return None
    begins, highest = points[0].head.si, max(each.head.si for each in points)
    apart = max(low.si - begins, begins - high.si, 0.0)
    return apart / highest if highest > 0 else None


def _require_consistent(case: Case) -> None:
    apart = apart_from_lifts(case) if holding.lifts(case) else None
    off = apart is not None and apart > case.limit(f"{RULE}.lift")
    if (off or falls(case) is not None) and RULE not in case.accepted:
        raise Waits(RULE)


@once
def curve(case: Case, end: End) -> SystemCurve:
    """Head that the system asks for, at the lowest or highest suction.

    It waits for `system.curve` where recorded points contradict each other or the lifts.

    Recorded points where there are any; else static lift and design point, friction as the square
    of flow. The design point belongs to the highest lift, and the pipes are the same at the lowest.
    """
    points = case.find(POINTS)
    _require_consistent(case)
    if points and all(point.flow and point.head for point in points):
        return system_curves.system_through_points(
            flows=[point.flow.si for point in points], heads=[point.head.si for point in points]
        )
    flow, head = case.require("/site/system_design_flow", "/site/system_design_head")
    highest = system_curves.system_through_design_point(
        static_head=min(_design_lift(case, end), head.si),
        design_flow=flow.si,
        design_head=head.si,
    )
    static_head = min(case.si(holding.LIFT[end]), head.si)
    return FrictionCurve(static_head, highest.coefficient, highest.exponent)


def _design_lift(case: Case, end: End) -> float:
    """The highest static lift [m]; the one asked for where it is not known."""
    highest = case.find(holding.LIFT["low"])
    return float(highest.si) if highest is not None else case.si(holding.LIFT[end])


@once
def flow(case: Case, frequency: float, end: End) -> float:
    """Flow of this pump alone on the system [m3/s] at a frequency [Hz]; 0 where none flows.

    None flows where it cannot lift over the main's high point; beyond, the pipe is taken to run
    full, as the system's curve does.
    """
    if frequency <= 0:
        return 0.0
    return _flow(case, pumping.speed_where(case, frequency, lambda at: _flow(case, at, end)), end)


def _flow(case: Case, speed: float, end: End) -> float:
    """The same at a speed [1/s]."""
    pump = pumping.curve(case)
    over = holding.over_summit(case, end) if holding.lifts(case) else None
    if over is not None and over >= pump.shut_off_head(speed=speed):
        return 0.0
    system = curve(case, end)
    if system.lowest_flow == 0 and system.head(0.0) >= pump.shut_off_head(speed=speed):
        return 0.0
    found = duty_points(curve=pump, system=system, speed=speed, extrapolate=True).points
    if not found:
        raise Missing(POINTS, because="pump and system do not meet")
    return found[-1].pump_flow


@once
def flow_together(case: Case, frequency: float, end: End) -> float:
    """Flow on the system [m3/s] of all pumps that may run at once, each at a frequency [Hz].

    That of this pump alone where nothing flows, or none other may run.
    """
    pumps, alone = group.sharing(case), flow(case, frequency, end)
    if pumps == 1 or alone == 0:
        return alone
    return flow_of(case, frequency, end, pumps) or alone


def flow_of(case: Case, frequency: float, end: End, pumps: int) -> float:
    """Flow of several equal pumps on the system [m3/s], each at a frequency [Hz].

    0 where they meet no flow; a high point of the main is not looked at.
    """
    if frequency <= 0:
        return 0.0
    own = pumping.speed_where(case, frequency, lambda at: _shared(case, at, end, pumps))
    return _shared(case, own, end, pumps) * pumps


def _shared(case: Case, speed: float, end: End, pumps: int) -> float:
    """Flow of one [m3/s] of several equal pumps at a speed [1/s]; 0 where they meet no flow."""
    found = duty_points(curve=pumping.curve(case), system=curve(case, end), speed=speed,
                        pumps=pumps, extrapolate=True).points  # fmt: skip
    return found[-1].pump_flow if found else 0.0


def main_velocity(case: Case, flow: float) -> float:
    """Velocity in the main [m/s] at a flow [m3/s]."""
    return velocity(flow=flow, bore=case.si("/site/pipeline/inside_diameter"))
