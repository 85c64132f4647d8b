"""Rules of what the drive does when the feedback is lost."""

from collections.abc import Iterator

from calculations.aspects import chain, kinds, levels, loop
from calculations.aspects.excuses import work_is_excused
from calculations.case import Case, Waits
from calculations.findings import Finding, Shown
from calculations.rule import Rule, spaced
from calculations.rules.closeness import above, below
from calculations.rules.protections import FLOAT, MISSING
from calculations.rules.speed_and_system import (
    LOST_WITH_SENSOR,
    ends_without_feedback,
    least_pressure_at,
    relieved,
    weakest,
)
from calculations.rules.speed_limits import MAXIMUM, MINIMUM
from calculations.units import Quantity

UNGUARDED = ("none", "alarm")
REGULATES = "/settings/regulated_quantity"
TOO_LITTLE = {
    "stop": "the pump stops",
    "minimum_speed": "the pump stays at its minimum speed",
    "alarm": "the drive reads an empty well and slows or stops the pump",
}
"""Responses to a lost level that leave a well to fill, and what they do."""
FILLS_ON = {
    "maximum_speed": "runs at its maximum speed",
    "hold_speed": "goes on at the speed that it had",
    "preset_speed": "runs at a set speed",
    "alarm": "reads an empty tank and runs up to its maximum speed",
}
"""Responses to a lost level that let a tank go on filling, and what the pump does."""


def _signal_loss(case: Case, place: str) -> Iterator[Finding]:
    response, signal = case.word("/settings/signal_loss_response"), case.word(chain.INPUT)
    compared: dict[str, Shown | Quantity] = {
        "response": Shown(response, ""),
        "signal": Shown(signal, ""),
    }
    seen = chain.has_live_zero(signal)
    if _runs_away(case, response, seen):
        whose, limit = weakest(case)
        reached = least_pressure_at(case, case.si(MAXIMUM))
        if above(reached, limit.at_most) and not relieved(case, limit.si, blind=True):
            yield SIGNAL_LOSS.finding(
                "full_speed", "stop", place,
                compared=compared | {"permitted": limit}, whose=whose,
                limit=f"at most {limit.value} {limit.unit}",
            )  # fmt: skip
            return
    if response == "maximum_speed" and loop.keeps_discharge_pressure(case):
        yield from _blind_at_full_speed(case, place, compared)
    if response == "preset_speed":
        yield from _preset(case, place)
    if response == "other_sensor" and not _may_have_another(case):
        yield SIGNAL_LOSS.finding("no_other", "review", place, compared=compared)
    if response == "none":
        yield SIGNAL_LOSS.finding("none", "review", place, compared=compared)
    elif _empties(case):
        yield from _blind_in_a_well(case, place, response, compared)
    elif response in FILLS_ON and _fills(case) and not _stops_full(case):
        yield SIGNAL_LOSS.finding(
            "tank_overflows", "review", place, compared=compared, does=FILLS_ON[response]
        )


def _empties(case: Case) -> bool:
    """Whether the drive is known to pump a well down by the level that is lost."""
    if kinds.starts_on_level(case):
        return levels.empties(case) is True
    return loop.is_known_closed(case) and case.is_(REGULATES, "level_emptying")


def _fills(case: Case) -> bool:
    """Whether the drive is known to fill a tank by the level that is lost."""
    return loop.is_known_closed(case) and case.is_(REGULATES, "level_filling")


def _stops_full(case: Case) -> bool:
    """Whether something that does not need the level was seen to stop the pump at a full tank."""
    tests = case.find("/event/protection_tests") or ()
    seen = ("high_level", "float_backup")
    return _has_float(case) or any(
        each.function in seen and each.passed is not False for each in tests
    )


def _preset(case: Case, place: str) -> Iterator[Finding]:
    """The speed that is kept without the feedback, against those that the drive may run at."""
    preset = case.find("/settings/signal_loss_frequency")
    if preset is None:
        return
    lowest, highest = case.find(MINIMUM), case.find(MAXIMUM)
    over = highest is not None and above(preset.si, highest.si)
    if over or (lowest is not None and below(preset.si, lowest.si)):
        yield SIGNAL_LOSS.finding(
            "preset_over" if over else "preset_under", "review",
            case.place("/settings/signal_loss_frequency"),
            compared={"preset": preset, "end": highest if over else lowest},
        )  # fmt: skip


