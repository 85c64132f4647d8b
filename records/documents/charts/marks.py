"""Elements of a drawing: lines, marks, texts."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from xml.sax.saxutils import escape, quoteattr

from records.documents.charts.looks import Look
from records.documents.charts.spec import Dash, Point, Shape

DASHES: Mapping[Dash, str] = {
    "solid": "", "dashed": "6 3", "dotted": "1 2.5", "dash_dot": "8 2.5 1.5 2.5", "long": "12 4",
}  # fmt: skip

_OUTLINES: Mapping[Shape, tuple[Point, ...]] = {
    "up": ((0, -1.15), (1.05, 0.8), (-1.05, 0.8)),
    "up_open": ((0, -1.15), (1.05, 0.8), (-1.05, 0.8)),
    "down": ((0, 1.15), (1.05, -0.8), (-1.05, -0.8)),
    "down_open": ((0, 1.15), (1.05, -0.8), (-1.05, -0.8)),
    "square": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    "diamond": ((0, -1.25), (1.25, 0), (0, 1.25), (-1.25, 0)),
}
_OPEN = frozenset({"circle", "up_open", "down_open", "square"})


def number(value: float) -> str:
    """A length, to a hundredth."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(name: str, inner: str = "", **attributes: object) -> str:
    """An element; underscores in names of attributes are hyphens, empty ones are left out."""
    given = "".join(
        f" {key.replace('_', '-')}={_quoted(value)}"
        for key, value in attributes.items()
        if value not in ("", None)
    )
    return f"<{name}{given}>{inner}</{name}>" if inner else f"<{name}{given}/>"


def _quoted(value: object) -> str:
    text = number(value) if isinstance(value, float) else str(value)
    return f'"{text}"' if _PLAIN.fullmatch(text) else quoteattr(text)


_PLAIN = re.compile(r"[\w .,:/-]*", re.ASCII)


def polyline(
    places: Iterable[Point], width: float = 1.0, dash: str = "", faint: bool = False
) -> str:
    """A line through places."""
    points = [(number(x), number(y)) for x, y in places]
    drawn = " ".join(f"{x},{y}" for x, y in _without_level(points))
    return element("polyline", points=drawn, fill="none", stroke="currentColor",
                   stroke_width=width, stroke_dasharray=dash, stroke_linejoin="round",
                   stroke_opacity=0.35 if faint else None)  # fmt: skip


def _without_level(points: Sequence[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The points but those inside of a level stretch, which change nothing that is seen."""
    last = len(points) - 1
    for index, (x, y) in enumerate(points):
        inside = 0 < index < last
        if not (inside and points[index - 1][1] == y == points[index + 1][1]):
            yield x, y


def mark(shape: Shape, place: Point, radius: float) -> str:
    """A point of one shape, filled or open."""
    x, y = place
    fill = "none" if shape in _OPEN else "currentColor"
    if shape in ("disc", "circle"):
        return element("circle", cx=x, cy=y, r=radius, fill=fill, stroke="currentColor")
    corners = ((x + dx * radius, y + dy * radius) for dx, dy in _OUTLINES[shape])
    points = " ".join(f"{number(px)},{number(py)}" for px, py in corners)
    return element("polygon", points=points, fill=fill, stroke="currentColor")


def text(words: str, place: Point, look: Look, anchor: str = "", unit: str = "") -> str:
    """Words, and a unit in the lighter weight after them."""
    if not words and not unit:
        return ""
    inner = escape(look.words(words))
    if unit:
        inner += element("tspan", escape(look.words(f", {unit}")), font_weight="300")
    return element("text", inner, x=place[0], y=place[1], text_anchor=anchor)
