"""Rules of ramps that are none, or that are minutes long."""

from collections.abc import Iterator

from calculations.aspects import surging
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding
from calculations.rule import Limit, Rule, show
from calculations.rules.closeness import above, below
from calculations.rules.ramps import DOWN, UP, has_main, knows_inertia
from calculations.rules.scope import has_drive


def _too_short(case: Case, place: str) -> Iterator[Finding]:
    least = case.limit("ramp.too-short.time")
    for pointer, variant in ((UP, "up"), (DOWN, "down")):
        ramp = case.find(pointer)
        if ramp is not None and below(ramp.si, least) and not _is_judged_better(case, variant):
            yield TOO_SHORT.finding(
                variant, "review", case.place(pointer),
                compared={"ramp": ramp}, limit=f"at least {show(least, 's')}",
            )  # fmt: skip


def _is_judged_better(case: Case, variant: str) -> bool:
    """Whether torque or surge is computed for this ramp, or it has no part in stopping."""
    if variant == "up":
        return knows_inertia(case)
    return has_main(case) or case.is_("/settings/stop_mode", "coast")


TOO_SHORT = Rule(
    id="ramp.too-short",
    title="Ramps that are no ramps",
    severities=("review",),
    condition="Ramp up and ramp down of a pump take 0.5 s or more. Where inertia or main are "
    "recorded, torque and surge are judged instead.",
    source="common practice, no source: currents as across the line, and check valves that slam",
    subject=UP,
    waits_for=("ramp.submersible",),
    applies=lambda case: has_drive(case) and case.find(UP) is not None,
    check=_too_short,
    limits={"time": Limit(0.5, "s", "shortest ramp of a pump", "higher", "common practice")},
    sentences={
        "up": "The ramp up is set to {ramp}: the drive trips or pulls the current of a start "
        "across the line.",
        "down": "The ramp down is set to {ramp}: the check valve slams, and the drive trips on "
        "overvoltage.",
    },
    remedies=dict.fromkeys(("up", "down"), "Set a ramp of some seconds."),
)


# -- too long -------------------------------------------------------------------------------------


def _too_long(case: Case, place: str) -> Iterator[Finding]:
    ramp, longest = case.quantity(UP), case.limit("ramp.too-long.time")
    if not above(ramp.si, longest) or not above(ramp.si, _for_the_main(case)):
        return
    yield TOO_LONG.finding(
        "up", "review", case.place(place),
        compared={"ramp": ramp}, limit=f"at most {show(longest, 's')}",
    )  # fmt: skip


def _for_the_main(case: Case) -> float:
    """Ramp [s] that a long main may ask for: some times its wave's way there and back."""
    if not has_main(case):
        return 0.0
    try:
        return case.limit("ramp.too-long.reflections") * surging.reflection_time(case)
    except (Missing, Waits):
        return 0.0


TOO_LONG = Rule(
    id="ramp.too-long",
    title="Ramps up that last for minutes",
    severities=("review",),
    condition="The ramp up of a pump takes 300 s at most, in a long main ten times what a wave "
    "needs there and back.",
    source="common practice, no source: below zero flow the pump only heats what it holds",
    subject=UP,
    applies=lambda case: has_drive(case) and case.find(UP) is not None,
    check=_too_long,
    limits={
        "time": Limit(300, "s", "longest ramp up of a pump", "lower", "common practice"),
        "reflections": Limit(
            10, "1", "times the wave's way there and back", "lower", "common practice"
        ),
    },
    sentences={
        "up": "The ramp up is set to {ramp}: for minutes the pump turns below the speed at which "
        "anything flows, and the loop cannot follow.",
    },
    remedies={
        "up": "Read it again with its unit: seconds, or minutes; set a ramp of some seconds."
    },
)
