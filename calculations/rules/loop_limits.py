"""Rules of the pressures in order: limits, wake, set point, boost, relief, pipework, suction."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from calculations.aspects import loop, suction
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, each_alone, show, within
from calculations.rules.closeness import above, below
from calculations.rules.loop_measurable import is_measurable, measured_limit
from calculations.rules.loop_set_point import SCALED, SET_POINT
from calculations.rules.loop_signal import shown
from calculations.rules.scope import has_drive
from calculations.units import Quantity

HIGH, LOW = "/settings/high_discharge_limit", "/settings/low_discharge_limit"
LOW_SUCTION, WAKE = "/settings/low_suction_limit", "/settings/wake_value"
ORDINARY_SUCTION = "/site/suction_pressure_low"
ORDINARY_LEVEL = "/site/suction_level_low"
TAPPING = "/suction_sensor/tapping_elevation"
RELIEF, PIPEWORK = "/site/relief_valve_setting", "/site/discharge_pressure_limit"


@dataclass(frozen=True, slots=True)
class Broken:
    """One pair of pressures in the wrong order."""

    variant: str
    severity: Severity
    subject: str
    compared: dict[str, Shown | Quantity] = field(default_factory=dict)
    which: str = "Set point"


def _limits_order(case: Case, place: str) -> Iterator[Finding]:
    return each_alone(
        _told(case, _above(case)),
        _told(case, _below(case)),
        *(_told(case, _alternative_below(case, each)) for each in loop.alternatives(case)),
        _told(case, _held_by_suction(case)),
    )


def _told(case: Case, found: Iterator[Broken]) -> Iterator[Finding]:
    """The first pair that one search finds in the wrong order."""
    for broken in found:
        yield LIMITS_ORDER.finding(
            broken.variant, broken.severity, case.place(broken.subject), compared=broken.compared,
            which=broken.which, aim=within(broken.which),
        )  # fmt: skip
        return


def highest_aim(case: Case) -> tuple[float, str]:
    """Highest pressure that the loop aims at [Pa], its boost included, and where it stands."""
    found = [(loop.process_value(case, place), place) for place in loop.aims(case)]
    highest, place = max(found, key=lambda each: each[0])
    return highest + loop.boost(case), place


def _limit(case: Case, pointer: str) -> float | None:
    """A limit of the drive [Pa]; None where none is set, or none that its sensor can show."""
    name = pointer.rsplit("/", 1)[-1]
    if case.find(pointer) is None:
        return None
    try:
        shows = is_measurable(case, name)
    except Missing:
        shows = True  # of a sensor whose range is not known
    return measured_limit(case, name) if shows else None


def _above(case: Case) -> Iterator[Broken]:
    """The set point and its boost against all that lies above, the worst first."""
    top, at = highest_aim(case)
    which = loop.which(case, at)
    relief, pipework = case.find(RELIEF), case.find(PIPEWORK)
    aims: dict[str, Shown | Quantity] = {"set_point": case.quantity(at)}
    aims["highest_aim"] = shown(case, top)
    try:
        at_pump = top + (loop.over_remote(case) if relief or pipework else 0.0)
    except Missing:
        yield from _against_trip(case, top, aims, which)
        raise
    for variant, name, bears in (
        ("top_relief", "relief_valve", relief),
        ("top_pipework", "pipework", pipework),
    ):
        if bears is None or not above(at_pump, bears.at_most):
            continue
        told = aims | {name: bears}
        if at_pump > top:
            told, variant = told | {"at_pump": show(at_pump, bears.unit)}, f"{variant}_remote"
        # The height of a far sensor is nothing that anybody reads on site.
        severity: Severity = "stop" if above(top, bears.at_most) else "review"
        yield Broken(variant, severity, at, told, which)
    yield from _against_trip(case, top, aims, which)


def _against_trip(
    case: Case, top: float, aims: dict[str, Shown | Quantity], which: str
) -> Iterator[Broken]:
    """The highest aim against the high limit."""
    high = _limit(case, HIGH)
    if high is None:
        return
    stop = case.quantity(HIGH)
    if not below(top, high):
        yield Broken("top_high", "review", HIGH, aims | {"high_limit": stop}, which)
        return
    room = case.limit("loop.limits-order.room") * loop.process_span(case)
    if below(high - top, room):
        yield Broken("near_high", "note", HIGH, aims | {"high_limit": stop}, which)


def _below(case: Case) -> Iterator[Broken]:
    """The set point and the wake value against all that lies below, the worst first."""
    aim = loop.set_point(case)
    set_point = case.quantity(SET_POINT)
    least = case.find("/site/minimum_service_pressure")
    try:
        low = _limit(case, LOW)
    except Missing:
        yield from _below_service(aim, set_point, least)
        raise
    if low is not None and not below(low, aim):
        yield Broken(
            "low_set_point", "review", LOW,
            {"set_point": set_point, "low_limit": case.quantity(LOW)},
        )  # fmt: skip
    yield from _below_service(aim, set_point, least)
    wake = _wake(case)
    if low is not None and wake is not None and not below(low, wake) and not _too_low(wake, least):
        yield Broken(
            "low_wake", "review", LOW,
            {"wake": case.quantity(WAKE), "low_limit": case.quantity(LOW)},
        )  # fmt: skip


def _alternative_below(case: Case, place: str) -> Iterator[Broken]:
    """A set point that holds at other times against what lies below it."""
    aim, least = loop.process_value(case, place), case.find("/site/minimum_service_pressure")
    set_point, which = case.quantity(place), loop.which(case, place)
    if least is not None and below(aim, least.at_least):
        yield Broken("service", "review", place, {"set_point": set_point, "service": least}, which)
    low = _limit(case, LOW)
    if low is not None and not below(low, aim):
        compared = {"set_point": set_point, "low_limit": case.quantity(LOW)}
        yield Broken("low_set_point", "review", place, {**compared}, which)


def _below_service(aim: float, set_point: Quantity, least: Quantity | None) -> Iterator[Broken]:
    if least is not None and below(aim, least.at_least):
        compared: dict[str, Shown | Quantity] = {"set_point": set_point, "service": least}
        yield Broken("service", "review", SET_POINT, compared)


WAKES_BY = ("/settings/sleep_method", WAKE, "/settings/wake_basis")


def _held_by_suction(case: Case) -> Iterator[Broken]:
    """What the highest suction holds without the pump, which no frequency lowers.

    Of a drive that sleeps and wakes `loop.wake` tells it.
    """
    sleeps = not case.is_(WAKES_BY[0], "none") and None not in map(case.find, WAKES_BY)
    if sleeps or not loop.keeps_discharge_pressure(case):
        return
    held = suction.pressure(case, "high", loop.set_point_elevation(case))
    compared: dict[str, Shown | Quantity] = {"held": shown(case, held)}
    high = _limit(case, HIGH)
    if high is not None and not below(held, high):
        yield Broken(
            "suction_trips", "review", HIGH, compared | {"high_limit": case.quantity(HIGH)}
        )
    elif not below(held, loop.set_point(case)):
        set_point = case.quantity(SET_POINT)
        yield Broken("suction_holds", "review", SET_POINT, compared | {"set_point": set_point})


def _wake(case: Case) -> float | None:
    """The wake value [Pa]; None where none is set, or only a difference."""
    if case.find(WAKE) is None or case.is_("/settings/wake_basis", "below_set_point"):
        return None
    return loop.process_value(case, WAKE)


def _too_low(wake: float, least: Quantity | None) -> bool:
    """Whether the wake value itself is what is wrong: `loop.wake` names it then."""
    return least is not None and below(wake, least.si)


LIMITS_ORDER = Rule(
    id="loop.limits-order",
    title="Limits, set point, relief valve and pipework in order",
    severities=("stop", "review", "note"),
    condition="Low limit < wake value < set point < set point with boost < high limit, with 2 % "
    "of span before the last (else note); set point not below the minimum service pressure. Every "
    "alternative likewise, and the set point raised with the flow. Where the drive does not sleep, "
    "the highest suction alone holds less than set point and high limit. Set point with boost "
    "above relief valve or pipework: stop; at a remote sensor it counts with the height over the "
    "pump (review where that alone makes it too much).",
    source="logic; room below the high limit: common practice, no source",
    subject=SET_POINT,
    needs=(SET_POINT, "/settings/regulated_quantity"),
    waits_for=(*SCALED, "loop.set-point-unit"),
    applies=loop.on_discharge_pressure,
    check=_limits_order,
    limits={
        "room": Limit(
            2, "%", "of span, from the loop's aim to the high limit", "higher", "common practice"
        ),
    },
    sentences={
        "top_relief": "The loop aims at {highest_aim} ({aim} {set_point}, boost included), "
        "above the relief valve's {relief_valve}.",
        "top_pipework": "The loop aims at {highest_aim} ({aim} {set_point}, boost included), "
        "above the {pipework} that the pipework bears.",
        "top_relief_remote": "The loop aims at {highest_aim} at the remote sensor ({aim} "
        "{set_point}, boost included), which is {at_pump} or more at the pump: above the relief "
        "valve's {relief_valve}.",
        "top_pipework_remote": "The loop aims at {highest_aim} at the remote sensor ({aim} "
        "{set_point}, boost included), which is {at_pump} or more at the pump: above the "
        "{pipework} that the pipework bears.",
        "top_high": "The loop aims at {highest_aim} ({aim} {set_point}, boost included), but "
        "trips on high pressure at {high_limit}.",
        "near_high": "The loop aims at {highest_aim} ({aim} {set_point}, boost included) and "
        "trips on high pressure at {high_limit}: a small overshoot, or a valve that shuts, trips "
        "it.",
        "low_set_point": "The low-pressure limit {low_limit} is not below the {aim} {set_point}.",
        "low_wake": "The low-pressure limit {low_limit} is not below the wake value {wake}: the "
        "pump may trip before it wakes.",
        "service": "{which} {set_point} is below the minimum service pressure {service}.",
        "suction_trips": "The highest suction alone holds {held}, not below the high limit "
        "{high_limit}: the drive trips then at whatever frequency, and without the pump.",
        "suction_holds": "The highest suction alone holds {held}, not below the set point "
        "{set_point}: the pump then runs on at its minimum frequency, and nothing keeps the set "
        "point.",
    },
    remedies={
        "top_relief": "Check digits and unit of the set point; lower it or the boost, or check the "
        "relief valve's setting.",
        "top_pipework": "Check digits and unit of the set point; lower it or the boost.",
        **dict.fromkeys(
            ("top_relief_remote", "top_pipework_remote"),
            "Check digits and unit of the set point and the height of the sensor, and what the "
            "weakest part at the pump bears; lower the set point or the boost.",
        ),
        "top_high": "Check digits and unit of the set point and its boost, and lower them; or "
        "raise the high limit above {highest_aim}, but not beyond what relief valve, pipework and "
        "pump bear.",
        "near_high": "Leave more room between {highest_aim} and the high limit, below what relief "
        "valve and pipework bear.",
        "low_set_point": "Set the low limit below the wake value.",
        "low_wake": "Set the low limit below the wake value.",
        "service": "Raise the set point, or correct the minimum service pressure.",
        "suction_trips": "Check highest suction, set point and limit with their units; have the "
        "pressure before the station reduced if they are right.",
        "suction_holds": "Check highest suction and set point with their units; if they are "
        "right, let the pump sleep, and a bypass with a check valve carry the flow.",
    },
)


# -- suction --------------------------------------------------------------------------------------


def _suction_limit(case: Case, place: str) -> Iterator[Finding]:
    if _reads_discharge(case):
        proven = any(
            test.function in ("low_suction", "dry_run") and test.passed
            for test in case.find("/event/protection_tests") or ()
        )
        yield SUCTION_LIMIT.finding(
            "seen" if proven else "blind", "review" if proven else "stop",
            case.place(f"{LOW_SUCTION}_measured_by"),
            compared={"limit": case.quantity(LOW_SUCTION)},
        )  # fmt: skip
        return
    entered = case.quantity(LOW_SUCTION)
    behind = _reads_behind(case)
    if behind:
        yield SUCTION_LIMIT.finding(
            "elsewhere", "review", case.place("/suction_sensor/location"),
            compared={"limit": entered}, where=case.word("/suction_sensor/location"),
            sensor=case.find("/suction_sensor/tag") or "the suction sensor",
        )  # fmt: skip
    if entered.kind == "length":
        return
    limit = _limit(case, LOW_SUCTION)
    if _seen_under_a_level(case):
        yield from _against_level(case, place, entered, limit)
        return
    if behind and case.find(ORDINARY_SUCTION) is None:
        return
    ordinary = case.quantity(ORDINARY_SUCTION)
    if limit is not None and not below(limit, ordinary.si):
        compared: dict[str, Shown | Quantity] = {"limit": entered, "ordinary": ordinary}
        yield SUCTION_LIMIT.finding("above", "review", place, compared=compared)


def _reads_behind(case: Case) -> bool:
    """Whether low suction acts, by a suction sensor that is said to stand behind the pump."""
    by_sensor = case.is_(f"{LOW_SUCTION}_measured_by", "suction_sensor")
    acts = case.find(f"{LOW_SUCTION}_response") not in (None, "none")
    return by_sensor and acts and case.is_("/suction_sensor/location", "discharge", "header")


def _seen_under_a_level(case: Case) -> bool:
    """Whether the limit is read beside the pump, under a tank whose lowest level is known."""
    return (
        case.is_("/site/suction_kind", "flooded_tank")
        and case.find(ORDINARY_SUCTION) is None
        and case.find(ORDINARY_LEVEL) is not None
        and case.is_(f"{LOW_SUCTION}_measured_by", "suction_sensor")
        and case.find(TAPPING) is not None
    )


def _against_level(
    case: Case, place: str, entered: Quantity, limit: float | None
) -> Iterator[Finding]:
    """Without its losses: with them the sensor shows still less when the tank is at its lowest."""
    shows = suction.pressure(case, "low", case.si(TAPPING))
    if limit is None or not above(limit - entered.resolution, shows):
        return
    yield SUCTION_LIMIT.finding(
        "above_level", "review", place,
        compared={
            "limit": entered,
            "level": case.quantity(ORDINARY_LEVEL),
            "ordinary": about(shows, entered.unit if entered.kind == "pressure" else "kPa"),
        },
    )  # fmt: skip


def _is_read_by_loop(case: Case, place: str) -> bool:
    return case.is_(f"{LOW_SUCTION}_measured_by", "regulating_sensor")


def _reads_discharge(case: Case) -> bool:
    """Whether low suction is to stop the pump, and is read where the pump keeps its pressure."""
    if case.find(f"{LOW_SUCTION}_response") in (None, "none"):
        return False
    beside = not case.is_("/regulating_sensor/location", "suction")
    by_loop = case.is_(f"{LOW_SUCTION}_measured_by", "regulating_sensor") and beside
    if by_loop:
        return loop.keeps_discharge_pressure(case)
    return case.is_(f"{LOW_SUCTION}_measured_by", "discharge_sensor")


SUCTION_LIMIT = Rule(
    id="protection.low-suction-limit",
    title="Low-suction limit against the ordinary suction",
    severities=("stop", "review"),
    condition="The low-suction limit is below the lowest ordinary suction pressure, or below what "
    "the suction sensor shows under the lowest ordinary level of a tank, and is not read from the "
    "sensor of the discharge (stop; review where a passed test of low suction says that it is read "
    "elsewhere). The suction sensor that it is read from does not stand behind the pump.",
    source="logic",
    subject=LOW_SUCTION,
    waits_for=SCALED,
    waits_at=_is_read_by_loop,
    applies=lambda case: (
        has_drive(case)
        and case.find(LOW_SUCTION) is not None
        and (
            case.find(ORDINARY_SUCTION) is not None
            or _seen_under_a_level(case)
            or _reads_discharge(case)
            or _reads_behind(case)
        )
    ),
    check=_suction_limit,
    sentences={
        "blind": "The low-suction limit {limit} is read from the sensor of the discharge, where "
        "the pump keeps its pressure: it never sees the suction fail.",
        "seen": "The low-suction limit {limit} is said to be read from the sensor of the "
        "discharge, which never sees the suction fail; yet low suction was tested and acted.",
        "elsewhere": "The low-suction limit {limit} is read from {sensor}, which is said to stand "
        "at another place, {where}: from behind the pump nobody sees the suction fail.",
        "above": "The low-suction limit {limit} is not below the lowest ordinary suction "
        "pressure {ordinary}: the pump stops in ordinary service.",
        "above_level": "The low-suction limit {limit} is more than the {ordinary} that the suction "
        "sensor shows under the tank's lowest ordinary level {level}: the pump stops in ordinary "
        "service.",
    },
    remedies={
        "elsewhere": "Look where it is tapped; correct its place, or read the limit from a sensor "
        "or switch at the suction.",
        "above_level": "Set the low-suction limit below {ordinary}, or check the level, the "
        "sensor's height and the unit of the limit.",
        "above": "Set the low-suction limit below {ordinary}.",
        **dict.fromkeys(
            ("blind", "seen"),
            "Read it from a sensor or switch at the suction, or correct what it is measured by.",
        ),
    },
)
