"""A row of a sheet as values of a resource, with what is wrong with its cells."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from calculations.inputs.reading import Problem
from records.documents.columns import Column, Path, built
from records.documents.tables import column_named
from records.services.entering import NotSo, entered, told
from records.services.importing.layouts import Page, is_example
from records.services.importing.sheets import Cell, Day, Number, Opened, Row, Trouble, letter

_ALL = "whole row"
_ONE_BY_ONE = ("ratings",)
_DEGREES = ("latitude", "longitude")  # digits without a unit


@dataclass
class Read:
    """A row as it was read; `refused` says of columns what is wrong."""

    sheet: str
    number: int
    kind: str
    values: dict[Path, Any] = field(default_factory=dict)
    refused: list[dict[str, str]] = field(default_factory=list)


@dataclass(frozen=True)
class Reader:
    """Reads the rows of one sheet by its layout."""

    page: Page
    columns: tuple[Column | None, ...]
    decimal_comma: bool

    @classmethod
    def of(cls, page: Page, decimal_comma: bool) -> "Reader":
        """The reader of a sheet."""
        columns = tuple(
            column_named(page["kind"], head["field"]) if head["field"] else None
            for head in page["heads"]
        )
        return cls(page, columns, decimal_comma)

    def row(self, number: int, cells: Row) -> Read:
        """A row's values, and what is wrong with the others."""
        read = Read(self.page["name"], number, self.page["kind"])
        for index, column in enumerate(self.columns[: len(cells)]):
            cell = cells[index]
            if column is None or cell is None:
                continue
            try:
                read.values[column.path] = self._value(column, cell, index)
            except NotSo as error:
                read.refused.append(self.refusal(column.name, str(error)))
        return read

    def _value(self, column: Column, cell: Cell, index: int) -> Any:
        unit = self.page["heads"][index]["unit"]
        if isinstance(cell, Trouble):
            raise NotSo(cell.words)
        if column.shape == "pieces":
            return [each.strip() for each in _text(cell).split(";") if each.strip()]
        if isinstance(cell, Number) and column.shape == "day":
            raise NotSo("holds a number, not a day: format the cell as a date, or write 2026-03-14")
        if isinstance(cell, Day) and column.shape not in ("day", "text"):
            raise NotSo("holds a day: format the cell as a number")
        if isinstance(cell, Number):
            return entered(column, cell.digits, cell.unit or unit)
        return entered(column, _text(cell), unit, decimal_comma=self.decimal_comma)

    def refusal(self, name: str, words: str) -> dict[str, str]:
        """What is wrong with a field, at its column."""
        for index, head in enumerate(self.page["heads"]):
            if head["field"] == name:
                return {"column": letter(index), "head": head["head"], "words": words}
        column = column_named(self.page["kind"], name)
        label = column.label if column else ""
        return {"column": "", "head": label or _ALL, "words": words}

    def refusals(self, problems: tuple[Problem, ...], detail: str) -> list[dict[str, str]]:
        """What a service refused, at the columns that it is about."""
        if not problems:
            return [self.refusal("", detail)]
        return [self._refusal(problem) for problem in problems]

    def _refusal(self, problem: Problem) -> dict[str, str]:
        used = [column for column in self.columns if column is not None]
        found = next((each for each in used if each.holds(problem.pointer)), None)
        if found is not None:
            return self.refusal(found.name, told(found, problem))
        first = problem.pointer.split("/")[1:2]
        inside = next((each for each in used if str(each.path[0]) in first), None)
        name = inside.name if inside else ".".join(problem.pointer.split("/")[1:])
        return self.refusal(name, problem.detail)


def _text(cell: Any) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return str(cell.text if isinstance(cell, Day) else cell)


def rows(opened: Opened, page: Page) -> Iterator[tuple[int, Row]]:
    """Rows below the headings that hold anything and are no example.

    Where the first column means something, a station may be called so.
    """
    sheet = next(each for each in opened.sheets if each.name == page["name"])
    has_examples = not page["heads"][0]["field"]
    for number, cells in sheet.rows():
        is_below = number > page["row"] and any(cell is not None for cell in cells)
        if is_below and not (has_examples and is_example(cells)):
            yield number, cells


def same(held: Any, given: Any) -> bool:
    """Whether a value says what the book says: a spreadsheet drops zeros behind the point."""
    if isinstance(held, Mapping) and isinstance(given, Mapping):
        if set(held) == set(given) == {"value", "unit"}:
            return bool(held["unit"] == given["unit"]) and _equal(held["value"], given["value"])
        return set(held) == set(given) and all(same(held[name], given[name]) for name in given)
    if isinstance(held, list) and isinstance(given, list):
        return len(held) == len(given) and all(map(same, held, given))
    return bool(held == given)


def _completed(held: Sequence[Any], given: Mapping[int, Any]) -> list[Any]:
    """A list whose elements keep what a row says nothing of."""
    places = range(max(len(held), *(place + 1 for place in given)))
    both = [(held[n] if n < len(held) else {}, given.get(n, {})) for n in places]
    return [_kept(there, new) for there, new in both if there or new]


def _kept(held: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    """One element with what is new of it; digits that say the same stay as they were entered."""
    return {**held, **{n: v for n, v in given.items() if not same(held.get(n), v)}}


def _equal(one: Any, other: Any) -> bool:
    try:
        return float(one) == float(other)
    except (TypeError, ValueError):
        return False


def patch(held: Mapping[str, Any], values: Mapping[Path, Any]) -> dict[str, Any]:
    """What a row changes of what is held; an object's other values stay, and those of a rating.

    A curve is one value: it is replaced whole.
    """
    changed: dict[str, Any] = {}
    for name, value in built(values).items():
        known = held.get(name)
        if name in _ONE_BY_ONE and known:
            places = sorted({int(path[1]) for path in values if path[0] == name})
            value = _completed(known, dict(zip(places, value, strict=True)))
        if isinstance(known, Mapping) and isinstance(value, Mapping) and "unit" not in value:
            inner = {n: v for n, v in value.items() if not same(known.get(n), v)}
            changed |= {name: inner} if inner else {}
        elif not same(known, value) and not (name in _DEGREES and _equal(known, value)):
            changed[name] = value
    return changed
