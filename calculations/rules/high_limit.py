"""Rule of the high-pressure trip: not above what the discharge side bears."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule, entered
from calculations.rules.closeness import above, below
from calculations.rules.loop_measurable import measured_limit
from calculations.rules.loop_set_point import SCALED
from calculations.rules.speed_and_system import bearing_parts
from calculations.units import Quantity

HIGH = "/settings/high_discharge_limit"
RELIEF = "/site/relief_valve_setting"


def _trip(case: Case) -> float:
    """Pressure at which the drive trips [Pa]; what is written in a unit of pressure is just that.

    No range, no scaling and no loop comes in: a doubt of those hides nothing here.
    """
    limit = case.quantity(HIGH)
    return measured_limit(case, "high_discharge_limit") if _in_percent(case) else limit.si


def _in_percent(case: Case, place: str = "") -> bool:
    limit = case.find(HIGH)
    return limit is not None and limit.kind == "ratio"


def _high_limit(case: Case, place: str) -> Iterator[Finding]:
    trip, relief = _trip(case), case.find(RELIEF)
    bear = bearing_parts(case)
    whose, bears = min(bear, key=lambda each: each[1].si, default=("", None))
    if bears is None and relief is None:
        case.require(RELIEF, "/site/discharge_pressure_limit")
    above_relief = relief is not None and above(trip, relief.at_most)
    compared: dict[str, Shown | Quantity] = {"high": case.quantity(HIGH)}
    if bears is not None and above(trip, bears.at_most):
        compared["bears"] = bears
        if above_relief and below(relief.si, bears.si):
            compared["relief"] = relief
            yield HIGH_LIMIT.finding(
                "above_both", "review", place, compared=compared, whose=whose,
                limit=f"at most {entered(relief)}",
            )  # fmt: skip
            return
        yield HIGH_LIMIT.finding(
            "above_part", "review", place, compared=compared, whose=whose,
            limit=f"at most {entered(bears)}",
        )  # fmt: skip
    elif above_relief:
        compared["relief"] = relief
        yield HIGH_LIMIT.finding("above_relief", "note", place, compared=compared)


HIGH_LIMIT = Rule(
    id="protection.high-limit",
    title="High-pressure trip against relief valve, pipework, pump and vessels",
    severities=("review", "note"),
    condition="The high-pressure limit is not above what pipework, pump and vessels on the "
    "discharge side bear, nor above the relief valve's setting (note). Whatever else is said of "
    "the same value, this is said as well.",
    source="logic",
    subject=HIGH,
    waits_for=SCALED,
    waits_at=_in_percent,
    applies=lambda case: case.find(HIGH) is not None,
    check=_high_limit,
    sentences={
        "above_part": "The high-pressure limit {high} is above the {bears} that the {whose} bears.",
        "above_both": "The high-pressure limit {high} is above the {bears} that the {whose} bears; "
        "only the relief valve, which opens at {relief}, stands before it.",
        "above_relief": "The relief valve opens at {relief}, before the high-pressure limit {high} "
        "stops the pump.",
    },
    remedies={
        "above_part": "Set the high limit to {bears} or less.",
        "above_both": "Set the high limit to {relief} or less, the least of relief valve, "
        "pipework, pump and vessels.",
        "above_relief": "Set the high limit below {relief}, so that the pump stops before the "
        "valve opens.",
    },
)
