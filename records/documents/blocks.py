"""What a document is made of: headings, paragraphs, pairs of label and value, tables.

Blocks are plain JSON for the templates, which only set them; what belongs where is decided here.
Figures become that when `figures` draws them, for paper or for a screen.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from records.documents import font
from records.documents.shown import Cell
from records.documents.texts import runs, short

Block = dict[str, Any]
Kind = Literal["text", "number", "quantity"]
Row = Sequence[Cell]
# Characters that surely fit on a page, even in a narrow column.
_LONGEST_KEPT = 400
_MOST_ROWS_KEPT = 14
_LONGEST_HEADING = 200
# A table of so few lines is not parted; characters that a line surely holds over the whole width.
_MOST_LINES_KEPT = 20
_LINE = 100


@dataclass(frozen=True, slots=True)
class Column:
    """A table's column: `fr` is its share of what is left, `mm` a fixed width, neither: auto."""

    head: str
    kind: Kind = "text"
    fr: float = 0
    mm: float = 0


def heading(words: str, level: int = 2) -> Block:
    """A heading; level 1 is the document's own. What is too long for it goes on beneath."""
    begins = short(words, _LONGEST_HEADING)
    block = {"kind": "heading", "level": level, "text": runs(begins)}
    return block if begins == words else {**block, "more": runs("…" + words[len(begins) - 1 :])}


def together(blocks: Iterable[Block]) -> Block:
    """Blocks that stand on one page."""
    return {"kind": "together", "blocks": list(blocks)}


def paragraph(words: str, style: Literal["body", "small", "lead"] = "body") -> Block:
    """A paragraph of running text."""
    return {"kind": "paragraph", "style": style, "text": runs(words)}


def pairs(
    rows: Iterable[tuple[str, Cell]], columns: int = 2, *, long_labels: bool = False
) -> Block:
    """Labels with their values, read down the first column and then down the next.

    `long_labels` are half a sentence each, beside values of a few digits.
    """
    listed = list(rows)
    half = -(-len(listed) // columns)
    starts = range(0, len(listed), half or 1)
    long = half > _MOST_ROWS_KEPT or any(_long(cell) for _, cell in listed)
    return {
        "kind": "pairs",
        "columns": [[_pair(*row) for row in listed[start : start + half]] for start in starts],
        "count": columns,
        "long": long,
        "long-labels": long_labels,
    }


def _pair(name: str, cell: Cell) -> dict[str, Any]:
    return {"label": runs(name), "cell": cell}


def table(columns: Sequence[Column], rows: Sequence[Row | str], *, small: bool = False) -> Block:
    """A table; a row that is one text is a heading inside."""
    cells = [row for row in rows if not isinstance(row, str)]
    heads = [_head(column, [row[i] for row in cells]) for i, column in enumerate(columns)]
    return {
        "kind": "table",
        "small": small,
        "long": any(_long(cell) for row in cells for cell in row),
        "kept": sum(_lines(row) for row in rows) <= _MOST_LINES_KEPT,
        "columns": heads,
        "rows": [
            {"group": runs(row)} if isinstance(row, str) else {"cells": list(row)} for row in rows
        ],
    }


def _lines(row: Row | str) -> int:
    """About how many lines a row takes."""
    if isinstance(row, str):
        return 1
    longest = max((len(str(cell.get("t", ""))) for cell in row if cell), default=0)
    entered = any(cell and "entered" in cell for cell in row)
    return -(-max(longest, 1) * len(row) // _LINE) + entered


def _long(cell: Cell) -> bool:
    """Whether a cell may not fit on one page."""
    return cell is not None and len(str(cell.get("t", ""))) > _LONGEST_KEPT


def _head(column: Column, cells: Sequence[Cell]) -> dict[str, Any]:
    head: dict[str, Any] = {"text": runs(column.head), "right": column.kind == "number"}
    if column.fr:
        head["fr"] = column.fr
    if column.mm:
        head["mm"] = column.mm
    unit = _only_unit(cells)
    if column.kind == "number" and unit:
        head["unit"] = unit
        for cell in numbers(cells):
            cell["u"] = ""
    if column.kind != "text":
        align(cells, left=column.kind == "quantity")
    return head


def _only_unit(cells: Sequence[Cell]) -> str | None:
    units = {cell["u"] for cell in numbers(cells)}
    return units.pop() if len(units) == 1 else None


def numbers(cells: Iterable[Cell]) -> list[dict[str, Any]]:
    """The cells that hold a number."""
    return [cell for cell in cells if cell and "n" in cell]


def align(cells: Iterable[Cell], left: bool = False) -> None:
    """Give every number the space [em] that brings decimal signs under each other.

    Space after the number is enough at a right edge; `left` gives the space before it, too.
    """
    found = numbers(cells)
    decimals = max((_after_point(cell["n"]) for cell in found), default=0)
    whole = max((_before_point(cell["n"]) for cell in found), default=0)
    for cell in found:
        _space(cell, "after", decimals - _after_point(cell["n"]))
        if left:
            _space(cell, "before", whole - _before_point(cell["n"]))


def _space(cell: dict[str, Any], side: str, width: float) -> None:
    if width > 0:
        cell[side] = round(width, 4)


def _before_point(digits: str) -> float:
    return len(digits.partition(".")[0]) * font.width("0")


def _after_point(digits: str) -> float:
    _, point, decimals = digits.partition(".")
    return len(point) * font.width(".") + len(decimals) * font.width("0")
