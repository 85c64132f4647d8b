"""Rules of protections: proven, at the value that is set, and all that the station needs."""

from collections.abc import Iterator
from dataclasses import dataclass

from calculations.aspects import kinds, loop
from calculations.aspects.excuses import work_is_excused
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, percent, spaced
from calculations.rules.closeness import above, signed_percent
from calculations.rules.dry_run import draws_by_itself
from calculations.rules.loop_measurable import measured_limit
from calculations.rules.loop_set_point import SET_POINT
from calculations.rules.speed_and_system import LOST_WITH_SENSOR
from calculations.units import Quantity

TESTS = "/event/protection_tests"

SET_BY = {
    "low_suction": "low_suction_limit",
    "high_pressure": "high_discharge_limit",
    "low_pressure_burst": "low_discharge_limit",
    "dry_run": "dry_run_threshold",
    "high_level": "high_level_alarm",
    "low_level": "low_level_cutoff",
}
"""The setting that a protection acts at."""

OF_PROCESS = ("pressure", "length", "flow", "temperature")
OF_SPAN = ("low_suction_limit", "low_discharge_limit", "high_discharge_limit")
"""Settings that belong to a sensor's span where they are in %."""

USUAL_SHARE, NEAR_ZERO = 0.05, 0.01


def tested(case: Case) -> bool:
    """Whether protections were tested, or should have been."""
    return case.event is not None and (
        case.event.kind == "start_up" or bool(case.event.protection_tests)
    )


# -- failed -------------------------------------------------------------------------------------


def _failed(case: Case, place: str) -> Iterator[Finding]:
    passed = case.require(f"{place}/passed")[0]
    if passed:
        return
    observed = case.find(f"{place}/observed")
    yield FAILED.finding(
        "failed", "stop", place,
        compared={}, function=spaced(case.word(f"{place}/function")),
        observed=f": {observed}" if observed else "",
    )  # fmt: skip


FAILED = Rule(
    id="protection.failed",
    title="Protection that did not act",
    severities=("stop",),
    condition="Every protection that was provoked did what it should.",
    source="direct test",
    each=TESTS,
    applies=tested,
    check=_failed,
    sentences={"failed": "The protection {function} was provoked and did not act{observed}."},
    remedies={"failed": "Put it right and test it again."},
)


# -- value at which it acted -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Trip:
    """Where a protection acted and where it is set, in SI; `scale` is what 5 % belong to."""

    acted: float
    limit: float
    scale: float
    rounding: float


def _trip(case: Case, place: str) -> Trip | None:
    """None where the function has no setting, or nothing was read."""
    setting = SET_BY.get(case.word(f"{place}/function"))
    if setting is None:
        return None
    entered, read = case.find(f"/settings/{setting}"), case.find(f"{place}/limit_at_trip")
    if entered is None or read is None:
        return None
    if entered.kind == read.kind:
        in_percent = entered.kind == "ratio"
        least = NEAR_ZERO / USUAL_SHARE if in_percent else _least_scale(case, entered, setting)
        return Trip(read.si, entered.si, max(abs(entered.si), least), read.resolution)
    if "ratio" not in (entered.kind, read.kind):
        return None
    return _trip_in_percent(case, setting, entered, read)


def _trip_in_percent(case: Case, setting: str, entered: Quantity, read: Quantity) -> Trip:
    """Setting and reading of which one is in %: of the loop's span, where both are of its kind."""
    in_units = read if entered.kind == "ratio" else entered
    if setting not in OF_SPAN or in_units.kind != kinds.of_loop(case):
        raise Missing(
            case.place(f"/settings/{setting}"), because=f"% and {in_units.unit} are not compared"
        )
    limit = measured_limit(case, setting) if entered.kind == "ratio" else entered.si
    acted = loop.process_range(case).at(read.si) if read.kind == "ratio" else read.si
    rounding = read.resolution if read.kind != "ratio" else 0.0
    return Trip(acted, limit, max(abs(limit), _least_scale(case, entered, setting)), rounding)


