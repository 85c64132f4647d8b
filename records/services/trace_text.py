"""Recorded traces as text: read from CSV or JSON, kept as one CSV, read again to be judged.

A kept trace is CSV (RFC 4180) in UTF-8. Its first row names each column with its unit, as in
`time [s],feedback [psi]`; a cell without a number is a sample without a value.
"""

import csv
import math
import re
from array import array
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from itertools import chain, islice
from typing import IO, Any

from calculations.inputs.reading import Problem, pointer
from calculations.inputs.readings import PROCESS
from calculations.recordings import Column, Recording
from calculations.units import KINDS, LARGEST_NUMBER, to_si
from records.errors import Invalid, TooLarge

LARGEST_ROWS = 1_000_000
MOST_PROBLEMS = 20
AT_ONCE = 1000
"""Rows whose cells are held as text at a time; those of a million would take half a gigabyte."""

EVEN = 1e-3
"""Share of the sample interval by which samples of an even trace may lie off; no source."""

KINDS_OF: Mapping[str, tuple[str, ...]] = {
    "time": ("time",),
    "set_point": PROCESS,
    "feedback": PROCESS,
    "output_frequency": ("frequency",),
    "flow": ("flow",),
    "running_pumps": (),
}
REQUIRED = ("time", "feedback")
DIVIDERS = (";", ",", "\t")
"""What may divide columns: the first of these that the headings hold."""
# No two of its parts take the same sign: else a long heading would be tried in endless ways.
_HEADING = re.compile(r"([A-Za-z][A-Za-z_\s-]*)(?:[\[(]([^\])]*)[\])])?")
_PLAIN = re.compile(r"[0-9.eE+-]*")
_EMPTY = frozenset(("", "nan", "NaN", "NAN", "null", "-"))


@dataclass(frozen=True, slots=True)
class Heading:
    """Name and unit of a column; numbers of pumps have none."""

    name: str
    unit: str

    def __str__(self) -> str:
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True, slots=True)
class Written:
    """What a trace holds, once it is written."""

    headings: tuple[Heading, ...]
    rows: int
    sample_interval: float | None


def write_csv(given: Iterable[str], kept: IO[bytes], zone: tzinfo | None = None) -> Written:
    """Read lines of CSV and write them in the form that is kept.

    Columns are divided by commas, or by semicolons or tabs, where decimal commas are read too.
    Times are numbers, or instants (RFC 3339) that become seconds from the first one on.
    Instants without an offset are the time of `zone`, the station's; in an hour in which clocks
    are changed, or without a zone, they are refused.
    """
    lines = iter(given)
    first = next(lines, "")
    divider = next((each for each in DIVIDERS if each in first), ",")
    rows = csv.reader(chain([first], lines), delimiter=divider, strict=True)
    try:
        headings = _headings(next(rows, []))
        return _Writer(headings, kept, zone, decimal_comma=divider != ",").write(rows)
    except csv.Error as error:
        raise Invalid(problems=[Problem("", "csv", f"expected CSV: {error}")]) from None


def write_columns(given: Mapping[str, Any], kept: IO[bytes], zone: tzinfo | None = None) -> Written:
    """The same of columns in JSON: `{"time": {"unit": "s", "values": [...]}, ...}`."""
    if not given or not all(_is_column(column) for column in given.values()):
        words = 'expected for each column {"unit": ..., "values": [...]}'
        raise Invalid(problems=[Problem("/columns", "columns", words)])
    headings = _checked(
        [(f"/columns/{name}", name, str(c.get("unit") or "")) for name, c in given.items()]
    )
    lengths = {name: len(column["values"]) for name, column in given.items()}
    if len(set(lengths.values())) > 1:
        counted = ", ".join(f"{name} has {count}" for name, count in lengths.items())
        words = f"expected columns of equal length: {counted}"
        raise Invalid(problems=[Problem("/columns", "length", words)])
    values = (column["values"] for column in given.values())
    rows = ([_cell(value) for value in row] for row in zip(*values, strict=True))
    return _Writer(headings, kept, zone).write(rows)


def _is_column(column: Any) -> bool:
    return isinstance(column, Mapping) and isinstance(column.get("values"), list)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return "?" if isinstance(value, (bool, dict, list)) else str(value)


# -- headings -------------------------------------------------------------------------------------


