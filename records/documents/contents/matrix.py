"""Several things of one kind beside each other: fields down the page, things across."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from records.documents import labels
from records.documents.blocks import Block, Column, Kind, table
from records.documents.contents.source import Source
from records.documents.placing import Part
from records.documents.shown import Cell, is_quantity, text

ACROSS = 4
# Room for the longest unit, kWh/Mgal.
_UNIT = 16
Values = Sequence[Any]
Line = tuple[str, str, Values]


def matrix(
    source: Source, heads: Sequence[str], lines: Sequence[Line | str], *, words: bool = False
) -> list[Block]:
    """Tables of at most four things across; a line is label, field's name and the values.

    `words` says that the values are words above all, and stand better at a left edge.
    """
    return [
        _table(source, heads[start : start + ACROSS], _sliced(lines, start), words)
        for start in range(0, len(heads), ACROSS)
    ]


def _sliced(lines: Sequence[Line | str], start: int) -> list[Line | str]:
    """The lines of some of the things; without what is empty for all of them."""
    kept: list[Line | str] = []
    for line in lines:
        if isinstance(line, str):
            if kept and isinstance(kept[-1], str):
                kept.pop()
            kept.append(line)
            continue
        label, name, values = line
        some = values[start : start + ACROSS]
        if any(value is not None for value in some):
            kept.append((label, name, some))
    return kept[:-1] if kept and isinstance(kept[-1], str) else kept


def lines_of(parts: Sequence[Part], order: Sequence[str]) -> list[Line]:
    """A line for each field that any of the things has and that is not placed yet."""
    rests = [dict(part.rest(order)) for part in parts]
    names = {name: None for rest in rests for name in rest}
    rank = {name: index for index, name in enumerate(order)}
    ordered = sorted(names, key=lambda name: (rank.get(name, len(rank)), name))
    return [(labels.label(name), name, [rest.get(name) for rest in rests]) for name in ordered]


def _table(source: Source, heads: Sequence[str], lines: Sequence[Line | str], words: bool) -> Block:
    few = len(heads) < 3
    columns = [Column("", mm=52) if few else Column("", fr=1.35), Column("", mm=_UNIT)]
    for head in heads:
        kind: Kind = "quantity" if words else "number"
        columns.append(Column(head, kind, mm=42) if few else Column(head, kind, fr=1))
    return table(columns, list(_rows(source, lines)))


def _rows(source: Source, lines: Sequence[Line | str]) -> Iterator[list[Cell] | str]:
    for line in lines:
        if isinstance(line, str):
            yield line
            continue
        label, name, values = line
        unit = _unit(values)
        if unit is None:
            yield [text(label), {"t": ""}, *(source.shown.cell(name, value) for value in values)]
        else:
            cells = [None if value is None else source.shown.bare(value) for value in values]
            yield [text(label), source.shown.unit(unit), *cells]


def _unit(values: Values) -> str | None:
    """The unit that all values of a line have."""
    units = {each["unit"] for value in values for each in _quantities(value)}
    whole = all(value is None or _quantities(value) for value in values)
    return units.pop() if whole and len(units) == 1 else None


def _quantities(value: Any) -> list[Mapping[str, Any]]:
    if is_quantity(value):
        return [value]
    listed = value if isinstance(value, list) else []
    return listed if listed and all(is_quantity(each) for each in listed) else []
