"""Rule of how long a protection took against the delay that is set."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, percent, show, spaced
from calculations.rules.closeness import above, below
from calculations.rules.power_return import AFTER_POWER
from calculations.rules.protections import TESTS, tested

SET_BY = {
    "low_suction": "low_suction_limit_delay",
    "high_pressure": "high_discharge_limit_delay",
    "low_pressure_burst": "low_discharge_limit_delay",
    "dry_run": "dry_run_delay",
    "loss_of_feedback": "signal_loss_delay",
    "no_flow": "no_flow_delay",
    "power_loss_restart": "restart_delay",
}
"""The delay that a protection acts after; a restart also waits until the drive has woken up."""

SLOW_SENSORS = ("/settings/feedback_filter_time", "/regulating_sensor/damping_time")


def _delay(case: Case, place: str) -> Iterator[Finding]:
    function = case.word(f"{place}/function")
    setting = SET_BY.get(function)
    measured = case.find(f"{place}/delay_measured")
    given = case.find(f"/settings/{setting}") if setting else None
    if measured is None or given is None:
        return
    restarts = function == "power_loss_restart"
    if restarts and not case.is_(AFTER_POWER, "restart_after_delay"):
        return
    share = case.limit("protection.delay.share") * given.si
    by_hand = case.limit("protection.delay.watch")
    slow = case.limit("protection.delay.wakes") if restarts else _filtered(case)
    late = above(measured.at_least, given.si + share + by_hand + slow)
    early = below(measured.at_most, given.si - share - by_hand)
    if not (late or early):
        return
    yield DELAY.finding(
        "late" if late else "early", "review", place,
        compared={"measured": measured, "set": given},
        limit=f"{percent(case.limit('protection.delay.share'))} and {show(by_hand, 's')}",
        function=spaced(function),
    )  # fmt: skip


def _filtered(case: Case) -> float:
    """By how much filter and damping may hold back what a sensor tells [s]."""
    return float(sum(found.si for found in map(case.find, SLOW_SENSORS) if found is not None))


DELAY = Rule(
    id="protection.delay",
    title="Time until a protection acted against its delay",
    severities=("review",),
    condition="The time until a protection acted is the delay that is set, to within 50 % and 5 s "
    "of a hand-held watch; later also by the filter of the feedback and the sensor's damping, a "
    "restart by the 60 s in which a drive and its controls wake up.",
    source="common practice, no source",
    each=TESTS,
    waits_for=("protection.failed", "well.restart"),
    waits_at=lambda case, place: case.is_(f"{place}/function", "power_loss_restart"),
    applies=lambda case: tested(case) and bool(case.find(TESTS)),
    check=_delay,
    limits={
        "share": Limit(50, "%", "of the delay", "lower", "common practice"),
        "wakes": Limit(60, "s", "until drive and controls are awake", "lower", "common practice"),
        "watch": Limit(5, "s", "of watch and hand", "lower", "common practice"),
    },
    sentences={
        "late": "The protection {function} acted after {measured}, but is set to act after {set}: "
        "something else holds it back, or something else acted.",
        "early": "The protection {function} acted after {measured} already, but is set to act "
        "after {set}: something else acted.",
    },
    remedies=dict.fromkeys(
        ("late", "early"), "Provoke it again with a watch, and see in the drive what acted."
    ),
)
