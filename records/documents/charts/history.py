"""The chart of a pump set's visits: head, efficiency and insulation from record to record."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import tzinfo
from itertools import groupby, pairwise

from calculations.units import from_si
from records.documents import labels
from records.documents.charts.spec import (
    Axis,
    Chart,
    Figure,
    Instant,
    Layer,
    Level,
    Marks,
    Panel,
    Points,
    Shape,
)
from records.documents.charts.units import said
from records.documents.charts.visits import Visit, VisitPoint

LEAST = 2
"""Visits with a value from which there is something to compare."""

_SHAPES: Mapping[str, Shape] = {
    "design": "disc", "normal": "circle", "minimum": "down_open", "maximum": "up",
    "shut_off": "diamond",
}  # fmt: skip
_OTHER: Shape = "square"
_HEIGHT = 0.4
_HEAD, _EFFICIENCY = "Head", "Efficiency, wire to water"
_INSULATION = "Insulation at 40 °C"

Of = Callable[[VisitPoint], float | None]


def figure(visits: Sequence[Visit], zone: tzinfo | None) -> Figure | None:
    """Chart, words and table of visits in the order of time; None where nothing comes twice."""
    panels = [each for each in (_heads(visits), _efficiencies(visits), _insulation(visits)) if each]
    if not panels:
        return None
    told = _Told(visits, zone)
    chart = Chart(Axis("Day of the visit", scale="days"), tuple(panels))
    return Figure(chart, " ".join(told.sentences(panels)), _CAPTION, told.heads(),
                  tuple(told.rows()))  # fmt: skip


_CAPTION = (
    "Heads are compared with the head that the pump's curve gives at the flow and speed of each "
    "point, so that points of unlike flow can be compared; efficiencies change with the flow."
)


# -- panels ---------------------------------------------------------------------------------------


def _heads(visits: Sequence[Visit]) -> Panel | None:
    layers = _of_points(visits, lambda point: point.of_curve)
    if not layers:
        return None
    curve = Level("Head of the pump's curve", 100.0, "dash_dot")
    return Panel(Axis(_HEAD, "% of the curve's"), (curve, *layers, *_exchanges(visits)), _HEIGHT)


def _efficiencies(visits: Sequence[Visit]) -> Panel | None:
    layers = _of_points(visits, lambda point: point.efficiency)
    return (
        Panel(Axis(_EFFICIENCY, "%"), (*layers, *_exchanges(visits)), _HEIGHT) if layers else None
    )


def _insulation(visits: Sequence[Visit]) -> Panel | None:
    known = [(_day(visit), from_si(visit.insulation, "Mohm")) for visit in visits
             if visit.insulation is not None]  # fmt: skip
    if len(known) < LEAST:
        return None
    marks = Marks("Insulation to earth", tuple(known), "square", joined="solid")
    return Panel(Axis(_INSULATION, "MΩ", "log"), (marks,), _HEIGHT)


def _of_points(visits: Sequence[Visit], value: Of) -> list[Layer]:
    """Layers for each purpose and pump; nothing where only one visit has a value."""
    with_value = [v for v in visits if any(value(point) is not None for point in v.points)]
    if len(with_value) < LEAST:
        return []
    kinds = dict.fromkeys((point.purpose, point.nth) for v in with_value for point in v.points)
    return [
        Marks(_name(*kind), points, _SHAPES.get(kind[0], _OTHER), joined="solid")
        for kind in kinds
        for _, same in groupby(with_value, key=lambda visit: visit.pump_serial)
        for points in _series(list(same), kind, value)
    ]


def _series(visits: Iterable[Visit], kind: tuple[str, int], value: Of) -> Iterator[Points]:
    """Values in % of the points of one purpose; of several at a visit each is its own series.

    Points at other flows say nothing of each other: a series ends where the next one is not like.
    """
    joined: list[tuple[float, float]] = []
    before: VisitPoint | None = None
    for visit in visits:
        for point in visit.points:
            found = value(point)
            if (point.purpose, point.nth) != kind or found is None:
                continue
            if before is not None and not point.is_like(before):
                yield tuple(joined)
                joined = []
            joined.append((_day(visit), 100 * found))
            before = point
    if joined:
        yield tuple(joined)


def _exchanges(visits: Sequence[Visit]) -> list[Layer]:
    """A line at the first visit with another pump."""
    return [
        Instant("Another pump from here on", _day(after), dash="long")
        for before, after in pairwise(visits)
        if before.pump_serial and after.pump_serial and before.pump_serial != after.pump_serial
    ]


def _name(purpose: str, nth: int = 0) -> str:
    name = f"{labels.sentence(labels.word(purpose))} point" if purpose else "Point"
    return f"{name} {nth + 1}" if nth else name


def _day(visit: Visit) -> float:
    return visit.at.timestamp()


# -- in words, and as a table ---------------------------------------------------------------------


class _Told:
    """Visits in words."""

    def __init__(self, visits: Sequence[Visit], zone: tzinfo | None) -> None:
        self.visits, self.zone = visits, zone

    def when(self, visit: Visit) -> str:
        """The day at the station."""
        return f"{visit.at.astimezone(self.zone) if self.zone else visit.at:%Y-%m-%d}"

    def sentences(self, panels: Sequence[Panel]) -> Iterator[str]:
        """First and last value of everything that is drawn."""
        yield (f"{len(self.visits)} visits from {self.when(self.visits[0])} to "
               f"{self.when(self.visits[-1])}.")  # fmt: skip
        for panel in panels:
            for layer in panel.layers:
                if isinstance(layer, Marks) and len(layer.points) >= LEAST:
                    first, last = layer.points[0][1], layer.points[-1][1]
                    yield (f"{panel.y.title}, {layer.label[:1].lower()}{layer.label[1:]}: from "
                           f"{said(first)} to {said(last)} {panel.y.unit}.")  # fmt: skip
        exchanged = [when.at for when in _exchanges(self.visits) if isinstance(when, Instant)]
        for visit in self.visits:
            if _day(visit) in exchanged:
                yield f"From {self.when(visit)} on it is another pump."

    def heads(self) -> tuple[str, ...]:
        """Titles of the table."""
        return ("Record", "Day", "Point", "Flow", "Head, % of the curve's", "Efficiency, %",
                f"{_INSULATION}, MΩ", "Pump, serial number")  # fmt: skip

    def rows(self) -> Iterator[tuple[str, ...]]:
        """A row for each point; of each visit at least one."""
        for visit in self.visits:
            record = "this visit" if visit.number is None else str(visit.number)
            ohm = visit.insulation
            once = said(from_si(ohm, "Mohm")) if ohm is not None else ""
            for point in visit.points or (None,):
                cells = _cells(point)
                yield (record, self.when(visit), *cells, once, visit.pump_serial)
                once = ""


def _cells(point: VisitPoint | None) -> tuple[str, str, str, str]:
    if point is None:
        return "", "", "", ""
    values = (point.of_curve, point.efficiency)
    head, efficiency = ("" if each is None else f"{100 * each:.1f}" for each in values)
    return _name(point.purpose, point.nth), labels.with_units(point.flow), head, efficiency
