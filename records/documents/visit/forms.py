"""What is filled in by hand: blanks in tables, lines to write on, boxes to tick."""

from collections.abc import Iterable, Sequence

from records.documents import labels
from records.documents.blocks import Block, Column, Row, table
from records.documents.shown import Cell
from records.documents.texts import runs


def blank(unit: str = "") -> Cell:
    """Room to write, with a light hint at the unit."""
    return {"blank": labels.unit(unit)}


def box(words: str = "") -> Cell:
    """A box to tick, with what it means."""
    return {"box": runs(words)}


def form(columns: Sequence[Column], rows: Sequence[Row | str]) -> Block:
    """A table with blanks: its rows are high enough to write in."""
    return table(columns, rows) | {"kind": "form"}


def fields(named: Iterable[tuple[str, str]], columns: int = 3) -> Block:
    """Lines to write on, each under its label; with a hint at the unit."""
    items = [{"label": runs(label), "unit": labels.unit(unit)} for label, unit in named]
    return {"kind": "fields", "count": columns, "items": items}


def boxes(words: Iterable[str], columns: int = 4) -> Block:
    """Boxes to tick, side by side."""
    return {"kind": "boxes", "count": columns, "items": [runs(each) for each in words]}


def lines(count: int) -> Block:
    """Empty lines."""
    return {"kind": "lines", "count": count}
