"""Slips of the pen that explain a wrong value: the other unit, the other column, swapped digits.

An explanation is named before the contradiction itself, because it is what the reader acts upon.
"""

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise

from calculations.findings import digits
from calculations.rules.closeness import Apart
from calculations.units import Quantity, to_si

EXPLAINS = 0.03
"""How well another unit or column must explain the numbers [1]; common practice, no source."""

DIGITS_EXPLAIN = 0.015
"""How well other digits must explain them [1], since there are many; common practice."""

MOVED_EXPLAINS = 0.15
"""How well a point moved by one place must explain them [1]: nothing else is ten times off."""

SLIPS: dict[str, tuple[str, ...]] = {
    "gpm": ("m3/h", "L/s", "L/min"),
    "m3/h": ("L/s", "gpm", "L/min", "m3/d"),
    "L/s": ("m3/h", "gpm", "L/min"),
    "L/min": ("L/s", "gpm", "m3/h"),
    "MGD": ("gpm", "m3/h"),
    "psi": ("bar", "kPa", "ftH2O"),
    "bar": ("psi", "kPa", "mH2O"),
    "kPa": ("psi", "bar", "mH2O"),
    "ftH2O": ("psi", "mH2O"),
    "mH2O": ("bar", "psi", "ftH2O"),
    "m": ("ft",),
    "ft": ("m",),
}
"""Units that are taken for each other, by the one that was entered."""

Fit = Callable[[float], Apart]
"""Says of a value [SI] how far it is from what is expected of it."""

Way = tuple[str, str]
"""Digits and unit, as they may have been meant."""

_POWER_UNITS = {"kW": ("hp", "hp_metric"), "hp": ("kW",), "hp_metric": ("kW",)}


def of(reference: float) -> Fit:
    """How far a value is from `reference`, both in SI."""
    return lambda value: Apart(value / reference) if reference else Apart(1.0, float("inf"))


def in_unit(entered: Quantity, unit: str) -> Quantity:
    """The same digits in another unit."""
    return _read(entered, entered.value, unit)


def moved(entered: Quantity, times: float) -> Quantity:
    """The same digits with the point moved: `times` is 10, 0.1, 100 and so on."""
    return _read(entered, _with_point_moved(entered, times), entered.unit)


def _with_point_moved(entered: Quantity, times: float) -> str:
    return digits(float(entered.value) * times, 6)


def other_power_unit(power: Quantity, fit: Fit) -> Quantity | None:
    """The same digits in another unit of power, if that makes the numbers fit."""
    units = _POWER_UNITS.get(power.unit, ())
    return _best(power, [(power.value, unit) for unit in units], fit, EXPLAINS)


def other_digits(entered: Quantity, fit: Fit) -> Quantity | None:
    """The same value with two neighbouring digits swapped, or the point moved, if that fits."""
    shifted = (_with_point_moved(entered, times) for times in (10, 0.1, 100, 0.01))
    ways = [(text, entered.unit) for text in (*_swapped(entered.value), *shifted)]
    return _best(entered, ways, fit, DIGITS_EXPLAIN)


def moved_point(entered: Quantity, fit: Fit) -> Quantity | None:
    """The same digits with the point one place further, if that fits: a slip of ten is plain."""
    ways = [(_with_point_moved(entered, times), entered.unit) for times in (10, 0.1)]
    return _best(entered, ways, fit, MOVED_EXPLAINS)


def _best(entered: Quantity, ways: list[Way], fit: Fit, within: float) -> Quantity | None:
    """What was entered, in the digits and unit that fit best, if any do."""
    read = [(to_si(float(text), unit), (text, unit)) for text, unit in ways]
    good = [each for each in read if each[0] > 0 and fit(each[0]).near(1, within)]
    if not good:
        return None
    si, (text, unit) = min(good, key=lambda each: abs(fit(each[0]).deviation))
    return Quantity(text, unit, entered.kind, si)


def nearest_factor(found: Apart, factors: Mapping[str, float]) -> str | None:
    """The name of the factor that explains a ratio best, if any explains it."""
    good = [name for name, factor in factors.items() if found.near(factor, EXPLAINS)]
    return min(good, key=lambda name: abs(found.ratio / factors[name] - 1), default=None)


def odd_unit(rising: Mapping[str, Quantity]) -> tuple[str, Quantity] | None:
    """The only one of rising values in a unit of its own, read in that of the others.

    Where it still fits between its neighbours then, and lies nearer to them: who writes one end of
    a range in another unit than the other has probably chosen the wrong one.
    """
    units = [read.unit for read in rising.values()]
    if units.count(units[0]) == len(units):
        return None
    names = list(rising)
    for index, name in enumerate(names):
        others = {unit for place, unit in enumerate(units) if place != index}
        if len(others) == 1 and units[index] not in others:
            other = in_unit(rising[name], others.pop())
            below = [rising[each].si for each in names[:index][-1:]]
            above = [rising[each].si for each in names[index + 1 :][:1]]
            if _fits_nearer(rising[name], other.si, below, above):
                return name, other
    return None


def _fits_nearer(read: Quantity, other: float, below: list[float], above: list[float]) -> bool:
    """Whether `other` lies between its neighbours, and nearer to the farther one than as read.

    What is to the digit the same as one of them is right as it was read.
    """
    if not all(each <= other for each in below) or not all(each >= other for each in above):
        return False
    apart = [abs(read.si - each) for each in (*below, *above)]
    now = max(abs(other - each) for each in (*below, *above))
    return now < max(apart) and min(apart) > read.resolution


def _read(entered: Quantity, text: str, unit: str) -> Quantity:
    return Quantity(text, unit, entered.kind, to_si(float(text), unit))


def _swapped(text: str) -> Iterator[str]:
    places = [index for index, sign in enumerate(text) if sign.isdigit()]
    for left, right in pairwise(places):
        signs = list(text)
        signs[left], signs[right] = signs[right], signs[left]
        swapped = "".join(signs)
        if swapped != text and (text[0] == "0" or swapped[0] != "0"):
            yield swapped
