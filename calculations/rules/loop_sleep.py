"""Rules of sleep."""

from collections.abc import Iterator
from math import sqrt

from calculations.aspects import holding, loop, pumping, sleeping, storage, suction
from calculations.aspects.pump_torque import FROM_MEMORY
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, like, percent, roughly, show
from calculations.rules.closeness import above, below, less_or_more
from calculations.rules.loop_set_point import SCALED, SET_POINT
from calculations.rules.speed_limits import MAXIMUM, MINIMUM, RESTS_ON_CURVE
from calculations.system_curves import TURBULENT_EXPONENT
from calculations.units import Quantity

SLEEP = "/settings/sleep_frequency"
FLOW_UNIT = like("/pump/rated_flow", "m3/h")
AIM = (*SCALED, "loop.differential", "loop.set-point-unit", "loop.limits-order",
       "loop.set-point-in-span", "loop.set-point-reachable")  # fmt: skip
"""What has to be right before the loop's aim means anything."""

WEIGHT = "site.liquid-temperature"
"""The rule without which a tenth of a hertz means nothing: hot water weighs 2 % less."""


def sleeps(case: Case) -> bool:
    """Whether the drive may fall asleep at low demand."""
    return loop.is_closed(case) and not case.is_("/settings/sleep_method", "none")


def _on_pressure(case: Case) -> bool:
    """Whether the loop may keep a pressure that the pump makes."""
    return loop.regulates(case, "discharge_pressure", "differential_pressure")


def sleeps_on_frequency(case: Case) -> bool:
    """Whether the drive may fall asleep at a frequency."""
    return sleeps(case) and case.find("/settings/sleep_method") in (None, "frequency")


# -- sleep range --------------------------------------------------------------------------------


def _sleep_range(case: Case, place: str) -> Iterator[Finding]:
    sleep, lowest, highest = case.require(SLEEP, MINIMUM, MAXIMUM)
    compared: dict[str, Shown | Quantity] = {
        "sleep": sleep,
        "minimum": lowest,
        "maximum": highest,
    }
    if below(sleep.si, lowest.si):
        yield SLEEP_RANGE.finding("below_minimum", "review", place, compared=compared)
    elif not below(sleep.si, highest.si):
        yield SLEEP_RANGE.finding("at_maximum", "review", place, compared=compared)


SLEEP_RANGE = Rule(
    id="loop.sleep-range",
    title="Sleep frequency between minimum and maximum frequency",
    severities=("review",),
    condition="The sleep frequency is not below the minimum frequency, and below the maximum.",
    source="logic",
    subject=SLEEP,
    needs=("/settings/sleep_method", SLEEP, MINIMUM, MAXIMUM),
    waits_for=("speed.order",),
    applies=sleeps_on_frequency,
    check=_sleep_range,
    sentences={
        "below_minimum": "Sleep frequency {sleep} is below the minimum frequency {minimum}: the "
        "drive never slows down to it and never sleeps.",
        "at_maximum": "Sleep frequency {sleep} is not below the maximum frequency {maximum}: the "
        "drive always counts as idle.",
    },
    remedies={
        "below_minimum": "Set the sleep frequency to {minimum} or more, above the zero-flow "
        "frequency.",
        "at_maximum": "Set the sleep frequency a little above the zero-flow frequency.",
    },
)

# -- sleep order --------------------------------------------------------------------------------


def _better(case: Case) -> dict[str, str]:
    """The sleep frequency to propose, and the remedy: to set it, if this rule and the next allow.

    Where the usual room over zero flow lets the pump deliver too much, the least room is tried.
    """
    frequency, fits = sleeping.proposal(case)
    sensible = str(about(frequency, "Hz"))
    if fits:
        return {"sensible": sensible, "better": f"Set the sleep frequency to about {sensible}."}
    highest = case.find(MAXIMUM)
    beyond = highest is not None and not below(frequency, highest.si)
    why = (
        f"The lowest that makes sense, {sensible}, is not below the maximum frequency."
        if beyond
        else f"At the lowest that makes sense, {sensible}, the pump would still deliver too much."
    )
    better = f"Let flow or power put the pump to sleep: a frequency cannot. {why}"
    return {"sensible": sensible, "better": better}


