"""Rules of the direction of rotation: on the drive, and over the bypass."""

from collections.abc import Iterator

from calculations import hydraulics
from calculations.aspects import duty, liquid, pumping, turning
from calculations.aspects.turning import BYPASS, DIRECTION
from calculations.case import Case, Missing
from calculations.errors import CalculationError
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, percent
from calculations.rules import motor_plate
from calculations.rules.scope import across_the_line, has_motor, is_new_work
from calculations.rules.suction_absolute import require_gauge

SEEN = ("uncoupled_bump", "shaft_seen")
RADIAL = 4500.0
"""US specific speed [1] up to which a pump that runs backwards loses head in the known way."""


def _is_checked(case: Case) -> bool:
    recorded = case.event is not None and case.event.rotation is not None
    return has_motor(case) and (recorded or is_new_work(case))


# -- on the drive -------------------------------------------------------------------------------


def _reversed(case: Case, place: str) -> Iterator[Finding]:
    direction = turning.across_the_line(case)[1] if case.fixed_speed else case.find(DIRECTION)
    if direction == "reversed" and case.fixed_speed:
        return  # `rotation.bypass` tells it
    if direction == "reversed":
        yield REVERSED.finding("seen", "stop", place, compared={})
        return
    seen = direction == "correct" and case.is_("/event/rotation/method", *SEEN)
    closed = _ratios(case, "shut_off") if pumping.may_shut_off(case) else []
    low = [found for found in closed if turning.is_of_reversed(case, found[1])]
    for found, _ in low or _ratios(case):
        require_gauge(case, found)
    if low:
        yield _by_shut_off(case, low[0], seen)
    elif not seen and _all_points_low(case):
        yield _by_points(case, place)
    elif direction != "correct" and not closed:
        raise Missing(BYPASS if case.fixed_speed else DIRECTION)


def _by_shut_off(case: Case, found: tuple[str, float], seen: bool) -> Finding:
    place, ratio = found
    proven = _is_radial(case) and not seen
    return REVERSED.finding(
        "shut_off_seen" if seen else "shut_off", "stop" if proven else "review", place,
        compared={"ratio": about(ratio, "%")}, limit=_band(case),
    )  # fmt: skip


def _by_points(case: Case, place: str) -> Finding:
    ratios = [ratio for _, ratio in _ratios(case)]
    return REVERSED.finding(
        "points", "review", place, compared={}, limit=_band(case),
        lowest=percent(min(ratios)), highest=percent(max(ratios)),
    )  # fmt: skip


def _band(case: Case) -> str:
    lowest, highest = map(case.limit, ("rotation.reversed.lowest", "rotation.reversed.highest"))
    return f"{percent(lowest)} to {percent(highest)} of the curve"


def _all_points_low(case: Case) -> bool:
    found = _ratios(case)
    return len(found) > 1 and all(turning.is_of_reversed(case, ratio) for _, ratio in found)


def _ratios(case: Case, purpose: str = "") -> list[tuple[str, float]]:
    """Head over that of the curve [1] at every duty point (of one purpose) where it is known."""
    found = []
    for index, point in enumerate(case.find("/event/duty_points") or ()):
        if purpose in ("", point.purpose):
            place = f"/event/duty_points/{index}"
            ratio = _head_ratio(case, place, purpose == "shut_off")
            if ratio is not None:
                found.append((place, ratio))
    return found


def _head_ratio(case: Case, place: str, closed: bool) -> float | None:
    if not case.find(f"{place}/speed_measured") and motor_plate.contradiction(case):
        return None  # a wrong plate gives a wrong speed
    try:
        speed = duty.speed(case, place)
        flow = 0.0 if closed else duty.flow(case, place)
        expected = pumping.curve(case).head(flow=flow, speed=speed)
        return _head(case, place) / expected if expected else None
    except CalculationError:
        return None


def _head(case: Case, place: str) -> float:
    """Head of the pump [m]; velocity heads change it by less than this rule can tell."""
    discharge = case.quantity(f"{place}/discharge_pressure")
    above = case.find(f"{place}/discharge_gauge_elevation")
    suction = case.find(f"{place}/suction_pressure")
    if suction is None:
        height = case.si(f"{place}/discharge_gauge_elevation") - duty.water_level(case, place)
        return liquid.head(case, discharge.si) + height
    below = case.find(f"{place}/suction_gauge_elevation")
    height = above.si - below.si if above is not None and below is not None else 0.0
    return liquid.head(case, discharge.si - suction.si) + height


def _is_radial(case: Case) -> bool:
    """Whether the impeller is known to be of low specific speed, by the pump's rated point."""
    rated = [case.find(f"/pump/rated_{name}") for name in ("speed", "flow", "head")]
    if None in rated:
        return False
    speed, flow, head = rated
    specific = hydraulics.specific_speed(
        speed=speed.si,
        flow=flow.si,
        head=head.si,
        stages=case.find("/pump/stages") or 1,
        suction_sides=case.find("/pump/suction_sides") or 1,
    )
    return specific * hydraulics.US_PER_METRIC_SPECIFIC_SPEED <= RADIAL


