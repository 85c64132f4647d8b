"""The pipe system, and the flow that pump and system agree on at a frequency."""

from dataclasses import replace

from calculations import system_curves
from calculations.aspects import holding, pumping
from calculations.aspects.suction import End
from calculations.case import Case, Missing
from calculations.duty_points import duty_points
from calculations.hydraulics import velocity
from calculations.system_curves import SystemCurve


def curve(case: Case, end: End) -> SystemCurve:
    """Head that the system asks for, at the lowest or highest suction.

    Recorded points where there are any; else static lift and design point, friction as the square
    of flow. The design point belongs to the highest lift, and the pipes are the same at the lowest.
    """
    points = case.find("/site/system_curve_points")
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
    return replace(highest, static_head=min(case.si(holding.LIFT[end]), head.si))


def _design_lift(case: Case, end: End) -> float:
    """The highest static lift [m]; the one asked for where it is not known."""
    highest = case.find(holding.LIFT["low"])
    return float(highest.si) if highest is not None else case.si(holding.LIFT[end])


def flow(case: Case, frequency: float, end: End) -> float:
    """Flow of this pump alone on the system [m3/s] at a frequency [Hz]; 0 where none flows."""
    pump = pumping.curve(case)
    speed = pumping.speed(case, frequency)
    if speed <= 0:
        return 0.0
    system = curve(case, end)
    if system.lowest_flow == 0 and system.head(0.0) >= pump.shut_off_head(speed=speed):
        return 0.0
    found = duty_points(curve=pump, system=system, speed=speed, extrapolate=True).points
    if not found:
        raise Missing("/site/system_curve_points", because="pump and system do not meet")
    return found[-1].pump_flow


def main_velocity(case: Case, flow: float) -> float:
    """Velocity in the main [m/s] at a flow [m3/s]."""
    return velocity(flow=flow, bore=case.si("/site/pipeline/inside_diameter"))
