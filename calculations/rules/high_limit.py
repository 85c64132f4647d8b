"""Rule of the high-pressure trip: not above what the discharge side bears."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Rule, entered, show
from calculations.rules.closeness import above, below
from calculations.rules.loop_measurable import measured_limit
from calculations.rules.loop_set_point import SCALED
from calculations.rules.speed_and_system import bearing_parts, over_trip
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
    height, relief = over_trip(case), case.find(RELIEF)
    trip = _trip(case) + height
    bear = bearing_parts(case)
    whose, bears = min(bear, key=lambda each: each[1].si, default=("", None))
    if bears is None and relief is None:
        case.require(RELIEF, "/site/discharge_pressure_limit")
    above_relief = relief is not None and above(trip, relief.at_most)
    compared: dict[str, Shown | Quantity] = {"high": case.quantity(HIGH)}
    variant, least = "", None
    if bears is not None and above(trip, bears.at_most):
        compared["bears"] = bears
        both = above_relief and below(relief.si, bears.si)
        variant, least = ("above_both", relief) if both else ("above_part", bears)
    elif above_relief:
        variant, least = "above_relief", relief
    if least is None:
        return
    if least is relief:
        compared["relief"] = least
    if height > 0:
        compared["at_pump"] = show(trip, least.unit)
        variant += "_remote"
    told = variant.startswith("above_relief")
    yield HIGH_LIMIT.finding(
        variant, "note" if told else "review", place, compared=compared, whose=whose,
        limit="" if told else f"at most {entered(least)}", lower=_lower(least, height),
    )  # fmt: skip


def _lower(least: Quantity, height: float) -> str:
    """To what the limit of a far sensor could be lowered, in words; none if to nothing."""
    there = least.si - height
    return f"set the high limit below {show(there, least.unit)} at it, or " if there > 0 else ""


_REMOTE = (
    "The high-pressure limit {high} is read at the remote sensor: at the pump that is {at_pump} or "
    "more, "
)

HIGH_LIMIT = Rule(
    id="protection.high-limit",
    title="High-pressure trip against relief valve, pipework, pump and vessels",
    severities=("review", "note"),
    condition="The high-pressure limit is not above what pipework, pump and vessels on the "
    "discharge side bear, nor above the relief valve's setting (note); read at a remote sensor, "
    "it counts with the height of the sensor over the pump. Whatever else is said of the same "
    "value, this is said as well.",
    source="logic; hydrostatics",
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
        "above_part_remote": _REMOTE + "above the {bears} that the {whose} bears.",
        "above_both_remote": _REMOTE + "above the {bears} that the {whose} bears; only the relief "
        "valve, which opens at {relief}, stands before it.",
        "above_relief_remote": _REMOTE + "and the relief valve opens before it, at {relief}.",
    },
    remedies={
        "above_part": "Set the high limit to {bears} or less.",
        "above_both": "Set the high limit to {relief} or less, the least of relief valve, "
        "pipework, pump and vessels.",
        "above_relief": "Set the high limit below {relief}, so that the pump stops before the "
        "valve opens.",
        **dict.fromkeys(
            ("above_part_remote", "above_both_remote", "above_relief_remote"),
            "Check the height of that sensor over the pump; if it is right, {lower}have high "
            "pressure stop the pump by a sensor or a switch beside it.",
        ),
    },
)
