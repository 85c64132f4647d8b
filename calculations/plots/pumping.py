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

    `frequency` [Hz] is None where none belongs to the speed. A motor that `slips` by its load turns
    at this speed at no flow, and at others along the line.
    """

    names: tuple[Name, ...]
    speed: float
    frequency: float | None
    pumps: int
    points: Points
    slips: bool = False


@dataclass(frozen=True, slots=True)
class _Run:
    """What the pump is run at: its speed at the motor's full load [1/s], and the frequency [Hz].

    Without a frequency the speed is the same at any flow.
    """

    speed: float
    frequency: float | None


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
    Equations: affinity laws as in `pump_curves`, at the speed that the motor turns at under the
    load of each flow (`slipping`); flows of parallel pumps add at equal head.
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
    runs: dict[Name, _Run] = {"rated": _rated(case, curve)}
    for name, place in () if case.fixed_speed else _LIMITS:
        found = parts.of(f"{name} speed", partial(_set, case, place))
        runs |= {} if found is None else {name: found}
    lines = [_line(case, curve, names, run) for names, run in _told_apart(runs)]
    count = group.may_run(case) or 1
    together = [_together(case, curve, lines[-1], count)] if count > 1 else []
    return (*lines, *together)


_LIMITS: tuple[tuple[Name, str], ...] = (
    ("minimum", "/settings/minimum_frequency"),
    ("maximum", "/settings/maximum_frequency"),
)


def _set(case: Case, place: str) -> _Run:
    frequency = case.si(place)
    if frequency <= 0:
        raise Missing(case.place(place), because="the pump stands still")
    return _Run(pumping.speed(case, frequency), frequency)


def _rated(case: Case, curve: PumpCurve) -> _Run:
    """At the motor's rated frequency where that turns it as the curve was taken, else as taken."""
    frequency = tried("", lambda: case.si("/rating/frequency"))
    if isinstance(frequency, Lacking):
        return _Run(curve.speed, None)
    speed = tried("", lambda: pumping.speed(case, frequency))
    if isinstance(speed, Lacking) or abs(speed / curve.speed - 1) > ALIKE:
        return _Run(curve.speed, None)
    return _Run(speed, frequency)


def _told_apart(runs: Mapping[Name, _Run]) -> Iterator[tuple[tuple[Name, ...], _Run]]:
    """From the lowest speed up; those that are one line on a plot under all of their names."""
    rising = sorted(runs.items(), key=lambda each: each[1].speed)
    while rising:
        _, lowest = rising[0]
        alike = [each for each in rising if each[1].speed <= lowest.speed * (1 + ALIKE)]
        rising = rising[len(alike) :]
        names = {name for name, _ in alike}
        with_frequency = [run for _, run in alike if run.frequency is not None]
        run = (with_frequency or [lowest])[-1]
        yield tuple(name for name in NAMES if name in names), run


def _line(case: Case, curve: PumpCurve, names: tuple[Name, ...], run: _Run) -> SpeedLine:
    """Each point of the curve at the speed that it is pumped at."""
    last = curve.highest_flow(speed=curve.speed)
    flows = [last * step / STEPS for step in range(STEPS + 1)]
    heads = [curve.head(flow=flow, speed=curve.speed) for flow in flows]
    known = [(q, h) for q, h in zip(flows, heads, strict=True) if h is not None]
    speeds = [_speed(case, curve, run, flow) for flow, _ in known]
    ratios = [speed / curve.speed for speed in speeds]
    points = tuple((q * r, h * r**2) for (q, h), r in zip(known, ratios, strict=True))
    frequency = None if case.fixed_speed else run.frequency
    return SpeedLine(names, speeds[0], frequency, 1, points, slips=min(speeds) < max(speeds))


def _speed(case: Case, curve: PumpCurve, run: _Run, flow: float) -> float:
    """Speed [1/s] at which a flow at the curve's own speed [m3/s] is pumped."""
    if run.frequency is None:
        return run.speed
    return pumping.speed_where(case, run.frequency, lambda at: flow * at / curve.speed)


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
    for index, place in enumerate(case.elements(duty.POINTS)):
        found = parts.of(f"point {index + 1}", partial(_point, case, index, place))
        if found is not None:
            yield found


def _point(case: Case, index: int, place: str) -> Measured:
    flow, head = duty.flow(case, place), duty.total_head(case, place)
    on_curve = tried("", lambda: curve_head(case, place))
    return Measured(index, flow, head, None if isinstance(on_curve, Lacking) else on_curve)
