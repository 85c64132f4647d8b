"""Rule of a pressure loop that runs on blindly where nobody may draw water."""

from collections.abc import Iterator

from calculations.aspects import loop
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule, spaced

RESPONSE = "/settings/signal_loss_response"
RUNS_ON = ("hold_speed", "preset_speed", "minimum_speed")
SEES_WITHOUT_FEEDBACK = ("no_flow_switch", "flow", "power")
"""Ways to fall asleep that a lost feedback does not take away."""


def _held(case: Case, place: str) -> Iterator[Finding]:
    response = case.word(RESPONSE)
    if response not in RUNS_ON or not case.find("/site/zero_demand_possible"):
        return
    if case.find("/site/minimum_flow_path") not in (None, "none"):
        return
    if case.is_("/settings/no_flow_response", "stop", "stop_and_retry"):
        return
    if case.is_("/settings/sleep_method", *SEES_WITHOUT_FEEDBACK):
        return
    yield HELD_SPEED.finding(
        "runs_on", "review", place, compared={"response": Shown(spaced(response), "")}
    )


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
