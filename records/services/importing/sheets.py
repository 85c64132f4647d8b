"""What a file holds, whichever kind it is of: sheets of rows of cells."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

MOST_BYTES = 20_000_000
MOST_ROWS = 30_000
"""Rows of a file, so that checking and writing them end well within `tasks.IMPORT_SECONDS`."""
MOST_COLUMNS = 300
LONGEST_CELL = 10_000


class NoSpreadsheet(Exception):
    """A file that cannot be read as what it should be; says why, and where."""


class Number(NamedTuple):
    """A number as the spreadsheet shows it; `unit` where its format says one."""

    digits: str
    unit: str = ""


class Day(NamedTuple):
    """A cell that is formatted as a day."""

    text: str


class Trouble(NamedTuple):
    """A cell that has no value of its own: a formula, an error, one of several merged ones."""

    words: str


Cell = str | bool | Number | Day | Trouble | None
Row = tuple[Cell, ...]


@dataclass(frozen=True)
class Sheet:
    """A sheet; `rows` reads it from its beginning, each row with its number."""

    name: str
    rows: Callable[[], Iterator[tuple[int, Row]]]


@dataclass(frozen=True)
class Opened:
    """A file that was opened."""

    sheets: tuple[Sheet, ...]
    decimal_comma: bool = False
    notes: tuple[str, ...] = ()


def letter(index: int) -> str:
    """What a spreadsheet calls its column: 0 is A, 27 is AB."""
    words = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        words = chr(ord("A") + rest) + words
    return words
