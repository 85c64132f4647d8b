"""A flow by a difference of pressure: whether its root is taken once, never or twice."""

from collections.abc import Iterable
from math import sqrt
from typing import Literal

from calculations.aspects import loop
from calculations.aspects.verifying import Check
from calculations.case import Case

Root = Literal["missing", "twice"]

NEAR_ZERO = 0.1
"""Below this share of span the root of next to nothing is steep, and meters cut off; no source."""

LEAST_INPUTS = 2
"""Different inputs that a share and its square do not both fit."""


def may_be_rooted(case: Case, sensor: str) -> bool:
    """Whether a sensor measures flow by a difference of pressure, or may, from zero on."""
    by_pressure = case.find(f"{sensor}/meter_kind") in (None, "unknown", "differential_pressure")
    if not case.is_(f"{sensor}/quantity", "flow") or not by_pressure:
        return False
    return loop.measuring_range(case, sensor).low == 0


def transmitter(case: Case, found: Check) -> Root | None:
    """What the readings of a transmitter follow in place of what was applied."""
    if len(found.outside) < LEAST_INPUTS or not may_be_rooted(case, found.sensor):
        return None
    within = found.tolerance + max(point.rounding for point in found.readable) / found.span
    return _taken(
        ((point.applied, point.applied + error * found.span)
         for point, error in zip(found.readable, found.errors, strict=True)),
        found.span, within,
    )  # fmt: skip


def display(case: Case, found: Check, within: float) -> Root | None:
    """What is shown follows in place of what the signal means, to within a share of span."""
    if not may_be_rooted(case, found.sensor):
        return None
    pairs = [
        (point.by_signal, point.shown)
        for point in found.points
        if point.by_signal is not None and point.shown is not None
    ]
    return _taken(pairs, found.span, within)


def is_taken_behind(case: Case, found: Check) -> bool:
    """Whether a transmitter sends the square at every point, and what is shown is right."""
    return transmitter(case, found) == "missing" and _is_shown_right(found)


def _is_shown_right(found: Check) -> bool:
    allowed = found.tolerance * found.span
    return all(
        point.shown is not None and abs(point.shown - point.applied) <= allowed + point.rounding
        for point in found.readable
    )


def _taken(pairs: Iterable[tuple[float, float]], span: float, within: float) -> Root | None:
    """Whether all that is said follows the square, or the root, of what is true [both in SI]."""
    shares = [(true / span, said / span) for true, said in pairs]
    shares = [each for each in shares if max(map(abs, each)) >= NEAR_ZERO]
    apart = {round(true, 3) for true, said in shares if abs(said - true) > within}
    if len(apart) < LEAST_INPUTS or any(true < 0 for true, _ in shares):
        return None
    if all(abs(said - true * true) <= within for true, said in shares):
        return "missing"
    if all(abs(said - sqrt(true)) <= within for true, said in shares):
        return "twice"
    return None
