"""The rule that holds a pump's curve against itself and its rated point."""

from collections.abc import Iterator

from calculations.aspects import curve_columns, pumping
from calculations.aspects.curve_columns import Doubt
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, entered, percent
from calculations.rules.closeness import signed_percent
from calculations.rules.mix_ups import in_unit
from calculations.rules.pump_curve import POINTS, has_curve
from calculations.units import Quantity

BEST = "/pump/best_efficiency_flow"


def _columns(case: Case, place: str) -> Iterator[Finding]:
    yield from _best_flow(case)
    found = pumping.curve_doubt(case)
    if found is not None:
        yield _explained(case, place, found)
        return
    columns = curve_columns.read(case, pumping.rows(case), pumping.as_entered(case))
    balance = columns.balance
    if balance is not None and abs(balance - 1) > columns.power_limit:
        yield COLUMNS.finding(
            "power", "review" if columns.is_grave else "note", place, compared={},
            limit=percent(columns.power_limit), off=signed_percent(balance - 1),
        )  # fmt: skip
    if curve_columns.off_rated(case, columns):
        flow, head = case.require("/pump/rated_flow", "/pump/rated_head")
        on_curve = columns.head(flow.si)
        yield COLUMNS.finding(
            "rated" if on_curve else "rated_beyond",
            "review" if curve_columns.off_rated(case, columns, curve_columns.GRAVE) else "note",
            "/pump/rated_head",
            compared={"head": head, "flow": flow, "on_curve": about(on_curve, head.unit)},
            limit=f"{percent(case.limit('curve.columns.rated-head'))} of head and "
            f"{percent(case.limit('curve.columns.rated-flow'))} of flow",
        )  # fmt: skip


def _best_flow(case: Case) -> Iterator[Finding]:
    """A best-efficiency flow beyond the end of the curve that in another unit lies on it."""
    best, end = case.find(BEST), pumping.rows(case)[-1].flow
    if best is None or best.si <= end:
        return
    for unit in curve_columns.UNITS["flow"].get(best.unit, ()):
        meant = in_unit(best, unit)
        if curve_columns.ORDINARY_FLOW * end <= meant.si <= end:
            yield COLUMNS.finding(
                "best", "review", BEST, compared={"best": best, "end": about(end, best.unit)},
                limit="at most the curve's last flow", meant=entered(meant),
            )  # fmt: skip
            return


def _explained(case: Case, place: str, found: Doubt) -> Finding:
    balance = found.balance or 0.0
    at = f"{place}/{found.index}" if found.variant == "row" else place
    if found.is_of_rated:
        at = f"/pump/{found.variant}"
    return COLUMNS.finding(
        found.variant, "review", at, compared=_compared(case, found),
        limit=percent(case.limit("curve.columns.power")),
        entered=found.entered, meant=found.meant, number=found.index + 1,
        off=signed_percent(balance - 1), best=percent(balance),
    )  # fmt: skip


def _compared(case: Case, found: Doubt) -> dict[str, Shown | Quantity]:
    """What is held against the curve: the rated point, and the impeller where that explains it."""
    compared: dict[str, Shown | Quantity] = {}
    if found.variant == "row":
        for name in ("efficiency", "shaft_power"):
            compared[name] = entered(case.quantity(f"{POINTS}/{found.index}/{name}"))
    if found.variant == "impeller":
        compared |= {
            "inside": case.quantity("/pump/impeller_diameter"),
            "largest": case.quantity("/pump/impeller_diameter_max"),
        }
    for name in ("rated_flow", "rated_head"):
        if found.variant not in curve_columns.POWERS and (value := case.find(f"/pump/{name}")):
            compared[name] = value
    return compared


_TO_RATED = "power, efficiency and rated point then belong together, as far as they are stated."

