"""Rule of the flow by draw-down against the flow meter, or what else says the flow."""

from collections.abc import Iterator
from dataclasses import dataclass

from calculations import wet_wells
from calculations.aspects import duty, pumping, system
from calculations.aspects.suction import End
from calculations.case import Case, Missing, Waits
from calculations.errors import InvalidInput
from calculations.findings import Finding, Shown
from calculations.inputs.readings import DutyPoint
from calculations.rule import Limit, Rule, about, percent, show
from calculations.rules.closeness import Apart, above, signed_percent
from calculations.rules.mix_ups import EXPLAINS, in_unit
from calculations.units import Quantity

TESTS = "/event/drawdown_tests"
SAME_FREQUENCY = 0.5  # Hz
AREA_FACTORS = (4.0, 0.25, 2.0, 0.5)
"""Slips of area: diameter for radius, half a well, two wells."""

AREA_UNITS = {"m2": ("ft2",), "ft2": ("m2",)}
REGISTERED, PEAK = "/site/wet_well_area", "/site/inflow_peak"

MINUTE = 60.0
MINUTES_EXPLAIN = 0.20
"""How well minutes read as seconds must explain a flow [1]: nothing else is sixty times off."""

READ_BY = {
    "installed_meter": "by the meter",
    "volumetric": "by volume",
    "strap_on": "by the meter strapped on",
}
"""Methods that a flow was read by at a duty point, the best first, and their words."""

BY_CURVES = "by the curves of pump and main"
ENDS: tuple[End, ...] = ("low", "high")
NAMED, FLOW_UNIT = ("/site/system_design_flow", "/pump/rated_flow"), "L/s"


def area(case: Case, place: str) -> float:
    """Plan area of the well [m2]: of the test, else by its diameter, else of the site."""
    stated, diameter = case.find(f"{place}/plan_area"), case.find(f"{place}/diameter")
    if stated is not None:
        return float(stated.si)
    if diameter is not None:
        return wet_wells.plan_area(diameter=diameter.si)
    return case.si(REGISTERED)


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


@dataclass(frozen=True, slots=True)
class _Reference:
    """What a draw-down is held against: flows [m3/s] from lowest to highest.

    known: how far the draw-down may be off it, by what is known of both [1]. by: in words. unit:
    that people read it in.
    """

    lowest: float
    highest: float
    known: float
    by: str
    unit: str

    def deviation(self, flow: float) -> float:
        """How far a flow is outside, as a share of the nearer end [1]; 0 between them."""
        nearer = min(max(flow, self.lowest), self.highest)
        return flow / nearer - 1


def _reference(case: Case, place: str) -> _Reference:
    """A flow that was read at the same frequency, the meter's first; else that of the curves."""
    for method in READ_BY:
        found = _point_read_by(case, place, method)
        if found is not None:
            read = case.quantity(f"{found}/flow")
            if read.si <= 0:
                raise Missing(f"{found}/flow", because="no flow")
            known = duty.FLOW_UNCERTAINTY["drawdown"] + duty.flow_uncertainty(case, found)
            return _Reference(read.si, read.si, known, READ_BY[method], read.unit)
    return _by_curves(case, place)


def _point_read_by(case: Case, place: str, method: str) -> str | None:
    """The duty point of the most flow that was read so at the same frequency: least throttled."""
    wanted = case.find(f"{place}/frequency")
    running = (case.find(f"{place}/pumps_running") or 1) - 1
    found = [
        (point.flow.si, f"{duty.POINTS}/{index}")
        for index, point in enumerate(case.find(duty.POINTS) or ())
        if point.flow_method == method and point.flow is not None
        and (_is_open(point) if case.fixed_speed else _same(wanted, point.frequency))
        and (point.other_pumps_running or 0) == running
    ]  # fmt: skip
    return max(found)[1] if found else None


