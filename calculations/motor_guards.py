"""Refusals that the formulas of motors and drives share besides those of `guards`."""

from calculations import guards
from calculations.errors import InvalidInput


def poles(count: int) -> None:
    """Raise InvalidInput for a number of poles that no alternating-current machine has.

    count: number of poles [1].
    Returns nothing.
    Raises InvalidInput naming the argument `poles`.
    """
    if count < 2 or count % 2:
        raise InvalidInput("poles", f"expected an even whole number of at least 2, got {count}")


def fraction(**values: float) -> None:
    """Raise InvalidInput for the first value that is not above zero and at most one.

    values: the arguments to look at, by their names [1].
    Returns nothing.
    Raises InvalidInput naming the argument.
    """
    for argument, value in values.items():
        if not 0.0 < value <= 1.0:
            guards.positive(**{argument: value})
            raise InvalidInput(argument, f"expected a ratio of at most 1, not percent, got {value}")
