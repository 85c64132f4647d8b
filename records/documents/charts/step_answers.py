"""The chart of a recorded step: feedback in its band about the set point, and the frequency."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from calculations.plots.answers import StepPlot
from calculations.plots.thinning import Thinned
from records.documents.charts.spec import (
    Axis,
    Band,
    Chart,
    Figure,
    Instant,
    Layer,
    Level,
    Line,
    Panel,
    Points,
)
from records.documents.charts.units import converter, difference, printed, said

COLUMNS = 340
"""Columns that a trace is drawn in: about the width of a panel, in points."""

_PARTS = 24
# Seconds from which a trace is told in minutes, and in hours.
_IN_MINUTES, _IN_HOURS = 900.0, 4 * 3600.0
_FREQUENCY = "Output frequency"
_UPPER, _LOWER = 0.85, 0.35


@dataclass(frozen=True, slots=True)
class _Unit:
    """How a column is shown."""

    symbol: str
    of: Callable[[float], float]

    @classmethod
    def named(cls, unit: str) -> "_Unit":
        return cls(printed(unit), converter(unit))


def figure(plot: StepPlot, unit: str, quantity: str) -> Figure:
    """Chart, words and table; `quantity` is what is regulated, in words."""
    told = _Told(plot, _Unit.named(unit), unit, quantity)
    panels = [Panel(Axis(quantity, told.unit.symbol), tuple(told.layers()), _UPPER)]
    if plot.frequency:
        line = Line("", told.stretches(plot.frequency, _HERTZ))
        panels.append(Panel(Axis(_FREQUENCY, "Hz"), (line, *told.instants(named=False)), _LOWER))
    chart = Chart(Axis("Time", told.time.symbol), tuple(panels))
    return Figure(chart, " ".join(told.sentences()), told.caption(), told.heads(),
                  tuple(told.rows()))  # fmt: skip


_HERTZ = _Unit.named("Hz")


class _Told:
    """Everything of the plot in the units that are shown."""

    def __init__(self, plot: StepPlot, unit: _Unit, symbol: str, quantity: str) -> None:
        self.plot, self.unit, self.quantity = plot, unit, quantity
        times = [at for at, _ in _all(plot.feedback)]
        self.first, self.last = times[0], times[-1]
        self.time = _Unit.named(_time_unit(self.last - self.first))
        self.band = None if plot.band is None else difference(plot.band, symbol)

    def stretches(self, thinned: Thinned, unit: _Unit) -> tuple[Points, ...]:
        """A column as it is drawn."""
        return tuple(
            tuple((self.time.of(at), unit.of(value)) for at, value in stretch)
            for stretch in thinned.stretches
        )

    def layers(self) -> Iterator[Layer]:
        """What is drawn of the regulated quantity."""
        plot = self.plot
        aim = None if plot.aim is None else self.unit.of(plot.aim)
        if aim is not None and self.band is not None:
            start = None if plot.begin is None else self.time.of(plot.begin)
            label = f"Settled: within {said(self.band)} {self.unit.symbol} of the set point"
            yield Band(label, aim - self.band, aim + self.band, start)
        if plot.set_point:
            yield Line("Set point", self.stretches(plot.set_point, self.unit), "long")
        elif aim is not None:
            yield Level("Set point", aim, "long")
        yield Line("Feedback", self.stretches(plot.feedback, self.unit))
        yield from self.instants(named=True)

    def instants(self, named: bool) -> Iterator[Layer]:
        """When the step began, and when the feedback stayed in its band."""
        plot = self.plot
        if plot.begin is None:
            return
        yield Instant("", self.time.of(plot.begin), "step" if named else "")
        if plot.settling is not None:
            at = self.time.of(plot.begin + plot.settling)
            yield Instant("", at, "settled" if named else "")

    # -- in words -----------------------------------------------------------------------------

    def sentences(self) -> Iterator[str]:
        """What is seen, for whoever does not see it."""
        plot = self.plot
        yield f"{self.quantity} over {self._duration(self.last - self.first)}."
        yield f"Feedback {self._range(plot.feedback, self.unit)}."
        if plot.aim is not None:
            yield f"Set point at the end {self._value(plot.aim)}."
        if plot.begin is not None:
            yield f"The step was made at {self._duration(plot.begin)}."
        yield from self._measured()
        if plot.frequency:
            yield f"{_FREQUENCY} {self._range(plot.frequency, _HERTZ)}."

    def _measured(self) -> Iterator[str]:
        plot = self.plot
        if plot.settling is not None and self.band is not None:
            yield (f"It settled within {said(self.band)} {self.unit.symbol} of the set point "
                   f"{self._duration(plot.settling)} after the step.")  # fmt: skip
        elif plot.begin is not None and plot.overshoot is not None:
            yield "It had not settled when the trace ended."
        if plot.overshoot is not None:
            yield f"Overshoot {said(100 * plot.overshoot, 2)} % of the step."

    def _range(self, thinned: Thinned, unit: _Unit) -> str:
        values = [unit.of(value) for _, value in _all(thinned)]
        words = [f"{said(value, 4)} {unit.symbol}" for value in
                 (values[0], values[-1], min(values), max(values))]  # fmt: skip
        return "from {} to {}, lowest {}, highest {}".format(*words)

    def _value(self, si: float) -> str:
        return f"{said(self.unit.of(si), 4)} {self.unit.symbol}"

    def _duration(self, seconds: float) -> str:
        return f"{said(self.time.of(seconds))} {self.time.symbol}"

    def caption(self) -> str:
        """How many samples there are, and what was left out of the drawing."""
        found = self.plot.feedback
        if found.columns is None:
            return f"{found.samples} samples, all drawn."
        return (f"{found.samples} samples; drawn are the lowest and the highest of each of "
                f"{found.columns} equal times.")  # fmt: skip

    # -- as a table ---------------------------------------------------------------------------

    def heads(self) -> tuple[str, ...]:
        """Titles of the table: parts of the trace with the lowest and highest of each."""
        symbol = self.unit.symbol
        heads = (f"From, {self.time.symbol}", f"Feedback, lowest, {symbol}", f"highest, {symbol}")
        more = (f"{_FREQUENCY}, lowest, Hz", "highest, Hz") if self.plot.frequency else ()
        return heads + more

    def rows(self) -> Iterator[tuple[str, ...]]:
        """Some equal parts of the trace."""
        columns = [(self.plot.feedback, self.unit)]
        columns += [(self.plot.frequency, _HERTZ)] if self.plot.frequency else []
        width = (self.last - self.first) / _PARTS
        for part in range(_PARTS):
            begins = self.first + part * width
            cells = [_lowest_and_highest(each, begins, begins + width, u) for each, u in columns]
            if any(map(any, cells)):
                yield (said(self.time.of(begins)), *chain.from_iterable(cells))


def _lowest_and_highest(
    thinned: Thinned, begins: float, ends: float, unit: _Unit
) -> tuple[str, str]:
    inside = [unit.of(value) for at, value in _all(thinned) if begins <= at <= ends]
    return (said(min(inside), 4), said(max(inside), 4)) if inside else ("", "")


def _all(thinned: Thinned) -> Sequence[tuple[float, float]]:
    return [point for stretch in thinned.stretches for point in stretch]


def _time_unit(seconds: float) -> str:
    if seconds >= _IN_HOURS:
        return "h"
    return "min" if seconds >= _IN_MINUTES else "s"
