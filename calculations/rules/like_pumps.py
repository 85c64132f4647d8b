"""Rule of pumps of one kind on one header against each other."""

from collections.abc import Iterator

from calculations.aspects import group, history, likeness, pumping
from calculations.aspects.duty import POINTS
from calculations.aspects.history import Pair
from calculations.case import Case, Missing
from calculations.findings import Finding
from calculations.rule import Limit, Rule, percent, rough_percent
from calculations.rules.closeness import signed_percent


def _has_likes(case: Case) -> bool:
    return (
        pumping.is_centrifugal(case)
        and case.find(POINTS) is not None
        and bool(likeness.like_neighbours(case))
    )


def _alike(case: Case, place: str) -> Iterator[Finding]:
    limit, compared = case.limit("station.like-pumps.difference"), False
    for at, other in likeness.like_neighbours(case):
        pairs = history.heads(case, other)
        compared = compared or bool(pairs)
        worst = _one_way(pairs, limit)
        if worst is not None:
            yield LIKE_PUMPS.finding(
                "differ", "note", worst.now,
                compared={"flow": case.quantity(f"{worst.now}/flow")}, limit=percent(limit),
                tag=group.name(case, at), change=signed_percent(worst.change),
                noise=rough_percent(worst.noise),
            )  # fmt: skip
    if not compared:
        raise Missing(POINTS, because="no point near one of the like pump")


def _one_way(pairs: list[Pair], limit: float) -> Pair | None:
    """The pair that differs most, if two (or the only one) certainly differ the same way."""
    found = [pair for pair in pairs if pair.differs(limit)]
    needed = min(len(pairs), 2)
    for sign in (-1, 1):
        same = [pair for pair in found if pair.change * sign > 0]
        if same and len(same) >= needed:
            return max(same, key=lambda pair: abs(pair.change))
    return None


LIKE_PUMPS = Rule(
    id="station.like-pumps",
    title="Head of pumps of one kind on one header",
    severities=("note",),
    condition="Pumps of one kind (type, stages, rated flow, head and speed, impeller) that were "
    "measured at about the same flow give the same head at one speed, to within 5 % and the "
    "uncertainty of both measurements; at two points where there are two.",
    source="affinity laws, HI engineering data, equation 1.B.6; JCGM 100:2008, 5.1.2; limit: "
    "common practice, no source",
    scope="station",
    subject=POINTS,
    waits_for=("speed.measured", "rotation.reversed"),
    applies=_has_likes,
    check=_alike,
    limits={"difference": Limit(5, "%", "between like pumps, of head", "lower", "common practice")},
    sentences={
        "differ": "At {flow} the head of this pump differs by {change} from that of {tag}, a pump "
        "of the same kind, brought to the same speed and flow; the instruments explain {noise}.",
    },
    remedies={
        "differ": "Compare gauges and flow of both first, then clearances, impellers and check "
        "valves.",
    },
)
