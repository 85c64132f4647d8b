"""Rule of a station without a check valve: what the column does once the pump stands."""

from collections.abc import Iterator

from calculations.aspects import group, holding, loop, pumping
from calculations.case import Case, Missing
from calculations.derived.duty import HEAD_UNIT
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, show
from calculations.rules.closeness import above, below
from calculations.rules.well_restart import AFTER_POWER, DELAY, RESET_DELAY, RESETS
from calculations.rules.well_restart import RESTART as WELL_RESTART
from calculations.units import Quantity

KIND, TESTS = "/site/check_valve_kind", "/event/protection_tests"
START_MODE, HEADER = "/settings/start_mode", "/pump_set/discharge_header"
SLEEPS_BY = ("frequency", "no_flow_switch", "flow", "power", "pressure_test")


def _has_none(case: Case) -> bool:
    return case.find(KIND) == "none" and pumping.is_centrifugal(case)


def _is_held(case: Case) -> bool:
    """Whether it was seen on the day that nothing turns the pump backwards."""
    tests = case.find(TESTS) or ()
    return any(each.function == "reverse_rotation" and each.passed for each in tests)


def _no_valve(case: Case, place: str) -> Iterator[Finding]:
    if _is_held(case):
        return
    beside, unnamed = _on_one_header(case)
    if beside:
        yield CHECK_VALVE.finding(
            "parallel", "review", place, compared={}, tags=" and ".join(beside)
        )
        return
    yield from _column(case, place)
    if unnamed:
        raise Missing(*unnamed)


def _on_one_header(case: Case) -> tuple[list[str], list[str]]:
    """Sets that are known to pump into this one's header; places that would tell it of others."""
    ours = case.find(HEADER)
    beside: list[str] = []
    unnamed: list[str] = []
    for index in range(len(case.subject.neighbours or ())):
        theirs = case.find(f"/neighbours/{index}{HEADER}")
        if None not in (ours, theirs):
            beside += [group.name(case, f"/neighbours/{index}")] if theirs == ours else []
            continue
        unnamed += [HEADER] if ours is None else []
        unnamed += [f"/neighbours/{index}{HEADER}"] if theirs is None else []
    return beside, list(dict.fromkeys(unnamed))


def _column(case: Case, place: str) -> Iterator[Finding]:
    if holding.over_summit(case, "low") is not None:
        return  # no more than what stands in front of the crest runs back
    head = _head_at_rest(case)
    if not above(head, case.limit("station.check-valve.head")):
        return
    shown = show(head, HEAD_UNIT(case), 3)
    if loop.keeps_discharge_pressure(case) and case.is_("/settings/sleep_method", *SLEEPS_BY):
        yield CHECK_VALVE.finding("sleep", "review", place, compared={"head": shown})
        return
    start = next(_too_soon(case), None)
    if start is not None:
        after, delay = start
        least = show(case.limit("station.check-valve.pause"), "s")
        yield CHECK_VALVE.finding(
            "across_the_line" if case.fixed_speed else "restart", "review", place,
            compared={"head": shown, "delay": delay},
            limit=f"at least {least}", after=after, least=least,
        )  # fmt: skip
        return
    yield CHECK_VALVE.finding(
        "runs_back", "note", place,
        compared={"head": shown}, live=LIVE if case.is_("/motor/kind", *WITH_MAGNETS) else "",
    )  # fmt: skip


def _head_at_rest(case: Case) -> float:
    """What stands over the pump at the lowest suction once it stops [m]."""
    if case.fixed_speed:
        return case.si(holding.LIFT["low"])
    return holding.required_head(case, "low")


def _too_soon(case: Case) -> Iterator[tuple[str, Shown | Quantity]]:
    """Starts that come by themselves while it may still turn backwards, each with its pause."""
    for after, delay in _starts_by_itself(case):
        if below(_seconds(delay), case.limit("station.check-valve.pause")):
            if _is_told_of_wells(case, delay) or _catches(case):
                continue
            yield after, delay


