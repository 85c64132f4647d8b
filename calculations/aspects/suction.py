"""Where the liquid stands before the pump: its grade line, as an elevation over the site datum."""

from typing import Literal

from calculations.aspects import liquid
from calculations.case import Case, Missing

End = Literal["low", "high"]
ENDS: tuple[End, End] = ("low", "high")

# Grade line by kind of suction; depths are positive downwards from the well head, at the datum.
_LEVELS = ("flooded_tank", "wet_well", "suction_lift")
_WELL_DEPTHS: dict[End, str] = {
    "low": "/site/pumping_water_depth",
    "high": "/site/static_water_depth",
}


def grade(case: Case, end: End) -> float:
    """Lowest or highest grade line of the suction [m over the site datum] while nothing flows.

    A pressure counts at the height of the suction sensor, or at the datum where there is none.
    """
    low, high = (_place(case, each) for each in ENDS)
    lowest, highest = case.find(low), case.find(high)
    deep = case.is_("/site/suction_kind", "well")
    if lowest and highest and (lowest.si < highest.si if deep else lowest.si > highest.si):
        raise Missing(low, high, because="the lowest lies above the highest")
    value = case.si(low if end == "low" else high)
    if deep:
        return -value
    if case.is_("/site/suction_kind", *_LEVELS):
        return value
    return gauge_elevation(case) + liquid.head(case, value)


def _place(case: Case, end: End) -> str:
    kind = case.word("/site/suction_kind")
    if kind == "well":
        return _WELL_DEPTHS[end]
    return f"/site/suction_{'level' if kind in _LEVELS else 'pressure'}_{end}"


def gauge_elevation(case: Case) -> float:
    """Height at which suction pressures of the site count [m over the site datum]."""
    found = case.find("/suction_sensor/tapping_elevation")
    return float(found.si) if found is not None else 0.0


def pressure(case: Case, end: End, elevation: float) -> float:
    """Lowest or highest suction pressure [Pa], seen at an elevation [m]."""
    return liquid.pressure(case, grade(case, end) - elevation)
