"""Measured points beside the pump's curve at their speed."""

from typing import NamedTuple

from calculations import acceptance
from calculations.acceptance import AcceptanceTolerance, SitePoint
from calculations.aspects import duty, pumping
from calculations.aspects.duty import AS_READ, Reread
from calculations.case import Case, once
from calculations.rules.closeness import above


class Measured(NamedTuple):
    """One measured point in SI, with its expanded uncertainties as shares [1]."""

    flow: float
    head: float
    speed: float
    flow_uncertainty: float
    head_uncertainty: float


@once
def measured(case: Case, place: str) -> Measured:
    """The point as it was read."""
    return reread(case, place, AS_READ)


def reread(case: Case, place: str, otherwise: Reread) -> Measured:
    """The point with a reading taken otherwise."""
    head = duty.total_head(case, place, otherwise)
    return Measured(
        otherwise.get("flow", duty.flow(case, place)), head, duty.speed(case, place),
        duty.flow_uncertainty(case, place), duty.head_uncertainty(case, place, head),
    )  # fmt: skip


@once
def tolerance(case: Case) -> AcceptanceTolerance:
    """Tolerances of the agreed grade, else of the usual one for the origin of the curve."""
    grade = case.find("/pump/acceptance_grade")
    power = _rated_power(case)
    if grade in (None, "none"):
        vague = case.is_("/pump/curve_origin", "digitised", "estimated")
        usual = acceptance.usual_grade(shaft_power=power) if power else "2B"
        grade = "3B" if vague else usual
    return acceptance.acceptance_tolerance(grade=grade, shaft_power=power)


def _rated_power(case: Case) -> float | None:
    """Shaft power at the rated flow [W], if the curve tells it."""
    flow, curve = case.find("/pump/rated_flow"), pumping.curve(case)
    power = curve.shaft_power(flow=flow.si, speed=curve.speed) if flow else None
    return power if power and power > 0 else None


@once
def judged(case: Case, point: Measured) -> SitePoint:
    """The point against its curve, with the instruments' uncertainty."""
    return acceptance.judge_site_point(
        curve=pumping.curve(case), flow=point.flow, head=point.head, speed=point.speed,
        tolerance=tolerance(case), flow_uncertainty=point.flow_uncertainty,
        head_uncertainty=point.head_uncertainty, floor=case.limit("curve.point.floor"),
    )  # fmt: skip


@once
def fits_closed(case: Case, point: Measured) -> bool:
    """Whether the head at a closed valve is as near the curve's as its grade and gauges allow."""
    expected = pumping.curve(case).shut_off_head(speed=point.speed)
    allowed = max(tolerance(case).head_below, case.limit("curve.point.floor"))
    return not above(abs(point.head / expected - 1), allowed + point.head_uncertainty)


@once
def fits(case: Case, point: Measured) -> bool:
    """Whether the head alone shows that a point is on its curve: most are, and no more is asked."""
    return acceptance.head_agrees(
        curve=pumping.curve(case), flow=point.flow, head=point.head, speed=point.speed,
        tolerance=tolerance(case), floor=case.limit("curve.point.floor"),
    )  # fmt: skip
