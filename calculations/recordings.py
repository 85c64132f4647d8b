"""Rows of a recorded trace, as they are judged: columns of numbers with their units.

A document holds a trace by its digest only; whoever judges hands its rows over beside it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Values = Sequence[float | None]

COLUMNS = ("set_point", "feedback", "output_frequency")
"""Columns that rules look at, beside the time."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its unit, and a value for each time; None or NaN where nothing was recorded."""

    unit: str
    values: Values


@dataclass(frozen=True, slots=True)
class Recording:
    """Times of the samples from the first one on [s], and the columns by name."""

    times: Sequence[float]
    columns: Mapping[str, Column]
