"""Stations as points of a plan: places by their own coordinates, nothing is asked of anybody.

The plan is true to scale in its middle (equirectangular projection on the middle latitude); over a
region of some hundred kilometres distances are right to about 1 %.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, floor, log10, radians
from typing import Any

from records.selectors.board_sql import STATES

Row = dict[str, Any]

WIDTH, HEIGHT, MARGIN = 960.0, 560.0, 40.0
KM_A_DEGREE = 111.195  # a sphere of 6,371 km: the mean radius, IUGG
KM_A_MILE = 1.609344
SINGLY = 150  # so many stations are drawn each by itself
CELL = 32.0
_SMALLEST = 0.01  # degrees: a single station is drawn in about a kilometre


@dataclass(frozen=True)
class Point:
    """A place with the stations in it, and the gravest state among them."""

    x: float
    y: float
    state: str
    rows: tuple[Row, ...]
    area: tuple[float, float, float, float]


@dataclass(frozen=True)
class Scale:
    """A bar of a round length."""

    width: float
    kilometres: float

    @property
    def miles(self) -> float:
        """The same in statute miles."""
        return self.kilometres / KM_A_MILE


@dataclass(frozen=True)
class Plan:
    """What is drawn; stations without coordinates are listed apart."""

    points: tuple[Point, ...]
    scale: Scale | None
    missing: tuple[Row, ...]
    is_grouped: bool


def plan(rows: Iterable[Row]) -> Plan:
    """Where to draw stations: each singly, or those that are near each other as one."""
    listed = list(rows)
    placed = [row for row in listed if None not in (row["latitude"], row["longitude"])]
    missing = tuple(row for row in listed if None in (row["latitude"], row["longitude"]))
    if not placed:
        return Plan((), None, missing, is_grouped=False)
    east = _unwrapped([float(row["longitude"]) for row in placed])
    north = [float(row["latitude"]) for row in placed]
    view = _View.around(east, north)
    cells: dict[tuple[int, int], list[int]] = {}
    grouped = len(placed) > SINGLY
    for index, (x, y) in enumerate(map(view.place, east, north)):
        size = CELL if grouped else 1.0
        cells.setdefault((floor(x / size), floor(y / size)), []).append(index)
    points = tuple(_point(view, cell, placed, east, north) for cell in cells.values())
    return Plan(points, view.scale(), missing, grouped)


def _point(
    view: "_View", cell: list[int], rows: Sequence[Row], east: list[float], north: list[float]
) -> Point:
    found = tuple(rows[index] for index in cell)
    xs, ys = zip(*(view.place(east[index], north[index]) for index in cell), strict=True)
    state = min((row["state"] for row in found), key=STATES.index)
    latitudes = [float(row["latitude"]) for row in found]
    longitudes = [float(row["longitude"]) for row in found]
    area = (min(latitudes), min(longitudes), max(latitudes), max(longitudes))
    return Point(sum(xs) / len(xs), sum(ys) / len(ys), state, found, area)


def _unwrapped(degrees: list[float]) -> list[float]:
    """Longitudes without a jump: the widest gap between them is where the plan ends."""
    ordered = sorted(set(degrees))
    gaps = [(b - a, b) for a, b in pairwise(ordered)]
    widest, start = max(gaps, default=(0.0, ordered[0]))
    if ordered[0] + 360 - ordered[-1] >= widest:
        return degrees
    return [each if each >= start else each + 360 for each in degrees]


@dataclass(frozen=True)
class _View:
    west: float
    north: float
    shrink: float  # of a degree of longitude
    a_degree: float  # of latitude, in the drawing's unit
    left: float
    top: float

    @classmethod
    def around(cls, east: list[float], north: list[float]) -> "_View":
        middle = (max(north) + min(north)) / 2
        shrink = max(cos(radians(middle)), 0.01)
        wide = max((max(east) - min(east)) * shrink, _SMALLEST)
        high = max(max(north) - min(north), _SMALLEST)
        a_degree = min((WIDTH - 2 * MARGIN) / wide, (HEIGHT - 2 * MARGIN) / high)
        left = (WIDTH - (max(east) - min(east)) * shrink * a_degree) / 2
        top = (HEIGHT - (max(north) - min(north)) * a_degree) / 2
        return cls(min(east), max(north), shrink, a_degree, left, top)

    def place(self, east: float, north: float) -> tuple[float, float]:
        x = self.left + (east - self.west) * self.shrink * self.a_degree
        return x, self.top + (self.north - north) * self.a_degree

    def scale(self) -> Scale:
        """The longest of 1, 2, 5, 10, … kilometres that is a quarter of the width at most."""
        a_kilometre = self.a_degree / KM_A_DEGREE
        longest = WIDTH / 4 / a_kilometre
        decade = 10 ** floor(log10(longest))
        kilometres = max(step * decade for step in (1, 2, 5) if step * decade <= longest)
        return Scale(kilometres * a_kilometre, kilometres)