def _sleep_order(case: Case, place: str) -> Iterator[Finding]:
    sleep = case.quantity(SLEEP)
    zero_flow, off, _, seen = sleeping.zero_flow(case)
    compared: dict[str, Shown | Quantity] = {
        "sleep": sleep,
        "set_point": case.quantity(SET_POINT),
        "zero_flow": show(zero_flow, "Hz"),
    }
    certain = zero_flow - off.less
    slowest = _slowest(case, zero_flow) if below(sleep.si, certain) else None
    if slowest is not None and not below(sleep.si, slowest):
        yield SLEEP_ORDER.finding(
            "droops", "review", place, compared=compared | {"slowest": show(slowest, "Hz", 3)},
            seen=_as_seen(seen), off=less_or_more(off, zero_flow, "Hz"),
        )  # fmt: skip
        return
    if below(sleep.si, certain):
        yield SLEEP_ORDER.finding(
            "unreachable", "review", place,
            compared=compared, limit=f"above {show(certain, 'Hz')}", seen=_as_seen(seen),
            off=less_or_more(off, zero_flow, "Hz"), **_better(case),
        )  # fmt: skip
        return
    wanted, flow = case.find("/site/system_design_flow"), case.value("sleep.flow")
    if (
        sleeping.is_its_share(case, flow)
        and wanted is not None
        and sleeping.is_its_share(case, sleeping.least_flow(case, sleep.si, "low"))
    ):
        compared |= {"flow": show(flow, wanted.unit), "wanted": wanted}
        yield SLEEP_ORDER.finding("immediate", "review", place, compared=compared, **_better(case))
        return
    yield from _boost_reachable(case)


def _slowest(case: Case, zero_flow: float) -> float | None:
    """Frequency [Hz] to which a pump whose curve droops slows, at its highest head; else None.

    The set point is held there with flow, at no flow it takes more: sqrt(H_0 / H) of it, H being
    the highest head less what the flow adds to the head that is needed.
    """
    points = pumping.rows(case)
    summit = max(points, key=lambda each: each.head)
    if holding.is_kept_from_a_well(case):
        added = holding.drawdown(case, summit.flow)
    else:
        added = sleeping.remote_loss(case) * summit.flow**TURBULENT_EXPONENT
    left = summit.head - added
    closed = points[0].head
    return zero_flow * sqrt(closed / left) if left > closed else None


def _as_seen(seen: bool) -> str:
    return ", by what was read at the closed valve" if seen else ""


def _boost_reachable(case: Case) -> Iterator[Finding]:
    boost, highest = case.find("/settings/sleep_boost"), case.quantity(MAXIMUM)
    if boost is None or case.find("/settings/sleep_boost_time_limit") is not None:
        return
    raised = loop.set_point(case) + loop.boost(case)
    head = loop.required_head(case, "low", raised)
    needed = pumping.zero_flow_frequency(case, head)
    off = pumping.zero_flow_off(case, head)
    if not below(needed - off.less, highest.si):
        yield SLEEP_ORDER.finding(
            "boost", "review", case.place("/settings/sleep_boost"),
            compared={"boost": boost, "maximum": highest, "needed": show(needed, "Hz")},
            off=less_or_more(off, needed, "Hz"),
        )  # fmt: skip


