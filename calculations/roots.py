"""Zeros of a function of one variable, inside brackets that are known to hold them."""

from collections.abc import Callable
from math import inf

Function = Callable[[float], float]
Cubic = tuple[float, float, float, float]

_ENOUGH_STEPS = 200
_RELATIVE_ACCURACY = 1e-13
_NEAR = 1e-9
"""Last step of Newton's method over the bracket [1]: what is left goes with the square of that."""


def root_between(function: Function, low: float, high: float) -> float:
    """Zero of a continuous function between two abscissas where its signs differ.

    function: of one variable.
    low, high: abscissas with ordinates of unlike sign, or one of them zero [any unit].
    Returns the abscissa [same unit].
    Equation: false position that always keeps the bracket: the ordinate of an end that stays is
    weighted by the share that the other end's has lost, a half at least (flat curves need that).
    Source: ANDERSON-BJORCK-1973 (the share), DOWELL-JARRATT-1971 (the half).
    """
    return root(function, low, high, function(low), function(high))


def root(function: Function, low: float, high: float, at_low: float, at_high: float) -> float:
    """The same where the ordinates of both ends are known.

    function, low, high: as for `root_between`.
    at_low, at_high: ordinates at both ends, of unlike sign, or one of them zero.
    Returns the abscissa [unit of low and high].
    Equation and source: as `root_between`.
    """
    if at_low == 0.0 or at_high == 0.0:
        return low if at_low == 0.0 else high
    for _ in range(_ENOUGH_STEPS):
        x = high - at_high * (high - low) / (at_high - at_low)
        at_x = function(x)
        if at_x == 0.0 or abs(high - low) <= _RELATIVE_ACCURACY * (abs(high) + abs(low)):
            return x
        if at_x * at_high < 0.0:
            low, at_low = high, at_high
        else:
            at_low *= max(0.5, 1.0 - at_x / at_high)
        if abs(x - high) <= _RELATIVE_ACCURACY * abs(x):
            return x
        high, at_high = x, at_x
    return high


def root_of_falling(cubic: Cubic, width: float, at_width: float) -> float:
    """Zero of a cubic between 0, where it is above zero, and where it no longer is.

    cubic: coefficients, from the constant one up.
    width: abscissa of the other end, above 0 [any unit].
    at_width: ordinate there, zero or less.
    Returns the abscissa [unit of width].
    Equation: Newton's method from the chord on; halves the bracket where a step would leave it.
    Source: from memory.
    """
    if at_width == 0.0:
        return width
    c0, c1, c2, c3 = cubic
    low, high, x = 0.0, width, width * c0 / (c0 - at_width)
    for _ in range(_ENOUGH_STEPS):
        at_x = ((c3 * x + c2) * x + c1) * x + c0
        if at_x > 0.0:
            low = x
        else:
            high = x
        slope = (3.0 * c3 * x + 2.0 * c2) * x + c1
        better = x - at_x / slope if slope < 0.0 else inf
        if not low <= better <= high:
            better = 0.5 * (low + high)
        elif abs(better - x) <= _NEAR * width:
            return better
        x = better
    return x


def crossings(function: Function, low: float, high: float, parts: int = 1) -> list[float]:
    """Zeros of a function where its sign changes between neighbouring parts of an interval.

    function: of one variable.
    low, high: ends of the interval, low below high [any unit].
    parts: equal parts to look at [1]; two zeros inside one part are not seen.
    Returns the abscissas, rising [same unit].
    Equation: change of sign, then as `root_between`.
    """
    found = []
    left, at_left = low, function(low)
    for part in range(1, parts + 1):
        right = low + (high - low) * part / parts
        at_right = function(right)
        if at_left == 0.0:
            found.append(left)
        elif at_left * at_right < 0.0:
            found.append(root(function, left, right, at_left, at_right))
        left, at_left = right, at_right
    return [*found, high] if at_left == 0.0 else found
