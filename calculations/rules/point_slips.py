"""Slips of reading that keep measured points off their curve."""

from collections.abc import Iterable, Iterator
from math import inf
from typing import NamedTuple

from calculations.acceptance import SiteVerdict
from calculations.aspects import liquid, pumping, suction
from calculations.aspects.duty import POINTS
from calculations.aspects.on_curve import Measured, fits, judged, measured, reread
from calculations.case import Case, Missing, Waits, once
from calculations.errors import InvalidInput
from calculations.rule import entered
from calculations.rules.closeness import above, below
from calculations.rules.mix_ups import EXPLAINS, SLIPS, in_unit, moved
from calculations.rules.suction_absolute import reads_absolute
from calculations.units import Quantity

REREAD = (
    "flow",
    "discharge_pressure",
    "suction_pressure",
    "suction_level",
    "suction_level_depth",
    "discharge_gauge_elevation",
    "suction_gauge_elevation",
)
"""Readings that may be in another unit."""

HEIGHTS = {"m": ("ft", "cm"), "ft": ("m", "in")}
"""Units that heights of gauges, which are small, are taken in besides."""

FAR = 1.0
"""Deviation of the head [1] from which whatever brings the point onto its curve explains it; no
source. Less can be a flat curve on which units of flow differ by a fifth."""

TWO_FIT = 1.5
"""A second explanation counts where its residual is no more than this times the best; no source."""

LEAST_ALIKE = 3
ALIKE = 0.03
"""Within what share of head points that are off together lie off alike [1]; no source."""

LEAST_OF_FLOW = 0.05
"""From what deviation of all flows a meter is suspected [1]; no source."""

WORN = 0.25
"""Up to what deviation of head a pump is taken to be worn [1]; no source."""

LEAST_OFF = 2
"""Points off their curve from which one cause is looked for that fits them all."""


def slips(case: Case, place: str) -> list[str]:
    """Readings taken otherwise that bring the point onto the curve, the best first.

    Where several points are off, one cause that fits them all goes before what fits this one; where
    none does, only what a point shows by itself is named: nowhere near its curve.
    """
    found = sorted(_explanations(case, place), key=lambda each: each.residual)
    if flows_alike(case) is not None:
        found = [each for each in found if each.cause[0] == "flow"]
    common = _common(case)
    if common:
        found = [each for each in found if each.cause in common]
    elif common is not None and not _is_far_off(case, place):
        return _of_a_worn_pump(case, place)
    if not found:
        return []
    best = found[0].residual
    return [each.words for each in found if each.residual <= max(TWO_FIT * best, 0.01)][:2]


@once
def flows_alike(case: Case) -> float | None:
    """By how much the flow of every point is off alike from the curve's at its head [1].

    A meter that shows a share too little does that; heights and gauges do not. None else, and
    where fewer than three points tell.
    """
    found: list[float] = []
    for place in case.elements(POINTS):
        try:
            point = measured(case, place)
            if point.flow <= 0:
                continue
            apart = judged(case, point).flow_deviation if point.head > 0 else None
        except (Missing, Waits, InvalidInput):
            continue
        if apart is None:
            return None
        found.append(apart)
    if len(found) < LEAST_ALIKE or above(max(found) - min(found), ALIKE):
        return None
    mean = sum(found) / len(found)
    return mean if above(abs(mean), LEAST_OF_FLOW) else None


class Explanation(NamedTuple):
    """A reading taken otherwise: how far the point is from the curve then [1]."""

    residual: float
    cause: tuple[str, str]
    words: str


@once
def _off(case: Case) -> tuple[str, ...]:
    return tuple(place for place in case.elements(POINTS) if _is_off(case, place))


@once
def _common(case: Case) -> frozenset[tuple[str, str]] | None:
    """What explains every point that is off; None where no more than one is."""
    off = _off(case)
    if len(off) < LEAST_OFF:
        return None
    return frozenset.intersection(
        *(frozenset(each.cause for each in _explanations(case, place)) for place in off)
    )


def has_one_cause(case: Case) -> bool:
    """Whether one reading taken otherwise explains every point that is off, of several."""
    return bool(_common(case))


def _of_a_worn_pump(case: Case, place: str) -> list[str]:
    """The unit of flow in which all points lie off alike: the pump is worn or clogged besides."""
    read = case.quantity(f"{place}/flow")
    return [f"flow {entered(in_unit(read, unit))}" for unit in _alike(case)]


@once
def _alike(case: Case) -> tuple[str, ...]:
    """Units of flow that bring all points that are off to one deviation of their heads."""
    off = _off(case)
    reads = [case.quantity(f"{place}/flow") for place in off]
    units = {read.unit for read in reads}
    if len(off) < LEAST_ALIKE or len(units) != 1:
        return ()
    as_read = _deviations(case, off, [read.si for read in reads])
    if as_read is None:
        return ()
    found = []
    for unit in SLIPS.get(units.pop(), ()):
        taken = _deviations(case, off, [in_unit(read, unit).si for read in reads])
        if taken is not None and _is_one(taken, as_read):
            found.append(unit)
    return tuple(found)


def _is_one(taken: list[float], as_read: list[float]) -> bool:
    spread, before = max(taken) - min(taken), max(as_read) - min(as_read)
    worst = max(map(abs, taken))
    return spread <= ALIKE < before / 3 and worst <= WORN and worst < max(map(abs, as_read))


def _deviations(case: Case, places: Iterable[str], flows: list[float]) -> list[float] | None:
    """Heads against the curve at these flows [1]; None where one is beyond its end."""
    found = []
    for place, flow in zip(places, flows, strict=True):
        point = measured(case, place)
        expected = pumping.curve(case).head(flow=flow, speed=point.speed)
        if not expected:
            return None
        found.append(point.head / expected - 1)
    return found


