"""Rules of the site's data against each other: ranges in order, a system that can be."""

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise

from calculations.aspects import holding, suction, system
from calculations.case import Case, Waits, once
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, entered, percent, spaced
from calculations.rules.closeness import above, below
from calculations.rules.mix_ups import odd_unit
from calculations.units import Quantity

RANGES = (
    ("static_lift_low", "static_lift_high"),
    ("suction_level_low", "suction_level_high"),
    ("suction_pressure_low", "suction_pressure_high"),
    ("liquid_temperature_min", "liquid_temperature_max"),
    ("inflow_minimum", "inflow_average"),
    ("inflow_average", "inflow_peak"),
    ("inflow_minimum", "inflow_peak"),
)


# -- order --------------------------------------------------------------------------------------

LEVELS = (
    ("wet_well_floor", "suction_level_low", "suction_level_high", "overflow_level"),
    ("wet_well_floor", "inlet_invert", "overflow_level"),
)
"""Heights of a wet well that rise."""


@once
def _known(case: Case) -> dict[str, Quantity]:
    """Those of the site that belong into some order and are known, by name."""
    found = [(name, case.find(f"/site/{name}")) for name in _NAMES]
    return {name: read for name, read in found if read is not None}


def _has_order(case: Case) -> bool:
    known = _known(case).keys()
    return any(len(known & names) > 1 for names in (*RANGES, *LEVELS))


def _order(case: Case, place: str) -> Iterator[Finding]:
    told: set[str] = set()
    known = _known(case)
    for names, find in _LOOKS:
        if len(known.keys() & names) < 2:
            continue
        read = {name: known[name] for name in names if name in known}
        found = find(read) if told.isdisjoint(read) else None
        if found is None:
            continue
        told |= read.keys()
        if names in LEVELS and suction.misplaced(case) is not None:
            raise Waits(suction.DATUM)  # it tells why one of them lies apart
        yield found


def _pair(read: Mapping[str, Quantity]) -> Finding | None:
    (low, lowest), (high, highest) = read.items()
    if not suction.above(lowest, highest):
        return None
    return ORDER.finding(
        "reversed", "review", f"/site/{low}",
        compared={"lowest": lowest, "highest": highest}, low=spaced(low), high=spaced(high),
        units=TWO_UNITS if lowest.unit != highest.unit else "",
    )  # fmt: skip


def _levels(read: Mapping[str, Quantity]) -> Finding | None:
    odd = _odd(read)
    if odd is None:
        return None
    units = {each.unit for name, each in read.items() if name != odd}
    return ORDER.finding(
        "levels", "review", f"/site/{odd}", compared=read, odd=spaced(odd), row=_row(read),
        units=TWO_UNITS if {read[odd].unit} != units else "",
    )  # fmt: skip


def _odd(read: Mapping[str, Quantity]) -> str | None:
    """The one without which the others rise; None where all do.

    Of two such it is the one in a unit of its own, else the one further up.
    """
    broken = next((pair for pair in pairwise(read) if _falls(read, *pair)), None)
    if broken is None:
        return None
    units = [each.unit for each in read.values()]
    low, high = broken
    alone = [name for name in (high, low) if _rise_without(read, name)]
    return min(alone or [high], key=lambda name: units.count(read[name].unit))


def _falls(read: Mapping[str, Quantity], low: str, high: str) -> bool:
    return suction.above(read[low], read[high])


def _rise_without(read: Mapping[str, Quantity], name: str) -> bool:
    others = [other for other in read if other != name]
    return not any(_falls(read, *pair) for pair in pairwise(others))


def _in_another_unit(read: Mapping[str, Quantity]) -> Finding | None:
    found = odd_unit(read)
    if found is None:
        return None
    name, other = found
    return ORDER.finding(
        "unit", "review", f"/site/{name}", compared=read,
        odd=spaced(name), entered=entered(read[name]), meant=entered(other), row=_row(read),
    )  # fmt: skip


def _row(read: Mapping[str, Quantity]) -> str:
    return ", ".join(f"{spaced(name)} {entered(each)}" for name, each in read.items())


NOT_BY_UNIT = {*LEVELS[0], "liquid_temperature_min", "liquid_temperature_max"}
"""Looked at in a longer row, or temperatures: a liquid may be cold and hot, and of two far
apart nothing tells which stands in another unit."""

_LOOKS: tuple[tuple[tuple[str, ...], Callable[[Mapping[str, Quantity]], Finding | None]], ...] = (
    *((names, _pair) for names in RANGES),
    *((names, _levels) for names in LEVELS),
    *((names, _in_another_unit) for names in LEVELS),
    *((names, _in_another_unit) for names in RANGES if not set(names) < NOT_BY_UNIT),
)
"""Names, and what is looked for among them: in a longer row it is plain which one is odd."""