COLUMNS = Rule(
    id="curve.columns",
    title="The pump's curve against itself and its rated point",
    severities=("review", "note"),
    condition="Power, efficiency, flow and head of the points belong together to within 10 % "
    "(note; 20 % review), powers alone leave no efficiency above 94 %, and the rated point lies on "
    "the curve to within 9 % of flow and 7 % of head (twice that: review). A column in another "
    "unit, a curve of one stage, and that of the largest impeller are named, and a best flow "
    "beyond the curve: nothing is "
    "computed from such a curve, and powers that are doubted alone are left out.",
    source="P = rho g Q H / eta (ISO 9906:2012, 3.2) with the curve's cold water; flow and head: "
    "ISO 9906:2012, grade 3B; other limits: common practice, from memory",
    scope="nameplate",
    subject=POINTS,
    needs=(POINTS,),
    waits_for=("curve.shape",),
    applies=has_curve,
    check=_columns,
    limits={
        "power": Limit(10, "%", "power against efficiency", "lower", "common practice"),
        "efficiency": Limit(94, "%", "efficiency of a pump by its powers", "lower", "from memory"),
        "rated-flow": Limit(9, "%", "of the rated flow", "lower", "retrieved", "ISO 9906:2012, 3B"),
        "rated-head": Limit(7, "%", "of the rated head", "lower", "retrieved", "ISO 9906:2012, 3B"),
    },
    sentences={
        "head": "Probably the heads of the curve are in {meant}, not {entered}: " + _TO_RATED,
        "flow": "Probably the flows of the curve are in {meant}, not {entered}: " + _TO_RATED,
        "either_head": "Probably the heads of the curve are in {meant}, not {entered}, or the "
        "rated head {rated_head} is in another unit: as they stand it is not on the curve.",
        "either_flow": "Probably the flows of the curve are in {meant}, not {entered}, or the "
        "rated flow {rated_flow} is in another unit: as they stand it is not on the curve.",
        "shaft_power": "Probably the powers of the curve are in {meant}, not {entered}: with flow, "
        "head and efficiency they then belong together.",
        "rated_head": "Probably the rated head is in {meant}, not {rated_head}: it then lies on "
        "the curve.",
        "rated_flow": "Probably the rated flow is in {meant}, not {rated_flow}: it then lies on "
        "the curve.",
        "best": "Probably the best-efficiency flow is {meant}, not {best}: the curve ends at "
        "{end}.",
        "stages": "The curve is probably that of one stage: {meant} of them give the rated head "
        "{rated_head}.",
        "head_of_stage": "The heads of the curve are probably those of one stage of {meant}: "
        + _TO_RATED,
        "impeller": "The curve is probably that of the largest impeller {largest}: with the "
        "{inside} inside, flow and head are those of the rated point.",
        "row": "{shaft_power} at point {number} of the curve do not belong to its efficiency "
        "{efficiency}, flow and head ({off}); at the other points they do.",
        "too_good": "Probably the powers of the curve are in {meant}, not {entered}: as they stand "
        "the pump has {best} of efficiency at its best.",
        "too_good_plain": "By its powers the curve has {best} of efficiency at its best: no pump "
        "has.",
        "power": "Powers of the curve times its efficiencies are {off} off what flows and heads "
        "need.",
        "rated": "The rated point {head} at {flow} lies off the curve, which has {on_curve} there.",
        "rated_beyond": "The rated point {head} at {flow} lies beyond the end of the curve.",
    },
    remedies={
        **dict.fromkeys(("head", "flow", "shaft_power", "too_good"),
                        "Correct the unit of this column, if the curve's axis says so."),
        **dict.fromkeys(("either_head", "either_flow"),
                        "Look at axis and plate, and correct the unit of the one that is wrong."),
        **dict.fromkeys(("rated_head", "rated_flow", "best"),
                        "Correct the unit on the pump's plate."),
        **dict.fromkeys(("stages", "head_of_stage"),
                        "Enter the curve of the whole pump, or correct the number of stages."),
        "impeller": "Enter the curve of the impeller inside, or correct its diameter.",
        "row": "Read power and efficiency of point {number} again.",
        "too_good_plain": "Read powers, flows and heads again, with their units.",
        "power": "Read the columns again: power of the motor's input for that of the shaft, "
        "efficiency with the motor's, and a liquid heavier than water are met.",
        **dict.fromkeys(("rated", "rated_beyond"),
                        "Read plate and curve again: both must be of this pump, its impeller and "
                        "its speed."),
    },
)  # fmt: skip
