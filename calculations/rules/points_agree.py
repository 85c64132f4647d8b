"""Rule of measured points against each other, by the affinity laws; without any curve."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from calculations.aspects import duty, pumping
from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing
from calculations.derived.duty import HEAD_UNIT
from calculations.findings import Finding
from calculations.rule import Limit, Rule, percent, show
from calculations.rules.closeness import above, signed_percent


@dataclass(frozen=True, slots=True)
class Reduced:
    """A point at the speed of the fastest one: flow [m3/s], head [m], what is open of both [1]."""

    place: str
    flow: float
    head: float
    flow_open: float
    head_open: float


def _reduced(case: Case) -> list[Reduced]:
    """Every point that is known whole, at the speed of the fastest of them, by flow."""
    read = []
    for index in range(len(case.find(POINTS) or ())):
        place = f"{POINTS}/{index}"
        try:
            head, speed = duty.total_head(case, place), duty.speed(case, place)
            flow = duty.flow(case, place)
            open_ = duty.flow_uncertainty(case, place), duty.head_uncertainty(case, place, head)
        except Missing:
            continue
        if head > 0 and speed > 0:
            read.append((place, flow, head, speed, *open_))
    fastest = max((each[3] for each in read), default=1.0)
    return sorted(
        (
            Reduced(place, flow * fastest / speed, head * (fastest / speed) ** 2, *open_)
            for place, flow, head, speed, *open_ in read
        ),
        key=lambda each: each.flow,
    )


def _agree(case: Case, place: str) -> Iterator[Finding]:
    points = _reduced(case)
    if len(points) < 2:
        raise Missing(POINTS, because="fewer than two points with flow, heads and speed")
    allowed = case.limit("curve.points-agree.rise")
    for less, more in pairwise(points):
        apart = above(more.flow * (1 - more.flow_open), less.flow * (1 + less.flow_open))
        rise = more.head / less.head - 1
        if not apart or not above(rise, allowed + less.head_open + more.head_open):
            continue
        unit = _flow_unit(case, less.place)
        yield AGREE.finding(
            "rises", "review", more.place,
            compared={
                "less": show(less.flow, unit), "more": show(more.flow, unit),
                "head_less": show(less.head, HEAD_UNIT(case)),
                "head_more": show(more.head, HEAD_UNIT(case)),
            },
            limit=f"{percent(allowed)} and the instruments' uncertainty",
            first=int(less.place.rsplit("/", 1)[1]) + 1,
            second=int(more.place.rsplit("/", 1)[1]) + 1, rise=signed_percent(rise),
        )  # fmt: skip
        return


def _flow_unit(case: Case, place: str) -> str:
    return case.quantity(f"{place}/flow").unit


def _has_no_curve(case: Case) -> bool:
    known = case.find("/pump/curve_points") is not None
    several = len(case.find(POINTS) or ()) > 1
    return pumping.is_centrifugal(case) and several and not known


AGREE = Rule(
    id="curve.points-agree",
    title="Measured points against each other",
    severities=("review",),
    condition="Brought to one speed by the affinity laws, the head of a centrifugal pump does not "
    "rise with flow by more than 8 % and what the instruments leave open. Judged where no curve is "
    "recorded that every point is compared with.",
    source="affinity laws, HI engineering data, equation 1.B.6; 8 %: from memory",
    subject=POINTS,
    needs=(POINTS,),
    waits_for=("speed.measured", "rotation.reversed"),
    applies=_has_no_curve,
    check=_agree,
    limits={"rise": Limit(8, "%", "of head, towards more flow", "lower", "from memory")},
    sentences={
        "rises": "Brought to one speed, point {second} has more flow ({more}) and more head "
        "({head_more}) than point {first} ({less}, {head_less}; {rise}): one pump cannot do both.",
    },
    remedies={
        "rises": "Check flow, gauges with their heights and speed of both points; and whether the "
        "same pumps ran.",
    },
)
