"""Rule of pressures that were measured far above the set point while the loop could still slow."""

from collections.abc import Iterator
from typing import NamedTuple

from calculations.aspects import liquid, loop
from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, roughly
from calculations.rules.closeness import above
from calculations.rules.loop_limits import highest_aim
from calculations.rules.loop_set_point import SCALED, SET_POINT
from calculations.rules.loop_signal import shown
from calculations.rules.point_slips import misread
from calculations.rules.speed_limits import MINIMUM
from calculations.units import Quantity

IN_SERVICE = ("design", "normal", "minimum", "maximum")
"""Points that a loop may have been left to run at; a shut-off is driven by hand."""

AT_MINIMUM = 0.5
"""How near to its minimum frequency a drive shows that it is held there [Hz]; no source."""

BY_HAND = 0.05
"""How near to the speed set for hand a point was run by hand [Hz]: as it is displayed."""

ELSEWHERE, REMOTE = ("remote", "tank"), "remote"
"""Where a sensor does not see the pressure beside the pump; who writes the set point elsewhere."""


class Over(NamedTuple):
    """A point at which more was read than the loop aims at."""

    place: str
    over: float
    """By how much [Pa]."""
    at_minimum: bool
    in_service: bool

    @property
    def severity(self) -> Severity:
        """Only a point of ordinary service was certainly left to the loop."""
        return "review" if self.in_service and not self.at_minimum else "note"


def _held(case: Case, place: str) -> Iterator[Finding]:
    found = _found(case)
    if not found:
        return
    worst = max(found, key=lambda each: (each.severity == "review", each.over))
    read = case.quantity(f"{worst.place}/discharge_pressure")
    yield SET_POINT_HELD.finding(
        "at_minimum" if worst.at_minimum else "above", worst.severity, worst.place,
        compared={
            "read": read,
            "set_point": case.quantity(SET_POINT),
            "frequency": case.quantity(f"{worst.place}/frequency"),
            "minimum": case.quantity(MINIMUM),
        },
        limit=f"at most {shown(case, _allowed(case))} above",
        over=roughly(worst.over, read.unit),
    )  # fmt: skip


def _found(case: Case) -> list[Over]:
    """Points with too much; `Missing` where there is none and one could not be told."""
    found: list[Over] = []
    lacking: list[str] = []
    for place in case.elements(POINTS):
        try:
            over = _over(case, place)
        except Missing as missing:
            lacking += missing.places
            continue
        found += [over] if over is not None else []
    if lacking and not found:
        raise Missing(*dict.fromkeys(lacking))
    return found


def _allowed(case: Case) -> float:
    share, least = map(case.limit, ("loop.set-point-held.share", "loop.set-point-held.least"))
    return max(share * abs(highest_aim(case)[0]), least)


def _over(case: Case, place: str) -> Over | None:
    if not case.is_(f"{place}/purpose", *IN_SERVICE):
        return None
    frequency, lowest = case.require(f"{place}/frequency", MINIMUM)
    if _by_hand(case, frequency) or _others_ran(case, place):
        return None
    if "curve.point" not in case.accepted and misread(case, place):
        raise Waits("curve.point")
    aim, read = highest_aim(case)[0], case.quantity(f"{place}/discharge_pressure")
    height = case.si(f"{place}/discharge_gauge_elevation") - loop.set_point_elevation(case)
    over = read.at_least + liquid.pressure(case, height) - aim
    if not above(over, _allowed(case)):
        return None
    held = not above(frequency.si, lowest.si + AT_MINIMUM)
    if held and _suction_holds(case, place, aim):
        return None
    return Over(place, over, held, case.is_(f"{place}/purpose", "normal"))


def _by_hand(case: Case, frequency: Quantity) -> bool:
    by_hand = case.find("/settings/hand_speed")
    return by_hand is not None and not above(abs(frequency.si - by_hand.si), BY_HAND)


def _others_ran(case: Case, place: str) -> bool:
    """Whether other pumps kept the pressure up; asked where there may be any."""
    others: int | None = case.find(f"{place}/other_pumps_running")
    if others is None and (case.find("/neighbours") or _in_group(case)):
        case.require(f"{place}/other_pumps_running")
    return bool(others)


def _in_group(case: Case) -> bool:
    return (case.find("/settings/pumps_in_group") or 1) > 1


def _suction_holds(case: Case, place: str, aim: float) -> bool:
    """Whether the suction alone gives what is aimed at, so that no speed could lower it."""
    if case.find(f"{place}/suction_pressure") is None:
        return False
    suction, height = case.require(f"{place}/suction_pressure", f"{place}/suction_gauge_elevation")
    raised = height.si - loop.set_point_elevation(case)
    return not above(aim, suction.at_most + liquid.pressure(case, raised))


def _is_judged(case: Case) -> bool:
    """A pressure kept beside the pump, by a set point that is the one entered."""
    beside = not case.is_("/regulating_sensor/location", *ELSEWHERE)
    here = not case.is_("/settings/set_point_datum", REMOTE)
    own = not case.is_("/settings/set_point_source", REMOTE)
    return loop.keeps_discharge_pressure(case) and beside and here and own


SET_POINT_HELD = Rule(
    id="loop.set-point-held",
    title="Pressures measured in service against the set point",
    severities=("review", "note"),
    condition="At a point of ordinary service that is not at the minimum frequency, the gauge "
    "beside the pump, brought to the height at which the set point counts, shows at most 15 % of "
    "the set point (the highest of them, with its boost) and 0.5 bar above it; elsewhere and at "
    "the minimum frequency a note. Not judged where other pumps ran, at the speed set for hand, "
    "with a set point or sensor elsewhere, or where at the minimum frequency the suction alone "
    "gives that pressure.",
    source="definition of a regulated quantity; limits: common practice, no source",
    subject=POINTS,
    needs=(SET_POINT, POINTS),
    waits_for=(*SCALED, "site.datum", "loop.kinds", "loop.input-selector", "loop.action",
               "loop.set-point-unit", "loop.set-point-in-span", "speed.order", "curve.point",
               "curve.points-agree", "rotation.reversed", "suction.reading"),
    waits_at=lambda case, _: bool(case.find(POINTS)),
    applies=_is_judged,
    check=_held,
    limits={
        "share": Limit(15, "%", "of the set point, above it", "lower", "common practice"),
        "least": Limit(0.5, "bar", "above the set point, at the least", "lower", "common practice"),
    },
    sentences={
        "above": "At {frequency} the gauge showed {read}, some {over} more than the set point "
        "{set_point} asks for there, though the drive could still slow down to {minimum}: the "
        "loop did not regulate, or the two are not counted from one height or in one sense.",
        "at_minimum": "At the minimum frequency {minimum} the gauge showed {read}, some {over} "
        "more than the set point {set_point} asks for there: the pump cannot slow down further: "
        "either nobody drew water, or the suction had risen.",
    },
    remedies={
        "above": "If the point was run by hand, or with a valve throttled, say so; else compare "
        "gauge and feedback, and check the datum of the set point and the loop's direction.",
        "at_minimum": "Let the pump sleep at low demand, or lower the minimum frequency as far as "
        "pump and motor allow.",
    },
)  # fmt: skip
