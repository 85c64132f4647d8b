"""Rules of the pump's curve against itself and against the motor."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from calculations import pump_curves
from calculations.aspects import pumping
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.pump_curves import CurvePoint, ShapeProblem, ShapeProblemKind
from calculations.rule import Limit, Rule, about, percent, show
from calculations.rules.closeness import above
from calculations.rules.scope import has_motor
from calculations.units import Quantity

POINTS = "/pump/curve_points"
NAMES = {
    ShapeProblemKind.STARTS_LATE: "starts_late",
    ShapeProblemKind.DUPLICATE_FLOW: "duplicate",
    ShapeProblemKind.FLOW_GOES_BACK: "back",
    ShapeProblemKind.RISING: "rising",
    ShapeProblemKind.FLAT: "flat",
}
WORST_FIRST = ("duplicate", "back", "rising", "starts_late", "flat")
MAINS_RATIO = 1.2
"""60 Hz over 50 Hz: a curve for the other mains frequency."""


def has_curve(case: Case) -> bool:
    """Whether a centrifugal pump is part of the subject."""
    return case.subject.pump is not None and pumping.is_centrifugal(case)


# -- shape --------------------------------------------------------------------------------------


def _shape(case: Case, place: str) -> Iterator[Finding]:
    problems = pumping.shape_problems(case)
    if not problems:
        return
    summit = _summit(case, pumping.rows(case), problems)
    if summit is not None:
        here = f"{POINTS}/{summit}"
        yield SHAPE.finding(
            "droops", "note", case.place(here),
            compared={"shut_off": case.quantity(f"{POINTS}/0/head"),
                      "flow": case.quantity(f"{here}/flow"),
                      "head": case.quantity(f"{here}/head")},
            limit=percent(case.limit("curve.shape.droop")),
        )  # fmt: skip
        return
    first = min(problems, key=lambda problem: WORST_FIRST.index(NAMES[problem.kind]))
    variant = NAMES[first.kind]
    odd = _odd_one(pumping.rows(case), first) if variant in ("rising", "back") else None
    at = first.index if odd is None else odd
    yield SHAPE.finding(
        variant if odd is None else f"{variant}_at_one",
        "note" if variant == "flat" else "review", f"{case.place(POINTS)}/{at}",
        compared=_beside(case, first), number=first.index + 1, before=first.index, odd=at + 1,
    )  # fmt: skip


def _summit(
    case: Case, points: Sequence[CurvePoint], problems: Sequence[ShapeProblem]
) -> int | None:
    """The highest point of a curve that droops a little towards no flow, as some pumps' do.

    It falls all the way from there, within the first half of the flow. None of any other curve.
    """
    if any(NAMES[each.kind] not in ("rising", "flat") for each in problems):
        return None
    heads = [point.head for point in points]
    top = heads.index(max(heads))
    rises = all(before <= after for before, after in pairwise(heads[: top + 1]))
    falls = all(before > after for before, after in pairwise(heads[top:]))
    early = points[top].flow <= points[-1].flow / 2
    little = not above(pumping.rise(tuple(points)), case.limit("curve.shape.droop"))
    return top if top and rises and falls and early and little else None


def _odd_one(points: Sequence[CurvePoint], problem: ShapeProblem) -> int | None:
    """Which point of a pair in the wrong order to read again; None where it may be either.

    It is the one without which fewer pairs are in the wrong order.
    """
    before, after = (
        sum(NAMES[each.kind] in ("duplicate", "back", "rising") for each in left)
        for left in (
            pump_curves.shape_problems(points=[*points[:index], *points[index + 1 :]])
            for index in (problem.index - 1, problem.index)
        )
    )
    if before == after:
        return None
    return problem.index - 1 if before < after else problem.index


def _beside(case: Case, problem: ShapeProblem) -> dict[str, Shown | Quantity]:
    """The point with the problem and the one before it."""
    here = f"{POINTS}/{problem.index}"
    compared: dict[str, Shown | Quantity] = {
        "flow": case.quantity(f"{here}/flow"),
        "head": case.quantity(f"{here}/head"),
    }
    if problem.index:
        last = f"{POINTS}/{problem.index - 1}"
        compared |= {
            "flow_before": case.quantity(f"{last}/flow"),
            "head_before": case.quantity(f"{last}/head"),
        }
    return compared


_BACK = (
    "Point {number} of the curve lies at {flow}, before point {before} at {flow_before}: the curve "
    "crosses itself."
)
_RISING = (
    "The head rises from {head_before} at {flow_before} to {head} at {flow} (points {before} and "
    "{number} of the curve)."
)

SHAPE = Rule(
    id="curve.shape",
    title="Points of the pump's curve in order",
    severities=("review", "note"),
    condition="The points begin at zero flow, their flow rises from each to the next, and the head "
    "falls (a stretch without fall, and a rise of 5 % at most from no flow on to one highest point "
    "in the first half of the flow: note).",
    source="common practice: what a pump's curve looks like; some pumps rise a little near zero "
    "flow",
    scope="nameplate",
    subject=POINTS,
    needs=(POINTS,),
    applies=has_curve,
    check=_shape,
    limits={
        "droop": Limit(5, "%", "rise from no flow on, of the highest head", "lower", "from memory"),
    },
    sentences={
        "droops": "The head rises from {shut_off} at no flow to {head} at {flow} and falls from "
        "there on: at heads between these two the pump has two flows. It may swing between them, "
        "and deliver nothing beside another pump. Its pressure is highest there, not at no flow.",
        "back_at_one": _BACK + " Without point {odd} it is in order there.",
        "rising_at_one": _RISING + " Without point {odd} it falls there.",
        "duplicate": "Points {before} and {number} of the curve have the same flow {flow}, with "
        "heads {head_before} and {head}.",
        "back": _BACK,
        "rising": _RISING,
        "starts_late": "The curve begins at {flow}: without its point at zero flow no speed at "
        "closed valves can be computed.",
        "flat": "The head stays at {head} from {flow_before} to {flow}: the flow there is open.",
    },
    remedies={
        "back_at_one": "Read point {odd} again, its flow first.",
        "rising_at_one": "Read point {odd} again; if the curve does rise, say so.",
        "duplicate": "Read the points of the curve again.",
        "back": "Enter the points with rising flow.",
        "rising": "Read the points again; if the curve does rise, say so.",
        "starts_late": "Add the shut-off head.",
        "droops": "Where its digits are right, keep the flow above {flow} at that speed.",
    },
)


# -- speed --------------------------------------------------------------------------------------


def _speed(case: Case, place: str) -> Iterator[Finding]:
    if pumping.speeds_agree(case):
        return
    curve_speed, frequency = case.quantity("/pump/rated_speed"), case.quantity("/rating/frequency")
    motor_speed = pumping.speed(case, frequency.si)
    ratio = curve_speed.si / motor_speed
    near = any(abs(ratio / each - 1) < 0.03 for each in (MAINS_RATIO, 1 / MAINS_RATIO))
    geared, turned = pumping.transmission(case), pumping.is_ratio_turned(case)
    compared: dict[str, Shown | Quantity] = {
        "curve_speed": curve_speed,
        "motor_speed": show(motor_speed, "rpm"),
        "frequency": frequency,
    }
    if turned:
        compared |= {"ratio": about(geared), "other": about(1 / geared)}
    yield SPEED.finding(
        "turned" if turned else "other_mains" if near else "apart", "review", place,
        compared=compared, limit=percent(case.limit("curve.speed.difference")),
        difference=percent(abs(ratio - 1)),
    )  # fmt: skip


SPEED = Rule(
    id="curve.speed",
    title="Speed of the pump's curve against the motor's",
    severities=("review",),
    condition="The speed that the curve is for is the rated speed of the motor over the "
    "transmission's ratio, to within 5 %, at the motor's rated or the drive's maximum frequency.",
    source="definition; limit: common practice, from memory",
    scope="nameplate",
    subject="/pump/rated_speed",
    needs=("/pump/rated_speed", "/rating/speed", "/rating/frequency"),
    applies=lambda case: has_curve(case) and has_motor(case),
    check=_speed,
    limits={"difference": Limit(5, "%", "between the speeds", "lower", "from memory")},
    sentences={
        "other_mains": "The curve is for {curve_speed}, the motor turns at {motor_speed} at "
        "{frequency}: probably a curve for the other mains frequency.",
        "apart": "The curve is for {curve_speed}, but the motor turns the pump at {motor_speed} at "
        "{frequency}: {difference} apart.",
        "turned": "Probably the transmission's ratio is turned round, {ratio} for {other}: it is "
        "the motor's speed over the pump's. The curve is for {curve_speed}, by the ratio the motor "
        "turns the pump at {motor_speed} at {frequency}.",
    },
    remedies=dict.fromkeys(
        ("other_mains", "apart"),
        "Enter the curve and the speed that belong together, or the transmission between them.",
    )
    | {"turned": "Enter the motor's speed over the pump's, {other}."},
)
