"""Verification of a sensor against a reference: errors, their kinds, and what may be concluded."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import compress, pairwise
from operator import itemgetter, not_
from typing import NamedTuple

from calculations import guards
from calculations.errors import InvalidInput

COVERAGE = 2.0
"""Coverage factor of expanded uncertainties, about 95 %; JCGM-100-2008, 6.2.2."""

RATIO_WITHOUT_GUARD_BAND = 4.0
"""Test uncertainty ratio from which Z540.3-2006, 5.3 b), asks for no guard band."""

SAME_INPUT = 0.02
"""Share of span within which a rising and a falling point count as one input; no source."""

_TWENTIETH = 0.05
_SET_WITHIN = 1e-6
"""How exactly check points stand where they were set [1 of span]: what floats lose."""

# Z540.3-2006 handbook, method 6, from memory; its 2 % was confirmed by integration.
_GUARD_A, _GUARD_B, _GUARD_C = 1.04, 0.38, 0.54


class CheckPoint(NamedTuple):
    """One point of a verification: applied and indicated value [one unit], approached rising."""

    applied: float
    indicated: float
    rising: bool


class Input(NamedTuple):
    """What was shown at one input: value applied [one unit], mean error [1], gap of down and up."""

    applied: float
    error: float
    gap: float | None


@dataclass(frozen=True, slots=True)
class VerificationResult:
    """Errors of a verification as shares of span [1]; None where the points cannot show one.

    `errors` are in the order of the points, `inputs` rise; the rest is computed when asked for.
    """

    errors: tuple[float, ...]
    inputs: tuple[Input, ...]

    @property
    def largest_error(self) -> float:
        """Magnitude of the largest error."""
        return max(abs(error) for error in self.errors)

    @property
    def hysteresis(self) -> float | None:
        """Largest gap of rising and falling points at one input; None without such a pair."""
        return max([each.gap for each in self.inputs if each.gap is not None], default=None)

    @property
    def terminal_nonlinearity(self) -> float | None:
        """Largest distance from the line through the ends; None below three inputs."""
        return _terminal(self.inputs) if len(self.inputs) > 2 else None

    @property
    def independent_nonlinearity(self) -> float | None:
        """Half the height of the narrowest band of parallel lines; None below three inputs."""
        return _independent(self.inputs) if len(self.inputs) > 2 else None


class ErrorVerdict(StrEnum):
    """What an error shows, seen with the uncertainty of the reference."""

    INSIDE = "inside tolerance"
    UNDECIDED = "inside the guard band: cannot be decided with this reference"
    OUTSIDE = "outside tolerance"


def verify(
    *, points: Sequence[CheckPoint], span: float, same_input: float = SAME_INPUT
) -> VerificationResult:
    """Errors, hysteresis and linearity of a sensor from points applied up and down.

    points: applied and indicated values [any one unit], at least one.
    span: upper minus lower range value [same unit], above zero.
    same_input: share of span within which a rising and a falling point belong together [1].
    Returns shares of span [1]. Hysteresis needs a pair of rising and falling points; linearity
    needs three different inputs, and uses the mean of up and down at each.
    Raises InvalidInput for no points, a span not above zero, or values that are not finite.
    Equation: error = (indicated - applied)/span; hysteresis = max |error_down - error_up|;
    terminal: largest distance from the line through the ends; independent: half the height of the
    narrowest band of parallel lines.
    Source: IEC61298-2; ISA51.1 (definitions from memory).
    """
    if not points:
        raise InvalidInput("points", "expected at least one point")
    guards.positive(span=span, same_input=same_input)
    errors = tuple([(shown - applied) / span for applied, shown, _ in points])
    if not all(map(math.isfinite, errors)):
        guards.all_finite(
            applied=[point.applied for point in points],
            indicated=[point.indicated for point in points],
        )
    read = [(applied, error, up) for (applied, _, up), error in zip(points, errors, strict=True)]
    return VerificationResult(
        errors=errors,
        inputs=tuple(map(_one_input, _same_inputs(read, same_input * span))),
    )


def are_check_points(*, shares: Sequence[float]) -> bool:
    """Whether inputs were set as check points, not read off a reference: 5 bar is then 5 bar.

    shares: inputs as shares of span [1], in any order, the same ones as often as they come.
    Returns True where at least two different ones are whole twentieths, or three evenly spaced.
    Raises InvalidInput for a share that is not finite.
    Equation: x = 0.05 k, or x_(i+1) - x_i the same for all i.
    Source: common practice, no source.
    """
    guards.all_finite(shares=shares)
    ordered = sorted(shares)
    steps = [step for a, b in pairwise(ordered) if (step := b - a) > _SET_WITHIN]
    even = len(steps) > 1 and max(steps) - min(steps) <= _SET_WITHIN
    whole = (abs(each - _TWENTIETH * round(each / _TWENTIETH)) for each in ordered)
    return even or (bool(steps) and all(apart <= _SET_WITHIN for apart in whole))


def instrument_uncertainty(
    *,
    reading: float,
    range_low: float | None = None,
    range_high: float | None = None,
    share_of_range: float = 0.0,
    share_of_reading: float = 0.0,
    digits: float | None = None,
    resolution: float = 0.0,
) -> float:
    """Expanded uncertainty of an instrument's reading from its accuracy statement.

    reading: of the instrument [any unit].
    range_low, range_high: ends of its range [same unit]; needed with share_of_range.
    share_of_range: "percent of range" as a share of high minus low [1], zero or more.
    share_of_reading: "percent of reading" as a share [1], zero or more.
    digits: count of last digits [1]; None counts half a digit of resolution.
    resolution: one last digit [same unit], zero or more.
    Returns the half-width [same unit], taken as expanded uncertainty with k = 2: the field's
    habit; a certificate's own figure is better (`certificate_uncertainty`).
    Raises InvalidInput for values outside these ranges, or a statement that says nothing.
    Equation: U = s_range (high - low) + s_reading |reading| + digits resolution.
    Source: common practice, no source; JCGM-100-2008, 4.3.7, would divide by sqrt(3) and multiply
    by k, 15 % more.
    """
    counted = 0.5 if digits is None else digits
    parts = (share_of_range, share_of_reading, resolution, counted)
    if min(parts) < 0.0 or not math.isfinite(sum(parts, reading)):
        guards.finite(reading=reading)
        guards.not_negative(
            share_of_range=share_of_range, share_of_reading=share_of_reading, resolution=resolution
        )
        guards.not_negative(digits=counted)
    of_range = share_of_range * _range_width(range_low, range_high) if share_of_range else 0.0
    total = of_range + share_of_reading * abs(reading) + counted * resolution
    if not (share_of_range or share_of_reading or resolution):
        raise InvalidInput("share_of_range", "expected at least one part of an accuracy statement")
    return total


def certificate_uncertainty(*, uncertainty: float, coverage_factor: float) -> float:
    """Uncertainty of a certificate, brought to the coverage factor used here.

    uncertainty: as printed [any unit], zero or more.
    coverage_factor: that it was printed with [1], 1 to 3.
    Returns the expanded uncertainty with k = 2 [same unit].
    Raises InvalidInput for values outside these ranges.
    Equation: U = 2 U_cert / k.
    Source: JCGM-100-2008, 6.2.1.
    """
    guards.not_negative(uncertainty=uncertainty)
    guards.within(coverage_factor=coverage_factor, lowest=1.0, highest=3.0, unit="")
    return COVERAGE * uncertainty / coverage_factor


def uncertainty_ratio(*, tolerance: float, uncertainty: float) -> float:
    """How much finer a reference is than what it tests.

    tolerance: allowed error, one side [any unit], above zero.
    uncertainty: expanded, k = 2, of the whole test [same unit], above zero.
    Returns the ratio [1].
    Raises InvalidInput for a value not above zero.
    Equation: TUR = T / U.
    Source: Z540.3-2006, 3.11 and 5.3 b).
    """
    if not (0.0 < tolerance < math.inf and 0.0 < uncertainty < math.inf):
        guards.positive(tolerance=tolerance, uncertainty=uncertainty)
    return tolerance / uncertainty


def guard_band_multiplier(*, ratio: float) -> float:
    """Share of the uncertainty that narrows the tolerance, for at most 2 % false acceptance.

    ratio: test uncertainty ratio [1], above zero.
    Returns the multiplier [1], zero where the ratio needs no guard band (about 4.6 and more).
    Valid from a ratio of 0.6: integration finds false acceptance below 2 % from there on.
    Raises InvalidInput for a ratio not above zero.
    Equation: M = 1.04 - exp(0.38 ln TUR - 0.54), not below 0.
    Source: Z540.3-2006 handbook, method 6 (formula from memory).
    """
    if not 0.0 < ratio < math.inf:
        guards.positive(ratio=ratio)
    return max(_GUARD_A - math.exp(_GUARD_B * math.log(ratio) - _GUARD_C), 0.0)


def acceptance_limit(*, tolerance: float, uncertainty: float) -> float:
    """Largest error that may be accepted with a reference.

    tolerance: allowed error, one side [any unit], above zero.
    uncertainty: expanded, k = 2, of the whole test [same unit], zero or more.
    Returns the limit [same unit], not below zero: at zero nothing can be accepted.
    Raises InvalidInput for values outside these ranges.
    Equation: A = T - U M.
    Source: Z540.3-2006 handbook, method 6 (formula from memory).
    """
    if not (0.0 < tolerance < math.inf and 0.0 <= uncertainty < math.inf):
        guards.positive(tolerance=tolerance)
        guards.not_negative(uncertainty=uncertainty)
    if uncertainty == 0.0:
        return tolerance
    ratio = uncertainty_ratio(tolerance=tolerance, uncertainty=uncertainty)
    return max(tolerance - uncertainty * guard_band_multiplier(ratio=ratio), 0.0)


def judge_error(*, error: float, tolerance: float, uncertainty: float) -> ErrorVerdict:
    """What an error shows, seen with the uncertainty of the reference.

    error: indicated minus true [any unit].
    tolerance: allowed error, one side [same unit], above zero.
    uncertainty: expanded, k = 2, of the whole test [same unit], zero or more.
    Returns inside, undecided in the guard band, or outside the tolerance.
    Raises InvalidInput for values outside these ranges.
    Equation: |e| <= A inside, <= T undecided, else outside; A as `acceptance_limit`.
    Source: Z540.3-2006, 5.3 b), and handbook, method 6 (formula from memory).
    """
    return judge_errors(errors=(error,), tolerance=tolerance, uncertainty=uncertainty)[0]


def judge_errors(
    *, errors: Sequence[float], tolerance: float, uncertainty: float
) -> tuple[ErrorVerdict, ...]:
    """What each of several errors shows: as `judge_error`, the limit computed once.

    errors: indicated minus true [any unit].
    tolerance, uncertainty: as for `judge_error` [same unit].
    Returns a verdict for each error.
    Raises InvalidInput for values outside these ranges.
    Equation and source: as `judge_error`.
    """
    limit = acceptance_limit(tolerance=tolerance, uncertainty=uncertainty)
    guards.all_finite(error=errors)
    rounding = 1e-9 * tolerance
    accepted = limit + rounding if limit > 0.0 else -1.0
    allowed = tolerance + rounding
    verdicts = [
        ErrorVerdict.INSIDE if abs(error) <= accepted
        else ErrorVerdict.UNDECIDED if abs(error) <= allowed
        else ErrorVerdict.OUTSIDE
        for error in errors
    ]  # fmt: skip
    return tuple(verdicts)


Read = tuple[float, float, bool]
"""One point: value applied, error there [1], approached rising."""

_applied = itemgetter(0)


def _same_inputs(read: Sequence[Read], room: float) -> list[list[Read]]:
    """Points gathered by input, none further than `room` above the first of its group."""
    gathered: list[list[Read]] = []
    first = -math.inf
    for point in sorted(read, key=_applied):
        applied = point[0]
        if applied - first <= room:
            gathered[-1].append(point)
        else:
            first = applied
            gathered.append([point])
    return gathered


def _one_input(group: Sequence[Read]) -> Input:
    applied, errors, rising = zip(*group, strict=True)
    return Input(sum(applied) / len(group), sum(errors) / len(group), _gap(errors, rising))


def _gap(errors: Sequence[float], rising: Sequence[bool]) -> float | None:
    """Largest difference between errors rising and falling; None where one way was not gone."""
    if all(rising) or not any(rising):
        return None
    up = list(compress(errors, rising))
    down = list(compress(errors, map(not_, rising)))
    return max(max(down) - min(up), max(up) - min(down))


def _terminal(inputs: Sequence[Input]) -> float:
    (x0, e0, _), (x1, e1, _) = inputs[0], inputs[-1]
    slope = (e1 - e0) / (x1 - x0)
    return max([abs(error - e0 - slope * (x - x0)) for x, error, _ in inputs])


def _independent(inputs: Sequence[Input]) -> float:
    """Half the least height of a band of parallel lines around all points.

    Such a band always lies along an edge of the points' convex hull.
    """
    means = [(x, error) for x, error, _ in inputs]
    falling = [(x, -error) for x, error in means]
    slopes = [*_lower_hull_slopes(means), *(-slope for slope in _lower_hull_slopes(falling))]
    return min(_band_height(means, slope) for slope in slopes) / 2.0


def _lower_hull_slopes(means: Sequence[tuple[float, float]]) -> list[float]:
    hull: list[tuple[float, float]] = []
    for point in means:
        while len(hull) > 1 and _slope(hull[-2], hull[-1]) >= _slope(hull[-1], point):
            hull.pop()
        hull.append(point)
    return [_slope(before, after) for before, after in pairwise(hull)]


def _slope(before: tuple[float, float], after: tuple[float, float]) -> float:
    return (after[1] - before[1]) / (after[0] - before[0])


def _band_height(means: Sequence[tuple[float, float]], slope: float) -> float:
    residuals = [error - slope * x for x, error in means]
    return max(residuals) - min(residuals)


def _range_width(low: float | None, high: float | None) -> float:
    if low is None or high is None:
        raise InvalidInput("range_high", "expected both ends of the instrument's range")
    if not -math.inf < low < high < math.inf:
        guards.finite(range_low=low, range_high=high)
        raise InvalidInput("range_high", f"expected more than {low:g}, got {high:g}")
    return high - low
