"""Curves and duty points as bare floats: monotone cubics, and where they meet a head or a system.

The methods that `calculations` names: slopes as weighted harmonic means (Fritsch and Butland 1984),
end slopes by three points (Moler 2004, 3.4), false position with the Illinois weighting (Dowell and
Jarratt 1971), affinity laws. Nothing is guarded: it is given curves that fall.
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence

Curve = tuple[Sequence[float], list[tuple[float, float, float, float]]]


def fit(x: Sequence[float], y: Sequence[float]) -> Curve:
    """Monotone piecewise cubic through points of rising x."""
    n = len(x) - 1
    h = [x[i + 1] - x[i] for i in range(n)]
    d = [(y[i + 1] - y[i]) / h[i] for i in range(n)]
    m = [_end(h[0], h[1], d[0], d[1])]
    for i in range(n - 1):
        if d[i] * d[i + 1] <= 0.0:
            m.append(0.0)
        else:
            a, b = 2.0 * h[i + 1] + h[i], h[i + 1] + 2.0 * h[i]
            m.append((a + b) / (a / d[i] + b / d[i + 1]))
    m.append(_end(h[-1], h[-2], d[-1], d[-2]))
    return x, [
        (
            y[i],
            m[i],
            (3.0 * d[i] - 2.0 * m[i] - m[i + 1]) / h[i],
            (m[i] + m[i + 1] - 2.0 * d[i]) / (h[i] * h[i]),
        )
        for i in range(n)
    ]


def _end(h: float, next_h: float, d: float, next_d: float) -> float:
    slope = ((2.0 * h + next_h) * d - h * next_d) / (h + next_h)
    if slope * d <= 0.0:
        return 0.0
    return 3.0 * d if d * next_d < 0.0 and abs(slope) > 3.0 * abs(d) else slope


def value(curve: Curve, at: float) -> float:
    """Ordinate; beyond the last point along the slope found there."""
    x, pieces = curve
    if at > x[-1]:
        return value(curve, x[-1]) + (at - x[-1]) * slope(curve, x[-1])
    i = bisect_right(x, at, 1, len(x) - 1) - 1
    a, b, c, d = pieces[i]
    u = at - x[i]
    return ((d * u + c) * u + b) * u + a


def slope(curve: Curve, at: float) -> float:
    """Derivative."""
    x, pieces = curve
    i = bisect_right(x, at, 1, len(x) - 1) - 1
    _, b, c, d = pieces[i]
    u = at - x[i]
    return (3.0 * d * u + 2.0 * c) * u + b


def meeting(curve: Curve, s: float, static: float, k: float) -> float:
    """Flow where s^2 h(Q / s) falls to static + k Q^2: the stretch first, then the zero in it.

    The curve goes on beyond its last point, down to no head.
    """
    x = curve[0]
    beyond = value(curve, x[-1]) / -slope(curve, x[-1])
    ends = [s * q for q in (*x, x[-1] + beyond)]
    low, at_low = ends[0], s * s * value(curve, ends[0] / s) - static - k * ends[0] ** 2
    for end in ends[1:]:
        at_end = s * s * value(curve, end / s) - static - k * end**2
        if at_low * at_end <= 0.0:
            return zero(lambda q: s * s * value(curve, q / s) - static - k * q**2, low, end)
        low, at_low = end, at_end
    raise ValueError("the curves do not meet")


def zero(f: Callable[[float], float], low: float, high: float) -> float:
    """Zero between two abscissas of unlike sign, to a relative 1e-13."""
    at_low, at_high = f(low), f(high)
    while True:
        x = high - at_high * (high - low) / (at_high - at_low)
        at_x = f(x)
        if at_x == 0.0 or abs(high - low) <= 1e-13 * (abs(high) + abs(low)):
            return x
        if at_x * at_high < 0.0:
            low, at_low = high, at_high
        else:
            at_low *= 0.5
        if abs(x - high) <= 1e-13 * abs(x):
            return x
        high, at_high = x, at_x