def _headings(cells: Sequence[str]) -> tuple[Heading, ...]:
    found = []
    for index, cell in enumerate(cells):
        match = _HEADING.fullmatch(cell.removeprefix("\ufeff").strip())
        name, unit = (match[1], match[2] or "") if match else (cell, "")
        name, unit = _known_as(name.strip()), unit.strip()
        found.append((pointer("columns", index), name, unit))
    return _checked(found)


def _known_as(written: str) -> str:
    """The name of a column as it is kept: `Output frequency` is `output_frequency`."""
    name = re.sub(r"[\s-]+", "_", written.lower())
    return name if name in KINDS_OF else written


def _checked(named: Sequence[tuple[str, str, str]]) -> tuple[Heading, ...]:
    problems = [
        problem for place, name, unit in named for problem in _heading_problems(place, name, unit)
    ]
    names = [name for _, name, _ in named]
    lacking = [name for name in REQUIRED if name not in names]
    if lacking:
        words = f"expected columns of {' and '.join(REQUIRED)}; {' and '.join(lacking)} not found"
        problems.append(Problem("/columns", "required", words))
    doubled = sorted({name for name in names if names.count(name) > 1})
    if doubled:
        problems.append(Problem("/columns", "doubled", f"{doubled[0][:40]} stands twice"))
    if problems:
        raise Invalid(problems=problems[:MOST_PROBLEMS])
    return tuple(Heading(name, unit) for _, name, unit in named)


def _heading_problems(place: str, name: str, unit: str) -> Iterator[Problem]:
    if name not in KINDS_OF:
        words = f"expected one of {', '.join(KINDS_OF)}, each with its unit, as in feedback [psi]"
        yield Problem(place, "column", f"{words}; got {name[:40]!r}")
    elif not _is_unit_of(name, unit):
        if not KINDS_OF[name]:
            yield Problem(place, "unit", f"{name} is a number without a unit")
            return
        allowed = [each for kind in KINDS_OF[name] for each in KINDS[kind]]
        got = f"got {unit[:20]!r}" if unit else "got none"
        yield Problem(place, "unit", f"expected a unit of {name}: {', '.join(allowed)}; {got}")


def _is_unit_of(name: str, unit: str) -> bool:
    if not KINDS_OF[name]:
        return unit in ("", "1")
    if name == "time" and not unit:
        return True  # instants
    return any(unit in KINDS[kind] for kind in KINDS_OF[name])


# -- rows -----------------------------------------------------------------------------------------


