"""How far two values are apart, beyond what the rounding of their digits explains."""

from math import inf, isclose
from typing import NamedTuple

from calculations.rule import percent, roughly
from calculations.units import Quantity

STANDARD_SIZE = 0.01
"""Most that rounding counts for a rated power [1]: 37 kW stands for 50 hp, but 1 hp is not 1.4."""


def above(value: float, limit: float) -> bool:
    """Whether a value is more than a limit, by more than what floats lose on their way."""
    return value > limit and not isclose(value, limit, abs_tol=1e-9)


def below(value: float, limit: float) -> bool:
    """Whether a value is less than a limit, by more than what floats lose on their way."""
    return value < limit and not isclose(value, limit, abs_tol=1e-9)


class Apart(NamedTuple):
    """One value over another [1], and what their last digits may have changed of that [1]."""

    ratio: float
    margin: float = 0.0

    @property
    def deviation(self) -> float:
        """How far the ratio is from one [1], with its sign."""
        return self.ratio - 1

    def over(self, limit: float) -> bool:
        """Whether the first is certainly more than `limit` [1] above the second."""
        return above(self.ratio - 1 - self.margin, limit)

    def under(self, limit: float) -> bool:
        """Whether the first is certainly more than `limit` [1] below the second."""
        return above(1 - self.ratio - self.margin, limit)

    def beyond(self, limit: float) -> bool:
        """Whether they are certainly more than `limit` [1] apart, whichever is larger."""
        return above(abs(self.ratio - 1) - self.margin, limit)

    def near(self, factor: float, within: float) -> bool:
        """Whether the ratio is `factor` [1], `within` a share of it [1] and the rounding."""
        return not above(abs(self.ratio / factor - 1), within + self.margin / factor)


def rounding(quantity: Quantity) -> float:
    """Half of the last digit over the value [1]; rated frequencies are exact as printed."""
    if quantity.kind == "frequency":
        return 0.0
    if quantity.si == 0:
        return inf
    share = abs(quantity.resolution / quantity.si)
    return min(share, STANDARD_SIZE) if quantity.kind == "power" else share


def apart(first: Quantity, second: Quantity) -> Apart:
    """How far two entered values are apart."""
    return apart_from(first, second.si, rounding(second))


def apart_from(first: Quantity, reference: float, reference_rounding: float = 0.0) -> Apart:
    """How far an entered value is from a computed one [SI], that is known to a share [1]."""
    if reference == 0:
        return Apart(1.0, inf)
    ratio = first.si / reference
    if first.si == 0:
        return Apart(ratio, reference_rounding)
    return Apart(ratio, abs(ratio) * (rounding(first) + reference_rounding))


SHOWN = 5e-4
"""Least share of a value that is told beside it as uncertain [1]: its own digits tell no less."""


def give_or_take(off: float, value: float, unit: str) -> str:
    """What a value [SI] may be off by [SI], in words behind it; nothing if next to none."""
    return f" (give or take {roughly(off, unit)})" if off > SHOWN * abs(value) else ""


def less_or_more(off: tuple[float, float], value: float, unit: str) -> str:
    """The same where it may be less by another amount than it may be more [SI]."""
    less, more = (roughly(each, unit) for each in off)
    if less == more or max(off) <= SHOWN * abs(value):
        return give_or_take(off[0], value, unit)
    return f" ({less} less to {more} more)"


def signed_percent(ratio: float) -> str:
    """A deviation in words: `+34.1 %`."""
    return f"{'+' if ratio > 0 else ''}{percent(ratio)}"
