"""Rules of measured points against the pump's curve and the region it likes to run in."""

from collections.abc import Iterator

from calculations import hydraulics, operating_region
from calculations.acceptance import SitePoint, SiteVerdict
from calculations.aspects import assumed, duty, history, pumping, suction, turning
from calculations.aspects.duty import POINTS
from calculations.aspects.on_curve import Measured, fits, judged, measured, tolerance
from calculations.case import Case, Missing, Waits
from calculations.derived.duty import HEAD_UNIT
from calculations.findings import Finding, Severity, Shown
from calculations.operating_region import RegionState
from calculations.rule import Limit, Rule, of_two, percent, rough_percent, show
from calculations.rules.closeness import above, signed_percent
from calculations.rules.point_slips import flows_alike, has_one_cause, slips
from calculations.rules.pump_curve import has_curve
from calculations.rules.speed_limits import RESTS_ON_CURVE
from calculations.rules.suction_absolute import require_gauge
from calculations.units import Quantity

AGAIN = "Read it again, with its unit and sign, and correct what is written down."
ROTATION = "Prove the direction of rotation first: a pump that runs backwards gives such a head. "


METER = (
    "Look at the flow meter, its bore and its scaling first: at every point its flow is off alike, "
    "about {share}, from what the curve has at that head. "
)


def has_points(case: Case) -> bool:
    """Whether points of a centrifugal pump were measured, or should have been."""
    return has_curve(case) and case.event is not None


# -- against the curve ----------------------------------------------------------------------------


def _point(case: Case, place: str) -> Iterator[Finding]:
    suction.require_gauges(case, place)
    require_gauge(case, place)
    point = measured(case, place)
    if point.head <= 0:
        yield _not_positive(case, place, point)
    elif point.flow == 0:
        if pumping.may_shut_off(case):  # else the curve says little there, and nobody asks
            yield from _shut_off(case, place, point)
    else:
        yield from _with_flow(case, place, point)


def _not_positive(case: Case, place: str, point: Measured) -> Finding:
    taken = slips(case, place)
    compared = {"head": show(point.head, HEAD_UNIT(case))}
    return POINT.finding(
        "not_positive_unit" if taken else "not_positive", "review", place,
        compared=compared, read=" or ".join(taken),
    )  # fmt: skip


def _with_flow(case: Case, place: str, point: Measured) -> Iterator[Finding]:
    if fits(case, point):
        return
    found = judged(case, point)
    if found.verdict is SiteVerdict.WITHIN:
        return
    outside = found.verdict is SiteVerdict.OUTSIDE
    expected = pumping.curve(case).head(flow=point.flow, speed=point.speed)
    taken = slips(case, place) if outside else []
    if outside and expected and point.head < expected and not taken:
        _unless_fallen(case)
    if expected is None:
        if not outside and _is_beyond(case, place, point.flow, point.speed):
            return  # `region.operating` tells it
        variant = "beyond_unit" if taken else "beyond"
    else:
        variant = "unit" if taken else "outside" if outside else "undecided"
    yield POINT.finding(
        variant, _severity(case, outside), place,
        compared=_compared(case, place, point, expected), limit=_limit(case),
        read=" or ".join(taken),
        uncertainty=rough_percent(found.head_uncertainty) + assumed.accuracies(case, place),
        deviation=signed_percent(point.head / expected - 1) if expected else "",
        in_flow=_in_flow(case, place, point, found),
        first=_first(case, point, expected),
    )  # fmt: skip


def _first(case: Case, point: Measured, expected: float | None) -> str:
    """What to look at first, where the readings tell."""
    if expected and turning.may_be_reversed(case, point.head / expected):
        return ROTATION
    alike = flows_alike(case)
    return METER.format(share=signed_percent(alike)) if alike is not None else ""


def _in_flow(case: Case, place: str, point: Measured, found: SitePoint) -> str:
    """The same point seen as a flow at its head, in words; nothing where the curve has none."""
    if found.flow_deviation is None:
        return ""
    met = show(point.flow / (1 + found.flow_deviation), case.quantity(f"{place}/flow").unit, 3)
    return (
        f", and at that head {met} ({signed_percent(found.flow_deviation)} of flow; the "
        f"instruments explain {rough_percent(found.flow_uncertainty)})"
    )


def _unless_fallen(case: Case) -> None:
    """Raise `Waits` where the head has fallen since the first visit: it tells more than a curve."""
    if history.fallen(case):
        raise Waits("trend.head")


