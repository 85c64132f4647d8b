"""Levels of a wet well or tank as they are set, in one frame, whatever they are written in."""

from collections.abc import Sequence

from calculations.aspects import kinds, loop
from calculations.case import Case, Missing, once

EMPTYING = ("low_level_cutoff", "stop_level", "start_level", "lag_start_level", "high_level_alarm")
FILLING = ("low_level_cutoff", "lag_start_level", "start_level", "stop_level", "high_level_alarm")

WORDS = {
    "low_level_cutoff": "low cut-off",
    "stop_level": "stop",
    "start_level": "start",
    "lag_start_level": "lag start",
    "high_level_alarm": "high alarm",
}


def empties(case: Case) -> bool | None:
    """Whether the pump empties what the levels are in; None where that is not known."""
    if case.is_("/settings/regulated_quantity", "level_emptying"):
        return True
    if case.is_("/settings/regulated_quantity", "level_filling"):
        return False
    if case.is_("/site/suction_kind", "wet_well") or case.is_("/site/kind", "lift_station"):
        return True
    return False if case.is_("/site/kind", "reservoir_fill") else None


def start_and_stop_turned(case: Case) -> bool:
    """Whether start and stop stand the other way round than what is said to be regulated asks."""
    known = [case.find(f"/settings/{name}") for name in ("start_level", "stop_level")]
    if None in known or len({each.kind for each in known}) > 1:
        return False
    start, stop = (each.si for each in known)
    return start > stop if empties(case) is False else empties(case) is True and start < stop


def action_tells(case: Case) -> bool:
    """Whether the loop's direction goes with levels that are turned: `loop.action` tells it."""
    goes_with = "rising_feedback_slows" if empties(case) else "rising_feedback_speeds_up"
    return (
        case.is_("/settings/regulated_quantity", *loop.LEVELS)
        and case.is_("/settings/action", goes_with)
        and loop.is_closed(case)
        and start_and_stop_turned(case)
    )


def comparable(case: Case, known: Sequence[str]) -> list[float]:
    """Levels in one frame: all in % are their own, whatever % counts from."""
    found = [case.quantity(f"/settings/{name}") for name in known]
    if all(each.kind == "ratio" for each in found):
        return [each.si for each in found]
    return [value(case, name) for name in known]


@once
def are_set(case: Case) -> bool:
    """Whether levels start or stop the pump, or should."""
    given = any(case.find(f"/settings/{name}") is not None for name in EMPTYING)
    return case.settings is not None and (
        given or case.is_("/settings/regulated_quantity", *loop.LEVELS)
    )


def value(case: Case, name: str) -> float:
    """A level of the settings [m over their reference], also where it stands in % of span."""
    quantity = case.quantity(f"/settings/{name}")
    return quantity.si if quantity.kind != "ratio" else at_share(case, quantity.si)


def at_share(case: Case, share: float) -> float:
    """A level at a share of the span [m over their reference], of the loop's where on level."""
    if loop.on_level(case):
        return readable_range(case).at(share)
    if kinds.of_sensor(case, kinds.LEVEL_SENSOR) == "ratio":
        raise kinds.no_units(case.place("/level_sensor/upper_range_value"))
    ranged = loop.measuring_range(case, kinds.LEVEL_SENSOR).at(share)
    return ranged + case.si("/level_sensor/zero_elevation") - loop.level_reference(case)


def readable_range(case: Case) -> loop.Range:
    """What the transmitter of the levels reads [m over their reference]."""
    if not loop.on_level(case):
        return loop.Range(at_share(case, 0.0), at_share(case, 1.0))
    if case.find("/settings/feedback_at_lower_signal") and not loop.shows_percent(case):
        return loop.process_range(case)
    ranged, offset = loop.measuring_range(case), loop.shown_offset(case)
    if offset is None:
        raise Missing(case.place("/settings/level_reference"))
    return loop.Range(ranged.low + offset, ranged.high + offset)


def elevation(case: Case, name: str) -> float:
    """A level of the settings as an elevation [m over the site datum]."""
    return value(case, name) + loop.level_reference(case)


def unit(case: Case) -> str:
    """The unit that levels are read in."""
    for name in EMPTYING:
        found = case.find(f"/settings/{name}")
        if found is not None and found.kind == "length":
            return str(found.unit)
    found = case.find("/level_sensor/upper_range_value")
    return str(found.unit) if found is not None and found.kind == "length" else "m"
