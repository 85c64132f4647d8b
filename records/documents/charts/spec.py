"""The specification of a chart: what stands where, and by which marks it is told apart.

It is the same for page and paper; `drawing` sets it for either. Lines differ by their dashes and
points by their shapes, so that nothing depends on colour. A label that is empty is in no legend.
"""

from dataclasses import dataclass, field
from typing import Literal

Point = tuple[float, float]
Points = tuple[Point, ...]
Dash = Literal["solid", "dashed", "dotted", "dash_dot", "long"]
Shape = Literal["disc", "circle", "up", "up_open", "down", "down_open", "square", "diamond"]
Scale = Literal["linear", "log", "days"]


@dataclass(frozen=True, slots=True)
class Axis:
    """A title with its unit, and the least range that is shown, in the unit."""

    title: str
    unit: str = ""
    scale: Scale = "linear"
    include: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One line in unbroken stretches."""

    label: str
    stretches: tuple[Points, ...]
    dash: Dash = "solid"
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Marks:
    """Points, each with a short name or none, joined by a fine line of one kind or none."""

    label: str
    points: Points
    shape: Shape = "disc"
    names: tuple[str, ...] = ()
    joined: Dash | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """What lies between two values, over the whole width or from `start` on."""

    label: str
    low: float
    high: float
    start: float | None = None


@dataclass(frozen=True, slots=True)
class Level:
    """A value over the whole width."""

    label: str
    at: float
    dash: Dash = "dash_dot"


@dataclass(frozen=True, slots=True)
class Instant:
    """A place of the horizontal axis over the whole height, with a short name at its top."""

    label: str
    at: float
    name: str = ""
    dash: Dash = "dotted"


Layer = Line | Marks | Band | Level | Instant


@dataclass(frozen=True, slots=True)
class Panel:
    """One vertical axis with what is drawn on it; `height` is a share of a usual panel's."""

    y: Axis
    layers: tuple[Layer, ...]
    height: float = 1.0


@dataclass(frozen=True, slots=True)
class Chart:
    """Panels under each other over one horizontal axis."""

    x: Axis
    panels: tuple[Panel, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A chart, what is seen in it in words and numbers, and its values as columns of cells.

    `heads` are the columns' titles and `rows` their words; a row of one word is a heading.
    """

    chart: Chart
    alt: str
    caption: str
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = field(default=())