def _may_have_another(case: Case) -> bool:
    """Whether a second sensor of what is regulated is recorded, or may be one of a group's."""
    if case.subject.neighbours or (case.find("/settings/pumps_in_group") or 1) > 1:
        return True
    regulated, own = case.find(REGULATES), case.find(kinds.REGULATING)
    if regulated is None or own is None:
        return True
    measure = (*kinds.MAY_MEASURE[regulated], "unknown", None)
    others = [each for each in case.subject.sensors or () if each is not own]
    suction = None if regulated == "suction_pressure" else case.find("/suction_sensor")
    return any(each.quantity in measure and each is not suction for each in others)


def _blind_in_a_well(
    case: Case, place: str, response: str, compared: dict[str, Shown | Quantity]
) -> Iterator[Finding]:
    """A well whose level is lost: emptied beyond the pump, or left to fill, unless a float acts."""
    if response == "maximum_speed" and not _stops_dry_by_another(case):
        yield SIGNAL_LOSS.finding("well_dry", "review", place, compared=compared)
    elif response in TOO_LITTLE and not _has_float(case):
        if MISSING.id not in case.accepted and _asks_for_float(case):
            raise Waits(MISSING.id)
        yield SIGNAL_LOSS.finding(
            "well_floods", "review", place, compared=compared, does=TOO_LITTLE[response]
        )


def _stops_dry_by_another(case: Case) -> bool:
    """Whether something that does not need the level stops a pump that runs dry."""
    acts = not case.is_("/settings/dry_run_response", "alarm", "none")
    return acts and case.is_("/settings/dry_run_method", "float", "underload", "flow_switch")


def _has_float(case: Case) -> bool:
    """Whether a float that takes over is recorded: it was tested, or its level was."""
    tests = case.find("/event/protection_tests") or ()
    levels = case.find("/event/level_tests") or ()
    proven = any(each.function == "float_backup" and each.passed is not False for each in tests)
    return proven or any(each.name == "float" for each in levels)


def _asks_for_float(case: Case) -> bool:
    """Whether the missing test of the float is named by itself: at the start-up of such a station.

    Where the work was excused, nobody names it there.
    """
    starts = case.event is not None and case.event.kind == "start_up"
    listed = case.find("/event/protection_tests") is not None
    if not (starts and listed and case.is_("/site/kind", "lift_station")):
        return False
    words, functions = FLOAT
    tests = case.find("/event/protection_tests")
    proven = any(each.function in functions for each in tests)
    return not proven and not work_is_excused(case, words, *functions)


def _blind_at_full_speed(
    case: Case, place: str, compared: dict[str, Shown | Quantity]
) -> Iterator[Finding]:
    """A pressure loop that answers a lost feedback with full speed, and what still stops it."""
    trips = case.is_("/settings/high_discharge_limit_response", "stop", "stop_and_retry")
    limit = case.find("/settings/high_discharge_limit") if trips else None
    lost = case.find("/settings/high_discharge_limit_measured_by") in LOST_WITH_SENSOR
    if limit is not None and not lost:
        return
    yield SIGNAL_LOSS.finding(
        "blind_limit" if limit is not None else "blind", "review", place,
        compared=compared | ({"high": limit} if limit is not None else {}),
    )  # fmt: skip


def _runs_away(case: Case, response: str, seen: bool) -> bool:
    """Whether a dead signal drives a pressure loop to full speed, as far as is known."""
    unguarded = response in (*UNGUARDED, "maximum_speed") or not seen
    known = case.find(MAXIMUM) is not None and case.find("/pump/curve_points") is not None
    return loop.keeps_discharge_pressure(case) and unguarded and known


