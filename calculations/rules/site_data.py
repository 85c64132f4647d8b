"""Rules of the site's data against each other: ranges in order, a system that can be."""

from collections.abc import Iterator

from calculations.aspects import holding, in_order, suction, system
from calculations.aspects.in_order import Odd
from calculations.case import Case, Waits
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, entered, percent, spaced
from calculations.rules.closeness import above, below

# -- order --------------------------------------------------------------------------------------


def _has_order(case: Case) -> bool:
    known = in_order.known(case).keys()
    return any(len(known & names) > 1 for names in (*in_order.RANGES, *in_order.LEVELS))


def _order(case: Case, place: str) -> Iterator[Finding]:
    for odd in in_order.odd_of_site(case):
        is_height = odd.variant != "reversed" and odd.row.keys() <= _HEIGHTS
        if is_height and _is_told_by_datum(case, odd):
            raise Waits(suction.DATUM)  # it tells why one of them lies apart
        yield _reversed(odd) if odd.variant == "reversed" else _odd(odd)


def _is_told_by_datum(case: Case, odd: Odd) -> bool:
    """Whether a height does not count from the pump, unless the rule of that waits for this one."""
    found = None if suction.DATUM in case.accepted else suction.misplaced(case)
    if found is None:
        return False
    pointer, slip = found
    return slip != "lift" or pointer.removeprefix("/site/") not in odd.names


_HEIGHTS = {name for names in in_order.LEVELS for name in names}


def _reversed(odd: Odd) -> Finding:
    (low, lowest), (high, highest) = odd.row.items()
    return ORDER.finding(
        "reversed", "review", f"/site/{low}",
        compared={"lowest": lowest, "highest": highest}, low=spaced(low), high=spaced(high),
        units=TWO_UNITS if lowest.unit != highest.unit else "",
    )  # fmt: skip


def _odd(odd: Odd) -> Finding:
    (name,) = odd.names
    read = odd.row[name]
    row = ", ".join(f"{spaced(each)} {entered(value)}" for each, value in odd.row.items())
    if odd.meant is not None:
        return ORDER.finding(
            "unit", "review", f"/site/{name}", compared=odd.row,
            odd=spaced(name), entered=entered(read), meant=entered(odd.meant), row=row,
        )  # fmt: skip
    units = {value.unit for each, value in odd.row.items() if each != name}
    return ORDER.finding(
        "levels", "review", f"/site/{name}", compared=odd.row, odd=spaced(name), row=row,
        units=TWO_UNITS if {read.unit} != units else "",
    )  # fmt: skip


TWO_UNITS = "Two units are mixed. "

ORDER = Rule(
    id=in_order.SITE_ORDER,
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
