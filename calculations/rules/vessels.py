"""Rules of hydropneumatic vessels: pre-charge, and starts that a vessel should spare."""

from collections.abc import Iterator

from calculations.aspects import loop
from calculations.aspects.storage import WAKE, bridges, wake_value
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity, Shown, digits
from calculations.inputs.sensor import Vessel
from calculations.rule import Limit, Rule, percent, show
from calculations.rules.loop_set_point import SCALED
from calculations.rules.wells import plate_starts, taking_turns
from calculations.units import Quantity

CHECKS = "/event/vessel_checks"
SHORTEST_COUNT = 24 * 3600.0
"""Running time after which counted starts say something of ordinary service [s]; no source."""


def serves_sleep(case: Case) -> bool:
    """Whether a vessel bridges the time until the pump wakes."""
    return loop.on_discharge_pressure(case) and any(
        bridges(vessel) for vessel in case.find("/vessels") or ()
    )


def vessel_of(case: Case, place: str) -> tuple[str, Vessel]:
    """The vessel that a check belongs to, with its place."""
    named = case.find(f"{place}/vessel")
    vessels = list(enumerate(case.find("/vessels") or ()))
    for index, vessel in vessels:
        if named in (vessel.id, vessel.tag, vessel.serial) or (named is None and len(vessels) == 1):
            return f"/vessels/{index}", vessel
    raise Missing(f"{place}/vessel")


# -- pre-charge -----------------------------------------------------------------------------------


def _precharge(case: Case, place: str) -> Iterator[Finding]:
    _, vessel = vessel_of(case, place)
    if not bridges(vessel):
        return
    if not case.require(f"{place}/system_drained")[0]:
        read = case.find(f"{place}/pre_charge_as_left") or case.find(f"{place}/pre_charge_as_found")
        if read is not None:
            yield PRECHARGE.finding(
                "not_drained", "review", place,
                compared={"precharge": read}, tag=vessel.tag or "the vessel",
            )  # fmt: skip
        return
    left = case.find(f"{place}/pre_charge_as_left") or case.quantity(f"{place}/pre_charge_as_found")
    wake = wake_value(case)
    least = case.limit("vessel.precharge.least")
    low, high = (case.limit(f"vessel.precharge.{end}") * wake for end in ("low", "high"))
    if low <= left.si + left.resolution and left.si - left.resolution <= high:
        return
    fits = left.si - left.resolution < wake and left.si + left.resolution >= least * wake
    grave = "low" if left.si < least * wake else "high"
    aside = "below_target" if left.si < low else "above_target"
    yield PRECHARGE.finding(
        aside if fits else grave, "note" if fits else "review", place,
        compared={"precharge": left, "wake": show(wake, left.unit)},
        limit=f"{percent(least)} of the wake pressure, and below it",
        tag=vessel.tag or "The vessel", share=percent(left.si / wake, 2),
        target_low=show(low, left.unit, 3), target_high=show(high, left.unit, 3),
    )  # fmt: skip


PRECHARGE = Rule(
    id="vessel.precharge",
    title="Pre-charge against the wake pressure",
    severities=("review", "note"),
    condition="The pre-charge, measured with the system drained, is below the wake pressure and "
    "not below 60 % of it; outside the target of 80 to 95 % it is noted.",
    source="common practice, from memory",
    each=CHECKS,
    needs=(WAKE, "/settings/wake_basis", "./system_drained"),
    waits_for=(*SCALED, "loop.set-point-unit", "loop.wake"),
    applies=serves_sleep,
    check=_precharge,
    limits={
        "least": Limit(60, "%", "of the wake pressure", "higher", "from memory"),
        "low": Limit(80, "%", "of the wake pressure, target", "higher", "from memory"),
        "high": Limit(95, "%", "of the wake pressure, target", "lower", "from memory"),
    },
    sentences={
        "not_drained": "{precharge} were read at {tag} with its water side not drained: that is "
        "the pressure of the water, and says nothing of the pre-charge.",
        "high": "{tag} is charged to {precharge}, not below the wake pressure of {wake}: it is "
        "empty before the pump wakes.",
        "low": "{tag} is charged to {precharge} only, the pump wakes at {wake}: most of the vessel "
        "holds water that it never gives.",
        "below_target": "{tag} is charged to {precharge}, {share} of the wake pressure of {wake}: "
        "it gives less water than it could before the pump wakes.",
        "above_target": "{tag} is charged to {precharge}, {share} of the wake pressure of {wake}: "
        "it is nearly empty when the pump wakes.",
    },
    remedies={"not_drained": "Drain the vessel's water side, vent it and read again."}
    | dict.fromkeys(
        ("high", "low", "below_target", "above_target"),
        "Charge it to {target_low} to {target_high}, drained.",
    ),
)