SIGNAL_LOSS = Rule(
    id="loop.signal-loss",
    title="What the drive does when the feedback is lost",
    severities=("stop", "review"),
    condition="The drive has a response to a lost feedback; and a dead signal never drives a "
    "pressure loop to full speed where shut-off pressure exceeds the weakest part without a relief "
    "valve, or a trip by another sensor, at that value or below. A pressure loop whose response is "
    "the maximum speed has a high-pressure trip that is not read from the lost sensor. Where a "
    "well is pumped down, a stop, an alarm or the minimum speed needs a float that takes over, as "
    "tested, and the maximum speed a dry-run protection that does not need the level; where a tank "
    "is filled, whatever lets the pump run on needs a float or switch at its high level. A preset "
    "speed lies within the drive's frequencies; another sensor that takes over is recorded.",
    source="common practice, no source; shut-off pressure by the affinity laws",
    subject="/settings/signal_loss_response",
    needs=("/settings/signal_loss_response", chain.INPUT),
    waits_for=("loop.signal-type", "loop.action", "speed.order", "speed.maximum-speed",
               "speed.maximum-pressure"),
    applies=loop.reads_feedback,
    check=_signal_loss,
    sentences={
        "full_speed": "A dead feedback reads as no pressure and drives the pump to full speed "
        "(response: {response}, signal {signal}): at no flow that exceeds the {permitted} of the "
        "{whose}, and nothing independent of that sensor stops it.",
        "blind": "When the feedback is lost the pump runs up to its maximum speed without seeing "
        "the pressure, and no high-pressure limit stops it.",
        "blind_limit": "When the feedback is lost the pump runs up to its maximum speed without "
        "seeing the pressure: the high-pressure limit {high} is read from the sensor that is lost.",
        "well_floods": "When the level signal is lost {does}, and the well fills: no independent "
        "float that takes over is recorded.",
        "well_dry": "When the level signal is lost the pump runs at its maximum speed and empties "
        "the well: the low cut-off is read from the same signal, and nothing else is recorded that "
        "stops it before it runs dry.",
        "tank_overflows": "When the level signal is lost the pump {does}, and the tank overflows: "
        "no float or switch at its high level that stops the pump is recorded as tested.",
        "no_other": "When the feedback is lost the drive is to go on with another sensor, but none "
        "is recorded that measures the same.",
        "preset_over": "When the feedback is lost the drive is to run at {preset}, above its "
        "maximum frequency {end}.",
        "preset_under": "When the feedback is lost the drive is to run at {preset}, below its "
        "minimum frequency {end}.",
        "none": "Nothing is set to happen when the feedback is lost: the drive goes on "
        "with whatever it reads.",
    },
    remedies={
        "full_speed": "Set a stop on loss of signal with a live-zero signal, and a pressure switch "
        "or relief valve below {permitted}.",
        **dict.fromkeys(
            ("blind", "blind_limit"),
            "Set a stop or a safe fixed speed on loss of signal, or have high pressure watched by "
            "another sensor or a switch.",
        ),
        "well_floods": "Let a float that does not need the transmitter start and stop the pump, "
        "test it and record it as float backup; or set a safe fixed speed with a low float.",
        "well_dry": "Give the pump a low float or an underload protection that stops it, or set a "
        "safe fixed speed and let floats start and stop it.",
        "tank_overflows": "Let the pump stop when the level is lost; or give the tank a float or "
        "switch that stops the pump without the transmitter, test it at its high level, and record "
        "that.",
        "no_other": "Record the other sensor, or set a stop or a safe fixed speed.",
        **dict.fromkeys(("preset_over", "preset_under"), "Set a speed that the drive may run at."),
        "none": "Set a stop, or a safe fixed speed, on loss of signal.",
    },
)  # fmt: skip


# -- a pump that runs on --------------------------------------------------------------------------

RESPONSE, SLEEP = "/settings/signal_loss_response", "/settings/sleep_method"
PATH = "/site/minimum_flow_path"
RUNS_ON = ("hold_speed", "preset_speed", "minimum_speed")
SEES_WITHOUT_FEEDBACK = ("no_flow_switch", "flow", "power")
"""Ways to fall asleep that a lost feedback does not take away."""


def _held(case: Case, place: str) -> Iterator[Finding]:
    if not case.find("/site/zero_demand_possible") or ends_without_feedback(case):
        return
    if case.is_(SLEEP, *SEES_WITHOUT_FEEDBACK):
        return
    case.require(PATH, SLEEP)
    yield HELD_SPEED.finding(
        "runs_on", "review", place,
        compared={"response": Shown(spaced(case.word(RESPONSE)), "")},
    )  # fmt: skip


HELD_SPEED = Rule(
    id="loop.held-speed",
    title="A pump that runs on without its feedback where nobody may draw water",
    severities=("review",),
    condition="Where demand can be zero, a pressure loop that runs on when its feedback is lost "
    "has something that ends pumping at no flow without the feedback: a path, a stop, or sleep by "
    "flow or power.",
    source="common practice: a pump between closed valves heats its water",
    subject=RESPONSE,
    needs=(RESPONSE, "/site/zero_demand_possible"),
    waits_for=("speed.dead-head",),
    applies=lambda case: loop.keeps_discharge_pressure(case) and case.is_(RESPONSE, *RUNS_ON),
    check=_held,
    sentences={
        "runs_on": "When the feedback is lost the pump runs on ({response}) without seeing the "
        "pressure: when nobody draws water it never sleeps, and churns against closed valves.",
    },
    remedies={
        "runs_on": "Let it stop when the feedback is lost, or let a flow switch, flow or power end "
        "pumping at no flow.",
    },
)
