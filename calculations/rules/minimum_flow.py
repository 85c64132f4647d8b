"""Rule of measured points against the least flow that the pump bears."""

from collections.abc import Iterator

from calculations.aspects import duty, loop, pumping
from calculations.aspects.duty import POINTS
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Rule, show
from calculations.rules.closeness import below
from calculations.rules.measured_points import has_points
from calculations.rules.speed_limits import RESTS_ON_CURVE


def _minimum_flow(case: Case, place: str) -> Iterator[Finding]:
    flow = duty.flow(case, place)
    if flow == 0 and not pumping.may_shut_off(case):
        yield MINIMUM_FLOW.finding("closed", "review", place, compared={})
    if flow == 0 or case.is_(f"{place}/purpose", "shut_off"):
        return
    stated, rated_speed = case.require("/pump/minimum_continuous_flow", "/pump/rated_speed")
    least = stated.si * duty.speed(case, place) / rated_speed.si
    if not below(flow * (1 + duty.flow_uncertainty(case, place)), least):
        return
    read = case.quantity(f"{place}/flow")
    yield MINIMUM_FLOW.finding(
        "below", "review", place,
        compared={"flow": read, "least": show(least, read.unit)},
        limit=f"at least {show(least, read.unit)}", better=_better(case),
    )  # fmt: skip


def _better(case: Case) -> str:
    """What gives it more flow; slower it gives less yet, where a lift holds it back."""
    if case.find("/site/minimum_flow_path") not in (None, "none", "unknown"):
        return "See whether the path for minimum flow opens then, and lets enough through"
    if loop.is_known_closed(case):
        return "Let it sleep earlier, or give it a path for minimum flow"
    return "Throttle it less, or give it a path for minimum flow"


MINIMUM_FLOW = Rule(
    id="region.minimum-flow",
    title="Measured flow against the minimum continuous flow",
    severities=("review",),
    condition="No lasting point has less flow than the pump's minimum continuous flow, taken with "
    "its speed, beyond the uncertainty of the flow. A pump whose power or pressure is highest at a "
    "closed valve is not run there at all.",
    source="pump's manual; affinity law of flow",
    each=POINTS,
    waits_for=(*RESTS_ON_CURVE, "curve.point"),
    applies=has_points,
    check=_minimum_flow,
    sentences={
        "closed": "The pump was run without flow: one of this kind must not run at a closed valve, "
        "where its power or its pressure is highest.",
        "below": "At {flow} the pump gives less than its minimum continuous flow of {least} at "
        "that speed.",
    },
    remedies={
        "closed": "Do not repeat it; look at motor, shaft and bearings. Start with the valve open.",
        "below": "{better}.",
    },
)
