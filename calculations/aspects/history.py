"""The same pump set at its first visit: what can be compared with today."""

from dataclasses import dataclass
from datetime import datetime

from calculations import trends
from calculations.affinity import OperatingPoint
from calculations.aspects import duty, load, pieces, pumping
from calculations.aspects.duty import POINTS
from calculations.beside import Sealed
from calculations.case import Case, Missing, Waits, once
from calculations.derived.duty import wire_to_water
from calculations.errors import InvalidInput

NEAR_FLOW = 0.10
"""How near two flows at one speed must be to compare their points [1]; no source."""

LEAST_POINTS = 2
"""Points that have to tell the same of a change; one alone may be a slip."""

YEAR = 365.25 * 86400.0


@dataclass(frozen=True, slots=True)
class Pair:
    """A duty point of today and one of the first visit: places, change [1], noise [1]."""

    now: str
    before: str
    change: float
    noise: float

    def differs(self, limit: float) -> bool:
        """Whether today's is certainly another one by more than a limit [1]."""
        return trends.is_real_change(
            change=self.change, uncertainty_before=0.0, uncertainty_now=self.noise, limit=limit
        )

    def falls(self, limit: float) -> bool:
        """Whether today's is certainly lower by more than a limit [1]."""
        return self.change < 0 and self.differs(limit)


def earlier(case: Case) -> Case:
    """The first visit; `Missing` where none is at hand."""
    if case.earlier is None:
        raise Missing("/event", because="no earlier record")
    return case.earlier


def sealed(case: Case, found: Sealed | None) -> Case | None:
    """What another record says of the pump set, read when it is first asked for."""
    if found is None:
        return None
    if case.earlier is not None and case.earlier.subject is found.subject:
        return case.earlier
    key = (sealed, id(found.subject))
    if key not in case.kept:
        case.kept[key] = case.of(found.subject)
    kept: Case = case.kept[key]
    return kept


def base(case: Case, kind: str) -> Case:
    """The first visit since which the pieces are the same that a comparison rests on.

    `kind` is one of `pieces.RESTS_ON`. `Missing` where they are other ones since the last visit.
    """
    first = earlier(case)
    other = _other_pieces(case, kind)
    if other is None:
        return first
    found = sealed(case, case.beside.anew.get(kind))
    if found is None:
        place = "/pump/impeller_diameter" if "impeller" in other else "/event"
        raise Missing(place, because=f"{other} since the first visit: the comparison begins anew")
    return found


@once
def _other_pieces(case: Case, kind: str) -> str | None:
    first = earlier(case)
    return pieces.changed(kind, pieces.of_subject(first.subject), pieces.of_subject(case.subject))


def told(case: Case, base: Case) -> str:
    """A record that is compared with, in words: its number, if there is one, and its day."""
    number = case.beside.first_number if base is case.earlier else None
    beside = case.beside
    for each in (beside.last, beside.following, beside.left, *beside.anew.values()):
        if each is not None and base.subject is each.subject:
            number = each.number
    at = base.find("/event/performed_at")
    named = "the first visit" if number is None else f"record {number}"
    return named if at is None else f"{named} of {at[:10]}"


def elapsed(case: Case, since: Case | None = None) -> float:
    """Time since the first visit, or another one [s]."""
    now: datetime = case.require("/event/performed_at")[0].at
    before: datetime = (since or earlier(case)).require("/event/performed_at")[0].at
    seconds = (now - before).total_seconds()
    if seconds <= 0:
        raise Missing("/event/performed_at", because="not after the earlier record")
    return seconds


# -- points ---------------------------------------------------------------------------------------


@once
def fallen(case: Case) -> tuple[Pair, ...]:
    """Points whose head has certainly fallen since the first visit, two or more; else none."""
    if case.earlier is None or (_other_pieces(case, "head") and "head" not in case.beside.anew):
        return ()
    limit = case.limit("trend.head.fall")
    falling = tuple(pair for pair in heads(case) if pair.falls(limit))
    return falling if len(falling) >= LEAST_POINTS else ()


