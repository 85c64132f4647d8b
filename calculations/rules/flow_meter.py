"""Rule of the straight pipe before and behind a flow meter."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, each_alone, entered
from calculations.rules.closeness import below

UPSTREAM, DOWNSTREAM = "straight_upstream_diameters", "straight_downstream_diameters"


def _has_flow_meter(case: Case) -> bool:
    return any(case.is_(f"/sensors/{index}/quantity", "flow")
               for index in range(len(case.find("/sensors") or ())))  # fmt: skip


def _straight_run(case: Case, place: str) -> Iterator[Finding]:
    """Only electromagnetic meters: what others need depends on their beams, blades or ratio."""
    if not case.is_(f"{place}/quantity", "flow"):
        return iter(())
    if case.word(f"{place}/meter_kind") != "electromagnetic":
        return iter(())
    return each_alone(_upstream(case, place), _downstream(case, place))


def _upstream(case: Case, place: str) -> Iterator[Finding]:
    run, usual = case.quantity(f"{place}/{UPSTREAM}"), case.limit("sensor.straight-run.upstream")
    if below(run.at_most, usual):
        short = below(run.at_most, case.limit("sensor.straight-run.upstream-review"))
        yield _finding(case, place, UPSTREAM, "much_too_short" if short else "upstream")


def _downstream(case: Case, place: str) -> Iterator[Finding]:
    run = case.quantity(f"{place}/{DOWNSTREAM}")
    if below(run.at_most, case.limit("sensor.straight-run.downstream")):
        yield _finding(case, place, DOWNSTREAM, "downstream")


def _finding(case: Case, place: str, name: str, variant: str) -> Finding:
    side = "downstream" if name == DOWNSTREAM else "upstream"
    usual = f"{case.limit(f'sensor.straight-run.{side}'):g}"
    return STRAIGHT_RUN.finding(
        variant, "review" if variant == "much_too_short" else "note", f"{place}/{name}",
        compared={"run": entered(case.quantity(f"{place}/{name}"))},
        limit=f"at least {usual} diameters", usual=usual,
        sensor=case.find(f"{place}/tag") or case.find(f"{place}/serial") or "The flow meter",
    )  # fmt: skip


STRAIGHT_RUN = Rule(
    id="sensor.straight-run",
    title="Straight pipe before and behind an electromagnetic flow meter",
    severities=("review", "note"),
    condition="An electromagnetic flow meter has at least 5 diameters of straight pipe upstream "
    "(note; review below 3) and 2 downstream (note). Its maker may permit less, "
    "and what meters of other kinds need is the maker's alone: those are not judged.",
    source="common practice; ISO 20456 leaves the lengths to the maker (from memory)",
    each="/sensors",
    applies=_has_flow_meter,
    check=_straight_run,
    limits={
        "upstream": Limit(5, "1", "diameters upstream", "higher", "common practice"),
        "upstream-review": Limit(
            3, "1", "diameters upstream, below which an answer is needed", "higher",
            "common practice",
        ),
        "downstream": Limit(2, "1", "diameters downstream", "higher", "common practice"),
    },
    sentences={
        "much_too_short": "{sensor} has {run} diameters of straight pipe upstream, far fewer than "
        "the {usual} that are usual: swirl and a one-sided profile can shift its readings by more "
        "than its tolerance.",
        "upstream": "{sensor} has {run} diameters of straight pipe upstream; {usual} are usual "
        "where its maker does not permit less.",
        "downstream": "{sensor} has {run} diameters of straight pipe downstream; {usual} are usual "
        "where its maker does not permit less.",
    },
    remedies={
        "much_too_short": "Compare it with another meter or a timed volume, move it, or name what "
        "its maker permits.",
    },
)  # fmt: skip
