"""Where the short names of points stand, clear of marks and lines as far as there is room."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from records.documents.charts.looks import Look
from records.documents.charts.scales import Span
from records.documents.charts.spec import Level, Line, Point


@dataclass(frozen=True, slots=True)
class Field:
    """Where a panel is drawn, and the axes that values are placed by."""

    left: float
    right: float
    top: float
    bottom: float
    x: Span
    y: Span

    def at(self, point: Point) -> Point:
        """The place of a point."""
        return self.across(point[0]), self.down(point[1])

    def across(self, value: float) -> float:
        """The place of a value of the horizontal axis."""
        return self.left + self.x.share(value) * (self.right - self.left)

    def down(self, value: float) -> float:
        """The place of a value of the vertical axis."""
        return self.bottom - self.y.share(value) * (self.bottom - self.top)


class Taken:
    """Places of a panel that are taken: of marks, of names, and along lines."""

    def __init__(
        self, field: Field, look: Look, places: list[Point], lines: Sequence[Line | Level]
    ) -> None:
        self.field, self.look, self.places = field, look, places
        self.lines = [places for line in lines for places in _placed(line, field)]

    def free(self, place: Point) -> Point:
        """Where a name stands clear around its point, if anywhere; it is taken from now on."""
        x, y = place
        line = self.look.line
        right, left = x + 0.45 * line, x - 1.0 * line
        up, down = y - 0.3 * line, y + 1.0 * line
        tried = [(right, up), (right, down), (left, up), (left, down), (right, up - line),
                 (right, down + line), (left, up - line), (left, down + line)]  # fmt: skip
        inside = [each for each in tried if self._is_inside(each)]
        chosen = min(inside or tried, key=lambda each: self._in_the_way(self._middle(each)))
        self.places.append(self._middle(chosen))
        return chosen

    def _is_inside(self, place: Point) -> bool:
        return self.field.top + 0.7 * self.look.line < place[1] < self.field.bottom

    def _middle(self, name: Point) -> Point:
        return name[0] + 0.25 * self.look.line, name[1] - 0.3 * self.look.line

    def _in_the_way(self, middle: Point) -> int:
        near = 0.5 * self.look.line
        marks = sum(max(abs(middle[0] - x), abs(middle[1] - y)) < near for x, y in self.places)
        heights = [y for line in self.lines if (y := _height(line, middle[0])) is not None]
        return 2 * marks + sum(abs(middle[1] - y) < near for y in heights)


def _placed(line: Line | Level, field: Field) -> Iterator[list[Point]]:
    if isinstance(line, Level):
        y = field.down(line.at)
        yield [(field.left, y), (field.right, y)]
    else:
        yield from ([field.at(point) for point in stretch] for stretch in line.stretches)


def _height(places: Sequence[Point], x: float) -> float | None:
    """Height of a line that goes from left to right, at a place of it."""
    at = bisect_right(places, (x, float("inf")))
    if not 0 < at < len(places):
        return None
    (x0, y0), (x1, y1) = places[at - 1], places[at]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0) if x1 > x0 else y0
