"""Rule of the flow by draw-down against the flow meter."""

from collections.abc import Iterator

from calculations import wet_wells
from calculations.aspects import duty
from calculations.case import Case, Missing
from calculations.findings import Finding
from calculations.inputs.readings import DutyPoint
from calculations.rule import Limit, Rule, percent, show
from calculations.rules.closeness import Apart, above, signed_percent
from calculations.rules.mix_ups import EXPLAINS

TESTS = "/event/drawdown_tests"
SAME_FREQUENCY = 0.5  # Hz
AREA_FACTORS = (4.0, 0.25, 2.0, 0.5)
"""Slips of area: diameter for radius, half a well, two wells."""


def area(case: Case, place: str) -> float:
    """Plan area of the well [m2]: of the test, else by its diameter, else of the site."""
    stated, diameter = case.find(f"{place}/plan_area"), case.find(f"{place}/diameter")
    if stated is not None:
        return float(stated.si)
    if diameter is not None:
        return wet_wells.plan_area(diameter=diameter.si)
    return case.si("/site/wet_well_area")


def inflow(case: Case, place: str) -> float:
    """Inflow during the test [m3/s], by filling; 0 where the inflow was shut off."""
    if case.is_(f"{place}/inflow_method", "none"):
        return 0.0
    rise, time = case.require(f"{place}/fill_rise", f"{place}/fill_time")
    return wet_wells.inflow_from_filling(
        area=area(case, place), level_rise=rise.si, fill_time=time.si
    )


def drawdown_flow(case: Case, place: str) -> float:
    """Flow of the pumps that ran [m3/s]."""
    start, end, time = case.require(f"{place}/level_start", f"{place}/level_end", f"{place}/time")
    return wet_wells.drawdown_flow(
        area=area(case, place), level_drop=start.si - end.si, drawdown_time=time.si,
        inflow=inflow(case, place),
    )  # fmt: skip


def _metered(case: Case, place: str) -> tuple[str, float]:
    """A duty point by the installed meter at the same frequency, and its flow [m3/s]."""
    wanted = case.find(f"{place}/frequency")
    running = (case.find(f"{place}/pumps_running") or 1) - 1
    found = [
        (f"{duty.POINTS}/{index}", float(point.flow.si))
        for index, point in enumerate(case.find(duty.POINTS) or ())
        if point.flow_method == "installed_meter" and point.flow is not None
        and (_is_open(point) if case.fixed_speed else _same(wanted, point.frequency))
        and (point.other_pumps_running or 0) == running
    ]  # fmt: skip
    if not found:
        raise Missing(duty.POINTS, because="no metered point at the frequency of the draw-down")
    return found[0]


def _is_open(point: DutyPoint) -> bool:
    """Whether a point of a fixed-speed pump was not throttled, as a draw-down is not."""
    return point.purpose in ("design", "maximum")


def _same(wanted: object, read: object) -> bool:
    """Whether two frequencies are known and count as one."""
    first, second = getattr(wanted, "si", None), getattr(read, "si", None)
    return (
        first is not None and second is not None and not above(abs(first - second), SAME_FREQUENCY)
    )


def _drawdown(case: Case, place: str) -> Iterator[Finding]:
    by_level = drawdown_flow(case, place)
    at, metered = _metered(case, place)
    if metered <= 0 or by_level <= 0:
        raise Missing(f"{at}/flow", because="no flow")
    apart = Apart(by_level / metered)
    known = duty.FLOW_UNCERTAINTY["drawdown"] + duty.flow_uncertainty(case, at)
    allowed = max(case.limit("flow.drawdown.difference"), known)
    if not above(abs(apart.deviation), allowed):
        return
    unit = case.quantity(f"{at}/flow").unit
    yield DRAWDOWN.finding(
        _cause(case, place, by_level, metered), "review", place,
        compared={"by_level": show(by_level, unit), "metered": case.quantity(f"{at}/flow")},
        limit=percent(allowed), difference=signed_percent(apart.deviation),
    )  # fmt: skip


def _cause(case: Case, place: str, by_level: float, metered: float) -> str:
    flowing = inflow(case, place)
    if flowing == 0.0:
        return "inflow" if by_level < metered else _area(by_level / metered)
    if Apart((by_level - flowing) / metered).near(1, EXPLAINS):
        return "inflow_shut"
    return _area(by_level / metered)


def _area(ratio: float) -> str:
    return "area" if any(Apart(ratio).near(each, 2 * EXPLAINS) for each in AREA_FACTORS) else (
        "plain"
    )  # fmt: skip


_BODY = (
    "By draw-down the flow is {by_level}, by the meter {metered} at the same frequency "
    "({difference})."
)

DRAWDOWN = Rule(
    id="flow.drawdown",
    title="Flow by draw-down against the flow meter",
    severities=("review",),
    condition="Flow by the falling level, inflow added, agrees with the installed meter at the "
    "same frequency (unthrottled at fixed speed) to within 10 % and the uncertainty of both.",
    source="continuity; method: state agency's guide to calibrating lift stations; limit from "
    "memory",
    each=TESTS,
    waits_for=("curve.point",),
    applies=lambda case: bool(case.find(TESTS)),
    check=_drawdown,
    limits={"difference": Limit(10, "%", "between the flows", "lower", "from memory")},
    sentences={
        "inflow": "No inflow was counted, so that this flow comes out too low. " + _BODY,
        "inflow_shut": "The inflow explains it: probably it was shut off, and counted all the "
        "same. " + _BODY,
        "area": "The plan area is probably off by a factor of 2 or 4 (radius for diameter, one "
        "well for two). " + _BODY,
        "plain": _BODY,
    },
    remedies={
        "inflow": "Measure the filling before or after, and add it.",
        "inflow_shut": "Check how the inflow was found.",
        "area": "Measure the well again.",
        "plain": "Repeat the draw-down; check area, times, and the meter.",
    },
)