# -- starts ---------------------------------------------------------------------------------------


def counts_starts(case: Case) -> bool:
    """Whether starts are counted, or a vessel is there to spare them."""
    counted = case.find("/event/start_count") is not None
    return (counted and case.find("/event/hours_run") is not None) or serves_sleep(case)


def _allowed(case: Case, permitted: float, *, short: bool) -> float:
    """Starts that an hour of running may have where so many an hour of the clock are permitted."""
    allowed = permitted
    if not serves_sleep(case):
        allowed *= case.limit("vessel.starts.at-rest") * taking_turns(case)
    # A day of tests starts a pump often; three times as often as permitted, it does not.
    return allowed * (case.limit("vessel.starts.first-day") if short else 1.0)


def _starts(case: Case, place: str) -> Iterator[Finding]:
    hours, count = case.quantity("/event/hours_run"), case.require("/event/start_count")[0]
    short = hours.si < SHORTEST_COUNT
    if hours.si <= 0 or (short and count <= case.limit("vessel.starts.tests")):
        return
    found = count / (hours.si / 3600)
    stated = plate_starts(case)
    limit = stated if stated is not None else case.limit("vessel.starts.unstated")
    if found <= _allowed(case, limit, short=short) * (1 + 1e-9):
        return
    severity: Severity = "review" if stated is not None else "note"
    compared: dict[str, Shown | Quantity] = {"count": Shown(str(count), ""), "hours": hours}
    yield STARTS.finding(
        "above_plate" if stated is not None else "unstated", severity, place,
        compared=compared, limit=f"{digits(limit, 3)} per hour", starts=digits(found, 3),
        permitted=digits(limit, 3),
    )  # fmt: skip


STARTS = Rule(
    id="vessel.starts",
    title="Starts per hour by the drive's counters",
    severities=("review", "note"),
    condition="Starts counted over at least a day of running are no more per hour than motor and "
    "pump permit (note above 15 where neither states a number). Where levels or a tank start the "
    "pump it may be four times as many: at little flow it rests most of the time, and only hours "
    "of running are counted. Over less than a day three times as many, 30 starts of testing "
    "granted.",
    source="motor's and pump's manual; 15 from memory; four times: a volume that gives the "
    "permitted cycle at the worst inflow, half of the flow (MIL-HDBK-1005/9A, 2.5.3.6), is emptied "
    "in a quarter of that cycle at no inflow",
    subject="/event/start_count",
    needs=("/event/hours_run", "/event/start_count"),
    applies=counts_starts,
    check=_starts,
    limits={
        "unstated": Limit(15, "1", "starts per hour", "lower", "from memory"),
        "at-rest": Limit(4, "1", "times as many per hour of running", "lower", "derived"),
        "first-day": Limit(3, "1", "times as many within a day", "lower", "common practice"),
        "tests": Limit(30, "1", "starts of testing", "lower", "common practice"),
    },
    sentences={
        "above_plate": "{count} starts in {hours} of running are {starts} an hour; {permitted} are "
        "permitted.",
        "unstated": "{count} starts in {hours} of running are {starts} an hour; no limit is "
        "recorded.",
    },
    remedies={
        "above_plate": "Check the counters; then what starts it so often: pre-charge, check valve, "
        "leaks, wake value, levels."
    },
)