def _compared(
    case: Case, place: str, point: Measured, expected: float | None
) -> dict[str, Shown | Quantity]:
    compared: dict[str, Shown | Quantity] = {
        "flow": case.quantity(f"{place}/flow"),
        "speed": show(point.speed, "rpm"),
        "head": show(point.head, HEAD_UNIT(case)),
    }
    if expected is None:
        end = pumping.curve(case).highest_flow(speed=point.speed)
        return compared | {"end": show(end, case.quantity(f"{place}/flow").unit)}
    return compared | {"expected": show(expected, HEAD_UNIT(case))}


def _severity(case: Case, outside: bool) -> Severity:
    estimated = case.is_("/pump/curve_origin", "estimated")
    return "review" if outside and not estimated else "note"


def _limit(case: Case) -> str:
    allowed = tolerance(case)
    floor = case.limit("curve.point.floor")
    head = max(allowed.head_below, floor)
    flow = max(allowed.flow_below, floor)
    return f"{percent(head)} of head or {percent(flow)} of flow, plus the instruments' uncertainty"


def _shut_off(case: Case, place: str, point: Measured) -> Iterator[Finding]:
    expected = pumping.curve(case).shut_off_head(speed=point.speed)
    allowed = max(tolerance(case).head_below, case.limit("curve.point.floor"))
    deviation = point.head / expected - 1
    if not above(abs(deviation), allowed + point.head_uncertainty):
        return
    if deviation < 0:
        _unless_fallen(case)
    yield POINT.finding(
        "shut_off", _severity(case, outside=True), place,
        compared={
            "speed": show(point.speed, "rpm"),
            "head": show(point.head, HEAD_UNIT(case)),
            "expected": show(expected, HEAD_UNIT(case)),
        },
        limit=_limit(case), deviation=signed_percent(deviation),
    )  # fmt: skip


_of_curve = of_two("head", "expected")


def _off_by(case: Case, found: Finding) -> float | None:
    """Head over that of the curve [1]; 1 of all that one other reading brings onto their curve."""
    if found.variant == "shut_off":
        return None
    if not found.parameters.get("read"):
        return _of_curve(case, found)
    return 1.0 if has_one_cause(case) else None


POINT = Rule(
    id="curve.point",
    title="Measured point against the pump's curve at its speed",
    severities=("review", "note"),
    condition="Head at the flow, or flow at the head, agrees with the curve at the speed of the "
    "day to within the acceptance grade (5 % at least) plus the uncertainty of the instruments; "
    "between grade and that sum it cannot be decided with them (note). Without an agreed grade: "
    "2B to 100 kW, 1B above, 3B for a digitised or estimated curve. Another unit, a gauge that "
    "reads absolute, a sign, or two gauges in each other's place, is named where it explains the "
    "point; where several points are off, only what explains them all.",
    source="affinity laws, HI engineering data, equation 1.B.6; ISO 9906:2012, table 8 (figures "
    "from memory); floor: common practice",
    each=POINTS,
    needs=("/pump/curve_points", "/pump/rated_speed"),
    waits_for=(*RESTS_ON_CURVE, "curve.impeller", "speed.measured", "rotation.reversed"),
    applies=has_points,
    check=_point,
    alike=_off_by,
    limits={"floor": Limit(5, "%", "smallest tolerance on site", "lower", "common practice")},
    sentences={
        "unit": "Probably {read}. At {flow} and {speed} the readings give {head} of head, the "
        "curve says {expected} ({deviation}).",
        "outside": "At {flow} and {speed} the readings give {head} of head, the curve says "
        "{expected} ({deviation}; the instruments explain {uncertainty}){in_flow}.",
        "undecided": "At {flow} and {speed} the readings give {head} of head, the curve says "
        "{expected} ({deviation}; the instruments explain {uncertainty}){in_flow}: outside the "
        "grade, but not beyond grade and instruments together in head and in flow alike, so that "
        "it cannot be decided with them.",
        "shut_off": "At no flow and {speed} the readings give {head} of head, the curve says "
        "{expected} ({deviation}).",
        "beyond_unit": "Probably {read}. At {speed} the readings give {head} of head at {flow}, "
        "beyond the end of the curve ({end}).",
        "beyond": "At {speed} the readings give {head} of head at {flow}, beyond the end of the "
        "curve ({end}).",
        "not_positive_unit": "Probably {read}: the readings as entered give a total head of "
        "{head}.",
        "not_positive": "The readings give a total head of {head}: discharge and suction may be "
        "swapped, or a height has the wrong sign.",
    },
    remedies={
        "unit": AGAIN,
        "outside": "{first}Check flow, gauges with their heights, speed and impeller; then the "
        "pump.",
        "shut_off": "Check gauges, valve, speed, impeller and direction of rotation.",
        "beyond_unit": AGAIN,
        "beyond": "Check flow, gauges with their heights, and speed.",
        "not_positive_unit": AGAIN,
        "not_positive": "Check gauges and heights.",
    },
)


