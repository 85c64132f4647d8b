"""Long traces drawn honestly: the lowest and the highest sample of every column of a plot."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from calculations.traces import GAP_FACTOR, Trace

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Thinned:
    """Unbroken stretches of (time [s], value); how many samples there were, in how many columns.

    `columns` is None where every sample is there.
    """

    stretches: tuple[tuple[Point, ...], ...]
    samples: int
    columns: int | None


def thin(trace: Trace, *, columns: int) -> Thinned:
    """A trace as at most two samples for each of `columns` equal times, none of them made up.

    trace: of anything [any unit].
    columns: of the plot, one or more.
    Returns the trace as it is where it has no more samples than that; else of every column the
    lowest and the highest sample, in their order, so that no peak is lost, and the last one. Where
    it pauses for longer than a few samples, a new stretch begins.
    """
    pieces = list(_stretches(trace))
    if len(trace.times) <= 2 * columns:
        stretches = tuple(tuple(_points(trace, *piece)) for piece in pieces)
        return Thinned(stretches, len(trace.times), None)
    width = (trace.times[-1] - trace.times[0]) / columns
    thinned = tuple(tuple(_lowest_and_highest(trace, *piece, width)) for piece in pieces)
    return Thinned(thinned, len(trace.times), columns)


def _stretches(trace: Trace) -> list[tuple[int, int]]:
    """First and last index, past the end, of what is recorded without a pause."""
    longest = GAP_FACTOR * trace.interval
    times = trace.times
    starts = [0, *(i for i in range(1, len(times)) if times[i] - times[i - 1] > longest)]
    return list(zip(starts, [*starts[1:], len(times)], strict=True))


def _points(trace: Trace, first: int, end: int) -> Sequence[Point]:
    return list(zip(trace.times[first:end], trace.values[first:end], strict=True))


def _lowest_and_highest(trace: Trace, first: int, end: int, width: float) -> list[Point]:
    found: list[Point] = []
    while first < end:
        column = int((trace.times[first] - trace.times[0]) / width)
        after = bisect_left(trace.times, trace.times[0] + (column + 1) * width, first + 1, end)
        values = trace.values[first:after]
        lowest, highest = (first + values.index(pick(values)) for pick in (min, max))
        kept = sorted({lowest, highest})
        found += [(trace.times[index], trace.values[index]) for index in kept]
        first = after
    return found
