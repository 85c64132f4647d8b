"""Rule of what stops a pump, other than one in a well, whose suction fails."""

from collections.abc import Iterator

from calculations.aspects import loop
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Rule, entered, spaced
from calculations.rules.wells import pumps_a_well
from calculations.units import Quantity

METHOD, RESPONSE = "/settings/dry_run_method", "/settings/dry_run_response"
LOW_SUCTION = "/settings/low_suction_limit_response"
LOW_DISCHARGE = "/settings/low_discharge_limit"
STOPS, ONLY_TELLS = ("stop", "stop_and_retry"), ("none", "alarm")
SEES_FLOW = ("no_flow_switch", "flow", "power")
"""Ways to sleep by which a pump that draws nothing is seen; by its frequency it is not."""


def _draws_by_itself(case: Case) -> bool:
    """Whether the drive regulates by itself what draws from a main or a tank, as far as known.

    Whoever controls it from outside may watch its suction as well.
    """
    elsewhere = case.is_("/site/suction_kind", "wet_well") or case.is_("/site/kind", "lift_station")
    return loop.is_known_closed(case) and not elsewhere and not pumps_a_well(case)


def _stops_dry(case: Case) -> bool:
    """Whether something is set that stops a pump without water; `Missing` where it is not known."""
    method, response, low = case.word(METHOD), case.find(RESPONSE), case.find(LOW_SUCTION)
    if method != "none" and response is None:
        raise Missing(case.place(RESPONSE))
    dry = method != "none" and response not in ONLY_TELLS
    if dry or low in STOPS or case.find("/settings/low_level_cutoff") is not None:
        return True
    sees = case.is_("/settings/sleep_method", *SEES_FLOW) or loop.regulates(case, "flow")
    return sees and case.is_("/settings/no_flow_response", *STOPS)


def _dry_run(case: Case, place: str) -> Iterator[Finding]:
    if _stops_dry(case):
        return
    low = case.require(LOW_SUCTION, "/site/suction_kind")[0]
    tells = "alarm" in (low, case.find(RESPONSE) if not case.is_(METHOD, "none") else None)
    compared: dict[str, Shown | Quantity] = {"method": Shown(spaced(case.word(METHOD)), "")}
    limit, delay = case.find(LOW_DISCHARGE), case.find(f"{LOW_DISCHARGE}_delay")
    late = limit is not None and case.is_(f"{LOW_DISCHARGE}_response", *STOPS)
    if late:
        compared["discharge"] = limit
    yield DRY_RUN.finding(
        "late" if late else "alarm" if tells else "none", "review", place,
        compared=compared, after=f" after {entered(delay)}" if delay is not None else "",
    )  # fmt: skip


DRY_RUN = Rule(
    id="protection.dry-run",
    title="What stops a pump whose suction fails",
    severities=("review",),
    condition="A drive that regulates by itself and draws from a main or a tank stops the pump "
    "when its suction fails: by a dry-run protection, low suction, a low level, or no flow where "
    "the flow is seen by more than the frequency. Low discharge pressure alone sees it too late. A "
    "pump in a well has a rule of its own.",
    source="common practice, no source",
    subject=METHOD,
    needs=(METHOD,),
    applies=_draws_by_itself,
    check=_dry_run,
    sentences={
        "none": "Nothing is set that stops the pump when its suction fails (dry-run protection: "
        "{method}): it runs dry, or draws the main down.",
        "alarm": "When its suction fails the pump only gives an alarm (dry-run protection: "
        "{method}): it runs dry, or draws the main down.",
        "late": "When its suction fails only low discharge pressure stops the pump ({discharge}"
        "{after}; dry-run protection: {method}): until then it runs dry, and longer where another "
        "pump or a full main holds that pressure.",
    },
    remedies=dict.fromkeys(
        ("none", "alarm", "late"),
        "Set a stop by suction pressure, float, flow, or low load measured on the day, and prove "
        "it.",
    ),
)
