"""Rule of the velocity in a main that carries solids."""

from collections.abc import Iterator

from calculations.aspects import group, holding, pumping, system
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, about, roughly
from calculations.rules.closeness import below
from calculations.rules.scope import has_drive
from calculations.rules.speed_limits import MAXIMUM, MINIMUM, RESTS_ON_CURVE

SETTLING = ("sewage", "sludge", "raw_water")


def carries_solids(case: Case) -> bool:
    """Whether a drive pumps a liquid that settles through a main that is recorded."""
    return (
        has_drive(case)
        and pumping.is_centrifugal(case)
        and case.is_("/site/liquid_kind", *SETTLING)
        and case.find("/site/pipeline") is not None
    )


def _velocity(case: Case, place: str) -> Iterator[Finding]:
    least = case.limit("main.velocity.least")
    ends: tuple[tuple[str, str, Severity], ...] = (
        ("maximum", MAXIMUM, "review"),
        ("minimum", MINIMUM, "note"),
    )
    for variant, pointer, severity in ends:
        frequency = case.quantity(pointer)
        # Solids that one pump lets lie the others move along: nobody needs them moved all day.
        running = system.flow_together if variant == "maximum" else system.flow
        flow = running(case, frequency.si, "high")
        if flow == 0:
            raise _no_flow(case, pointer)
        velocity = system.main_velocity(case, flow)
        if not below(velocity, least):
            continue
        unit = "ft/s" if case.quantity("/site/pipeline/inside_diameter").unit == "in" else "m/s"
        yield VELOCITY.finding(
            variant, severity, case.place(pointer),
            compared={"frequency": frequency, "velocity": about(velocity, unit)},
            limit=f"at least {roughly(least, unit)}", least=roughly(least, unit),
            pumps=_pumps(case), taken=_taken(case),
        )  # fmt: skip
        return


def _pumps(case: Case) -> str:
    pumps = group.sharing(case)
    return f" with {pumps} pumps" if pumps > 1 else ""


def _taken(case: Case) -> str:
    """What is taken for granted of a main that falls to its outlet, in words."""
    if holding.over_summit(case, "high") is None:
        return ""
    return (
        " (the main taken as full: beyond its high point, above the outlet, it may run part full, "
        "and faster)"
    )


def _no_flow(case: Case, pointer: str) -> Missing | Waits:
    """Why nothing flows: told by another rule where a lift is pumped against."""
    if holding.lifts(case):
        return Waits("speed.zero-flow")
    return Missing(case.place(pointer), because="nothing flows at the lowest lift")


VELOCITY = Rule(
    id="main.velocity",
    title="Velocity in a main that carries solids",
    severities=("review", "note"),
    condition="With sewage, sludge or raw water the velocity in the main reaches 0.6 m/s at the "
    "maximum frequency of all pumps that may run at once, at the lowest lift; less at the minimum "
    "frequency of one is a note, since it has to be reached somewhere in each day. The main "
    "is taken as full; beyond a high point above the outlet it may not be, and the finding says "
    "so.",
    source="common practice, from memory",
    subject=MAXIMUM,
    needs=(MINIMUM, MAXIMUM, "/site/pipeline/inside_diameter"),
    waits_for=(*RESTS_ON_CURVE, "speed.order"),
    applies=carries_solids,
    check=_velocity,
    limits={"least": Limit(0.6, "m/s", "to keep solids moving", "higher", "from memory")},
    sentences={
        "maximum": "Even at {frequency}{pumps} the liquid moves at {velocity} only, less than the "
        "{least} that keep solids moving{taken}.",
        "minimum": "At {frequency} the liquid moves at {velocity}, less than the {least} that keep "
        "solids moving{taken}: it has to run faster for a while each day.",
    },
    remedies={"maximum": "Check flow and bore; flush the main at a higher speed."},
)
