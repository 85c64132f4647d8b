"""Curves through points, by a stated method, that never swing between the points.

Four points or more: monotone piecewise cubic (slopes as weighted harmonic means, so that a
falling stretch of points gives a falling stretch of curve). Three: the parabola. Two: a parabola
whose vertex lies at zero.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from operator import neg
from typing import ClassVar, Protocol

from calculations import guards
from calculations.errors import InvalidInput
from calculations.roots import Cubic, root_of_falling

ROUNDING = 1.0 + 1e-9
"""Factor by which an abscissa may pass the last knot and still count as on the curve [1]."""

_FALLS = 1e-6
"""Share of its first ordinate by which a curve must fall from knot to knot to count as falling; of
its largest, by which it must go on to fall or rise over its whole width to be no level one."""


class CurveShape(Protocol):
    """What the solvers need of a curve: it is monotone between its knots."""

    @property
    def knots(self) -> tuple[float, ...]:
        """Abscissas where the curve begins, ends, or may change its direction."""

    @property
    def falls(self) -> bool:
        """Whether it certainly falls all the way."""

    def value(self, x: float) -> float:
        """Ordinate at x; beyond the last knot a continuation."""

    def known(self, x: float) -> float | None:
        """Ordinate at x; None outside the knots, rounding allowed for."""

    def slope(self, x: float) -> float:
        """Derivative at x."""

    def abscissa(self, y: float) -> float | None:
        """Where a curve that falls has an ordinate; None where it has none."""


@dataclass(frozen=True, slots=True)
class PiecewiseCubic:
    """Cubics joined at knots; continued beyond the last knot by a straight line.

    `falls` tells whether each knot lies lower than the one before it, by more than floats lose. An
    end whose slope is no more than that goes on level: else it would meet zero anywhere at all.
    """

    knots: tuple[float, ...]
    pieces: tuple[Cubic, ...]
    falls: bool = field(init=False, repr=False, compare=False)
    _inner: tuple[float, ...] = field(init=False, repr=False, compare=False)
    _last: float = field(init=False, repr=False, compare=False)
    _end_slope: float = field(init=False, repr=False, compare=False)
    _ordinates: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_inner", self.knots[1:-1])
        object.__setattr__(self, "_last", self.knots[-1])
        ordinates = (*[piece[0] for piece in self.pieces], self.value(self._last))
        end, width = self._slope(self._last), self._last - self.knots[0]
        goes_on = abs(end) * width > _FALLS * max(map(abs, ordinates))
        object.__setattr__(self, "_end_slope", end if goes_on else 0.0)
        object.__setattr__(self, "_ordinates", ordinates)
        least = _FALLS * abs(ordinates[0])
        falls = min([before - after for before, after in pairwise(ordinates)]) > least
        object.__setattr__(self, "falls", falls)

    def value(self, x: float) -> float:
        """Ordinate at x [unit of the ordinates]."""
        if x > self._last:
            return self.value(self._last) + (x - self._last) * self._end_slope
        piece = bisect_right(self._inner, x)
        c0, c1, c2, c3 = self.pieces[piece]
        step = x - self.knots[piece]
        return ((c3 * step + c2) * step + c1) * step + c0

    def known(self, x: float) -> float | None:
        """Ordinate at x [unit of the ordinates]; None outside the knots, rounding allowed for."""
        if not self.knots[0] <= x <= self._last:
            return self.value(x) if self._last < x <= self._last * ROUNDING else None
        piece = bisect_right(self._inner, x)  # as in `value`: asked too often for another call
        c0, c1, c2, c3 = self.pieces[piece]
        step = x - self.knots[piece]
        return ((c3 * step + c2) * step + c1) * step + c0

    def slope(self, x: float) -> float:
        """Derivative at x [unit of the ordinates per unit of the abscissas]."""
        return self._end_slope if x >= self._last else self._slope(x)

    def _slope(self, x: float) -> float:
        piece = bisect_right(self._inner, x)
        step = x - self.knots[piece]
        _, c1, c2, c3 = self.pieces[piece]
        return (3.0 * c3 * step + 2.0 * c2) * step + c1

    def abscissa(self, y: float) -> float | None:
        """Where the curve has an ordinate [unit of the abscissas], if it `falls`.

        None above its first ordinate, and where the continuation never comes down to it.
        """
        ordinates = self._ordinates
        after = bisect_left(ordinates, -y, key=neg)
        if after == len(ordinates):
            slope = self._end_slope
            return self._last + (y - ordinates[-1]) / slope if slope < 0.0 else None
        if y >= ordinates[0]:
            return self.knots[0] if y == ordinates[0] else None
        start, end = self.knots[after - 1], self.knots[after]
        c0, c1, c2, c3 = self.pieces[after - 1]
        return start + root_of_falling((c0 - y, c1, c2, c3), end - start, ordinates[after] - y)


@dataclass(frozen=True, slots=True)
class PowerLaw:
    """y = intercept - coefficient x^exponent, down to where it meets zero."""

    intercept: float
    coefficient: float
    exponent: float
    falls: ClassVar[bool] = True

    @property
    def knots(self) -> tuple[float, ...]:
        """Zero, and the abscissa at which the ordinate is zero."""
        return (0.0, math.pow(self.intercept / self.coefficient, 1.0 / self.exponent))

    def value(self, x: float) -> float:
        """Ordinate at x [unit of the intercept]."""
        return self.intercept - self.coefficient * math.pow(x, self.exponent)

    def known(self, x: float) -> float | None:
        """Ordinate at x [unit of the intercept]; None below 0 or where it would be negative."""
        return self.value(x) if 0.0 <= x <= self.knots[1] * ROUNDING else None

    def slope(self, x: float) -> float:
        """Derivative at x [unit of the intercept per unit of x]."""
        return -self.coefficient * self.exponent * math.pow(x, self.exponent - 1.0)

    def abscissa(self, y: float) -> float | None:
        """Where the ordinate is y [unit of x]; None above the intercept."""
        drop = self.intercept - y
        return math.pow(drop / self.coefficient, 1.0 / self.exponent) if drop >= 0.0 else None


def through_points(*, abscissas: Sequence[float], ordinates: Sequence[float]) -> PiecewiseCubic:
    """Curve through points that keeps their shape.

    abscissas: strictly rising [any unit], at least two.
    ordinates: one for each abscissa [any unit].
    Returns the curve, monotone between its knots.
    Raises InvalidInput for fewer than two points, unequal counts, values that are not finite, or
    abscissas that do not rise.
    Equation: four points or more, cubic Hermite pieces with slopes that are weighted harmonic
    means of the neighbouring chords; three, the parabola; two, y = a + b x^2.
    Source: FRITSCH-BUTLAND-1984 (interior slopes), MOLER-2004, 3.4 (end slopes).
    """
    _refuse_unusable(abscissas, ordinates)
    if len(abscissas) == 2:
        return _even_parabola(abscissas, ordinates)
    if len(abscissas) == 3:
        return _parabola(abscissas, ordinates)
    return _monotone_cubic(abscissas, ordinates)


def _refuse_unusable(abscissas: Sequence[float], ordinates: Sequence[float]) -> None:
    if len(abscissas) != len(ordinates):
        raise InvalidInput("ordinates", f"expected {len(abscissas)}, got {len(ordinates)}")
    if len(abscissas) < 2:
        raise InvalidInput("abscissas", f"expected at least 2 points, got {len(abscissas)}")
    guards.all_finite(abscissas=abscissas, ordinates=ordinates)
    for before, after in pairwise(abscissas):
        if after <= before:
            raise InvalidInput("abscissas", f"expected to rise, got {after:g} after {before:g}")


def _even_parabola(x: Sequence[float], y: Sequence[float]) -> PiecewiseCubic:
    curvature = (y[1] - y[0]) / (x[1] ** 2 - x[0] ** 2)
    return _split_at_vertex(x[0], x[1], (y[0], 2.0 * curvature * x[0], curvature, 0.0))


def _parabola(x: Sequence[float], y: Sequence[float]) -> PiecewiseCubic:
    first = (y[1] - y[0]) / (x[1] - x[0])
    second = (y[2] - y[1]) / (x[2] - x[1])
    curvature = (second - first) / (x[2] - x[0])
    slope = first - curvature * (x[1] - x[0])
    return _split_at_vertex(x[0], x[2], (y[0], slope, curvature, 0.0))


def _split_at_vertex(start: float, end: float, piece: Cubic) -> PiecewiseCubic:
    """A parabola as one piece, or as two that meet at its vertex."""
    c0, c1, c2, _ = piece
    vertex = -c1 / (2.0 * c2) if c2 else 0.0
    if not 0.0 < vertex < end - start:
        return PiecewiseCubic((start, end), (piece,))
    right: Cubic = (c0 + (c1 + c2 * vertex) * vertex, 0.0, c2, 0.0)
    return PiecewiseCubic((start, start + vertex, end), (piece, right))


def _monotone_cubic(x: Sequence[float], y: Sequence[float]) -> PiecewiseCubic:
    widths = [after - before for before, after in pairwise(x)]
    chords = [(y[i + 1] - y[i]) / width for i, width in enumerate(widths)]
    slopes = [
        _end_slope(widths[0], widths[1], chords[0], chords[1]),
        *[_inner_slope(*widths[i : i + 2], *chords[i : i + 2]) for i in range(len(chords) - 1)],
        _end_slope(widths[-1], widths[-2], chords[-1], chords[-2]),
    ]
    pieces = [
        _hermite(y[i], slopes[i], slopes[i + 1], chord, widths[i]) for i, chord in enumerate(chords)
    ]
    return PiecewiseCubic(tuple(x), tuple(pieces))


def _hermite(y: float, slope: float, next_slope: float, chord: float, width: float) -> Cubic:
    c2 = (3.0 * chord - 2.0 * slope - next_slope) / width
    c3 = (slope + next_slope - 2.0 * chord) / (width * width)
    return (y, slope, c2, c3)


def _inner_slope(left: float, right: float, chord: float, next_chord: float) -> float:
    if chord * next_chord <= 0.0:
        return 0.0
    weight, next_weight = 2.0 * right + left, right + 2.0 * left
    return (weight + next_weight) / (weight / chord + next_weight / next_chord)


def _end_slope(width: float, next_width: float, chord: float, next_chord: float) -> float:
    slope = ((2.0 * width + next_width) * chord - width * next_chord) / (width + next_width)
    if slope * chord <= 0.0:
        return 0.0
    if chord * next_chord < 0.0 and abs(slope) > 3.0 * abs(chord):
        return 3.0 * chord
    return slope
