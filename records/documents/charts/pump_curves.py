"""The chart of pump and system: head over flow at each speed, and what was measured."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from calculations.plots.pumping import Measured, PumpPlot, SpeedLine, SystemLine
from records.documents.charts.spec import (
    Axis,
    Chart,
    Dash,
    Figure,
    Layer,
    Level,
    Line,
    Marks,
    Panel,
)
from records.documents.charts.units import converter, printed, said
from records.documents.shown import NO_BREAK

_DASHES: Mapping[str, Dash] = {"minimum": "dashed", "rated": "solid", "maximum": "long"}
_ENDS = {("low", "high"): "System", ("low",): "System, lowest suction",
         ("high",): "System, highest suction"}  # fmt: skip
# Of the stretches that a curve is drawn in, every so many is told in the table.
_TOLD_EVERY = 4
_HEIGHT = 1.15
# More points than these have no numbers beside them: there is no room.
_MOST_NAMED = 20


@dataclass(frozen=True, slots=True)
class Units:
    """The units of flow and head."""

    flow: str
    head: str


def figure(plot: PumpPlot, units: Units, purposes: Sequence[str]) -> Figure:
    """Chart, words and table; `purposes` is what each duty point of the record is called."""
    told = _Told(units, purposes)
    chart = Chart(
        Axis("Flow", printed(units.flow), include=(0.0,)),
        (Panel(Axis("Head", printed(units.head)), tuple(told.layers(plot)), _HEIGHT),),
    )
    heads = (
        f"Flow, {printed(units.flow)}",
        f"Head, {printed(units.head)}",
        "Of the curve",
        "Point",
    )
    return Figure(chart, " ".join(told.sentences(plot)), "", heads, tuple(told.rows(plot)))


class _Told:
    """Everything of the plot in the units that are shown."""

    def __init__(self, units: Units, purposes: Sequence[str]) -> None:
        self.flow: Callable[[float], float] = converter(units.flow)
        self.head: Callable[[float], float] = converter(units.head)
        self.units = units
        self.purposes = purposes

    def points(self, points: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
        """Points of a line."""
        return tuple((self.flow(flow), self.head(head)) for flow, head in points)

    def layers(self, plot: PumpPlot) -> Iterator[Layer]:
        """What is drawn, in the order of the legend."""
        for line in plot.curves:
            yield Line(speed_name(line), (self.points(line.points),), _dash(line))
        for system in plot.systems:
            dash: Dash = "dashed" if system.ends == ("high",) else "solid"
            yield Line(_ENDS[system.ends], (self.points(system.points),), dash, bold=True)
        if plot.kept is not None:
            yield Level("Set point, at no flow", self.head(plot.kept))
        if plot.measured:
            points = self.points([(each.flow, each.head) for each in plot.measured])
            few = len(points) <= _MOST_NAMED
            names = tuple(str(each.index + 1) for each in plot.measured) if few else ()
            label = "Measured, by number of the point" if few else "Measured"
            yield Marks(label, points, "disc", names)

    # -- in words -----------------------------------------------------------------------------

    def sentences(self, plot: PumpPlot) -> Iterator[str]:
        """What is seen, for whoever does not see it."""
        yield "Head over flow."
        for line in plot.curves:
            yield f"{speed_name(line)}: {self._along(line)}."
        for system in plot.systems:
            yield f"{_ENDS[system.ends]}: {self._along(system)}."
        if plot.kept is not None:
            yield f"The set point asks for {self._head(plot.kept)} at no flow."
        yield from (f"Measured, {self._point(each)}." for each in plot.measured)

    def _along(self, line: SpeedLine | SystemLine) -> str:
        (first, begins), (last, ends) = line.points[0], line.points[-1]
        return (f"{self._head(begins)} at {self._flow(first)}, "
                f"{self._head(ends)} at {self._flow(last)}")  # fmt: skip

    def _point(self, each: Measured) -> str:
        of_curve = _share(each)
        share = f", {of_curve} of the head of the curve at its flow and speed" if of_curve else ""
        return f"{self._name(each)}: {self._flow(each.flow)}, {self._head(each.head)}{share}"

    def _name(self, each: Measured) -> str:
        purpose = self.purposes[each.index] if each.index < len(self.purposes) else ""
        return f"point {each.index + 1}" + (f" ({purpose})" if purpose else "")

    def _flow(self, si: float) -> str:
        return f"{said(self.flow(si))} {printed(self.units.flow)}" if si else "no flow"

    def _head(self, si: float) -> str:
        return f"{said(self.head(si))} {printed(self.units.head)}"

    # -- as a table ---------------------------------------------------------------------------

    def rows(self, plot: PumpPlot) -> Iterator[tuple[str, ...]]:
        """The same values, each line under its name."""
        for line in plot.curves:
            yield (speed_name(line),)
            yield from self._some(line.points)
        for system in plot.systems:
            yield (_ENDS[system.ends],)
            yield from self._some(system.points)
        if plot.kept is not None:
            yield ("Set point",)
            yield ("0", said(self.head(plot.kept), 4), "", "")
        if plot.measured:
            yield ("Measured",)
        for each in plot.measured:
            name, flow, head = self._name(each), self.flow(each.flow), self.head(each.head)
            yield (said(flow, 4), said(head, 4), _share(each), name.removeprefix("point "))

    def _some(self, points: Sequence[tuple[float, float]]) -> Iterator[tuple[str, ...]]:
        told = [*points[:-1:_TOLD_EVERY], points[-1]]
        for flow, head in self.points(told):
            yield (said(flow, 4), said(head, 4), "", "")


def speed_name(line: SpeedLine) -> str:
    """What a line is called: its speeds, or how many pumps there are."""
    names = " and ".join(line.names)
    at = f"{said(line.speed * 60, 4)}{NO_BREAK}rpm"
    if line.slips:
        at = f"{at} at no flow"
    if line.frequency is not None:
        at = f"{said(line.frequency)}{NO_BREAK}Hz, {at}"
    if line.pumps > 1:
        return f"{line.pumps} equal pumps at {names} speed ({at})"
    return f"{names[:1].upper()}{names[1:]} speed ({at})"


def _dash(line: SpeedLine) -> Dash:
    return (
        "dotted" if line.pumps > 1 else _DASHES["rated" if "rated" in line.names else line.names[0]]
    )


def _share(each: Measured) -> str:
    return f"{100 * each.head / each.curve_head:.1f} %" if each.curve_head else ""
