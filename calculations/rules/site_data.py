"""Rules of the site's data against each other: ranges in order, a system that can be."""

from collections.abc import Iterator

from calculations.aspects import holding, suction, system
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, percent, spaced
from calculations.rules.closeness import above, below

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


def _ranges(case: Case) -> Iterator[tuple[str, str]]:
    """Names of the ranges of which both ends are known."""
    for pair in RANGES:
        if all(case.find(f"/site/{name}") is not None for name in pair):
            yield pair


def _order(case: Case, place: str) -> Iterator[Finding]:
    told: set[str] = set()
    for low, high in _ranges(case):
        lowest, highest = case.quantity(f"/site/{low}"), case.quantity(f"/site/{high}")
        if not suction.above(lowest, highest) or told & {low, high}:
            continue
        told |= {low, high}
        yield ORDER.finding(
            "reversed", "review", f"/site/{low}",
            compared={"lowest": lowest, "highest": highest},
            low=spaced(low), high=spaced(high),
        )  # fmt: skip


ORDER = Rule(
    id=suction.SITE_ORDER,
    title="Ranges of the site in order",
    severities=("review",),
    condition="Lowest lift, suction and temperature are not above the highest, and the inflow's "
    "minimum, average and peak rise.",
    source="logic",
    subject="/site",
    applies=lambda case: any(_ranges(case)),
    check=_order,
    sentences={
        "reversed": "The {low} of {lowest} is above the {high} of {highest}: one of them is wrong, "
        "or they stand in each other's place.",
    },
    remedies={"reversed": "Read both again; heights count upwards from the site's datum."},
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