def _starts_by_itself(case: Case) -> Iterator[tuple[str, Shown | Quantity]]:
    """After what it starts again by itself, and after which pause; none is set where it is not."""
    if case.is_(AFTER_POWER, "restart"):
        yield "a loss of power", case.find(DELAY) or Shown("0", "s")
    elif case.is_(AFTER_POWER, "restart_after_delay"):
        yield "a loss of power", case.quantity(DELAY)
    if case.find(RESETS):
        yield "a fault", case.quantity(RESET_DELAY)


def _seconds(delay: Shown | Quantity) -> float:
    return delay.si if isinstance(delay, Quantity) else 0.0


def _is_told_of_wells(case: Case, delay: Shown | Quantity) -> bool:
    return WELL_RESTART.applies(case) and below(_seconds(delay), case.limit("well.restart.pause"))


def _catches(case: Case) -> bool:
    """Whether a drive takes up a motor that already turns; nothing else does."""
    return not case.fixed_speed and case.word(START_MODE) == "catch_spinning"


WITH_MAGNETS = ("permanent_magnet", "pm_assisted_reluctance")
LIVE = ". Its magnets keep the motor's terminals live as long as it turns"
_HELD = "no check valve holds the {head} that stand over the pump"
_SHUT = (
    " Until then an open isolator does not keep the shaft still: shut and lock the discharge valve "
    "as well, and prove the terminals dead, before anybody touches either."
)

CHECK_VALVE = Rule(
    id="station.check-valve",
    title="A station without a check valve",
    severities=("review", "note"),
    condition="Where no check valve is fitted what stands over the pump at rest runs back through "
    "it and drives it backwards (note). So much needs an answer: another set pumps into the same "
    "header, and through this one; a pressure loop puts the pump to sleep, and the pressure falls "
    "behind it; the pump starts by itself within 30 s, and no drive catches a motor that turns. "
    "Nothing is said up to 1 m, where the main falls behind a crest that stands above its outlet, "
    "or where a test of the visit showed that nothing turns backwards.",
    source="hydrostatics; a pump that is run through backwards is a turbine; 1 m and 30 s: common "
    "practice, no source",
    subject=KIND,
    waits_for=("site.datum", "loop.kinds", "loop.set-point-unit"),
    applies=_has_none,
    check=_no_valve,
    limits={
        "head": Limit(1, "m", "over the pump at rest", "lower", "common practice"),
        "pause": Limit(30, "s", "before a start against the column", "higher", "common practice"),
    },
    sentences={
        "parallel": "This set and {tags} pump into one header, and no check valve closes behind a "
        "pump that stands: part of the flow of the others runs back through it, to where it came "
        "from, and turns it backwards.",
        "sleep": f"The loop lets the pump sleep, but {_HELD}: the pressure falls as soon as it "
        "stops, and it is woken against a pump that turns backwards.",
        "restart": f"After {{after}} the pump starts again after {{delay}}, but {_HELD}: it may "
        "still turn backwards, and the start mode catches no motor that turns.",
        "across_the_line": "After {after} the pump starts again across the line after {delay}, but "
        f"{_HELD}: it may still turn backwards, which takes its shaft and the supply hard.",
        "runs_back": f"At rest {_HELD}: they run back through it, and turn it backwards like a "
        "turbine without load, faster than its rated speed where they are high{live}.",
    },
    remedies={
        "parallel": "Check whether a valve closes at each pump, and correct the entry; else fit "
        "one." + _SHUT,
        "sleep": "Check whether a valve closes at the pump, and correct the entry; else fit one, "
        "or let it not sleep." + _SHUT,
        "restart": "Check whether a valve closes at the pump, and correct the entry; else wait "
        "until it stands ({least} at the least), or let the drive catch a motor that turns, in "
        "both directions." + _SHUT,
        "across_the_line": "Check whether a valve closes at the pump, and correct the entry; else "
        "wait until it stands ({least} at the least)." + _SHUT,
        "runs_back": "Check whether a valve closes at the pump, and correct the entry. Let it be "
        "seen, from a distance, how fast and how long it turns after a stop." + _SHUT,
    },
)