def heads(case: Case, other: Case | None = None) -> list[Pair]:
    """Heads of today's points against the nearest of the first visit, at its speed.

    `other` is what is compared with in its place: a like pump.
    """
    then, found = other or base(case, "head"), []
    for now in _places(case):
        best = min(
            (pair for before in _places(then) if (pair := _head(case, now, then, before))),
            key=lambda each: each[0],
            default=None,
        )
        if best is not None:
            found.append(best[1])
    return found


def _places(case: Case) -> list[str]:
    """Duty points whose flow, head and speed are known and above zero."""
    return [place for place in case.elements(POINTS) if is_usable(case, place)]


def is_usable(case: Case, place: str) -> bool:
    """Whether flow, head and speed of a duty point are known and above zero."""
    return _point(case, place) is not None


def _point(case: Case, place: str) -> tuple[OperatingPoint, float] | None:
    try:
        point = OperatingPoint(duty.flow(case, place), duty.total_head(case, place))
        speed = duty.speed(case, place)
    except (Missing, Waits, InvalidInput):
        return None
    return (point, speed) if point.flow > 0 and point.head > 0 else None


def _head(case: Case, now: str, then: Case, before: str) -> tuple[float, Pair] | None:
    """How far the flows are apart [1], and the pair; None where they are too far apart."""
    today, base = _point(case, now), _point(then, before)
    if today is None or base is None:
        return None
    change = trends.head_change(base=base[0], base_speed=base[1], now=today[0], now_speed=today[1])
    apart = abs(change.flow_difference)
    if apart > NEAR_FLOW:
        return None
    noise = _head_noise((case, now, today[0].head), (then, before, base[0].head))
    fall = _along_curve(case, base[0].flow, change.corrected.flow, base[1])
    if fall is None:
        return apart, Pair(now, before, change.change, trends.combined_uncertainty(noise, apart))
    return apart, Pair(now, before, (1 + change.change) / fall - 1, noise)


def _along_curve(case: Case, base: float, flow: float, speed: float) -> float | None:
    """Head of the curve at a flow over that at another [1]: what so much more flow costs."""
    try:
        curve = pumping.curve(case)
    except (Missing, Waits, InvalidInput):
        return None
    heads_ = curve.head(flow=base, speed=speed), curve.head(flow=flow, speed=speed)
    if heads_[0] is None or heads_[1] is None or min(heads_[0], heads_[1]) <= 0:
        return None
    return heads_[1] / heads_[0]


def _head_noise(today: tuple[Case, str, float], base: tuple[Case, str, float]) -> float:
    """Uncertainty of the change: heads of both visits, and flows along the curve's slope [1]."""
    (case, now, head), (then, before, head_before) = today, base
    heads_ = (
        duty.head_uncertainty(case, now, head),
        duty.head_uncertainty(then, before, head_before),
    )
    flows = (duty.flow_uncertainty(case, now), duty.flow_uncertainty(then, before))
    return trends.combined_uncertainty(*heads_, *flows)


def efficiencies(case: Case, then: Case) -> list[Pair]:
    """Overall efficiencies of the pairs whose power was read at both visits."""
    found = []
    for pair in heads(case, then):
        try:
            now = wire_to_water(case, pair.now)
            before = wire_to_water(then, pair.before)
        except (Missing, Waits, InvalidInput):
            continue
        noise = trends.combined_uncertainty(
            pair.noise, _power_noise(case, pair.now), _power_noise(then, pair.before)
        )
        change = trends.relative_change(before=before, now=now)
        found.append(Pair(pair.now, pair.before, change, noise))
    return found


def _power_noise(case: Case, place: str) -> float:
    return duty.power_uncertainty(case, place, case.quantity(load.power_place(case, place)))