_NAMES = tuple(dict.fromkeys(name for names in (*RANGES, *LEVELS) for name in names))

TWO_UNITS = "Two units are mixed. "

ORDER = Rule(
    id=suction.SITE_ORDER,
    title="Ranges of the site in order",
    severities=("review",),
    condition="Lowest lift, suction and temperature are not above the highest, and the inflow's "
    "minimum, average and peak rise; so do floor, levels and overflow of a wet well. Where one of "
    "such a row stands in another unit than the others, it does not fit as well or better between "
    "them in theirs.",
    source="logic",
    subject="/site",
    applies=_has_order,
    check=_order,
    sentences={
        "reversed": "{units}The {low} of {lowest} is above the {high} of {highest}: one of them is "
        "wrong, or they stand in each other's place.",
        "levels": "{units}The heights of the well are not in order, {odd} does not fit: {row}.",
        "unit": "Probably the {odd} is {meant}, not {entered}: it stands in another unit than what "
        "belongs to it ({row}), and in theirs it lies nearer to it.",
    },
    remedies={
        "reversed": "Read both again; heights count upwards from the site's datum.",
        "levels": "Read the heights again; they count upwards from the site's datum.",
        "unit": "Read it again with its unit, and enter {meant} if that is what it was.",
    },
)


# -- system ---------------------------------------------------------------------------------------


def _system(case: Case, place: str) -> Iterator[Finding]:
    fall = system.falls(case)
    if fall is not None:
        yield from _falling(case, fall)
    elif holding.lifts(case):
        yield from _against_lifts(case)


def _falling(case: Case, index: int) -> Iterator[Finding]:
    here, before = f"{system.POINTS}/{index}", f"{system.POINTS}/{index - 1}"
    yield SYSTEM.finding(
        "falls", "review", here,
        compared={
            "flow": case.quantity(f"{here}/flow"), "head": case.quantity(f"{here}/head"),
            "flow_before": case.quantity(f"{before}/flow"),
            "head_before": case.quantity(f"{before}/head"),
        },
        number=index + 1,
    )  # fmt: skip


def _against_lifts(case: Case) -> Iterator[Finding]:
    """Where a lift is pumped against, the system begins at it, and friction comes on top."""
    highest, head = case.find(holding.LIFT["low"]), case.find("/site/system_design_head")
    if highest and head and below(head.at_most, highest.at_least):
        yield SYSTEM.finding(
            "design", "review", "/site/system_design_head",
            compared={"head": head, "lift": highest},
        )  # fmt: skip
        return
    apart = system.apart_from_lifts(case)
    if apart is None or not above(apart, case.limit("system.curve.lift")):
        return
    yield SYSTEM.finding(
        "lift", "review", f"{system.POINTS}/0",
        compared={
            "head": case.quantity(f"{system.POINTS}/0/head"),
            "low": case.quantity(holding.LIFT["high"]), "high": case.quantity(holding.LIFT["low"]),
        },
        limit=f"{percent(case.limit('system.curve.lift'))} of the curve's highest head",
        apart=about(apart, "%"),
    )  # fmt: skip


SYSTEM = Rule(
    id=system.RULE,
    title="System curve against itself and the static lifts",
    severities=("review",),
    condition="The head that the system asks for does not fall with flow; where the pump works "
    "against a static lift, a curve that begins at no flow begins between the lowest and the "
    "highest lift (10 % of its highest head allowed), and the design head is not below the lift.",
    source="friction grows with flow, HI engineering data, system curves; 10 %: common practice, "
    "no source",
    subject=system.POINTS,
    applies=lambda case: bool(case.find(system.POINTS)) or holding.lifts(case),
    check=_system,
    limits={"lift": Limit(10, "%", "from the lifts, of the highest head", "lower",
                          "common practice")},
    sentences={
        "falls": "The system curve falls from {head_before} at {flow_before} to {head} at {flow} "
        "(point {number}): no pipe asks for less head at more flow.",
        "lift": "The system curve begins at {head} without flow, but the static lift is {low} to "
        "{high}: {apart} of its highest head apart.",
        "design": "The system's design head {head} is below the highest static lift {lift}: "
        "nothing would flow at that lift.",
    },
    remedies=dict.fromkeys(
        ("falls", "lift", "design"), "Read the points of the system curve and the lifts again."
    ),
)  # fmt: skip