SLEEP_ORDER = Rule(
    id="loop.sleep-order",
    title="Sleep frequency within reach",
    severities=("review",),
    condition="The sleep frequency is above the zero-flow frequency at the set point and the "
    "lowest suction, as a closed-valve reading of the visit tells it, else the curve; the pump "
    "does not fall asleep at its share of the design flow; a boost before sleep is within reach or "
    "limited in time. What slip and gauges leave uncertain is allowed for.",
    source="logic; affinity laws at zero flow, HI engineering data, equation 1.B.6; slip by the "
    f"torque; {FROM_MEMORY}",
    subject=SLEEP,
    needs=("/settings/sleep_method", SLEEP, MINIMUM, MAXIMUM),
    waits_for=(*AIM, *RESTS_ON_CURVE, WEIGHT, "speed.order", "loop.sleep-range"),
    applies=lambda case: sleeps_on_frequency(case) and loop.keeps_pressure_of_pump(case),
    check=_sleep_order,
    limits={
        "above": Limit(1, "Hz", "sleep over zero-flow frequency, as proposed", "higher",
                       "common practice"),
    },
    sentences={
        "unreachable": "Sleep frequency {sleep} is below {zero_flow}{off}, where the pump holds "
        "{set_point} without any flow at the lowest suction{seen}: while the set point is held the "
        "drive never slows down to it and never sleeps.",
        "droops": "Sleep frequency {sleep} is below {zero_flow}{off}, where the pump holds "
        "{set_point} without any flow at the lowest suction{seen}; but the pump's curve droops, "
        "and the drive slows down to about {slowest} while it still delivers: it falls asleep "
        "then, and not at no flow.",
        "immediate": "At the sleep frequency {sleep} the pump still delivers {flow} at "
        "{set_point}, not less than its share of the design flow {wanted}: it falls asleep in "
        "ordinary service.",
        "boost": "The boost of {boost} before sleep needs {needed}{off} at the lowest suction, "
        "above the maximum frequency {maximum}, and has no time limit: the drive never gets to "
        "sleep.",
    },
    remedies={
        "unreachable": "{better}",
        "droops": "Let flow or power put the pump to sleep: at one frequency this pump has two "
        "flows.",
        "immediate": "{better}",
        "boost": "Lower the boost, or limit its time.",
    },
)  # fmt: skip


# -- sleep window -------------------------------------------------------------------------------


def _sleep_window(case: Case, place: str) -> Iterator[Finding]:
    sleep = case.quantity(SLEEP)
    zero_flow, off, _, _ = sleeping.zero_flow(case)
    compared: dict[str, Shown | Quantity] = {"sleep": sleep, "zero_flow": show(zero_flow, "Hz")}
    least = case.limit("loop.sleep-window.least")
    room = sleep.si - zero_flow
    hardly = not below(room, -off.less) and not _another_way(case)
    if hardly and below(room + off.less, least):
        yield SLEEP_WINDOW.finding(
            "narrow", "review", place,
            compared=compared, limit=f"at least {show(least, 'Hz')}",
            **_better(case),
        )  # fmt: skip
        return
    if hardly and below(room, least) and not above(room, off.more):
        yield SLEEP_WINDOW.finding(
            "perhaps_narrow", "note", place,
            compared=compared | {"uncertain": show(max(off), "Hz")},
            limit=f"at least {show(least, 'Hz')}",
            **_better(case),
        )  # fmt: skip
    yield from _much_flow(case, place, compared)


def _much_flow(case: Case, place: str, compared: dict[str, Shown | Quantity]) -> Iterator[Finding]:
    """Asleep while a good part of the pump's best flow is still being drawn."""
    best = sleeping.best_flow(case, case.si(SLEEP))
    least, most = case.value("sleep.flow"), case.value("sleep.flow-at-highest-suction")
    share = case.limit("loop.sleep-window.share")
    if not best or not above(most, share * best):
        return
    certain_least, certain_most = (
        sleeping.least_flow(case, case.si(SLEEP), end) for end in suction.ENDS
    )
    if not above(certain_most, share * best):
        return
    lasts = storage.lasting(case, most)
    limits = {name: case.limit(f"loop.sleep-window.{name}") for name in ("busy", "beyond")}
    busy = above(certain_least, limits["busy"] * best)
    beyond = not busy and above(certain_most, limits["beyond"] * best)
    variant = "busy" if busy else "beyond" if beyond else "much_flow"
    flow = least if busy else most
    unit = FLOW_UNIT(case)
    yield SLEEP_WINDOW.finding(
        variant, "note" if variant == "much_flow" else "review", place,
        compared=compared | {"flow": show(flow, unit), "best": show(best, unit)},
        limit=percent(limits.get(variant, share)),
        share=percent(flow / best),
        **_better(case),
        lasts=f"; the vessels give that for {roughly(lasts, 's')}" if lasts is not None else "",
    )  # fmt: skip


