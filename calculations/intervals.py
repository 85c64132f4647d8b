"""How long until something must be verified again, from what was found the last time."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import copysign

from calculations import guards
from calculations.errors import InvalidInput

EXTEND_BELOW = 0.8
"""Share of the allowed error up to which an interval may grow [1]; ILAC-G24-2007, from memory."""

EXTENSION = 1.5
"""Factor by which an interval grows [1]; common practice, no source."""

REDUCTION = 0.5
"""Factor by which an interval shrinks [1]; common practice, no source."""


class IntervalStep(StrEnum):
    """What the staircase does to an interval."""

    EXTEND = "extend"
    KEEP = "keep"
    REDUCE = "reduce"


@dataclass(frozen=True, slots=True)
class NextInterval:
    """Step of the staircase, next interval [unit of the last], worst share of the limit [1]."""

    step: IntervalStep
    interval: float
    ratio: float


def staircase(
    *,
    interval: float,
    as_found_errors: Sequence[float],
    allowed_error: float,
    shortest: float,
    longest: float,
    may_extend: bool = True,
    extend_below: float = EXTEND_BELOW,
    extension: float = EXTENSION,
    reduction: float = REDUCTION,
) -> NextInterval:
    """Next verification interval from the errors found at the end of the last one.

    interval: that has just ended [any unit of time], above zero.
    as_found_errors: of all points, before any adjustment [any unit], at least one.
    allowed_error: one side [same unit], above zero.
    shortest, longest: bounds of the interval [unit of the interval], above zero, rising.
    may_extend: False for safety functions, whose history never lengthens their interval.
    extend_below: share of the allowed error up to which it may grow [1], 0 to 1.
    extension, reduction: factors [1], at least 1 and at most 1.
    Returns the step, the next interval within its bounds, and the worst share of the limit.
    Raises InvalidInput for values outside these ranges.
    Equation: ratio = max |e| / limit; above 1 reduce, up to `extend_below` extend, else keep.
    Source: ILAC-G24-2022, method 1 (staircase); factors by common practice.
    """
    if not as_found_errors:
        raise InvalidInput("as_found_errors", "expected at least one point")
    guards.positive(interval=interval, allowed_error=allowed_error, shortest=shortest)
    guards.within(longest=longest, lowest=shortest, highest=float("inf"), unit="")
    guards.within(extend_below=extend_below, reduction=reduction, lowest=0.0, highest=1.0, unit="")
    guards.within(extension=extension, lowest=1.0, highest=10.0, unit="")
    for error in as_found_errors:
        guards.finite(as_found_errors=error)
    ratio = max(map(abs, as_found_errors)) / allowed_error
    step = _step(ratio, extend_below, may_extend)
    factor = {
        IntervalStep.EXTEND: extension,
        IntervalStep.KEEP: 1.0,
        IntervalStep.REDUCE: reduction,
    }[step]
    return NextInterval(step, min(max(interval * factor, shortest), longest), ratio)


def drift_rate(*, as_left_before: float, as_found: float, elapsed: float) -> float:
    """How fast an error grew between two visits.

    as_left_before: error when the last visit ended [any unit].
    as_found: error when this one began, before any adjustment [same unit].
    elapsed: time between them [any unit of time], above zero.
    Returns the rate [unit of the error per unit of time], with its sign.
    Raises InvalidInput for values outside these ranges.
    Equation: (e_found - e_left) / t.
    Source: ILAC-G24-2022, method 2 (control chart).
    """
    guards.finite(as_left_before=as_left_before, as_found=as_found)
    guards.positive(elapsed=elapsed)
    return (as_found - as_left_before) / elapsed


def time_to_limit(*, error: float, rate: float, allowed_error: float) -> float | None:
    """Time until a steady drift reaches the allowed error.

    error: now, as left [any unit].
    rate: of the drift [unit of the error per unit of time].
    allowed_error: one side [unit of the error], above zero.
    Returns the time [unit of time of the rate]; 0 where the error is at or over the limit; None
    where nothing drifts.
    Raises InvalidInput for values outside these ranges.
    Equation: (limit - e) / rate towards the limit on the rate's side.
    Source: ILAC-G24-2022, method 2 (control chart), with a straight line.
    """
    guards.finite(error=error, rate=rate)
    guards.positive(allowed_error=allowed_error)
    if abs(error) >= allowed_error:
        return 0.0
    if rate == 0.0:
        return None
    return (copysign(allowed_error, rate) - error) / rate


def _step(ratio: float, extend_below: float, may_extend: bool) -> IntervalStep:
    if ratio > 1.0:
        return IntervalStep.REDUCE
    return IntervalStep.EXTEND if may_extend and ratio <= extend_below else IntervalStep.KEEP
