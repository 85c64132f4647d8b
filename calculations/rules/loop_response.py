"""Rules of what the loop does: its direction, a lost signal, its terms, who else regulates."""

from collections.abc import Iterator

from calculations.aspects import chain, group, levels, loop
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, show, spaced
from calculations.rules.scope import has_drive
from calculations.signals import ANALOGUE_SIGNALS, SignalRange

RIGHT_ACTION = {
    "discharge_pressure": "rising_feedback_slows",
    "differential_pressure": "rising_feedback_slows",
    "flow": "rising_feedback_slows",
    "level_filling": "rising_feedback_slows",
    "suction_pressure": "rising_feedback_speeds_up",
    "level_emptying": "rising_feedback_speeds_up",
}
REGULATED = {
    "discharge_pressure": "a discharge pressure is kept",
    "differential_pressure": "a differential pressure is kept",
    "flow": "a flow is kept",
    "level_filling": "a tank is filled to a level",
    "suction_pressure": "a suction pressure is held up",
    "level_emptying": "a well is pumped down to a level",
}


# -- action -------------------------------------------------------------------------------------


OTHER_WAY = {
    "level_filling": "empties what the level is in",
    "level_emptying": "fills what the level is in",
}


SITES = {"level_filling": "lift_station", "level_emptying": "reservoir_fill"}
"""Kinds of site at which a level is mostly regulated the other way."""


def _action(case: Case, place: str) -> Iterator[Finding]:
    action, regulated = case.word("/settings/action"), case.word("/settings/regulated_quantity")
    right = RIGHT_ACTION.get(regulated)
    if right is None or action == right:
        return
    slows = right == "rising_feedback_slows"
    if regulated in OTHER_WAY and levels.start_and_stop_turned(case):
        names = ("start_level", "stop_level")
        yield ACTION.finding(
            "other_way", "review" if case.is_("/site/kind", SITES[regulated]) else "stop",
            case.place("/settings/regulated_quantity"),
            compared={"action": Shown(spaced(action), "")}
            | {name: case.quantity(f"/settings/{name}") for name in names},
            regulated=REGULATED[regulated], other=OTHER_WAY[regulated],
            does="speeds the pump up" if slows else "slows the pump",
        )  # fmt: skip
        return
    yield ACTION.finding(
        "must_slow" if slows else "must_speed_up", "stop", place,
        compared={"action": Shown(spaced(action), "")}, regulated=REGULATED[regulated],
    )  # fmt: skip


ACTION = Rule(
    id="loop.action",
    title="Direction of the loop against what is regulated",
    severities=("stop", "review"),
    condition="A rising feedback slows the pump where a discharge pressure, a flow or the level of "
    "a tank being filled is kept; it speeds the pump up where a well is pumped down or a suction "
    "pressure is held up. Where start and stop level go with the direction, and what is regulated "
    "with neither, that is named (review where the site is of the other kind as well).",
    source="derived: sign of the process; judged by what a rising feedback does, since the words "
    "direct and reverse are used both ways",
    subject="/settings/action",
    needs=("/settings/action", "/settings/regulated_quantity"),
    applies=loop.is_closed,
    correct_only=True,
    check=_action,
    sentences={
        "must_slow": "A rising feedback speeds the pump up, but {regulated}: the loop runs away to "
        "the maximum frequency.",
        "must_speed_up": "A rising feedback slows the pump, but {regulated}: the loop runs away "
        "from its set point.",
        "other_way": "It is said that {regulated}, but a rising feedback {does}, which starts at "
        "{start_level} and stops at {stop_level}: that {other}.",
    },
    remedies=dict.fromkeys(
        ("must_slow", "must_speed_up"),
        "Reverse the loop's direction, and prove it by forcing the feedback a little.",
    )
    | {
        "other_way": "Correct what is regulated, if the pump does just that; change neither "
        "direction nor levels before that is sure.",
    },
)


# -- threshold of a lost signal -----------------------------------------------------------------


def _loss_threshold(case: Case, place: str) -> Iterator[Finding]:
    threshold, signal = case.quantity(place), case.word(chain.INPUT)
    ranged = ANALOGUE_SIGNALS.get(signal)
    if ranged is None or not ranged.has_live_zero:
        return
    if threshold.kind == "ratio":
        raise Missing(case.place(place), because="a share does not say of what")
    if threshold.kind != ranged.quantity:
        variant = "kind"
    elif not 0 < threshold.si <= _highest_readable(case, ranged):
        variant = "never"
    elif ranged.lower < threshold.at_least and threshold.si < ranged.upper:
        variant = "always"
    else:
        return
    yield LOSS_THRESHOLD.finding(
        variant, "review", case.place(place),
        compared={"threshold": threshold, "signal": Shown(signal, "")},
        limit=_accepted(case, ranged, threshold.unit) if variant != "kind" else "",
        usual=" (3.6 mA is usual)" if signal == "4-20 mA" else "",
    )  # fmt: skip


def _highest_readable(case: Case, ranged: SignalRange) -> float:
    """Highest signal that a transmitter can give [A or V]."""
    return case.limit("loop.loss-threshold.highest") * ranged.upper


