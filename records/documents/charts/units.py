"""The units that a record's charts are drawn in: the one place that chooses them."""

from collections.abc import Callable, Mapping

from calculations.aspects import loop
from calculations.case import Case
from calculations.findings import digits
from calculations.units import Quantity, factor, from_si
from records.document_style import Units
from records.documents import labels
from records.documents.shown import MINUS
from records.documents.unit_systems import unit_in

# Where the unit of a kind of quantity was entered, the most telling first; else the last word.
_ENTERED: Mapping[str, tuple[tuple[str, ...], str]] = {
    "flow": (("/pump/curve_points/0/flow", "/pump/rated_flow", "/site/system_design_flow",
              "/event/duty_points/0/flow"), "m3/h"),
    "head": (("/pump/curve_points/0/head", "/pump/rated_head", "/site/system_design_head"), "m"),
}  # fmt: skip


def unit_of(case: Case, kind: str, system: Units) -> str:
    """The unit of a kind of quantity: as the record's entries were made, in the wanted system.

    `regulated` is what the loop regulates.
    """
    return unit_in(_entered(case, kind), system)


def _entered(case: Case, kind: str) -> str:
    if kind == "regulated":
        return loop.process_unit(case)
    places, otherwise = _ENTERED[kind]
    found = (case.find(place) for place in places)
    return next((each.unit for each in found if isinstance(each, Quantity)), otherwise)


def printed(unit: str) -> str:
    """A unit as it is printed."""
    return labels.unit(unit)


def converter(unit: str) -> Callable[[float], float]:
    """From SI to a unit."""
    return lambda si: from_si(si, unit)


def difference(si: float, unit: str) -> float:
    """A difference in SI as one in a unit."""
    return si / factor(unit)


def said(value: float, significant: int = 3, sign: bool = False) -> str:
    """A number in words and tables: with a minus sign, and a plus where `sign` asks for it."""
    text = digits(value, significant)
    if text.startswith("-"):
        return MINUS + text[1:]
    return f"+{text}" if sign and text != "0" else text
