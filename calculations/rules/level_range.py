"""Rules of levels against what reads them: the transmitter's range, the aim of a level loop."""

from collections.abc import Iterator

from calculations.aspects import kinds, levels, loop
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, each_alone, percent, show
from calculations.rules.closeness import above, below
from calculations.rules.levels import BELOW_OVERFLOW, LEVEL_TESTS, overflows_first
from calculations.rules.loop_set_point import CHAIN

BY_FLOAT_AS_WELL = ("high_level_alarm", "low_level_cutoff")
"""Levels that a float may give as well as the transmitter."""

TAPE = 0.05
"""How near a float has to hang to a level to be what gives it [m]; from memory."""


# -- in range -----------------------------------------------------------------------------------


def _set(case: Case) -> list[str]:
    return [name for name in levels.EMPTYING if case.find(f"/settings/{name}") is not None]


def _read_by_transmitter(case: Case) -> bool:
    return bool(_set(case))


def _in_range(case: Case, place: str) -> Iterator[Finding]:
    kinds.require_fit(case)
    low, high = sorted(levels.readable_range(case))
    return each_alone(*(_of_level(case, name, low, high) for name in _set(case)))


def _of_level(case: Case, name: str, low: float, high: float) -> Iterator[Finding]:
    entered = case.quantity(f"/settings/{name}")
    level = levels.value(case, name)
    over, under = above(level, high), below(level, low)
    if not (over or under) or _by_float(case, name, level):
        return
    overflow_told = BELOW_OVERFLOW.id not in case.accepted and overflows_first(case)
    if name == "high_level_alarm" and overflow_told:
        raise Waits(BELOW_OVERFLOW.id)
    severity, variant = _gravity(case, name, level, low, high)
    unit = levels.unit(case)
    yield IN_RANGE.finding(
        variant, severity, case.place(f"/settings/{name}"),
        compared={
            "level": entered,
            "lower": show(low, unit),
            "upper": show(high, unit),
        },
        limit="inside the transmitter's range", name=levels.WORDS[name],
        share=percent((level - low) / (high - low)),
    )  # fmt: skip


def _gravity(case: Case, name: str, level: float, low: float, high: float) -> tuple[Severity, str]:
    """Severity and sentence: a pump that never starts must not be handed over."""
    empties, span = levels.empties(case), high - low
    at_top, at_floor = _room(case)
    past_top = above(level, high + at_top * span)
    past_floor = below(level, low - at_floor * span)
    if name in ("start_level", "lag_start_level"):
        never = past_top if empties is True else past_floor if empties is False else False
        if never:
            return ("stop", "never_starts") if name == "start_level" else ("review", "never_starts")
    return "review", "high_alarm" if name == "high_level_alarm" else "outside"


def _room(case: Case) -> tuple[float, float]:
    """What the signal shows beyond the range's top and floor [1 of span].

    An inverted transmitter sends its highest signal at the floor.
    """
    over, under = map(case.limit, ("level.in-range.over", "level.in-range.under"))
    return (under, over) if levels.readable_range(case).span < 0 else (over, under)


def _by_float(case: Case, name: str, level: float) -> bool:
    """Whether a float was seen to act there, as far as the tests tell."""
    return name in BY_FLOAT_AS_WELL and any(
        test.name == "float" and test.level_measured is not None
        and not above(abs(test.level_measured.si - level), TAPE)
        for test in case.find(LEVEL_TESTS) or ()
    )  # fmt: skip


def _shown_by_loop(case: Case, place: str) -> bool:
    return loop.on_level(case)


