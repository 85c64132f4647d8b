"""Rule of the duty that the plate is for against how long the motor runs."""

from collections.abc import Iterator

from calculations.aspects.duty import POINTS
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule, entered
from calculations.rules.closeness import above
from calculations.rules.scope import has_motor, is_immersed
from calculations.units import Quantity

DUTY, MINUTES = "/motor/duty", "/motor/duty_minutes"
WITH_PAUSES = ("S2", "S3", "S4", "S5")
"""Duty types in which the motor stands still between two runs; IEC 60034-1, from memory."""


def _duty(case: Case, place: str) -> Iterator[Finding]:
    duty, minutes = case.word(DUTY), case.find(MINUTES)
    told = f"{duty}, {entered(minutes)}" if minutes is not None else duty
    longest = _longest_run(case)
    short = duty == "S2" and minutes is not None
    if short and longest is not None and above(longest.si, minutes.si):
        yield MOTOR_DUTY.finding(
            "ran", "review", place, compared={"duty": Shown(told, ""), "ran": longest}
        )
    elif case.is_("/settings/regulation", "closed_loop_in_drive", "speed_from_external_controller"):
        yield MOTOR_DUTY.finding("loop", "review", place, compared={"duty": Shown(told, "")})


def _longest_run(case: Case) -> Quantity | None:
    """The longest that the set ran steadily before a point was read."""
    read = (case.find(f"{place}/steady_for") for place in case.elements(POINTS))
    return max((each for each in read if each is not None), key=lambda each: each.si, default=None)


_MADE = "The motor's plate is for runs with pauses between them ({duty})"

MOTOR_DUTY = Rule(
    id="motor.duty",
    title="Duty of the plate against how long the motor runs",
    severities=("review",),
    condition="A motor for short or intermittent duty (S2 to S5) is not kept running by a loop, "
    "which runs it as long as there is demand, and was not run longer than its plate says. Motors "
    "in the liquid are apart: their plate is for running uncovered.",
    source="IEC 60034-1, duty types, from memory",
    subject=DUTY,
    applies=lambda case: has_motor(case) and case.is_(DUTY, *WITH_PAUSES) and not is_immersed(case),
    check=_duty,
    sentences={
        "ran": _MADE + ", and it was run for {ran} for one reading.",
        "loop": _MADE + ", and it is regulated: it runs as long as there is demand.",
    },
    remedies=dict.fromkeys(
        ("ran", "loop"),
        "Read the duty type again; for service without pauses take a motor for continuous duty, or "
        "have its maker say at what load this one may run on.",
    ),
)