class _Writer:
    """Writes rows of cells, and collects what is wrong with them."""

    def __init__(
        self,
        headings: tuple[Heading, ...],
        kept: IO[bytes],
        zone: tzinfo | None,
        *,
        decimal_comma: bool = False,
    ) -> None:
        self._time = [heading.name for heading in headings].index("time")
        self._instants = not headings[self._time].unit
        self._headings = tuple(
            Heading("time", "s") if heading.name == "time" and not heading.unit else heading
            for heading in headings
        )
        self._kept, self._zone, self._decimal_comma = kept, zone, decimal_comma
        self._problems: list[Problem] = []
        self._begin: datetime | None = None
        self._offsets = False
        self._last, self._shortest, self._longest = math.nan, math.inf, -math.inf

    def write(self, rows: Iterable[Sequence[str]]) -> Written:
        """Write every row; `Invalid` names the cells that are no numbers."""
        self._line(str(heading) for heading in self._headings)
        count = 0
        for row in rows:
            if not row:
                continue  # an empty line
            if count == LARGEST_ROWS:
                raise TooLarge(f"a trace may hold {LARGEST_ROWS} rows at most")
            self._line(self._cells(count, row))
            count += 1
            if len(self._problems) >= MOST_PROBLEMS:
                break
        if not count:
            self._problems.append(Problem("/rows", "required", "expected at least one sample"))
        if self._problems:
            raise Invalid(problems=self._problems)
        return Written(self._headings, count, self._interval(count))

    def _line(self, cells: Iterable[str]) -> None:
        self._kept.write((",".join(cells) + "\n").encode())

    def _cells(self, index: int, row: Sequence[str]) -> Sequence[str]:
        if len(row) != len(self._headings):
            words = f"expected {len(self._headings)} cells, got {len(row)}"
            self._problems.append(Problem(pointer("rows", index), "cells", words))
            return []
        return self._plain(row) or [
            self._cell_at(index, column, cell.strip()) for column, cell in enumerate(row)
        ]

    def _plain(self, row: Sequence[str]) -> Sequence[str] | None:
        """The row as it is, where it holds numbers and nothing that is to be changed: most do."""
        together = "".join(row)
        if self._instants or self._decimal_comma or not _PLAIN.fullmatch(together):
            return None
        try:
            values = [float(cell) for cell in row]
        except ValueError:
            return None
        if max(values) > LARGEST_NUMBER or min(values) < -LARGEST_NUMBER:
            return None
        self._next(values[self._time])
        return row

    def _next(self, seconds: float) -> None:
        step = seconds - self._last
        self._shortest, self._longest = min(self._shortest, step), max(self._longest, step)
        self._last = seconds

    def _cell_at(self, index: int, column: int, cell: str) -> str:
        if self._decimal_comma:
            cell = cell.replace(",", ".")
        try:
            if column == self._time:
                return self._time_cell(cell)
            return "" if cell in _EMPTY or math.isnan(_number(cell)) else cell
        except ValueError as error:
            place = pointer("rows", index, self._headings[column].name)
            self._problems.append(Problem(place, "number", f"{error}, got {cell[:40]!r}"))
            return ""

    def _time_cell(self, cell: str) -> str:
        if self._instants:
            seconds = self._seconds(_instant(cell))
            cell = f"{seconds:.6f}"
        else:
            seconds = _number(cell)
            if math.isnan(seconds):
                raise ValueError("expected a time")
        self._next(seconds)
        return cell

    def _seconds(self, at: datetime) -> float:
        """From the first instant on."""
        offset = at.tzinfo is not None
        if self._begin is not None and offset != self._offsets:
            raise ValueError("expected every time with its offset, or none")
        try:
            universal = (at if offset else _at_the_station(at, self._zone)).astimezone(UTC)
        except OverflowError:
            raise ValueError("expected an instant of the years 1 to 9999") from None
        if self._begin is None:
            self._begin, self._offsets = universal, offset
        return (universal - self._begin).total_seconds()

    def _interval(self, rows: int) -> float | None:
        """The sample interval [s] where it is constant."""
        if rows < 2 or self._shortest <= 0:
            return None
        mean = (self._shortest + self._longest) / 2
        if self._longest - self._shortest > EVEN * mean:
            return None
        return to_si(mean, self._headings[self._time].unit)


def _number(cell: str) -> float:
    if "_" in cell or not cell.isascii():
        raise ValueError("expected a decimal number")
    try:
        value = float(cell)
    except ValueError:
        raise ValueError("expected a decimal number") from None
    if abs(value) > LARGEST_NUMBER:
        raise ValueError(f"expected a number that is finite, and {LARGEST_NUMBER:g} at most")
    return value


def _instant(cell: str) -> datetime:
    try:
        return datetime.fromisoformat(cell)
    except ValueError:
        words = "expected an instant such as 2026-03-04T10:15:00.5Z (or a unit: time [s])"
        raise ValueError(words) from None


def _at_the_station(at: datetime, zone: tzinfo | None) -> datetime:
    here = at.replace(tzinfo=zone)
    if here.utcoffset() is None or here.utcoffset() != here.replace(fold=1).utcoffset():
        why = "clocks are changed there in this hour" if zone else "nobody knows its time zone"
        raise ValueError(f"expected a time with its offset, as in 2026-03-04T10:15:00Z: {why}")
    return here


# -- reading again --------------------------------------------------------------------------------


def headings(text: Iterable[str]) -> tuple[tuple[Heading, ...], Iterator[list[str]]]:
    """The columns of a kept trace, and its rows."""
    rows = csv.reader(text)
    return _headings(next(rows)), rows


def recording(text: Iterable[str]) -> Recording:
    """A kept trace as it is judged: times in seconds, columns of numbers with their units.

    The numbers are held as such, eight bytes each; NaN where nothing was recorded.
    """
    named, rows = headings(text)
    columns = [array("d") for _ in named]
    while block := list(islice(rows, AT_ONCE)):
        for column, cells in zip(columns, zip(*block, strict=True), strict=True):
            column.extend([float(cell) if cell else math.nan for cell in cells])
    found = dict(zip(named, columns, strict=True))
    time = next(heading for heading in named if heading.name == "time")
    times = array("d", (to_si(each, time.unit) for each in found.pop(time)))
    return Recording(times, {h.name: Column(h.unit, values) for h, values in found.items()})
