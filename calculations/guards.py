"""Refusals shared by every formula: an argument outside its range never becomes a number."""

from collections.abc import Iterable
from math import inf, isfinite

from calculations.errors import InvalidInput


def finite(**values: float) -> None:
    """Raise InvalidInput for the first value that is not a finite number.

    values: the arguments to look at, by their names [any unit].
    Returns nothing.
    Raises InvalidInput naming the argument.
    """
    for argument, value in values.items():
        if not isfinite(value):
            raise InvalidInput(argument, f"expected a finite number, got {value}")


def all_finite(**series: Iterable[float]) -> None:
    """Raise InvalidInput for the first value of a series that is not a finite number.

    series: the values to look at, by the name of what they are [any unit].
    Returns nothing.
    Raises InvalidInput naming what it is.
    """
    for argument, values in series.items():
        for value in values:
            if not isfinite(value):
                finite(**{argument: value})


def positive(**values: float) -> None:
    """Raise InvalidInput for the first value that is not finite and above zero.

    values: the arguments to look at, by their names [any unit].
    Returns nothing.
    Raises InvalidInput naming the argument.
    """
    for argument, value in values.items():
        if not 0.0 < value < inf:
            raise InvalidInput(argument, f"expected a number above zero, got {value}")


def not_negative(**values: float) -> None:
    """Raise InvalidInput for the first value that is not finite and at least zero.

    values: the arguments to look at, by their names [any unit].
    Returns nothing.
    Raises InvalidInput naming the argument.
    """
    for argument, value in values.items():
        if not 0.0 <= value < inf:
            raise InvalidInput(argument, f"expected zero or more, got {value}")


def all_not_negative(**series: Iterable[float]) -> None:
    """Raise InvalidInput for the first value of a series that is not finite and at least zero.

    series: the values to look at, by the name of what they are [any unit].
    Returns nothing.
    Raises InvalidInput naming what it is.
    """
    for argument, values in series.items():
        for value in values:
            if not 0.0 <= value < inf:
                not_negative(**{argument: value})


def within(*, lowest: float, highest: float, unit: str, **values: float) -> None:
    """Raise InvalidInput for the first value outside a closed range.

    lowest, highest: ends of the range [unit of the values].
    unit: symbol shown in the message.
    values: the arguments to look at, by their names.
    Returns nothing.
    Raises InvalidInput naming the argument and the range.
    """
    for argument, value in values.items():
        if not lowest <= value <= highest:
            expected = f"expected {lowest:g} to {highest:g} {unit}".rstrip()
            raise InvalidInput(argument, f"{expected}, got {value}")
