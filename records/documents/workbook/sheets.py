"""What a workbook is made of: sheets with a head and rows, told before they are written."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from records.documents import labels
from records.documents.contents.source import Source
from records.documents.readings import Entered, Leaf, alone, entered
from records.documents.shown import is_quantity


class Digits(str):
    """A number in the digits that were entered: a number in a cell, shown with these digits."""

    __slots__ = ()


Value = str | Digits | float | int | None
Row = Sequence[Value]
Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: `above` the table stand lines of text."""

    name: str
    heads: Sequence[str]
    rows: Sequence[Row]
    above: Sequence[str] = ()


VALUE_HEADS = ("Value", "Unit", "SI value", "SI unit")


def valued(found: Entered | None, words: str = "") -> tuple[Value, ...]:
    """The four cells under `VALUE_HEADS`; a text that is no quantity stands as the value."""
    if found is None:
        return (words, None, None, None)
    return (Digits(found.digits), found.unit, found.si, found.si_unit or None)


def listed(source: Source, leaves: Iterable[Leaf]) -> list[Row]:
    """A row for each value: what it is, of which piece, where it was measured, the value."""
    return [
        (
            labels.sentence(leaf.words),
            leaf.tag,
            leaf.serial,
            labels.word(leaf.measured_at),
            *valued(leaf.quantity, source.shown.words(leaf.name, leaf.value)),
        )
        for leaf in leaves
        if leaf.name not in ("id", "site")
    ]


LISTED_HEADS = ("What", "Tag", "Serial", "Measured at", *VALUE_HEADS)

Flat = dict[Path, Any]


def flat(value: Any, path: Path = ()) -> Flat:
    """Every single value by its path; lists of plain words stay whole."""
    found: Flat = {}
    if isinstance(value, Mapping) and not is_quantity(value):
        for name, inner in value.items():
            found |= flat(inner, (*path, name))
    elif isinstance(value, list) and any(isinstance(inner, Mapping) for inner in value):
        for index, inner in enumerate(value):
            found |= flat(inner, (*path, index))
    elif value not in (None, [], {}) and path[-1:] != ("id",):
        found[path] = value
    return found


def path_label(path: Path) -> str:
    """What a field inside of others is called, with the place of measuring where its name says."""
    name = _name(path)
    place = next((f", drive {e}" for e in ("input", "output", "display")
                  if name.endswith(f"_drive_{e}")), "")  # fmt: skip
    return labels.path(path) + place


def _name(path: Path) -> str:
    return next((str(each) for each in reversed(path) if isinstance(each, str)), "")


def cell(source: Source, path: Path, value: Any) -> Entered | str:
    """A quantity, or a text in words."""
    if is_quantity(value):
        return entered(value, _name(path))
    found = alone("/event/", _name(path), value)
    return found or source.shown.words(_name(path), value)


def tidy(
    source: Source, heads: Sequence[str], elements: Sequence[tuple[Row, Flat]], order: Sequence[str]
) -> tuple[list[str], list[Row]]:
    """A row for each element, a column for each field that any has; `heads` name what stands first.

    A unit that a whole column shares stands in its head, else beside each value.
    """
    columns = [_Column(source, path, [each.get(path) for _, each in elements])
               for path in _paths([each for _, each in elements], order)]  # fmt: skip
    named = [*heads, *(head for column in columns for head in column.heads())]
    rows: list[Row] = [
        (*first, *(value for column in columns for value in column.values(index)))
        for index, (first, _) in enumerate(elements)
    ]
    return named, rows


def _paths(elements: Sequence[Flat], order: Sequence[str]) -> list[Path]:
    rank = {name: index for index, name in enumerate(order)}
    found = {path: None for each in elements for path in each}
    # Sorting is stable: what lies inside one field stays as it comes, its numbers in order.
    return sorted(found, key=lambda p: (rank.get(str(p[0]), len(rank)), _numbers(p)))


def _numbers(path: Path) -> tuple[int, ...]:
    return tuple(each for each in path if isinstance(each, int))


class _Column:
    def __init__(self, source: Source, path: Path, values: Sequence[Any]) -> None:
        self.label = path_label(path)
        self.cells = [None if v is None else cell(source, path, v) for v in values]
        units = {each.unit for each in self.cells if isinstance(each, Entered)}
        self.unit = units.pop() if len(units) == 1 else ""
        self.beside = len(units) > 0 and not self.unit

    def heads(self) -> Iterator[str]:
        yield f"{self.label} [{self.unit}]" if self.unit not in ("", "1") else self.label
        if self.beside:
            yield f"{self.label}, unit"

    def values(self, index: int) -> Iterator[Value]:
        found = self.cells[index]
        yield Digits(found.digits) if isinstance(found, Entered) else found
        if self.beside:
            yield found.unit if isinstance(found, Entered) else None