REVERSED = Rule(
    id="rotation.reversed",
    title="Direction of rotation on the drive",
    severities=("stop", "review"),
    condition="The pump was seen to turn the right way. Head at closed valve of 40 to 78 % of the "
    "curve's is that of a radial pump running backwards; as little head at every point is reason "
    "to look.",
    source="common practice, from memory: a radial pump running backwards keeps about half of its "
    "head",
    subject=DIRECTION,
    applies=_is_checked,
    check=_reversed,
    correct_only=True,
    limits={
        "lowest": Limit(40, "%", "of the curve's head, lower end", "lower", "from memory"),
        "highest": Limit(78, "%", "of the curve's head, upper end", "higher", "from memory"),
    },
    sentences={
        "seen": "The motor turns the wrong way on the drive.",
        "shut_off": "At closed valve the pump makes {ratio} of the head of its curve: it probably "
        "runs backwards.",
        "shut_off_seen": "At closed valve the pump makes {ratio} of the head of its curve, as if "
        "it ran backwards, though the direction was seen to be right: look again, then for air, a "
        "wrong curve, wear or a loose impeller.",
        "points": "At every point the pump makes {lowest} to {highest} of the head of its curve: "
        "it may run backwards. The direction was not seen.",
    },
    remedies=dict.fromkeys(
        ("seen", "shut_off", "shut_off_seen", "points"),
        "Isolate, prove dead, exchange two phases at the motor or at the drive's output, then "
        "prove the direction again and record it.",
    ),
)


# -- exchanged at the supply ---------------------------------------------------------------------


def _exchange_is_told(case: Case) -> bool:
    return (
        has_motor(case)
        and not case.fixed_speed
        and case.is_("/event/rotation/phases_swapped_at", "supply")
        and not across_the_line(case)
    )


def _at_supply(case: Case, place: str) -> Iterator[Finding]:
    case.require("/pump_set/bypass")
    if case.find(DIRECTION) == "reversed":
        return  # `rotation.reversed` tells it, with where to exchange
    seen = case.is_(DIRECTION, "correct") and case.is_("/event/rotation/method", *SEEN)
    yield AT_SUPPLY.finding("seen" if seen else "unseen", "note" if seen else "review", place,
                            compared={})  # fmt: skip


AT_SUPPLY = Rule(
    id="rotation.exchanged-at-supply",
    title="Phases exchanged at the supply of a drive",
    severities=("review", "note"),
    condition="Where a motor runs on a drive alone, phases are exchanged at the motor or at the "
    "drive's output: a drive rectifies its supply, whose phase order does not reach the motor (a "
    "note where the direction was seen to be right, at the shaft or uncoupled).",
    source="principle of a rectifier",
    subject="/event/rotation/phases_swapped_at",
    applies=_exchange_is_told,
    check=_at_supply,
    sentences={
        "seen": "Phases are said to have been exchanged at the supply, which turns no motor "
        "behind a drive the other way; its direction was seen to be right.",
        "unseen": "Phases are said to have been exchanged at the supply, which turns no motor "
        "behind a drive the other way; the shaft was not seen to turn the right way.",
    },
    remedies={
        "seen": "Correct where the phases were exchanged, if they were.",
        "unseen": "Look at the shaft. Where it turns the wrong way, isolate, prove dead and "
        "exchange two phases at the motor or at the drive's output; correct the record.",
    },
)


# -- over the bypass ----------------------------------------------------------------------------


def _bypass_is_checked(case: Case) -> bool:
    return across_the_line(case) and _is_checked(case)


def _bypass(case: Case, place: str) -> Iterator[Finding]:
    at, direction = BYPASS, case.find(BYPASS)
    if case.fixed_speed:
        at, direction = turning.across_the_line(case)
    if direction is None:
        raise Missing(BYPASS)
    if direction == "reversed":
        variant = "reversed_fixed" if case.fixed_speed else "reversed"
        yield OVER_BYPASS.finding(variant, "stop", at, compared={})
    elif direction == "not_checked":
        raise Missing(BYPASS, because="the direction over the bypass was not checked")


OVER_BYPASS = Rule(
    id="rotation.bypass",
    title="Direction of rotation over the bypass, or at fixed speed",
    severities=("stop",),
    condition="The pump was seen to turn the right way over the bypass too, or across the line at "
    "fixed speed: it takes its phase order from the supply, a drive makes its own. Without a drive "
    "there is one direction, in whichever field it was recorded.",
    source="common practice",
    subject=BYPASS,
    applies=_bypass_is_checked,
    check=_bypass,
    correct_only=True,
    sentences={
        "reversed": "The motor turns the wrong way over the bypass.",
        "reversed_fixed": "The motor turns the wrong way across the line.",
    },
    remedies={
        "reversed_fixed": "Isolate, prove dead, exchange two phases, then prove the direction "
        "again.",
        "reversed": "Isolate, prove dead, exchange two phases ahead of drive and bypass (the drive "
        "does not mind), then prove both directions again.",
    },
)