def _accepted(case: Case, ranged: SignalRange, unit: str) -> str:
    """Both regions in which a signal counts as lost: below its live zero, above its range."""
    ends = (ranged.lower, ranged.upper, _highest_readable(case, ranged))
    zero, upper, highest = (show(end, unit) for end in ends)
    return f"above 0 up to {zero}, or {upper} to {highest}"


LOSS_THRESHOLD = Rule(
    id="loop.loss-threshold",
    title="Threshold of a lost signal against the signal",
    severities=("review",),
    condition="The signal counts as lost between zero and its live zero, or above its range where "
    "a transmitter still can go, up to 1.2 times its upper end: never inside the range, and not "
    "where no signal ever is.",
    source="IEC 60381-1, IEC 60381-2 (live zero); NAMUR NE 43, secondary text; 1.2 times: 24 mA "
    "of 20 mA, from memory, and the same of volts",
    subject="/settings/signal_loss_threshold",
    needs=(chain.INPUT,),
    waits_for=("loop.signal-type",),
    applies=lambda case: (
        chain.has_chain(case) and case.find("/settings/signal_loss_threshold") is not None
    ),
    check=_loss_threshold,
    limits={
        "highest": Limit(1.2, "1", "over the end of the signal's range", "lower", "from memory")
    },
    sentences={
        "kind": "The feedback counts as lost at {threshold}, but the signal is {signal}.",
        "never": "The feedback counts as lost at {threshold}, where a signal of {signal} never is: "
        "a lost signal is not seen.",
        "always": "The feedback counts as lost at {threshold}, inside {signal}: an ordinary "
        "reading is taken for a broken wire.",
    },
    remedies=dict.fromkeys(
        ("kind", "never", "always"),
        "Set the threshold between zero and the live zero{usual}, or above the range.",
    ),
)


def _broken_wire(case: Case, place: str) -> Iterator[Finding]:
    signal = case.word(chain.INPUT)
    if not chain.has_live_zero(signal):
        yield BROKEN_WIRE.finding(
            "dead_zero", "note", place, compared={"signal": Shown(signal, "")}
        )


BROKEN_WIRE = Rule(
    id="loop.broken-wire",
    title="Whether a broken wire can be seen",
    severities=("note",),
    condition="The feedback signal has a live zero, or comes over a bus.",
    source="IEC 60381-1 (live zero)",
    subject="/settings/feedback_signal",
    needs=(chain.INPUT,),
    waits_for=("loop.signal-type",),
    applies=chain.has_chain,
    check=_broken_wire,
    sentences={
        "dead_zero": "With {signal} a broken wire looks like a feedback of zero: the drive cannot "
        "see that the signal is lost.",
    },
)


# -- two controllers ----------------------------------------------------------------------------


def _two_controllers(case: Case, place: str) -> Iterator[Finding]:
    case.require("/settings/regulation")
    if not loop.is_known_closed(case):
        return
    reference = case.find("/settings/speed_reference_signal")
    if reference is not None:
        compared = {"reference": Shown(reference, "")}
        yield TWO_CONTROLLERS.finding("above", "review", place, compared=compared)
    for index in _rivals(case):
        yield TWO_CONTROLLERS.finding("beside", "review", f"/neighbours/{index}", compared={},
                                      tag=_tag(case, index))  # fmt: skip


def _rivals(case: Case) -> Iterator[int]:
    """Neighbours that keep the same header by a controller of their own, at the same time."""
    if not loop.keeps_discharge_pressure(case) or _takes_turns(case):
        return
    for index, neighbour in enumerate(case.subject.neighbours or ()):
        settings = neighbour.settings
        if settings is None or settings.regulation != "closed_loop_in_drive":
            continue
        same = settings.regulated_quantity == "discharge_pressure"
        if same and group.may_share_header(case, neighbour) and not _in_one_group(case, index):
            yield index


def _takes_turns(case: Case) -> bool:
    running = case.find("/settings/pumps_maximum_running")
    return running == 1 or case.is_("/settings/pump_arrangement", "duty_standby")


def _in_one_group(case: Case, index: int) -> bool:
    ours, theirs = case.subject.pump_set, (case.subject.neighbours or [])[index].pump_set
    grouped = ours is not None and theirs is not None and ours.group is not None
    return grouped and ours.group == theirs.group  # type: ignore[union-attr]


def _tag(case: Case, index: int) -> str:
    found = case.find(f"/neighbours/{index}/pump_set/tag")
    return str(found) if found else f"neighbour {index + 1}"


TWO_CONTROLLERS = Rule(
    id="loop.two-controllers",
    title="One controller for one quantity",
    severities=("review",),
    condition="A drive that regulates by itself takes no speed reference from another controller, "
    "and no other pump set outside its group regulates the pressure of the same header at the same "
    "time.",
    source="common practice, no source: two integrators on one quantity work against each other",
    subject="/settings/regulation",
    applies=has_drive,
    check=_two_controllers,
    sentences={
        "above": "The drive regulates by itself and also has a speed reference of {reference}: two "
        "controllers in a row.",
        "beside": "{tag} regulates the pressure of the same header as well, outside this set's "
        "group: the two controllers may work against each other.",
    },
    remedies={
        "above": "Let one of them regulate: the drive, or the controller above it.",
        "beside": "Join the sets in one group, or stagger their set points.",
    },
)
