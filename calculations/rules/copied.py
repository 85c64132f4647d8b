"""Readings of a visit that are those of another one, be it in other units: nobody reads the same
twice."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from calculations.aspects.duty import POINTS
from calculations.case import Case
from calculations.inputs.readings import DutyPoint
from calculations.rules.scope import is_synchronous
from calculations.units import Quantity

LEAST = 8
"""Readings that have to be the same: fewer can be so by chance; common practice, no source."""

FINE = 0.005
"""Half a last digit over the value [1], at most: three digits, which seldom come twice."""

OF_POINT = (
    "flow", "suction_pressure", "discharge_pressure", "suction_level", "suction_level_depth",
    "power_drive_input", "power_drive_output", "power_drive_display",
    "currents_drive_input", "currents_drive_output", "currents_drive_display",
    "voltages_drive_input", "voltages_drive_output",
)  # fmt: skip
"""What is read at a duty point. Its frequency is set, and what a drive shows of voltage follows."""

OF_SUPPLY = ("line_voltages", "line_to_earth_voltages", "dc_bus_voltage", "currents")
OF_INSULATION = ("resistance_30_s", "resistance_1_min", "resistance_10_min")

Reading = Quantity | list[Quantity]
Pair = tuple[Reading, Reading]


class Alike(NamedTuple):
    """How many readings are those of another visit, how many of them in the same digits and unit,
    and how many can be compared."""

    same: int
    to_the_digit: int
    of: int


def alike(case: Case, other: Case, share: float) -> Alike | None:
    """How many readings are those of another visit.

    Of the duty points, or of all; None where fewer than `LEAST`, or than that `share` [1], are.
    Three phases are one reading.
    """
    points = list(_at_points(case, other))
    for pairs in ([*points, *_of_tests(case, other)], points):
        same = [pair for pair in pairs if _is_same(*pair)]
        if len(same) >= LEAST and len(same) >= share * len(pairs) * (1 - 1e-9):
            return Alike(len(same), sum(now == then for now, then in same), len(pairs))
    return None


def _is_same(now: Reading, then: Reading) -> bool:
    """Whether one may be the other, in its digits or converted and rounded to fewer.

    Two that were read are as seldom so near to each other as they are the same in those digits.
    """
    if now == then:
        return True
    ours, theirs = (each if isinstance(each, list) else [each] for each in (now, then))
    return len(ours) == len(theirs) and all(map(_is_near, ours, theirs))


def _is_near(now: Quantity, then: Quantity) -> bool:
    coarser = max(now.resolution, then.resolution)
    return abs(now.si - then.si) <= coarser * (1 + 1e-6)


def _at_points(case: Case, other: Case) -> Iterator[Pair]:
    left = list(other.find(POINTS) or ())
    for now in case.find(POINTS) or ():
        if not left:
            return
        then = left.pop(_nearest(now, left))
        yield from _pairs(now, then, OF_POINT)
        if now.speed_measured and then.speed_measured and not is_synchronous(case):
            yield from _pairs(now, then, ("speed",))


def _nearest(point: DutyPoint, others: list[DutyPoint]) -> int:
    """Which of the others has the nearest frequency, the first of equals: order tells nothing."""
    at = _frequency(point)
    return min(range(len(others)), key=lambda index: abs(_frequency(others[index]) - at))


def _frequency(point: DutyPoint) -> float:
    """Frequency that was set [Hz]; 0 where none was."""
    return 0.0 if point.frequency is None else point.frequency.si


def _of_tests(case: Case, other: Case) -> Iterator[Pair]:
    for place, names in (
        ("/event/supply", OF_SUPPLY),
        ("/event/motor_tests/winding_resistance", ("values",)),
        ("/event/motor_tests/insulation", OF_INSULATION),
    ):
        yield from _pairs(case.find(place), other.find(place), names)


def _pairs(now: Any, then: Any, names: tuple[str, ...]) -> Iterator[Pair]:
    """Readings that both visits have, in digits that tell them apart."""
    for name in names:
        ours, theirs = getattr(now, name, None), getattr(then, name, None)
        if ours and theirs and _is_fine(ours) and _is_fine(theirs):
            yield ours, theirs


def _is_fine(read: Reading) -> bool:
    first = read[0] if isinstance(read, list) else read
    return first.resolution <= FINE * abs(first.si)
