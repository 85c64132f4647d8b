"""Lists and objects of an event as sections: a table of elements, or pairs of label and value."""

from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel

from records.documents import labels
from records.documents.blocks import Block, Column, heading, pairs, table
from records.documents.contents.matrix import Line, lines_of
from records.documents.contents.source import Document, Source
from records.documents.placing import Part
from records.documents.shown import Cell, is_quantity, order
from records.documents.texts import runs

# Share of the width of columns that need more, or less, room than others.
_WIDE = {
    "how_provoked": 1.7,
    "reason": 2.0,
    "task": 1.2,
    "function": 1.35,
    "expected": 1.4,
    "observed": 1.4,
    "from": 1.4,
    "to": 1.4,
    "value": 1.4,
    "passed": 0.7,
}
# Up to so many columns have room for long words.
_ROOMY = 4
_DIGESTS = frozenset({"sha256"})
DIGEST = 94.5
"""Width [mm] that has room for every SHA-256 in small type: it stands in one line."""


def section(
    source: Source,
    title: str,
    part: Part,
    model: type[BaseModel],
    level: int = 2,
    columns: int = 2,
) -> list[Block]:
    """One object as pairs; nothing where nothing is left to place."""
    rows = source.rest(part, model)
    return [heading(title, level), pairs(rows, columns)] if rows else []


def listed_section(
    source: Source, title: str, part: Part, name: str, model: type[BaseModel], level: int = 2
) -> list[Block]:
    """A list as a table; nothing where it is empty."""
    listed = listing(source, part, name, model)
    return [heading(title, level), *listed] if listed else []


def listing(source: Source, part: Part, name: str, model: type[BaseModel]) -> list[Block]:
    """A table of a list's elements: one row each, a column for every field that any has."""
    elements = part.parts(name)
    lines = lines_of(elements, order(model))
    if not lines:
        return []
    columns = [_column(*line) for line in lines]
    rows = [_row(source, lines, index) for index in range(len(elements))]
    return [table(columns, rows, small=any(field in _DIGESTS for _, field, _ in lines))]


def _row(source: Source, lines: Sequence[Line], index: int) -> list[Cell]:
    cells = (source.shown.cell(field, values[index]) for _, field, values in lines)
    return [_narrow(cell) for cell in cells] if len(lines) > _ROOMY else list(cells)


def _narrow(cell: Cell) -> Cell:
    """A text that also fits into one of many columns."""
    if cell and isinstance(cell.get("t"), str):
        return {**cell, "t": runs(cell["t"], narrow=True)}
    return cell


def _column(label: str, field: str, values: Sequence[Any]) -> Column:
    if any(is_quantity(value) for value in values):
        return Column(label, "number")
    if field in _DIGESTS:
        return Column(label, mm=DIGEST)
    return Column(label, fr=_WIDE.get(field, 1.0))


def derived_lines(source: Source, parts: Sequence[Part]) -> list[Line]:
    """What was computed from each of several things, a line for each value."""
    by_part = [{each["id"]: each for each in source.derived(part.at)} for part in parts]
    names = {identity: None for found in by_part for identity in found}
    return [
        (_after_dot(identity), identity, [_quantity(found.get(identity)) for found in by_part])
        for identity in names
    ]


def _after_dot(identity: str) -> str:
    subject, _, rest = labels.dotted(identity).partition(": ")
    return f"{subject} {rest}" if subject == "NPSH" or not rest else labels.sentence(rest)


def _quantity(derived: Document | None) -> Document | None:
    return {"value": derived["value"], "unit": derived["unit"]} if derived else None
