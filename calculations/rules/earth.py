"""Rule of the protective earth."""

from collections.abc import Iterator

from calculations.case import Case, Missing
from calculations.findings import Finding
from calculations.rule import Limit, Rule, show
from calculations.rules.closeness import above
from calculations.rules.scope import has_motor, is_new_work
from calculations.units import Quantity


def _is_tested(case: Case) -> bool:
    tested = bool(case.find("/event/earth_tests"))
    return tested or (is_new_work(case) and has_motor(case))


def _continuity(case: Case, place: str) -> Iterator[Finding]:
    ends = _ends(case, place)
    if case.find(f"{place}/open_circuit") is True:
        yield CONTINUITY.finding("open", "stop", place, compared={}, ends=ends)
        return
    resistance: Quantity | None = case.find(f"{place}/resistance")
    if resistance is None:
        raise Missing(f"{place}/resistance")
    review, stop = (case.limit(f"earth.continuity.{name}") for name in ("review", "stop"))
    certain = resistance.at_least
    if not above(certain, review):
        return
    severe = above(certain, stop)
    yield CONTINUITY.finding(
        "high", "stop" if severe else "review", place,
        compared={"resistance": resistance},
        limit=f"{show(review, 'ohm')} review, {show(stop, 'ohm')} stop", ends=ends,
    )  # fmt: skip


def _ends(case: Case, place: str) -> str:
    start, end = case.find(f"{place}/from_point"), case.find(f"{place}/to")
    return f"from {start} to {end}" if start and end else "between the two points"


CONTINUITY = Rule(
    id="earth.continuity",
    title="Continuity of the protective earth",
    severities=("stop", "review"),
    condition="Resistance between two points of the protective earth is at most 0.5 ohm; above 1 "
    "ohm, or open, it must not stay.",
    source="acceptance-testing practice: investigate above 0.5 ohm; 1 ohm: common practice",
    each="/event/earth_tests",
    applies=_is_tested,
    check=_continuity,
    correct_only=True,
    limits={
        "review": Limit(0.5, "ohm", "needs an answer", "lower", "retrieved"),
        "stop": Limit(1, "ohm", "must not stay", "lower", "common practice"),
    },
    sentences={
        "open": "The protective earth {ends} is open.",
        "high": "The protective earth {ends} measures {resistance}.",
    },
    remedies=dict.fromkeys(
        ("open", "high"), "Isolate; clean, tighten or replace the connection, then measure again."
    ),
)
