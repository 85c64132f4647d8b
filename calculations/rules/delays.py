"""Rule of delays: how long what should act at once, or should not be missed, is held back."""

from collections.abc import Iterator
from dataclasses import dataclass

from calculations.aspects import loop
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, show
from calculations.rules.closeness import above, below
from calculations.rules.scope import has_drive
from calculations.rules.wells import is_well
from calculations.units import Quantity


@dataclass(frozen=True, slots=True)
class Delay:
    """A delay, the setting without which it holds nothing back, and what comes of it."""

    name: str
    of: str
    harm: str


DELAYS = (
    Delay("high_discharge_limit_delay", "high_discharge_limit",
          "The high-pressure limit acts after {delay}: pressure has done its harm within seconds."),
    Delay("low_suction_limit_delay", "low_suction_limit",
          "The low-suction limit acts after {delay}: until then the pump runs without enough "
          "water."),
    Delay("dry_run_delay", "dry_run_method",
          "The dry-run protection acts after {delay}: until then the pump runs dry."),
    Delay("no_flow_delay", "no_flow_response",
          "Pumping at no flow is ended after {delay}: until then the pump heats what it holds."),
    Delay("low_discharge_limit_delay", "low_discharge_limit",
          "The low-pressure limit acts after {delay}: so long a burst main runs out."),
    Delay("signal_loss_delay", "signal_loss_response",
          "A lost feedback is answered after {delay}: until then the loop goes on blind."),
    Delay("sleep_delay", "sleep_frequency",
          "The pump falls asleep after {delay} at no demand: so long it pumps against a closed "
          "pipe."),
    Delay("wake_delay", "wake_value",
          "The pump wakes after {delay}: so long the pressure is below its wake value."),
)  # fmt: skip

RETRY = "/settings/dry_run_retry_delay"
OF_PRESSURE = ("sleep_delay", "wake_delay")
"""Tanks and wells may wait longer."""


def _delays(case: Case, place: str) -> Iterator[Finding]:
    for each in DELAYS:
        read = case.find(f"/settings/{each.name}")
        if read is None or not _holds_back(case, each):
            continue
        limit = case.limit(f"protection.delay-set.{_word(each)}")
        if above(read.si, limit):
            yield DELAY_SET.finding(
                each.name, "review", case.place(f"/settings/{each.name}"),
                compared={"delay": read}, limit=f"at most {show(limit, 's')}",
            )  # fmt: skip

    yield from _at_once(case)


def _at_once(case: Case) -> Iterator[Finding]:
    """A fault that is reset without a pause, again and again; water that has no time to return."""
    reset, again = case.find("/settings/automatic_reset_delay"), case.find(RETRY)
    if reset is not None and case.find("/settings/automatic_reset_count") and not is_well(case):
        yield from _too_soon(case, "reset", "automatic_reset_delay", reset)
    if again is not None and case.is_("/settings/dry_run_response", "stop_and_retry"):
        yield from _too_soon(case, "retry", "dry_run_retry_delay", again)


def _too_soon(case: Case, variant: str, name: str, delay: Quantity) -> Iterator[Finding]:
    least = case.limit(f"protection.delay-set.{variant}")
    if below(delay.si, least):
        yield DELAY_SET.finding(
            variant, "review", case.place(f"/settings/{name}"),
            compared={"delay": delay, "count": Shown(_count(case), "")},
            limit=f"at least {show(least, 's')}",
        )  # fmt: skip


def _count(case: Case) -> str:
    return str(case.find("/settings/automatic_reset_count") or "")


def _holds_back(case: Case, delay: Delay) -> bool:
    if delay.name in OF_PRESSURE and not loop.keeps_discharge_pressure(case):
        return False
    return case.find(f"/settings/{delay.of}") not in (None, "none")


def _word(delay: Delay) -> str:
    return delay.name.removesuffix("_delay").replace("_", "-")


def _limit(seconds: float, about: str) -> Limit:
    return Limit(seconds, "s", about, "lower", "common practice")


DELAY_SET = Rule(
    id="protection.delay-set",
    title="Delays that are set",
    severities=("review",),
    condition="What stops the pump is not held back longer than it may wait: high pressure 10 s, "
    "lost feedback 30 s, low suction and dry run 60 s, no flow 5 min, low pressure 10 min; in a "
    "loop that keeps a pressure, waking 60 s and falling asleep 15 min. A fault is not reset by "
    "itself within 1 s (a well has a rule of its own), nor a dry pump tried again within 10 s.",
    source="common practice, no source",
    subject="/settings",
    applies=lambda case: has_drive(case) and case.settings is not None,
    check=_delays,
    limits={
        "high-discharge-limit": _limit(10, "until high pressure acts"),
        "low-suction-limit": _limit(60, "until low suction acts"),
        "dry-run": _limit(60, "until the dry-run protection acts"),
        "no-flow": _limit(300, "until pumping at no flow ends"),
        "low-discharge-limit": _limit(600, "until low pressure acts"),
        "signal-loss": _limit(30, "until a lost feedback is answered"),
        "sleep": _limit(900, "until it falls asleep"),
        "wake": _limit(60, "until it wakes"),
        "reset": Limit(1, "s", "until a fault is reset by itself", "higher", "common practice"),
        "retry": Limit(10, "s", "until a dry pump is tried again", "higher", "common practice"),
    },
    sentences={each.name: each.harm for each in DELAYS}
    | {
        "reset": "Faults are reset by themselves after {delay}, up to {count} times: the drive "
        "starts onto whatever tripped it before that is over.",
        "retry": "A pump that was stopped dry is tried again after {delay}: the water has no time "
        "to come back.",
    },
    remedies=dict.fromkeys(
        (each.name for each in DELAYS), "Read the delay again with its unit, and shorten it."
    )
    | dict.fromkeys(("reset", "retry"), "Read the delay again with its unit, and lengthen it."),
)
