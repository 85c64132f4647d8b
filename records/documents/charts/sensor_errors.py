"""The chart of a verification: error over what was applied, both in % of span."""

from collections.abc import Iterator, Mapping, Sequence

from calculations.aspects.verifying import State
from calculations.plots.errors import ErrorPlot, ErrorPoint
from records.documents.charts.spec import (
    Axis,
    Band,
    Chart,
    Dash,
    Figure,
    Layer,
    Marks,
    Panel,
    Points,
    Shape,
)
from records.documents.charts.units import said

STATES: Mapping[State, str] = {"as_found": "As found", "as_left": "As left"}
_DASHES: Mapping[State, Dash] = {"as_found": "dotted", "as_left": "solid"}
_SHAPES: Mapping[tuple[State, bool], Shape] = {
    ("as_found", True): "up_open",
    ("as_found", False): "down_open",
    ("as_left", True): "up",
    ("as_left", False): "down",
}
_WAYS = {True: "rising", False: "falling"}


def figure(plot: ErrorPlot) -> Figure:
    """Chart, words and table."""
    chart = Chart(
        Axis("Applied", "% of span", include=(0.0, 100.0)),
        (Panel(Axis("Error", "% of span", include=(0.0,)), tuple(_layers(plot)), height=0.62),),
    )
    heads = ("", "Applied, % of span", "Error, % of span")
    return Figure(chart, " ".join(_sentences(plot)), _caption(plot), heads, tuple(_rows(plot)))


def _caption(plot: ErrorPlot) -> str:
    return "Corrected for the height of the reference over the sensor." if plot.raised else ""


def _layers(plot: ErrorPlot) -> Iterator[Layer]:
    tolerance = 100 * plot.tolerance
    yield Band(f"Tolerance, ±{said(tolerance)} % of span", -tolerance, tolerance)
    for state, points in plot.states.items():
        for rising, way in _WAYS.items():
            some = [each for each in points if each.rising is rising]
            if some:
                label, shape = f"{STATES[state]}, {way}", _SHAPES[state, rising]
                yield Marks(label, _places(some), shape, joined=_DASHES[state])


def _places(points: Sequence[ErrorPoint]) -> Points:
    return tuple((100 * each.applied, 100 * each.error) for each in points)


def _sentences(plot: ErrorPlot) -> Iterator[str]:
    yield f"Error over applied value, in % of span; tolerance ±{_percent(plot.tolerance)}."
    for state, points in plot.states.items():
        worst = max(points, key=lambda each: abs(each.error))
        lowest, highest = (pick(each.error for each in points) for pick in (min, max))
        yield (
            f"{STATES[state]}: {len(points)} points, errors from {_percent(lowest, sign=True)} to "
            f"{_percent(highest, sign=True)}, the largest {_percent(worst.error, sign=True)} at "
            f"{_percent(worst.applied)} of span, {_WAYS[worst.rising]}."
        )


def _percent(share: float, sign: bool = False) -> str:
    return f"{said(round(100 * share, 2), sign=sign)} %"


def _rows(plot: ErrorPlot) -> Iterator[tuple[str, ...]]:
    for state, points in plot.states.items():
        yield (STATES[state],)
        for each in points:
            error = said(round(100 * each.error, 2), sign=True)
            yield (_WAYS[each.rising].capitalize(), said(round(100 * each.applied, 1)), error)