def _least_scale(case: Case, entered: Quantity, setting: str) -> float:
    """What 5 % belong to where a limit is near zero [SI]: then 1 % of a span is allowed.

    The span of the suction's sensor where that reads the limit, else of the loop. Without a span,
    half of the limit's last digit is.
    """
    if entered.kind == "pressure" and _by_suction_sensor(case, setting):
        return loop.measuring_range(case, "/suction_sensor").span * NEAR_ZERO / USUAL_SHARE
    of_loop = kinds.of_loop(case) == "pressure"
    if entered.kind not in ("pressure", "ratio") or not of_loop or not case.find(SET_POINT):
        return abs(entered.resolution) / USUAL_SHARE
    return loop.process_span(case) * NEAR_ZERO / USUAL_SHARE


def _by_suction_sensor(case: Case, setting: str) -> bool:
    """Whether a limit is read from a sensor of pressure at the suction whose range is known."""
    if setting != "low_suction_limit" or not case.is_(
        "/settings/low_suction_limit_measured_by", "suction_sensor"
    ):
        return False
    ends = (case.find(f"/suction_sensor/{end}_range_value") for end in ("lower", "upper"))
    return all(end is not None and end.kind == "pressure" for end in ends)


def _trip_value(case: Case, place: str) -> Iterator[Finding]:
    trip = _trip(case, place)
    if trip is None:
        yield from _of_two_kinds(case, place)
        return
    allowed = case.limit("protection.trip-value.difference") * trip.scale + trip.rounding
    if not above(abs(trip.acted - trip.limit), allowed):
        return
    setting = SET_BY[case.word(f"{place}/function")]
    yield TRIP_VALUE.finding(
        "apart", "review", place,
        compared={
            "acted": case.quantity(f"{place}/limit_at_trip"),
            "limit": case.quantity(f"/settings/{setting}"),
        },
        limit=percent(case.limit("protection.trip-value.difference")),
        function=spaced(case.word(f"{place}/function")),
        difference=_difference(case, place, trip),
    )  # fmt: skip


def _difference(case: Case, place: str, trip: Trip) -> str:
    """In % of the limit; of one near zero in its own unit, since % of it would say nothing."""
    apart = trip.acted - trip.limit
    read = case.quantity(f"{place}/limit_at_trip")
    if read.kind == "ratio" or trip.scale == abs(trip.limit):
        return signed_percent(apart / trip.scale)
    side = "higher" if apart > 0 else "lower"
    return f"{about(abs(apart), read.unit)} {side}"


def _watched_by_loop(case: Case, place: str) -> bool:
    """Whether a protection acts on what the drive is regulated on, or may."""
    setting = SET_BY.get(str(case.find(f"{place}/function")))
    measured_by = case.find(f"/settings/{setting}_measured_by") if setting in OF_SPAN else None
    return setting is not None and measured_by in LOST_WITH_SENSOR


def _of_two_kinds(case: Case, place: str) -> Iterator[Finding]:
    """A setting and a reading that cannot be compared; a level may stand in units of pressure."""
    setting = SET_BY.get(case.word(f"{place}/function"))
    entered = case.find(f"/settings/{setting}") if setting else None
    read = case.find(f"{place}/limit_at_trip")
    if entered is None or read is None or read.kind not in OF_PROCESS:
        return  # the frequency or current at which it acted is worth writing down as well
    if entered.kind not in OF_PROCESS or {entered.kind, read.kind} == {"length", "pressure"}:
        return
    yield TRIP_VALUE.finding(
        "kinds", "review", place,
        compared={"acted": read, "limit": entered},
        function=spaced(case.word(f"{place}/function")),
        acted_kind=kinds.WORDS[read.kind], limit_kind=kinds.WORDS[entered.kind],
    )  # fmt: skip


TRIP_VALUE = Rule(
    id="protection.trip-value",
    title="Value at which a protection acted against its setting",
    severities=("review",),
    condition="The value at which a protection acted is its setting, to within 5 % and the "
    "rounding of the reading; both are of one kind of quantity.",
    source="common practice, no source",
    each=TESTS,
    waits_for=("loop.signal-type", "loop.input-selector", "loop.scaling"),
    waits_at=_watched_by_loop,
    applies=tested,
    check=_trip_value,
    limits={"difference": Limit(5, "%", "of the limit set", "lower", "from memory")},
    sentences={
        "apart": "The protection {function} acted at {acted}, but is set to {limit} "
        "({difference}).",
        "kinds": "The protection {function} acted at {acted}, {acted_kind}, but is set to {limit}, "
        "{limit_kind}: the two cannot be compared.",
    },
    remedies={
        "apart": "Check unit and sensor of the limit, and the setting itself.",
        "kinds": "Enter what was read of the quantity that the protection watches.",
    },
)