def _another_way(case: Case) -> bool:
    stops = case.is_("/settings/no_flow_response", "stop", "stop_and_retry")
    return stops or case.find("/site/minimum_flow_path") not in (None, "none")


SLEEP_WINDOW = Rule(
    id="loop.sleep-window",
    title="Room between sleep and zero flow",
    severities=("review", "note"),
    condition="The sleep frequency is 0.5 Hz or more above the zero-flow frequency at the lowest "
    "suction, or something else ends pumping at no flow (a note where slip alone decides whether "
    "it is above at all); at the highest suction the pump does not fall asleep above 50 % of its "
    "best-efficiency flow (note) or above all of it (review); at the lowest suction not above 70 % "
    "(review). What slip and gauges leave uncertain is allowed for.",
    source="affinity laws, HI engineering data, equation 1.B.6; slip by the torque; "
    f"{FROM_MEMORY}; limits from memory",
    subject=SLEEP,
    needs=("/settings/sleep_method", SLEEP, SET_POINT, "/settings/regulated_quantity"),
    waits_for=(*AIM, *RESTS_ON_CURVE, WEIGHT, "speed.order", "loop.sleep-order"),
    applies=lambda case: sleeps_on_frequency(case) and _on_pressure(case),
    check=_sleep_window,
    limits={
        "least": Limit(0.5, "Hz", "sleep over zero-flow frequency", "higher", "from memory"),
        "share": Limit(50, "%", "flow at sleep over best-efficiency flow", "lower", "from memory"),
        "busy": Limit(70, "%", "the same at the lowest suction", "lower", "from memory"),
        "beyond": Limit(
            100, "%", "the same at the highest suction, to be answered", "lower", "common practice"
        ),
    },
    sentences={
        "narrow": "Sleep frequency {sleep} is hardly apart from {zero_flow}, where nothing flows "
        "at the lowest suction: slip and noise decide whether the drive sleeps, and nothing else "
        "ends pumping at no flow.",
        "perhaps_narrow": "Sleep frequency {sleep} is hardly apart from {zero_flow}, where nothing "
        "flows at the lowest suction, and slip and gauges leave {uncertain} of that uncertain: "
        "the drive may never slow down to it, and nothing else ends pumping at no flow.",
        "much_flow": "At the highest suction the pump falls asleep while it still delivers {flow}, "
        "{share} of its best-efficiency flow at that speed ({best}){lasts}.",
        "beyond": "At the highest suction the pump falls asleep while it delivers {flow}, {share} "
        "of its best-efficiency flow at that speed ({best}): it switches "
        "off while water is being drawn{lasts}.",
        "busy": "At the sleep frequency {sleep} the pump still delivers {flow} even at the lowest "
        "suction, {share} of its best-efficiency flow at that speed ({best}): it switches "
        "off while water is being drawn{lasts}.",
    },
    remedies=dict.fromkeys(("narrow", "beyond", "busy"), "{better}")
    | {
        "perhaps_narrow": "{better} Surer: by hand, not by the loop, whose transmitter may lie "
        "behind the valve, raise the speed against the closed discharge valve until the gauge "
        "before it shows the set point; no further than pump and pipework bear, for no longer than "
        "the pump's manual allows. Record that frequency as a point at shut-off, and count from "
        "there.",
    },
)
