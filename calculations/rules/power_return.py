"""Rule of what a lift station does when power comes back."""

from collections.abc import Iterator

from calculations.aspects import kinds, loop
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Rule

AFTER_POWER = "/settings/restart_after_power_loss"


def _acts_by_itself(case: Case) -> bool:
    """Whether the drive itself keeps a lift station pumped down, and nobody else starts it."""
    acts = loop.is_known_closed(case) or kinds.starts_on_level(case)
    return case.is_("/site/kind", "lift_station") and acts


def _power_return(case: Case, place: str) -> Iterator[Finding]:
    if case.is_(AFTER_POWER, "stay_stopped"):
        yield POWER_RETURN.finding("floods", "review", case.place(place), compared={})


POWER_RETURN = Rule(
    id="station.power-return",
    title="A lift station after a loss of power",
    severities=("review",),
    condition="A drive that keeps a lift station pumped down by itself starts again when power "
    "comes back.",
    source="common practice, no source; 30 TAC 217.63(b) asks that a loss of power lets nothing "
    "overflow, secondary text",
    subject=AFTER_POWER,
    needs=(AFTER_POWER,),
    applies=_acts_by_itself,
    check=_power_return,
    sentences={
        "floods": "After a loss of power the pump stays stopped until somebody starts it, while "
        "the well goes on filling.",
    },
    remedies={
        "floods": "Let it restart after a delay, apart from the other pumps, and prove it by "
        "switching off the supply.",
    },
)
