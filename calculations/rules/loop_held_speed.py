"""Rule of a pressure loop that runs on blindly where nobody may draw water."""

from collections.abc import Iterator

from calculations.aspects import loop
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule, spaced
from calculations.rules.speed_and_system import ends_without_feedback

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