IN_RANGE = Rule(
    id="level.in-range",
    title="Levels within what the transmitter reads",
    severities=("stop", "review"),
    condition="Start, stop, lag start, high alarm and low cut-off lie within the range that the "
    "level's transmitter reads. A start level beyond what its signal can show (3.8 to 20.5 mA of "
    "4 to 20 mA) is never reached: stop. An alarm or cut-off that a float was seen to give needs "
    "no transmitter.",
    source="IEC 60381-1; NAMUR NE 43, from memory",
    subject="/settings/start_level",
    waits_for=("level.order", *CHAIN),
    waits_at=_shown_by_loop,
    applies=_read_by_transmitter,
    check=_in_range,
    limits={
        "over": Limit(3.125, "%", "of span beyond the end at 20 mA: 20.5", "lower", "from memory"),
        "under": Limit(1.25, "%", "of span beyond the end at 4 mA: 3.8", "lower", "from memory"),
    },
    sentences={
        "never_starts": "The {name} level {level} stands at {share} of the transmitter's range "
        "from {lower} to {upper}, more than its signal can show: it is never reached, and no pump "
        "starts on it.",
        "high_alarm": "The high alarm {level} stands at {share} of the transmitter's range from "
        "{lower} to {upper}: it cannot be given by the transmitter.",
        "outside": "The {name} level {level} stands at {share} of the transmitter's range from "
        "{lower} to {upper}, which does not read it.",
    },
    remedies={
        "never_starts": "Set it within {lower} to {upper}, or check range and reference of the "
        "levels.",
        "high_alarm": "Set it within {lower} to {upper}; where a float gives it, record the "
        "float's level by tape.",
        "outside": "Set it within {lower} to {upper}; where a float gives it, record the float's "
        "level by tape.",
    },
)


# -- the aim of a level loop ----------------------------------------------------------------------


def _keeps_level(case: Case) -> bool:
    return loop.is_known_closed(case) and case.is_("/settings/regulated_quantity", *loop.LEVELS)


def _aims(case: Case, place: str) -> Iterator[Finding]:
    aims = list(loop.aims(case))
    if not aims:
        raise Missing(case.place("/settings/set_point"))
    return each_alone(*(_aim(case, aim) for aim in aims))


def _aim(case: Case, pointer: str) -> Iterator[Finding]:
    aim = loop.process_value(case, pointer)
    told = _odd(case, aim)
    if told is None:
        return
    variant, name = told
    yield SET_POINT.finding(
        variant, "review", case.place(pointer),
        compared={"set_point": case.quantity(pointer), "level": case.quantity(f"/settings/{name}")},
        name=levels.WORDS[name], which=loop.which(case, pointer),
    )  # fmt: skip


def _odd(case: Case, aim: float) -> tuple[str, str] | None:
    """The level that keeps the pump from holding a set point, the worst first."""
    empties = case.is_("/settings/regulated_quantity", "level_emptying")
    known = {name: levels.value(case, name) for name in _set(case)}
    lowest = ("low_level_cutoff", "stop_level") if empties else ("low_level_cutoff",)
    highest = ("high_level_alarm",) if empties else ("high_level_alarm", "stop_level")
    for name in lowest:
        if name in known and not above(aim, known[name]):
            return "below", name
    for name in highest:
        if name in known and not below(aim, known[name]):
            return "alarm" if name == "high_level_alarm" else "above", name
    return None


SET_POINT = Rule(
    id="level.set-point",
    title="Set point of a level loop between the levels that end its work",
    severities=("review",),
    condition="The set point of a level loop, and every alternative, lies above the low cut-off "
    "and below the high alarm; above the stop level where the pump empties, below it where it "
    "fills.",
    source="logic",
    subject="/settings/set_point",
    waits_for=("loop.kinds", *CHAIN, "loop.set-point-in-span", "level.order", "level.in-range"),
    applies=lambda case: _keeps_level(case) and bool(_set(case)),
    check=_aims,
    sentences={
        "below": "{which} {set_point} is not above the {name} level {level}: the pump stops before "
        "it holds it.",
        "above": "{which} {set_point} is not below the {name} level {level}: the pump stops before "
        "it holds it.",
        "alarm": "{which} {set_point} is not below the high alarm {level}: the station alarms in "
        "ordinary service.",
    },
    remedies={
        "below": "Set it above {level}, or the {name} level below it.",
        "above": "Set it below {level}, or the {name} level above it.",
        "alarm": "Set it below {level}, or raise the alarm.",
    },
)