def _is_off(case: Case, place: str) -> bool:
    try:
        point = measured(case, place)
        if point.head <= 0:
            return True
        if point.flow <= 0 or fits(case, point):
            return False
        return judged(case, point).verdict is SiteVerdict.OUTSIDE
    except (Missing, Waits, InvalidInput):
        return False


def _explanations(case: Case, place: str) -> Iterator[Explanation]:
    far = _is_far_off(case, place)
    for name in REREAD:
        read = case.find(f"{place}/{name}")
        if read is None:
            continue
        for how, other, words in _otherwise(case, place, name, read, far):
            residual = _residual(case, reread(case, place, {name: other}))
            if residual is None or (not far and above(residual, EXPLAINS)):
                continue
            if not _is_right_elsewhere(case, place, name, other):
                yield Explanation(residual, (name, how), f"{name.replace('_', ' ')} {words}")
    yield from _exchanged(case, place)


def _is_right_elsewhere(case: Case, place: str, name: str, other: float) -> bool:
    """Whether another point with the very same reading is on its curve, and would not be else."""
    read = case.quantity(f"{place}/{name}")
    return any(
        (same := case.find(f"{at}/{name}")) is not None
        and (same.value, same.unit) == (read.value, read.unit)
        and _fits_as_read(case, at)
        and not fits(case, reread(case, at, {name: other}))
        for at in case.elements(POINTS)
        if at != place
    )


@once
def _fits_as_read(case: Case, place: str) -> bool:
    """Whether a point is known to lie on its curve as it was read."""
    try:
        point = measured(case, place)
        return point.flow > 0 and point.head > 0 and fits(case, point)
    except (Missing, Waits, InvalidInput):
        return False


def _exchanged(case: Case, place: str) -> Iterator[Explanation]:
    """What was read at the two gauges, each written down for the other."""
    read = [case.find(f"{place}/{name}") for name in ("discharge_pressure", "suction_pressure")]
    discharge, inlet = read
    if discharge is None or inlet is None or not below(discharge.si, inlet.si):
        return
    other = {"discharge_pressure": inlet.si, "suction_pressure": discharge.si}
    residual = _residual(case, reread(case, place, other))
    if residual is not None:
        words = "suction and discharge pressure in each other's place"
        yield Explanation(residual, ("gauges", "exchanged"), words)


def _otherwise(
    case: Case, place: str, name: str, read: Quantity, far: bool
) -> Iterator[tuple[str, float, str]]:
    """The digits in another unit, a gauge that reads absolute, a sign; far off the point moved."""
    units = HEIGHTS if name.endswith("gauge_elevation") else SLIPS
    for unit in units.get(read.unit, ()):
        other = in_unit(read, unit)
        if name == "suction_level" and _is_a_level_here(case, read, other.si):
            continue
        if name != "suction_pressure" or not _is_ordinary(case, place, read, other.si):
            yield unit, other.si, str(entered(other))
    if name == "discharge_pressure":
        yield "absolute", read.si - liquid.atmosphere(case), f"{entered(read)} absolute"
    if name == "suction_pressure" and read.si < 0:
        yield "sign", -read.si, str(entered(moved(read, -1)))
    for times in (10, 0.1) if far else ():
        other = moved(read, times)
        yield str(times), other.si, str(entered(other))


def _is_a_level_here(case: Case, read: Quantity, other: float) -> bool:
    """Whether a level is one that the site has, and would be none in another unit."""
    ends = [case.find(f"/site/suction_level_{end}") for end in suction.ENDS]
    if None in ends:
        return False
    lowest, highest = (each.si for each in ends)
    holds = not below(read.at_most, lowest) and not above(read.at_least, highest)
    return holds and (below(other, lowest) or above(other, highest))


def _is_ordinary(case: Case, place: str, read: Quantity, other: float) -> bool:
    """Whether a suction pressure is one that the site has, and would be none in another unit.

    What a worn pump has lost of its head can be as much as a unit makes of its suction.
    """
    try:
        seen = suction.at_gauge(case, place)
    except (Missing, Waits):
        return False
    holds = not below(read.at_most, seen.lowest) and not above(read.at_least, seen.highest)
    return holds and (below(other, seen.lowest) or above(other, seen.highest))


def _is_far_off(case: Case, place: str) -> bool:
    """Whether the head as read is nowhere near the curve's: below zero, or more than twice it."""
    point = measured(case, place)
    expected = pumping.curve(case).head(flow=point.flow, speed=point.speed)
    if point.head <= 0:
        return True
    return expected is not None and expected > 0 and not below(abs(point.head / expected - 1), FAR)


@once
def misread(case: Case, place: str) -> bool:
    """Whether a wrong reading, not the pump, keeps a point off its curve: nothing rests on it."""
    try:
        point = measured(case, place)
        if point.head <= 0 or reads_absolute(case, place):
            return True
        if point.flow <= 0:
            return False  # at closed valves nothing is held against the curve's grades
        outside = not fits(case, point) and judged(case, point).verdict is SiteVerdict.OUTSIDE
        return outside and bool(slips(case, place))
    except (Missing, InvalidInput):
        return False


def _residual(case: Case, point: Measured) -> float | None:
    """How far a point is from the curve [1], by head or flow; None where it does not fit."""
    if point.flow <= 0 or point.head <= 0:
        return None
    found = judged(case, point)
    if found.verdict is not SiteVerdict.WITHIN:
        return None
    apart = (found.head_deviation, found.flow_deviation)
    return min((abs(each) for each in apart if each is not None), default=inf)
