"""Plots with figures that can be checked by hand; SI inside, as the calculations give them."""

from datetime import UTC, datetime

from calculations.plots.answers import StepPlot
from calculations.plots.errors import ErrorPlot, ErrorPoint
from calculations.plots.pumping import Measured, PumpPlot, SpeedLine, SystemLine
from calculations.plots.thinning import Thinned
from records.documents.charts.visits import Visit, VisitPoint

# H = 40 - 10000 Q^2 at 25 1/s (1500 rpm); at 20 1/s 0.64 of the head at 0.8 of the flow.
RATED = tuple((0.01 * step, 40 - 10_000 * (0.01 * step) ** 2) for step in range(5))
MINIMUM = tuple((0.8 * flow, 0.64 * head) for flow, head in RATED)


def pump() -> PumpPlot:
    """A pump at two speeds and twice at once, a system of 20 m and more, two points."""
    return PumpPlot(
        curves=(
            SpeedLine(("minimum",), 20.0, 40.0, 1, MINIMUM),
            SpeedLine(("rated", "maximum"), 25.0, 50.0, 1, RATED),
            SpeedLine(("rated", "maximum"), 25.0, 50.0, 2, tuple((2 * q, h) for q, h in RATED)),
        ),
        systems=(SystemLine(("low",), ((0.0, 20.0), (0.08, 32.8))),),
        kept=22.0,
        measured=(Measured(0, 0.03, 30.69, 31.0), Measured(2, 0.01, 24.0, None)),
        lacking=(),
    )


def errors() -> ErrorPlot:
    """As found 0.6 % high at the top, as left within 0.1 %; a tolerance of 0.5 %."""
    found = (ErrorPoint(0.0, 0.001, True), ErrorPoint(1.0, 0.006, True),
             ErrorPoint(0.0, -0.002, False))  # fmt: skip
    left = (ErrorPoint(0.0, 0.0, True), ErrorPoint(1.0, 0.001, True))
    return ErrorPlot(0.005, {"as_found": found, "as_left": left}, False, ())


def thinned(*points: tuple[float, float]) -> Thinned:
    """A column in one stretch, every sample drawn."""
    return Thinned((points,), len(points), None)


def step() -> StepPlot:
    """4 to 5 bar at 10 s, settled within 0.02 bar after 5 s, overshoot 10 %."""
    return StepPlot(
        feedback=thinned((0.0, 4e5), (10.0, 4e5), (12.0, 5.1e5), (15.0, 5.02e5), (60.0, 5e5)),
        set_point=thinned((0.0, 4e5), (10.0, 5e5), (60.0, 5e5)),
        frequency=thinned((0.0, 40.0), (12.0, 48.0), (60.0, 45.0)),
        aim=5e5, band=2e3, begin=10.0, settling=5.0, overshoot=0.1, lacking=(),
    )  # fmt: skip


def visit(
    number: int | None, year: int, head: float, efficiency: float, ohm: float, pump: str = "K-1"
) -> Visit:
    """A visit on the tenth of June with one point."""
    at = datetime(year, 6, 10, 9, tzinfo=UTC)
    point = VisitPoint(0, "design", head, efficiency)
    return Visit(number, at, pump, "M-1", (point,), ohm)