# -- region ---------------------------------------------------------------------------------------


def best_flow(case: Case) -> float:
    """Best-efficiency flow at the curve's own speed [m3/s]."""
    stated = case.find("/pump/best_efficiency_flow")
    if stated is not None:
        return float(stated.si)
    curve = pumping.curve(case)
    found = curve.best_efficiency_flow(speed=curve.speed)
    if found is None:
        raise Missing("/pump/best_efficiency_flow")
    return found


def _specific_speed(case: Case) -> float | None:
    stages = case.find("/pump/stages")
    curve = pumping.curve(case)
    best = best_flow(case)
    head = curve.head(flow=best, speed=curve.speed)
    if stages is None or head is None or head <= 0:
        return None
    return hydraulics.specific_speed(
        speed=curve.speed, flow=best, head=head, stages=stages,
        suction_sides=case.find("/pump/suction_sides") or 1,
    )  # fmt: skip


def _is_beyond(case: Case, place: str, flow: float, speed: float) -> bool:
    """Whether a flow is certainly more than the curve has at that speed."""
    end = pumping.curve(case).highest_flow(speed=speed)
    return above(flow, end * (1 + duty.flow_uncertainty(case, place)))


def _operating(case: Case, place: str) -> Iterator[Finding]:
    flow, speed = duty.flow(case, place), duty.speed(case, place)
    curve = pumping.curve(case)
    if _is_beyond(case, place, flow, speed):
        end, unit = curve.highest_flow(speed=speed), case.quantity(f"{place}/flow").unit
        yield OPERATING.finding(
            "beyond", "review", place,
            compared={"flow": case.quantity(f"{place}/flow"), "end": show(end, unit)},
        )  # fmt: skip
    elif case.word(f"{place}/purpose") == "design":
        yield from _design_region(case, place, flow, speed / curve.speed)


def _design_region(case: Case, place: str, flow: float, ratio: float) -> Iterator[Finding]:
    best = best_flow(case)
    lowest, highest = operating_region.preferred_region(specific_speed=_specific_speed(case))
    region = (
        max(lowest, case.limit("region.operating.lowest")),
        min(highest, case.limit("region.operating.highest")),
    )
    found = operating_region.operating_region(
        flow=flow, best_efficiency_flow=best, speed_ratio=ratio, region=region
    )
    if found.state is RegionState.INSIDE:
        return
    unit = case.quantity(f"{place}/flow").unit
    yield OPERATING.finding(
        "left" if found.state is RegionState.LEFT else "right", "note", place,
        compared={"flow": case.quantity(f"{place}/flow"), "best": show(best * ratio, unit)},
        limit=f"{percent(region[0])} to {percent(region[1])}", share=percent(found.ratio),
    )  # fmt: skip


OPERATING = Rule(
    id="region.operating",
    title="Design point inside the preferred operating region",
    severities=("review", "note"),
    condition="The point marked as design lies at 70 to 120 % of the best-efficiency flow at its "
    "speed (80 to 120 % at high specific speed), else note; no point lies beyond the end of the "
    "curve.",
    source="ANSI/HI 9.6.3-2012, 9.6.3.1, secondary text; published texts disagree",
    each=POINTS,
    needs=("/pump/curve_points", "/pump/rated_speed"),
    waits_for=(*RESTS_ON_CURVE, "curve.point"),
    applies=has_points,
    check=_operating,
    limits={
        "lowest": Limit(70, "%", "of best-efficiency flow", "higher", "retrieved"),
        "highest": Limit(120, "%", "of best-efficiency flow", "lower", "retrieved"),
    },
    sentences={
        "beyond": "The point at {flow} lies beyond the end of the curve at that speed ({end}).",
        "left": "The design point at {flow} is {share} of the best-efficiency flow at its speed "
        "({best}): left of the region that the pump likes to run in.",
        "right": "The design point at {flow} is {share} of the best-efficiency flow at its speed "
        "({best}): right of the region that the pump likes to run in.",
    },
    remedies={"beyond": "Check the flow; throttle or slow the pump down if it is right."},
)
