"""A sensor's errors against what was applied, as found and as left."""

from dataclasses import dataclass
from functools import partial

from calculations.aspects import loop, verifying
from calculations.aspects.verifying import Check, State
from calculations.case import Case, Missing
from calculations.plots.lacking import Lacking, tried

LEAST_POINTS = 2
"""Points below which nothing is drawn [1]."""

STATES: tuple[State, ...] = ("as_found", "as_left")


@dataclass(frozen=True, slots=True)
class ErrorPoint:
    """One point: what was applied, and the error, as shares of span [1]."""

    applied: float
    error: float
    rising: bool


@dataclass(frozen=True, slots=True)
class ErrorPlot:
    """Points of each state that was recorded, with the tolerance [1 of span], one side.

    `raised` tells that the reference stood at another height, which is taken into account;
    `lacking` names a state that was recorded and cannot be drawn.
    """

    tolerance: float
    states: dict[State, tuple[ErrorPoint, ...]]
    raised: bool
    lacking: tuple[Lacking, ...]


def error_plot(case: Case, place: str) -> ErrorPlot | Lacking:
    """The plot of one verification, or what it lacks.

    Equation: error = (indicated - applied) / span, as in `verification.verify`.
    """
    recorded = [state for state in STATES if case.find(f"{place}/{state}")]
    found = {state: tried(state, partial(_state, case, place, state)) for state in recorded}
    drawn = {state: each for state, each in found.items() if not isinstance(each, Lacking)}
    lacking = tuple(each for each in found.values() if isinstance(each, Lacking))
    if not drawn:
        return lacking[0] if lacking else Lacking("points", (f"{place}/as_found",))
    tolerance = next(iter(drawn.values()))[0]
    height = case.find(f"{place}/applied_head_difference")
    states = {state: points for state, (_, points) in drawn.items()}
    return ErrorPlot(tolerance, states, bool(height and height.si), lacking)


def _state(case: Case, place: str, state: State) -> tuple[float, tuple[ErrorPoint, ...]]:
    check = verifying.check(case, place, state)
    points = tuple(_points(case, check))
    if len(points) < LEAST_POINTS:
        raise Missing(f"{place}/{state}", because="only one point can be read")
    return check.tolerance, points


def _points(case: Case, check: Check) -> list[ErrorPoint]:
    ranged = loop.measuring_range(case, check.sensor)
    return [
        ErrorPoint(ranged.share(point.applied), error, point.rising)
        for point, error in zip(check.readable, check.errors, strict=True)
    ]
