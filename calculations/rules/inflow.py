"""Rule of what flows into a lift station against what its pumps carry away."""

from collections.abc import Iterator

from calculations.aspects import group, pumping, system
from calculations.aspects.suction import End
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import above
from calculations.rules.scope import has_drive
from calculations.rules.speed_limits import MAXIMUM, RESTS_ON_CURVE

PEAK = "/site/inflow_peak"


def _knows_its_peak(case: Case) -> bool:
    return (
        has_drive(case)
        and pumping.is_centrifugal(case)
        and (case.is_("/site/kind", "lift_station") or case.is_("/site/suction_kind", "wet_well"))
        and case.find(PEAK) is not None
    )


def _pumps(case: Case) -> int:
    """Pumps that may run at once; `Missing` where that is not known."""
    found = group.may_run(case)
    if found is None:
        raise Missing(case.place("/settings/pumps_maximum_running"))
    return found


def _capacity(case: Case, pumps: int, end: End) -> float:
    """Flow of all that may run [m3/s] at the maximum frequency and one end of the suction."""
    carried = system.flow_of(case, case.si(MAXIMUM), end, pumps)
    if carried <= 0:
        raise Missing(case.place(MAXIMUM), because="pump and system do not meet")
    return carried


def _inflow(case: Case, place: str) -> Iterator[Finding]:
    peak, pumps = case.quantity(PEAK), _pumps(case)
    carried = _capacity(case, pumps, "high")
    limit = case.limit("station.inflow.above")
    variant = "above"
    if not above(peak.at_least, carried * (1 + limit)):
        carried, variant = _capacity(case, pumps, "low"), "at_highest_lift"
        if not above(peak.at_least, carried * (1 + limit)):
            return
    yield INFLOW.finding(
        variant, "review" if variant == "above" else "note", place,
        compared={
            "peak": peak,
            "carried": about(carried, peak.unit),
            "pumps": Shown(str(pumps), "1"),
        },
        limit=f"no more than {percent(limit)} above what the pumps carry",
    )  # fmt: skip


INFLOW = Rule(
    id="station.inflow",
    title="Peak inflow of a well against its pumps",
    severities=("review", "note"),
    condition="The pumps that may run at once carry the peak inflow, at their maximum frequency "
    "and the lowest lift (at the highest: note); 10 % are left to the well and to the curves.",
    source="continuity; affinity laws, HI engineering data; 10 %: common practice, no source",
    scope="station",
    subject=PEAK,
    needs=(PEAK, MAXIMUM),
    waits_for=(
        *RESTS_ON_CURVE, "speed.order", "speed.maximum-speed", "speed.zero-flow", "site.order",
    ),
    applies=_knows_its_peak,
    check=_inflow,
    limits={"above": Limit(10, "%", "inflow over the flow of the pumps", "lower",
                           "common practice")},
    sentences={
        "above": "The peak inflow is {peak}, the pumps that may run at once ({pumps}) carry "
        "{carried} at the lowest lift: the well would overflow.",
        "at_highest_lift": "The pumps that may run at once ({pumps}) carry the peak inflow of "
        "{peak} at the lowest lift, but {carried} at the highest: where both come together, the "
        "well rises all the while.",
    },
    remedies={"at_highest_lift": "Find out how long both last together, and what the well holds.",
              "above": "Check the inflow and its unit, how many pumps may run, and the pump."},
)  # fmt: skip