def _by_curves(case: Case, place: str) -> _Reference:
    """Flow of the pumps that ran on the system's curve, between lowest and highest lift."""
    unread = "no flow read at the frequency of the draw-down"
    if not (pumping.is_centrifugal(case) and case.is_("/site/kind", "lift_station")):
        raise Missing(duty.POINTS, because=unread)
    at = duty.SUPPLIED if case.fixed_speed else f"{place}/frequency"
    frequency, pumps = case.si(at), case.find(f"{place}/pumps_running") or 1
    try:
        flows = [system.flow_of(case, frequency, end, pumps) for end in ENDS]
    except Missing as missing:
        raise Missing(duty.POINTS, *missing.places, because=unread) from None
    if min(flows) <= 0:
        raise Missing(duty.POINTS, because=unread)
    unit = next(
        (read.unit for name in NAMED if (read := case.find(name)) is not None), FLOW_UNIT
    )  # fmt: skip
    limit = case.limit("flow.drawdown.curves")
    return _Reference(min(flows), max(flows), limit, BY_CURVES, unit)


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
    if by_level <= 0:
        raise Missing(f"{place}/level_end", because="no flow")
    other_area = _area_of_the_register(case, place)
    if other_area is not None and not _is_told_before(case, place):
        yield other_area
        return
    if other_area is not None and DRAWDOWN.id not in case.accepted:
        raise Waits(DRAWDOWN.id)
    held = _reference(case, place)
    allowed = max(case.limit("flow.drawdown.difference"), held.known)
    deviation = held.deviation(by_level)
    if not above(abs(deviation), allowed):
        return
    variant, read = _cause(case, place, by_level, held)
    expected = held.highest if by_level > held.highest else held.lowest
    yield DRAWDOWN.finding(
        variant, "review", place,
        compared={"by_level": show(by_level, held.unit), "expected": about(expected, held.unit)},
        limit=percent(allowed), difference=signed_percent(deviation), by=held.by, read=read,
    )  # fmt: skip


# -- the area that the register has ---------------------------------------------------------------


def _area_of_the_register(case: Case, place: str) -> Finding | None:
    """That the test's own area is not the well's; benching and fittings take some of that."""
    registered, stated = case.find(REGISTERED), case.find(f"{place}/plan_area")
    if registered is None or (stated is None and case.find(f"{place}/diameter") is None):
        return None
    tested = area(case, place)
    apart = Apart(tested / registered.si)
    allowed = case.limit("flow.drawdown.area")
    if not apart.beyond(allowed):
        return None
    variant, read = "area_unit", _in_other_unit(stated, registered.si) if stated else None
    if _fits(case, place):
        variant, read = "register_unit", _in_other_unit(registered, tested)
    return DRAWDOWN.finding(
        variant if read else "area_registered", "review",
        case.place(REGISTERED) if read and variant == "register_unit" else place,
        compared={"tested": about(tested, registered.unit), "registered": registered},
        limit=f"{percent(allowed)} between the areas", difference=signed_percent(apart.deviation),
        read=_told(read) if read else "",
    )  # fmt: skip


def _is_told_before(case: Case, place: str) -> bool:
    """Whether an earlier test has the same area, so that the register's is questioned there."""
    for earlier in case.elements(TESTS):
        if earlier == place:
            return False
        try:
            alike = area(case, earlier) == area(case, place)
            if alike and drawdown_flow(case, earlier) > 0:
                return True
        except (Missing, InvalidInput):
            continue
    return False


def _fits(case: Case, place: str) -> bool:
    """Whether the flow by the test's own area is what else says the flow."""
    try:
        held = _reference(case, place)
    except (Missing, Waits):
        return False
    allowed = max(case.limit("flow.drawdown.difference"), held.known)
    return not above(abs(held.deviation(drawdown_flow(case, place))), allowed)


def require_registered_area(case: Case) -> None:
    """Raise `Waits` where a draw-down shows that the register has the area in another unit."""
    if DRAWDOWN.id in case.accepted:
        return
    for place in case.elements(TESTS):
        try:
            found = _area_of_the_register(case, place)
        except (Missing, InvalidInput):
            continue
        if found is not None and found.variant == "register_unit":
            raise Waits(DRAWDOWN.id)


def _in_other_unit(stated: Quantity, registered: float) -> Quantity | None:
    for unit in AREA_UNITS.get(stated.unit, ()):
        read = in_unit(stated, unit)
        if Apart(read.si / registered).near(1, 2 * EXPLAINS):
            return read
    return None


# -- what explains it ------------------------------------------------------------------------------


def _cause(case: Case, place: str, by_level: float, held: _Reference) -> tuple[str, str]:
    """Variant, and the reading as it was probably meant."""
    flowing, time = inflow(case, place), case.quantity(f"{place}/time")
    in_minutes = _in_minutes(held, by_level, 0.0) or _in_minutes(held, by_level, flowing)
    if in_minutes and time.unit == "s":
        return "minutes", _told(in_unit(time, "min"))
    if flowing == 0.0:
        return _without_inflow(case, by_level, held), ""
    if _explains(held, by_level - flowing, EXPLAINS):
        return "inflow_shut", ""
    return _area(by_level, held), ""


