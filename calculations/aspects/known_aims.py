"""What a set point is held against: other set points of the same thing, flows of the station."""

from collections.abc import Iterator
from typing import NamedTuple

from calculations.aspects import group, liquid, loop
from calculations.aspects.duty import POINTS
from calculations.case import Case
from calculations.inputs.settings import Settings
from calculations.units import Quantity, to_si

FLOWS_MIXED_UP = {
    "L/s": ("m3/h", "gpm", "L/min"),
    "m3/h": ("L/s", "gpm", "L/min"),
    "gpm": ("m3/h", "L/s", "L/min"),
    "L/min": ("gpm", "L/s", "m3/h"),
    "MGD": ("m3/h", "gpm", "L/s"),
    "m3/d": ("m3/h", "L/s"),
}
"""Units of flow that are met on the same meters, and taken for each other."""

FITS_WITHIN = 0.05
"""How near another unit must bring a flow [1]; no source: digits are rounded in converting."""

NEAR_AS_IT_IS = 1.5
"""Up to what ratio to a flow that is known a set point is a choice [1]; no source. The nearest two
units that are taken for each other are 3.6 apart."""

DESIGN = "/site/system_design_flow"
WRITTEN = (
    DESIGN, "/pump/rated_flow", "/pump/best_efficiency_flow", "/pump/minimum_continuous_flow",
    "/regulating_sensor/upper_range_value", "/settings/feedback_at_upper_signal",
    "/flow_meter/upper_range_value", "/site/tested_yield",
)  # fmt: skip
"""Where flows of the station are written."""


class Aim(NamedTuple):
    """A flow that the set point may have been meant as, and what it is in words."""

    words: str
    flow: Quantity
    si: float
    proves: bool
    """Whether it was a set point; a flow that was read, or reckoned with, need not be kept."""


def known(case: Case, kind: str) -> list[tuple[str, Quantity]]:
    """Set points of the same thing: as found, of the first visit, of sets on the same main."""
    found = [("the set point as found", case.find("/event/settings/as_found/set_point"))]
    if case.earlier is not None and _alike(case, case.earlier.settings):
        found.append(("the set point of the first record", case.earlier.find(loop.SET_POINT)))
    for each in case.subject.neighbours or ():
        if _alike(case, each.settings) and group.may_share_header(case, each):
            found.append(("that of a set beside", each.settings and each.settings.set_point))
    return [(words, each) for words, each in found if each is not None and each.kind == kind]


def pressures_read(case: Case) -> list[tuple[Quantity, float]]:
    """Discharge pressures of ordinary service, each with it at the height of the set point [Pa]."""
    height, found = loop.set_point_elevation(case), []
    for point in case.find(POINTS) or ():
        read, gauge = point.discharge_pressure, point.discharge_gauge_elevation
        if point.purpose in ("normal", "design") and read is not None and gauge is not None:
            found.append((read, read.si + liquid.pressure(case, gauge.si - height)))
    return found


def _alike(case: Case, settings: Settings | None) -> bool:
    regulated = case.find("/settings/regulated_quantity")
    return settings is not None and settings.regulated_quantity == regulated


def flow_meant(case: Case, entered: Quantity) -> tuple[str, Aim] | None:
    """The unit in which the digits are a flow that is known, and that one.

    None where the set point is near such a flow or what the pumps are made for as it is, or no
    unit brings it there: what was found may have been the slip that was put right. A third or a
    quarter of the design flow is an ordinary choice. So the design flow, or what was read, counts
    only where flows of the station are written in the other unit.
    """
    aims = [*_aims(case)]
    ordinary = (*(each.si for each in aims), *_of_the_pump(case))
    if any(1 / NEAR_AS_IT_IS <= entered.si / each <= NEAR_AS_IT_IS for each in ordinary):
        return None
    beside = {each.flow.unit for each in aims}
    beside |= {each.unit for place in WRITTEN if (each := case.find(place)) is not None}
    for each in aims:
        for unit in FLOWS_MIXED_UP.get(entered.unit, ()):
            read = to_si(float(entered.value), unit)
            fits = abs(read / each.si - 1) <= FITS_WITHIN + 1e-9
            if fits and (each.proves or unit in beside):
                return unit, each
    return None


def _of_the_pump(case: Case) -> list[float]:
    """Flows that the pump is made for [m3/s]; without a design flow those of all that may run."""
    rated = [case.find(each) for each in ("/pump/rated_flow", "/pump/best_efficiency_flow")]
    flows = [each.si for each in rated if each is not None and each.si > 0]
    running = {1, group.sharing(case)} if case.find(DESIGN) is None else {1}
    return [each * pumps for each in flows for pumps in running]


def _aims(case: Case) -> Iterator[Aim]:
    found = [Aim(words, each, each.si, proves=True) for words, each in known(case, "flow")]
    for index, point in enumerate(case.find(POINTS) or ()):
        if point.purpose in ("normal", "design") and point.flow is not None:
            words = f"the flow of duty point {index + 1}"
            found.append(Aim(words, point.flow, point.flow.si, proves=False))
    design = case.find(DESIGN) if found else case.quantity(DESIGN)
    if design is not None:
        found.append(Aim("the design flow", design, design.si, proves=False))
        share = design.si / group.sharing(case)
        found.append(Aim("the pump's share of the design flow", design, share, proves=False))
    return (each for each in found if each.si > 0)
