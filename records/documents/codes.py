"""Texts as QR codes (ISO/IEC 18004), drawn to be printed and cut out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import qrcode
from qrcode.constants import ERROR_CORRECT_M
from qrcode.exceptions import DataOverflowError

QUIET = 4
"""Modules that stay empty on each side (ISO/IEC 18004, quiet zone)."""

Point = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Code:
    """A drawn code, and how many modules it is wide and high with its quiet zone."""

    svg: str
    modules: int


@lru_cache(maxsize=1024)
def code_of(text: str) -> Code | None:
    """A text in the smallest code of level M, which survives dirt; None where no code holds it."""
    drawn = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=0)
    drawn.add_data(text)
    try:
        drawn.best_fit()
    except (DataOverflowError, ValueError):  # the library's own check of sizes comes first
        return None
    drawn.make(fit=False)
    modules = len(drawn.modules) + 2 * QUIET
    path = "".join(_loops(drawn.modules))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {modules} {modules}">'
        f'<path fill="#000" fill-rule="evenodd" d="{path}"/></svg>'
    )
    return Code(svg, modules)


def _loops(dark: Sequence[Sequence[bool]]) -> Iterator[str]:
    """The outlines of all dark areas: whole areas show no seams between their modules."""
    onward = _edges(dark)
    while onward:
        start = at = next(iter(onward))
        points = [start]
        while at != start or len(points) == 1:
            following = onward[at].pop()
            if not onward[at]:
                del onward[at]
            at = following
            points.append(at)
        yield _loop(points)


def _edges(dark: Sequence[Sequence[bool]]) -> dict[Point, list[Point]]:
    """Edges between dark and light, clockwise around what is dark, by where they begin."""
    size = len(dark)

    def is_dark(x: int, y: int) -> bool:
        return 0 <= x < size and 0 <= y < size and bool(dark[y][x])

    found: dict[Point, list[Point]] = {}
    for x, y in ((x, y) for y in range(size) for x in range(size) if dark[y][x]):
        corners = ((x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1))
        beside = ((x, y - 1), (x + 1, y), (x, y + 1), (x - 1, y))
        for index, neighbour in enumerate(beside):
            if not is_dark(*neighbour):
                found.setdefault(corners[index], []).append(corners[(index + 1) % 4])
    return found


def _loop(points: Sequence[Point]) -> str:
    """A closed line, with its corners alone."""
    steps = [f"M{points[0][0] + QUIET} {points[0][1] + QUIET}"]
    for index in range(1, len(points)):
        (x, y), before = points[index], points[index - 1]
        after = points[index + 1] if index + 1 < len(points) else None
        if after is not None and (before[0] == x == after[0] or before[1] == y == after[1]):
            continue
        steps.append(f"H{x + QUIET}" if before[1] == y else f"V{y + QUIET}")
    return "".join([*steps, "Z"])
