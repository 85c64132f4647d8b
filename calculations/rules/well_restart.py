"""Rule of the pause before a well pump starts again."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, each_alone, show
from calculations.rules.closeness import below
from calculations.rules.wells import pumps_a_well
from calculations.units import Quantity

AFTER_POWER = "/settings/restart_after_power_loss"
DELAY = "/settings/restart_delay"
RESETS, RESET_DELAY = "/settings/automatic_reset_count", "/settings/automatic_reset_delay"


def _restart(case: Case, place: str) -> Iterator[Finding]:
    return each_alone(_after_power(case), _after_reset(case))


def _after_power(case: Case) -> Iterator[Finding]:
    if case.is_(AFTER_POWER, "restart"):
        yield from _too_soon(case, "power_at_once", AFTER_POWER, case.find(DELAY))
    elif case.is_(AFTER_POWER, "restart_after_delay"):
        yield from _too_soon(case, "power", DELAY, case.quantity(DELAY))


def _after_reset(case: Case) -> Iterator[Finding]:
    if case.find(RESETS):
        yield from _too_soon(case, "reset", RESET_DELAY, case.quantity(RESET_DELAY))


def _too_soon(case: Case, variant: str, setting: str, delay: Quantity | None) -> Iterator[Finding]:
    least = case.limit("well.restart.pause")
    if delay is not None and not below(delay.si, least):
        return
    shown: Shown | Quantity = delay if delay is not None else Shown("0", "s")
    yield RESTART.finding(
        variant, "review", case.place(setting),
        compared={"delay": shown}, limit=f"at least {show(least, 's')}",
        least=show(least, "s"),
    )  # fmt: skip


RESTART = Rule(
    id="well.restart",
    title="Pause before a well pump starts again",
    severities=("review",),
    condition="After a loss of power and after each automatic reset a pump in a well pauses 10 s "
    "or more: while the column runs back it may turn backwards, and a start against that breaks "
    "shafts and trips what feeds it.",
    source="common practice, no source; the pump's manual governs",
    subject=DELAY,
    applies=lambda case: (
        pumps_a_well(case) and case.is_("/pump/type", "submersible_well", "vertical_turbine")
    ),
    check=_restart,
    limits={
        "pause": Limit(10, "s", "before the next start", "higher", "common practice"),
    },
    sentences={
        "power_at_once": "After a loss of power the well pump starts again after {delay}: the "
        "column may still run back and turn it backwards.",
        "power": "After a loss of power the well pump starts again after {delay} only: the column "
        "may still run back and turn it backwards.",
        "reset": "After a fault the well pump is reset by itself and starts again after {delay} "
        "only: the column may still run back and turn it backwards.",
    },
    remedies={
        "power_at_once": "Let it restart after a delay of {least} or more, longer without a check "
        "valve at the pump.",
        "power": "Set {least} or more, longer without a check valve at the pump.",
        "reset": "Set {least} or more, longer without a check valve at the pump.",
    },
)
