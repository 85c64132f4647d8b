"""Rule of the flow that was measured against what pump and main agree on at that frequency."""

from collections.abc import Iterator

from calculations.aspects import duty, group, holding, system
from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import above, below
from calculations.rules.measured_points import has_points
from calculations.rules.pump_curve import has_curve
from calculations.rules.speed_limits import RESTS_ON_CURVE

HEAD_ROOM = 1.10
"""Head over that of the system [1] up to which no flow is computed; no source."""

FEWEST = 2
"""Points that have to tell it, and all of them: one alone may have been throttled to try it."""

SAME_FREQUENCY = 0.5
"""How near two frequencies are that are one [Hz]; no source."""


def _flow(case: Case, place: str) -> Iterator[Finding]:
    limit = case.limit("system.flow.share")
    judged = _with_most_flow(case, [e for e in case.elements(POINTS) if _is_alone(case, e)])
    if len(judged) < FEWEST or not all(_has_more_head(case, each) for each in judged):
        return
    shares = {each: _expected(case, each) for each in judged}
    found = [(case.si(f"{at}/flow") / flow, at) for at, flow in shares.items() if flow]
    if len(found) < FEWEST:
        raise Missing(system.POINTS, because="pump and system do not meet at two frequencies")
    if not all(below(share + duty.flow_uncertainty(case, each), limit) for share, each in found):
        return
    share, at = max(found, key=lambda each: case.si(f"{each[1]}/flow"))
    flow, hertz = case.require(f"{at}/flow", f"{at}/frequency")
    yield FLOW.finding(
        "below", "review", f"{at}/flow",
        compared={"flow": flow, "expected": about(shares[at], flow.unit), "at": hertz},
        limit=f"{percent(limit)} of that", share=percent(share), points=len(found),
    )  # fmt: skip


def _is_alone(case: Case, place: str) -> bool:
    """Whether this pump alone delivered through the main at a point."""
    if case.is_(f"{place}/purpose", "shut_off") or not case.find(f"{place}/frequency"):
        return False
    flow, others = case.find(f"{place}/flow"), case.find(f"{place}/other_pumps_running")
    alone = others == 0 or (others is None and group.may_run(case) == 1)
    return alone and flow is not None and above(flow.si, 0.0)


def _with_most_flow(case: Case, places: list[str]) -> list[str]:
    """Of points at one frequency that of most flow: the others were throttled to try the pump."""
    found: list[str] = []
    for place in sorted(places, key=lambda each: -case.si(f"{each}/flow")):
        hertz = case.si(f"{place}/frequency")
        if all(abs(case.si(f"{each}/frequency") - hertz) > SAME_FREQUENCY for each in found):
            found.append(place)
    return found


def _has_more_head(case: Case, place: str) -> bool:
    """Whether the pump made clearly more head than the system asks for at its flow."""
    asked = system.curve(case, "low").head(case.si(f"{place}/flow"))
    return above(duty.total_head(case, place), HEAD_ROOM * asked)


def _expected(case: Case, place: str) -> float:
    """Flow of the pump on the system at the lowest suction, its least there [m3/s].

    0 where nothing flows then, or where a recorded curve of the system ends before.
    """
    try:
        return system.flow(case, case.si(f"{place}/frequency"), "low")
    except Missing as missing:
        if missing.places == (system.POINTS,):
            return 0.0
        raise


FLOW = Rule(
    id="system.flow",
    title="Measured flow against that of pump and main",
    severities=("review",),
    condition="Where no pressure is kept and this pump runs alone, not all of its points, at two "
    "frequencies or more and of each that of most flow, have less than 80 % of the flow that pump "
    "and system agree on at that frequency and the lowest suction, the uncertainty of the flow "
    "granted, with more head than the system asks for.",
    source="affinity laws and system curves, HI engineering data; limit: common practice, no "
    "source",
    subject=POINTS,
    needs=(POINTS,),
    waits_for=("system.curve", "motor.power-balance", *RESTS_ON_CURVE, "curve.point",
               "speed.zero-flow", "region.run-out", "suction.reading"),
    applies=lambda case: has_points(case) and has_curve(case) and holding.lifts(case),
    check=_flow,
    limits={"share": Limit(80, "%", "of the flow on the system", "higher", "common practice")},
    sentences={
        "below": "{flow} were measured at {at}, {share} of the {expected} that the pump gives on "
        "this main even at the lowest suction; it is so at all {points} frequencies, and the pump "
        "is on its curve: the main asks for more head than it should.",
    },
    remedies={
        "below": "Look for a valve that is not fully open, a check valve that sticks, air and "
        "deposits in the main; if there are none, correct design flow and head of the system.",
    },
)  # fmt: skip