# -- missing ------------------------------------------------------------------------------------

Wanted = tuple[str, tuple[str, ...]]
"""What is wanted, in words, and the functions any of which proves it."""

POWER = ("restart after power loss", ("power_loss_restart",))
SIGNAL = ("loss of the feedback signal", ("loss_of_feedback",))
HIGH = ("high pressure", ("high_pressure",))
SUCTION = ("low suction", ("low_suction", "dry_run", "low_level"))
DRY = ("dry run", ("dry_run",))
FLOAT = ("high-level float independent of the transmitter", ("float_backup",))
MOTOR = ("leak or motor temperature", ("seal_leak", "motor_overtemperature"))
LAG = ("take-over by the lag pump", ("lag_takeover",))


def wanted(case: Case) -> Iterator[Wanted]:
    """The protections of the kind of station."""
    kind = case.word("/site/kind")
    yield POWER
    if loop.is_known_closed(case):
        yield SIGNAL
    if kind == "lift_station":
        yield FLOAT
        yield from [MOTOR] if _has_motor_sensor(case) else []
        yield from [LAG] if (case.find("/settings/pumps_in_group") or 1) > 1 else []
        return
    if kind == "booster":
        yield SUCTION
    if kind in ("booster", "well"):
        yield HIGH
    if kind == "well":
        yield DRY


def _has_motor_sensor(case: Case) -> bool:
    thermal = case.find("/motor/thermal_sensor") not in (None, "none")
    return thermal or case.find("/motor/leak_sensor") is True


def _missing(case: Case, place: str) -> Iterator[Finding]:
    proven = {each.function for each in case.require(TESTS)[0]}
    for words, functions in wanted(case):
        if proven.intersection(functions) or work_is_excused(case, words, *functions):
            continue
        if _is_named_by_its_setting(case, functions):
            continue
        variant, severity = _gravity(functions)
        yield MISSING.finding(
            variant, severity, place,
            compared={"kind": Shown(spaced(case.word("/site/kind")), "")}, wanted=words,
        )  # fmt: skip


def _is_named_by_its_setting(case: Case, functions: tuple[str, ...]) -> bool:
    """Whether nothing is set that a test could prove, and the rule of that setting names it."""
    if functions == DRY[1]:
        return case.is_("/settings/dry_run_method", "none")
    if functions == SUCTION[1]:
        unset = case.is_("/settings/low_suction_limit_response", "none")
        unset = unset and case.is_("/settings/dry_run_method", "none")
        return unset and draws_by_itself(case)
    return functions == SIGNAL[1] and case.is_("/settings/signal_loss_response", "none")


def _gravity(functions: tuple[str, ...]) -> tuple[str, Severity]:
    if functions == FLOAT[1]:
        return "float", "stop"
    return ("dry", "stop") if functions == DRY[1] else ("plain", "review")


MISSING = Rule(
    id="protection.missing",
    title="Protections of the kind of station proven",
    severities=("stop", "review"),
    condition="A start-up proves restart after power loss, loss of the feedback signal of a closed "
    "loop; at a booster low suction and high pressure; at a well high pressure and dry run (stop); "
    "at a lift station an independent high-level float (stop), leak or motor temperature where "
    "sensors are fitted, and take-over by the lag pump of a group.",
    source="common practice, no source",
    subject=TESTS,
    needs=("/site/kind", TESTS),
    applies=lambda case: case.event is not None and case.event.kind == "start_up",
    check=_missing,
    sentences={
        "plain": "No test is recorded of {wanted}, which this kind of station ({kind}) needs.",
        "float": "No test is recorded of a {wanted}: without it a failed transmitter floods the "
        "station unseen.",
        "dry": "No test is recorded of the dry-run protection: without it the pump of a well runs "
        "dry unseen.",
    },
    remedies=dict.fromkeys(
        ("plain", "float", "dry"), "Test it, or say under what was not possible why not."
    ),
)
