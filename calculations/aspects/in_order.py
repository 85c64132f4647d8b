"""What of a site belongs into an order: ranges, heights and depths, and which do not fit."""

from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

from calculations.case import Case, once
from calculations.rules.mix_ups import odd_unit
from calculations.units import Quantity

SITE_ORDER, WELL_ORDER = "site.order", "well.levels"
"""Rules that name what does not fit."""

RANGES = (
    ("static_lift_low", "static_lift_high"),
    ("suction_level_low", "suction_level_high"),
    ("suction_pressure_low", "suction_pressure_high"),
    ("liquid_temperature_min", "liquid_temperature_max"),
    ("inflow_minimum", "inflow_average"),
    ("inflow_average", "inflow_peak"),
    ("inflow_minimum", "inflow_peak"),
)

LEVELS = (
    ("wet_well_floor", "suction_level_low", "suction_level_high", "overflow_level"),
    ("wet_well_floor", "inlet_invert", "overflow_level"),
)
"""Heights of a wet well that rise."""

STATIC, PUMPED = "static_water_depth", "pumping_water_depth"
DEPTHS = (STATIC, PUMPED, "pump_setting_depth", "well_depth")
"""Depths of a borehole that rise."""


class Odd(NamedTuple):
    """What does not fit: why, the row it stands in, its names, and what it was probably meant."""

    variant: Literal["reversed", "levels", "order", "unit"]
    row: Mapping[str, Quantity]
    names: tuple[str, ...]
    meant: Quantity | None = None


def higher(one: Quantity, other: Quantity) -> bool:
    """Whether a value is larger than another: 3 ft are not above 0.9144 m, however they convert."""
    return one.si - other.si > 1e-9 * abs(other.si)


# -- ranges, and heights of a wet well ------------------------------------------------------------


@once
def known(case: Case) -> dict[str, Quantity]:
    """What the site tells of ranges and heights, by name."""
    found = [(name, case.find(f"/site/{name}")) for name in _NAMES]
    return {name: read for name, read in found if read is not None}


@once
def odd_of_site(case: Case) -> tuple[Odd, ...]:
    """What does not fit among them: no value is told of twice."""
    told: set[str] = set()
    found = []
    read = known(case)
    for names, find in _LOOKS:
        if len(read.keys() & names) < 2:
            continue
        row = {name: read[name] for name in names if name in read}
        odd = find(row) if told.isdisjoint(row) else None
        if odd is not None:
            told |= row.keys()
            found.append(odd)
    return tuple(found)


def _pair(row: Mapping[str, Quantity]) -> Odd | None:
    low, high = row
    return Odd("reversed", row, (low, high)) if higher(row[low], row[high]) else None


def _levels(row: Mapping[str, Quantity]) -> Odd | None:
    """The one without which the others rise; None where all do.

    Of two such it is the one in a unit of its own, else the one further up.
    """
    broken = next((pair for pair in pairwise(row) if _falls(row, *pair)), None)
    if broken is None:
        return None
    units = [each.unit for each in row.values()]
    low, high = broken
    alone = [name for name in (high, low) if _rise_without(row, name)]
    odd = min(alone or [high], key=lambda name: units.count(row[name].unit))
    return Odd("levels", row, (odd,))


def _falls(row: Mapping[str, Quantity], low: str, high: str) -> bool:
    return higher(row[low], row[high])


def _rise_without(row: Mapping[str, Quantity], name: str) -> bool:
    others = [other for other in row if other != name]
    return not any(_falls(row, *pair) for pair in pairwise(others))


def _in_another_unit(row: Mapping[str, Quantity]) -> Odd | None:
    found = odd_unit(row)
    return Odd("unit", row, (found[0],), found[1]) if found is not None else None


NOT_BY_UNIT = {*LEVELS[0], "liquid_temperature_min", "liquid_temperature_max"}
"""Looked at in a longer row, or temperatures: a liquid may be cold and hot, and of two far
apart nothing tells which stands in another unit."""

_LOOKS: tuple[tuple[tuple[str, ...], Callable[[Mapping[str, Quantity]], Odd | None]], ...] = (
    *((names, _pair) for names in RANGES),
    *((names, _levels) for names in LEVELS),
    *((names, _in_another_unit) for names in LEVELS),
    *((names, _in_another_unit) for names in RANGES if not set(names) < NOT_BY_UNIT),
)
"""Names, and what is looked for among them: in a longer row it is plain which one is odd."""

_NAMES = tuple(dict.fromkeys(name for names in (*RANGES, *LEVELS) for name in names))


# -- depths of a borehole -------------------------------------------------------------------------


def odd_ones(values: Sequence[float]) -> tuple[int, ...]:
    """Indices of the values any of which may break a rising order; none where it rises.

    Those of the first broken pair without which the others rise; else the later of the pair.
    """
    broken = [index for index, (a, b) in enumerate(pairwise(values)) if a >= b]
    if not broken:
        return ()
    pair = (broken[0], broken[0] + 1)
    alone = tuple(index for index in pair if _rises_without(values, index))
    return alone or pair[1:]


def _rises_without(values: Sequence[float], index: int) -> bool:
    others = [value for place, value in enumerate(values) if place != index]
    return all(a < b for a, b in pairwise(others))


@once
def depths(case: Case) -> dict[str, Quantity]:
    """The depths that are known, by name; a generous well may not fall while it is pumped."""
    found = [(name, case.find(f"/site/{name}")) for name in DEPTHS]
    return {name: read for name, read in found if read is not None}


@once
def odd_of_depths(case: Case) -> Odd | None:
    """What does not fit among them."""
    row = depths(case)
    rising = [*row]
    if rising[:2] == [STATIC, PUMPED] and _stays(row[STATIC], row[PUMPED]):
        rising = rising[1:]
    if len(rising) < 2:
        return None
    row = {name: row[name] for name in rising}
    found = odd_ones([each.si for each in row.values()])
    if found:
        return Odd("order", row, tuple(rising[index] for index in found))
    return _in_another_unit(row)


def _stays(static: Quantity, pumped: Quantity) -> bool:
    return not higher(static, pumped) and not higher(pumped, static)


# -- what rests on them ---------------------------------------------------------------------------


@once
def in_doubt(case: Case) -> Mapping[str, str]:
    """Rules that name a value of the site as not fitting, by its name, unless accepted."""
    rests: dict[str, str] = {}
    if SITE_ORDER not in case.accepted:
        rests = {name: SITE_ORDER for odd in odd_of_site(case) for name in _doubtful(odd)}
    if WELL_ORDER not in case.accepted and case.is_("/site/suction_kind", "well"):
        odd = odd_of_depths(case)
        rests |= dict.fromkeys(_doubtful(odd) if odd is not None else (), WELL_ORDER)
    return rests


def _doubtful(odd: Odd) -> Collection[str]:
    """Of two in different units either may be the wrong one, whichever is named."""
    return odd.row.keys() if odd.variant == "unit" and len(odd.row) == 2 else odd.names
