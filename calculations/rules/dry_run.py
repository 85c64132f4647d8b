"""Rule of what stops a pump, other than one in a well, whose suction fails."""

from collections.abc import Iterator

from calculations.aspects import loop, suction
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Rule, entered, show, spaced
from calculations.rules.closeness import below
from calculations.rules.wells import pumps_a_well
from calculations.units import Quantity

METHOD, RESPONSE = "/settings/dry_run_method", "/settings/dry_run_response"
THRESHOLD = "/settings/dry_run_threshold"
LOW_SUCTION = "/settings/low_suction_limit_response"
LOWEST_PRESSURE, LOWEST_LEVEL = "/site/suction_pressure_low", "/site/suction_level_low"
LOW_DISCHARGE = "/settings/low_discharge_limit"
STOPS, ONLY_TELLS = ("stop", "stop_and_retry"), ("none", "alarm")
SEES_FLOW = ("no_flow_switch", "flow", "power")
"""Ways to sleep by which a pump that draws nothing is seen; by its frequency it is not."""


def draws_by_itself(case: Case) -> bool:
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
    fills = case.is_("/settings/regulated_quantity", "level_filling")  # levels of the other end
    if dry or low in STOPS or (case.find("/settings/low_level_cutoff") is not None and not fills):
        return True
    sees = case.is_("/settings/sleep_method", *SEES_FLOW) or loop.regulates(case, "flow")
    return sees and case.is_("/settings/no_flow_response", *STOPS)


def _dry_run(case: Case, place: str) -> Iterator[Finding]:
    if _stops_dry(case):
        yield from _stops_too_early(case)
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


def _stops_too_early(case: Case) -> Iterator[Finding]:
    """A threshold of dry run that the lowest ordinary suction does not keep the pump above."""
    threshold = case.find(THRESHOLD)
    if threshold is None or not case.is_(RESPONSE, *STOPS):
        return
    if case.is_(METHOD, "suction_pressure") and threshold.kind == "pressure":
        yield from _early_by_pressure(case, threshold)
    elif case.is_(METHOD, "level") and threshold.kind == "length":
        yield from _early_by_level(case, threshold)


def _early_by_pressure(case: Case, threshold: Quantity) -> Iterator[Finding]:
    ordinary, told = case.find(LOWEST_PRESSURE), case.find("/settings/low_suction_limit")
    if ordinary is None or (told is not None and _is_told(told, ordinary)):
        return
    suction.require_fit(case, LOWEST_PRESSURE)
    if not below(threshold.si, ordinary.si):
        yield DRY_RUN.finding(
            "early_pressure", "review", case.place(THRESHOLD),
            compared={"threshold": threshold, "ordinary": ordinary},
        )  # fmt: skip


def _early_by_level(case: Case, threshold: Quantity) -> Iterator[Finding]:
    ordinary = case.find(LOWEST_LEVEL)
    if ordinary is None or case.is_("/settings/regulated_quantity", "level_filling"):
        return  # settings then count as in the tank that is filled
    suction.require_datum(case)
    suction.require_fit(case, LOWEST_LEVEL)
    stops_at = threshold.si + loop.level_reference(case)
    if not below(stops_at, ordinary.si):
        elevation = show(stops_at, ordinary.unit)
        yield DRY_RUN.finding(
            "early_level", "review", case.place(THRESHOLD),
            compared={"threshold": threshold, "elevation": elevation, "ordinary": ordinary},
        )  # fmt: skip


def _is_told(limit: Quantity, ordinary: Quantity) -> bool:
    """Whether the low-suction limit itself is questioned for the same reason."""
    return limit.kind == "pressure" and not below(limit.si, ordinary.si)


DRY_RUN = Rule(
    id="protection.dry-run",
    title="What stops a pump whose suction fails",
    severities=("review",),
    condition="A drive that regulates by itself and draws from a main or a tank stops the pump "
    "when its suction fails: by a dry-run protection, low suction, a low level, or no flow where "
    "the flow is seen by more than the frequency. Low discharge pressure alone sees it too late. "
    "The pressure or level at which dry run stops it is below the lowest ordinary suction. A pump "
    "in a well has a rule of its own.",
    source="common practice, no source; logic",
    subject=METHOD,
    needs=(METHOD,),
    applies=draws_by_itself,
    check=_dry_run,
    sentences={
        "none": "Nothing is set that stops the pump when its suction fails (dry-run protection: "
        "{method}): it runs dry, or draws the main down.",
        "alarm": "When its suction fails the pump only gives an alarm (dry-run protection: "
        "{method}): it runs dry, or draws the main down.",
        "late": "When its suction fails only low discharge pressure stops the pump ({discharge}"
        "{after}; dry-run protection: {method}): until then it runs dry, and longer where another "
        "pump or a full main holds that pressure.",
        "early_pressure": "Dry run stops the pump at {threshold}, not below the lowest ordinary "
        "suction pressure {ordinary}: it stops in ordinary service, or never starts.",
        "early_level": "Dry run stops the pump at {threshold}, an elevation of {elevation}, not "
        "below the lowest ordinary level {ordinary}: it stops in ordinary service, or never "
        "starts.",
    },
    remedies=dict.fromkeys(
        ("none", "alarm", "late"),
        "Set a stop by suction pressure, float, flow, or low load measured on the day, and prove "
        "it.",
    )
    | {
        "early_pressure": "Check digits and unit; set it below {ordinary}.",
        "early_level": "Check digits, unit and what levels count from; set it to an elevation "
        "below {ordinary}.",
    },
)
