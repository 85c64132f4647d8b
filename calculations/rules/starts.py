"""Rules of starts by the drive's counters: with a vessel that spares them, and without."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about
from calculations.rules.closeness import above, below
from calculations.rules.vessels import serves_sleep
from calculations.rules.wells import plate_starts, taking_turns
from calculations.units import Quantity

COUNT, HOURS = "/event/start_count", "/event/hours_run"
SHORTEST_COUNT = 24 * 3600.0
"""Running time after which counted starts say something of ordinary service [s]; no source."""


def _are_counted(case: Case) -> bool:
    return case.find(COUNT) is not None and case.find(HOURS) is not None


def _spared(case: Case, place: str) -> Iterator[Finding]:
    return _judged(case, place, VESSEL_STARTS, 1.0)


def _resting(case: Case, place: str) -> Iterator[Finding]:
    more = case.limit(f"{MOTOR_STARTS.id}.at-rest") * taking_turns(case)
    return _judged(case, place, MOTOR_STARTS, more)


def _judged(case: Case, place: str, rule: Rule, more: float) -> Iterator[Finding]:
    """Counted starts against those permitted; `more` times as many may an hour of running have."""
    hours, count = case.quantity(HOURS), case.require(COUNT)[0]
    short = below(hours.si, SHORTEST_COUNT)
    if hours.si <= 0 or (short and count <= case.limit(f"{rule.id}.tests")):
        return
    found = count / (hours.si / 3600)
    stated = plate_starts(case)
    limit = stated if stated is not None else case.limit(f"{rule.id}.unstated")
    # A day of tests starts a pump often; three times as often as permitted, it does not.
    allowed = limit * more * (case.limit(f"{rule.id}.first-day") if short else 1.0)
    if not above(found, allowed):
        return
    severity: Severity = "review" if stated is not None else "note"
    compared: dict[str, Shown | Quantity] = {"count": Shown(str(count), ""), "hours": hours}
    yield rule.finding(
        "above_plate" if stated is not None else "unstated", severity, place,
        compared=compared, limit=f"{about(allowed)} per hour of running",
        starts=about(found), permitted=about(limit),
    )  # fmt: skip


LIMITS = {
    "unstated": Limit(15, "1", "starts per hour", "lower", "from memory"),
    "first-day": Limit(3, "1", "times as many within a day", "lower", "common practice"),
    "tests": Limit(30, "1", "starts of testing", "lower", "common practice"),
}
SENTENCES = {
    "above_plate": "{count} starts in {hours} of running are {starts} an hour; {permitted} are "
    "permitted.",
    "unstated": "{count} starts in {hours} of running are {starts} an hour; no limit is recorded.",
}

VESSEL_STARTS = Rule(
    id="vessel.starts",
    title="Starts per hour, with a vessel that spares them",
    severities=("review", "note"),
    condition="Where a vessel bridges the time until the pump wakes, starts counted over at least "
    "a day of running are no more per hour than motor and pump permit (note above 15 where neither "
    "states a number). Over less than a day three times as many, 30 starts of testing granted.",
    source="motor's and pump's manual; 15 from memory",
    subject=COUNT,
    needs=(HOURS, COUNT),
    applies=serves_sleep,
    check=_spared,
    limits=LIMITS,
    sentences=SENTENCES,
    remedies={
        "above_plate": "Check the counters; then what starts it so often: check valve, leaks, wake "
        "value, and the pre-charge, read with the vessel isolated, drained and without pressure on "
        "its water side."
    },
)

MOTOR_STARTS = Rule(
    id="motor.starts",
    title="Starts per hour by the counters",
    severities=("review", "note"),
    condition="Without a vessel that spares them, starts counted over at least a day of running "
    "are no more than four times as many per hour as motor and pump permit (note above four times "
    "15 where neither states a number): where levels or a tank start the pump it rests most of the "
    "time at little flow, and only hours of running are counted; pumps that take turns share that. "
    "Over less than a day three times as many, 30 starts of testing granted.",
    source="motor's and pump's manual; 15 from memory; four times: a volume that gives the "
    "permitted cycle at the worst inflow, half of the flow (MIL-HDBK-1005/9A, 2.5.3.6), is emptied "
    "in a quarter of that cycle at no inflow",
    subject=COUNT,
    needs=(HOURS, COUNT),
    applies=lambda case: _are_counted(case) and not serves_sleep(case),
    check=_resting,
    limits=LIMITS
    | {"at-rest": Limit(4, "1", "times as many per hour of running", "lower", "derived")},
    sentences=SENTENCES,
    remedies={
        "above_plate": "Check the counters; then what starts it so often: levels too near each "
        "other, check valve, leaks, restarts after trips."
    },
)
