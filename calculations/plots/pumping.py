"""Curves of the pump at the speeds that the drive may run it at, against the pipe system."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from calculations.aspects import duty, group, holding, loop, pumping, system
from calculations.aspects.suction import End
from calculations.case import Case, Missing
from calculations.derived.duty import curve_head
from calculations.duty_points import duty_points
from calculations.plots.lacking import Lacking, Parts, tried
from calculations.pump_curves import PumpCurve
from calculations.rule import elements
from calculations.system_curves import SystemCurve

STEPS = 32
"""Stretches that a curve is drawn in: no corner is seen at the width of a page."""

ALIKE = 0.005
"""Share of speed below which two speeds are one line [1]; no source."""

BEYOND = 1.15
"""Share of the duty's flow up to which all pumps together are drawn [1]; no source."""

Name = Literal["minimum", "rated", "maximum"]
NAMES: tuple[Name, ...] = ("minimum", "rated", "maximum")
Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class SpeedLine:
    """Points (flow of all `pumps` [m3/s], head [m]) at a speed [1/s] and what it is called.

    `frequency` [Hz] is None where none belongs to the speed.
    """

    names: tuple[Name, ...]
    speed: float
    frequency: float | None
    pumps: int
    points: Points


@dataclass(frozen=True, slots=True)
class SystemLine:
    """Points (flow [m3/s], head [m]) that the system asks for, at these levels of the suction."""

    ends: tuple[End, ...]
    points: Points


@dataclass(frozen=True, slots=True)
class Measured:
    """A duty point: its number from 0, flow [m3/s], head [m], and the curve's head there [m]."""

    index: int
    flow: float
    head: float
    curve_head: float | None


@dataclass(frozen=True, slots=True)
class PumpPlot:
    """Everything of the plot; `kept` is the head [m] that the set point asks for at no flow.

    `lacking` names the parts that are not known; without `curves` there is nothing to draw.
    """

    curves: tuple[SpeedLine, ...]
    systems: tuple[SystemLine, ...]
    kept: float | None
    measured: tuple[Measured, ...]
    lacking: tuple[Lacking, ...]


def pump_plot(case: Case) -> PumpPlot:
    """Curves at minimum, rated and maximum speed, the system's, the set point, the points.

    Where several equal pumps may run at once, their sum at the highest speed as well.
    Equations: affinity laws as in `pump_curves`; flows of parallel pumps add at equal head.
    """
    parts = Parts()
    curves = parts.of("pump curve", lambda: _curves(case, parts)) or ()
    measured = tuple(_measured(case, parts))
    flows = [line.points[-1][0] for line in curves] + [each.flow for each in measured]
    widest = max(flows, default=0.0)
    systems = parts.of("system curve", lambda: _systems(case, widest)) or ()
    kept = parts.of("set point", lambda: _kept(case))
    return PumpPlot(curves, systems, kept, measured, tuple(parts.lacking))


# -- the pump -------------------------------------------------------------------------------------


def _curves(case: Case, parts: Parts) -> tuple[SpeedLine, ...]:
    """A line for each speed, the lowest first; then all pumps that may run, at the highest."""
    if not pumping.is_centrifugal(case):
        raise Missing("/pump/type", because="the affinity laws do not hold for this kind of pump")
    curve = pumping.curve(case)
    speeds: dict[Name, float] = {"rated": curve.speed}
    for name, place in () if case.fixed_speed else _LIMITS:
        found = parts.of(f"{name} speed", partial(_speed, case, place))
        speeds |= {} if found is None else {name: found}
    lines = [_line(case, curve, names, speed) for names, speed in _told_apart(speeds)]
    count = group.may_run(case) or 1
    together = [_together(case, curve, lines[-1], count)] if count > 1 else []
    return (*lines, *together)


_LIMITS: tuple[tuple[Name, str], ...] = (
    ("minimum", "/settings/minimum_frequency"),
    ("maximum", "/settings/maximum_frequency"),
)


