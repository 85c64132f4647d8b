"""Rule of the flow that a pump runs out to when the lift is lowest."""

from collections.abc import Iterator

from calculations.aspects import holding, pumping, system
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, percent, show
from calculations.rules.closeness import above
from calculations.rules.measured_points import best_flow
from calculations.rules.speed_limits import MAXIMUM, RESTS_ON_CURVE, has_pump_on_drive


def _applies(case: Case) -> bool:
    """Where a pressure is kept the drive slows down instead of running out."""
    return has_pump_on_drive(case) and holding.lifts(case)


def _run_out(case: Case, place: str) -> Iterator[Finding]:
    flow = system.flow(case, case.si(MAXIMUM), "high")
    speed, curve = pumping.speed(case, case.si(MAXIMUM), flow), pumping.curve(case)
    best, end = best_flow(case) * speed / curve.speed, curve.highest_flow(speed=speed)
    highest = case.limit("region.run-out.highest")
    beyond = above(flow, end)
    if not beyond and not above(flow, highest * best):
        return
    unit = case.quantity("/site/system_design_flow").unit
    yield RUN_OUT.finding(
        "beyond" if beyond else "right", "review" if beyond else "note", place,
        compared={
            "maximum": case.quantity(MAXIMUM),
            "flow": show(flow, unit),
            "end" if beyond else "best": show(end if beyond else best, unit),
        },
        limit=percent(highest), share=percent(flow / best),
    )  # fmt: skip


RUN_OUT = Rule(
    id="region.run-out",
    title="Run-out at the lowest lift",
    severities=("review", "note"),
    condition="Where no pressure is kept, this pump alone at its maximum frequency and the lowest "
    "lift gives at most 120 % of the best-efficiency flow at its speed (else note), and does not "
    "pass the end of its curve (else review).",
    source="ANSI/HI 9.6.3-2012, 9.6.3.1, secondary text; affinity laws",
    subject=MAXIMUM,
    needs=(
        MAXIMUM, "/pump/curve_points", "/pump/rated_speed", "/site/system_design_flow",
        holding.LIFT["high"],
    ),
    waits_for=(*RESTS_ON_CURVE, "speed.order", "speed.maximum-speed", "site.order"),
    applies=_applies,
    check=_run_out,
    limits={"highest": Limit(120, "%", "of best-efficiency flow", "lower", "retrieved")},
    sentences={
        "beyond": "At {maximum} and the lowest lift the pump runs out to {flow}, beyond the end of "
        "its curve ({end}).",
        "right": "At {maximum} and the lowest lift the pump runs out to {flow}, which is {share} "
        "of the best-efficiency flow at that speed ({best}).",
    },
    remedies=dict.fromkeys(
        ("beyond", "right"),
        "Lower the maximum frequency while the lift is low, throttle, or check the lowest lift.",
    ),
)  # fmt: skip