def _without_inflow(case: Case, by_level: float, held: _Reference) -> str:
    """An inflow that was not counted, as far as one so large can have run in."""
    lacking, peak, area_fits = held.lowest - by_level, case.find(PEAK), _area(by_level, held)
    if lacking <= 0 or (peak is not None and above(lacking, peak.at_most)):
        return area_fits
    return "inflow_or_area" if area_fits == "area" else "inflow"


def _told(read: Quantity) -> str:
    return str(Shown(read.value, read.unit))


def _in_minutes(held: _Reference, by_level: float, flowing: float) -> bool:
    """Whether a time in minutes, read as seconds, explains it; `flowing` was timed rightly."""
    drawn, expected = by_level - flowing, held.highest - flowing
    return expected > 0 and Apart(drawn / expected).near(MINUTE, MINUTES_EXPLAIN)


def _area(by_level: float, held: _Reference) -> str:
    fits = any(_explains(held, by_level / factor, 2 * EXPLAINS) for factor in AREA_FACTORS)
    return "area" if fits else "plain"


def _explains(held: _Reference, flow: float, within: float) -> bool:
    return flow > 0 and not above(abs(held.deviation(flow)), within)


_BODY = "By draw-down the flow is {by_level}, {by} {expected} at the same frequency ({difference})."

DRAWDOWN = Rule(
    id="flow.drawdown",
    title="Flow by draw-down against what else says the flow",
    severities=("review",),
    condition="Flow by the falling level, inflow added, agrees with the installed meter at the "
    "same frequency (unthrottled at fixed speed) to within 10 % and the uncertainty of both; where "
    "there is no meter with a flow that was read otherwise, else, at a lift station, with the "
    "curves of pump and main to within 30 %. The plan area is that of "
    "the site to within 20 %.",
    source="continuity; method: state agency's guide to calibrating lift stations; limits from "
    "memory",
    each=TESTS,
    waits_for=("curve.point",),
    applies=lambda case: bool(case.find(TESTS)),
    check=_drawdown,
    limits={
        "difference": Limit(10, "%", "between the flows", "lower", "from memory"),
        "curves": Limit(30, "%", "between draw-down and the curves of pump and main", "lower",
                        "common practice"),
        "area": Limit(20, "%", "between the plan areas of test and site", "lower",
                      "common practice"),
    },
    sentences={
        "area_unit": "The plan area is probably {read}: as entered it is {tested}, the register "
        "has {registered} for the well.",
        "register_unit": "The register has the well's plan area probably in another unit: {read}, "
        "not {registered}. The test's {tested} gives the flow that was read.",
        "area_registered": "The plan area of the test is {tested}, the register has {registered} "
        "for the well ({difference}): one of them is wrong, and the flow with it.",
        "minutes": "The time is probably {read}. " + _BODY,
        "inflow": "No inflow was counted; what ran in all the same is missing from this flow. "
        + _BODY,
        "inflow_or_area": "No inflow was counted, and what ran in is missing from this flow; or "
        "the plan area is off by a factor of 2 or 4. " + _BODY,
        "inflow_shut": "The inflow explains it: probably it was shut off, and counted all the "
        "same. " + _BODY,
        "area": "The plan area is probably off by a factor of 2 or 4 (radius for diameter, one "
        "well for two). " + _BODY,
        "plain": _BODY,
    },
    remedies={
        "area_unit": "Correct the unit of the test's area.",
        "register_unit": "Correct the unit of the area in the register (wet_well_area).",
        "area_registered": "Measure the well again; correct the test or the register.",
        "minutes": "Look up the times in the notes; correct their unit, or repeat the draw-down.",
        "inflow": "Measure the filling before or after, and add it; if the inflow was shut off, "
        "repeat the draw-down, and check what it is compared with.",
        "inflow_or_area": "Measure the filling before or after, and add it; measure the well "
        "again.",
        "inflow_shut": "Check how the inflow was found.",
        "area": "Measure the well again.",
        "plain": "Repeat the draw-down; check area, times, and what it is compared with.",
    },
)  # fmt: skip