def _speed(case: Case, place: str) -> float:
    frequency = case.si(place)
    if frequency <= 0:
        raise Missing(case.place(place), because="the pump stands still")
    return pumping.speed(case, frequency)


def _told_apart(speeds: Mapping[Name, float]) -> Iterator[tuple[tuple[Name, ...], float]]:
    """Speeds from the lowest up; those that are one line on a plot under all of their names."""
    rising = sorted(speeds.items(), key=lambda each: each[1])
    while rising:
        _, lowest = rising[0]
        alike = [each for each in rising if each[1] <= lowest * (1 + ALIKE)]
        rising = rising[len(alike) :]
        names = {name for name, _ in alike}
        yield tuple(name for name in NAMES if name in names), alike[-1][1]


def _line(case: Case, curve: PumpCurve, names: tuple[Name, ...], speed: float) -> SpeedLine:
    last = curve.highest_flow(speed=speed)
    flows = [last * step / STEPS for step in range(STEPS + 1)]
    heads = [curve.head(flow=flow, speed=speed) for flow in flows]
    points = tuple((q, h) for q, h in zip(flows, heads, strict=True) if h is not None)
    frequency = tried("", lambda: pumping.frequency(case, speed))
    known = None if isinstance(frequency, Lacking) or case.fixed_speed else frequency
    return SpeedLine(names, speed, known, 1, points)


def _together(case: Case, curve: PumpCurve, line: SpeedLine, count: int) -> SpeedLine:
    """All pumps at one speed, drawn as far as a little beyond their duty where that is known."""
    needed = tried("", lambda: system.curve(case, "high"))
    met = () if isinstance(needed, Lacking) else duty_points(
        curve=curve, system=needed, speed=line.speed, pumps=count, extrapolate=True
    ).points  # fmt: skip
    last = max(BEYOND * met[-1].flow, line.points[-1][0]) if met else math.inf
    points = [(count * flow, head) for flow, head in line.points]
    return replace(line, pumps=count, points=tuple(p for p in points if p[0] <= last))


# -- the system, and what is kept -----------------------------------------------------------------


def _systems(case: Case, widest: float) -> tuple[SystemLine, ...]:
    """What the system asks for at the lowest and at the highest suction; one line where alike."""
    lowest = SystemLine(("low",), _along(system.curve(case, "low"), widest))
    found = tried("", lambda: _along(system.curve(case, "high"), widest))
    if isinstance(found, Lacking):
        return (lowest,)
    if found == lowest.points:
        return (SystemLine(("low", "high"), found),)
    return (lowest, SystemLine(("high",), found))


def _along(curve: SystemCurve, widest: float) -> Points:
    first, last = curve.lowest_flow, min(curve.highest_flow, widest)
    if last <= first:
        raise Missing(system.POINTS, because="it is not known where the pump works")
    flows = [first + (last - first) * step / STEPS for step in range(STEPS + 1)]
    return tuple((flow, curve.head(flow)) for flow in flows)


def _kept(case: Case) -> float | None:
    """Head [m] at no flow and the lowest suction; None where no pressure is kept.

    A well that gives nothing stands at its static level.
    """
    if not loop.is_known_closed(case) or holding.lifts(case):
        return None
    return holding.required_head(case, "high" if holding.is_kept_from_a_well(case) else "low")


# -- the points -----------------------------------------------------------------------------------


def _measured(case: Case, parts: Parts) -> Iterator[Measured]:
    for index, place in enumerate(elements(case, duty.POINTS)):
        found = parts.of(f"point {index + 1}", partial(_point, case, index, place))
        if found is not None:
            yield found


def _point(case: Case, index: int, place: str) -> Measured:
    flow, head = duty.flow(case, place), duty.total_head(case, place)
    on_curve = tried("", lambda: curve_head(case, place))
    return Measured(index, flow, head, None if isinstance(on_curve, Lacking) else on_curve)
