"""From values to places: ranges with round ends, and the ticks on them."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from calculations.findings import digits
from records.documents.charts.spec import Scale
from records.documents.shown import MINUS

STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
SHOWN_FROM_ZERO = 0.4
"""Lowest over highest value below which an axis begins at zero [1]; no source."""

ROOM = 0.06
"""Share of its height that an axis leaves above and below what is drawn [1]; no source."""

_FEWEST_TICKS = 2
"""One alone tells of no scale."""

_LEAST_ROOM = 0.2
_WIDE = 2.5
"""Decades above and below the data, and from how many on only powers of ten are ticks [1]."""

_MOST_DECADES = 8
_SMALLEST = 1e-12
"""Least value of a logarithmic axis: what is smaller stands at its foot [1]."""


@dataclass(frozen=True, slots=True)
class Span:
    """An axis from `low` to `high` (of a logarithm where it is logarithmic) with its ticks."""

    low: float
    high: float
    ticks: tuple[float, ...]
    words: tuple[str, ...]
    is_log: bool = False

    def share(self, value: float) -> float:
        """Where a value stands: 0 at the low end, 1 at the high one."""
        at = math.log10(max(value, _SMALLEST)) if self.is_log else value
        return (at - self.low) / (self.high - self.low)


def span(values: Iterable[float], scale: Scale, count: int, whole: bool = False) -> Span:
    """An axis for these values with about so many ticks.

    `whole` is for a horizontal axis, which ends with its data.
    """
    known = [value for value in values if math.isfinite(value)] or [0.0, 1.0]
    if scale == "log":
        return _decades(known)
    if scale == "days":
        return _days(min(known), max(known), count)
    return _linear(min(known), max(known), count, whole)


def _linear(low: float, high: float, count: int, whole: bool) -> Span:
    if low >= 0 and low < SHOWN_FROM_ZERO * high:
        low = 0.0
    if high - low < 1e-9 * max(abs(high), abs(low), 1e-9):
        half = max(abs(high) * 0.1, 1e-6)
        low, high = low - half, high + half
    room = 0.0 if whole else ROOM * (high - low)
    bottom, top = low if low == 0 else low - room, high + room
    step = _step((high - low) / count)
    while len(ticks := _ticks(bottom, top, step)) < _FEWEST_TICKS:
        step = _step(step / 2)
    return Span(bottom, top, ticks, tuple(_digits(tick, step) for tick in ticks))


def _ticks(bottom: float, top: float, step: float) -> tuple[float, ...]:
    first, last = math.ceil(bottom / step - 1e-9), math.floor(top / step + 1e-9)
    return tuple(step * index for index in range(first, last + 1))


def _step(wanted: float) -> float:
    """The round step that is nearest to a wanted one, from above."""
    power = 10.0 ** math.floor(math.log10(wanted))
    return next(power * each for each in STEPS if power * each >= wanted * (1 - 1e-9))


def _digits(value: float, step: float) -> str:
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    decimals += round(step * 10**decimals, 6) != round(step * 10**decimals)
    text = f"{value:.{decimals}f}"
    if not float(text):
        text = text.removeprefix("-")
    return MINUS + text[1:] if text.startswith("-") else text


def _decades(values: Sequence[float]) -> Span:
    positive = [max(value, _SMALLEST) for value in values if value > 0] or [1.0]
    low, high = math.log10(min(positive)), math.log10(max(positive))
    room = max(ROOM * (high - low), _LEAST_ROOM)
    low, high = low - room, high + room
    steps = (1,) if high - low > _WIDE else (1, 2, 5)
    every = math.ceil((high - low) / _MOST_DECADES)
    powers = range(math.floor(low / every) * every, math.ceil(high) + 1, every)
    each = [10.0**power * step for power in powers for step in steps]
    ticks = tuple(tick for tick in each if low <= math.log10(tick) <= high)
    return Span(low, high, ticks, tuple(map(digits, ticks)), is_log=True)


# -- days -----------------------------------------------------------------------------------------

DAY = 86400.0
_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120, 240)


def _days(low: float, high: float, count: int) -> Span:
    """Days in seconds since 1970, with ticks at the first of months."""
    room = max(ROOM * (high - low), 15 * DAY)
    first, last = (datetime.fromtimestamp(at, UTC).date() for at in (low - room, high + room))
    months = (last.year - first.year) * 12 + last.month - first.month + 1
    every = next((each for each in _MONTHS if months / each <= count), _MONTHS[-1])
    begins = first.year * 12 + first.month - 1
    starts = [month for month in range(begins, begins + months + 1) if month % every == 0]
    ticks = [_seconds(date(month // 12, month % 12 + 1, 1)) for month in starts]
    inside = [(at, month) for at, month in zip(ticks, starts, strict=True)
              if low - room <= at <= high + room]  # fmt: skip
    words = tuple(f"{m // 12}" if every >= 12 else f"{m // 12}-{m % 12 + 1:02d}" for _, m in inside)
    return Span(low - room, high + room, tuple(at for at, _ in inside), words)


def _seconds(day: date) -> float:
    return datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp()
