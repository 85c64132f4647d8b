"""Quantities in the other system of units, for readers who think in that.

A unit that belongs to the wanted system, or to both (V, A, Hz, rpm, s, %, kW), stays as entered:
bar is not turned into kPa, nor a motor's kW into hp.
"""

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from calculations.units import from_si, kinds_of, to_si
from records.document_style import Units

_INSTEAD: Mapping[Units, Mapping[str, str]] = {
    "entered": {},
    "si": {
        "psi": "kPa", "ftH2O": "kPa", "inH2O": "Pa", "inHg": "kPa",
        "ft": "m", "in": "mm", "ft2": "m2",
        "gpm": "m3/h", "MGD": "m3/h", "ft3/s": "m3/h", "gal": "L", "ft3": "m3",
        "ft/s": "m/s", "in/s": "mm/s",
        "hp": "kW", "lbf.ft": "N.m", "lb.ft2": "kg.m2", "lb/ft3": "kg/m3",
        "degF": "degC", "delta_degF": "K",
    },
    "us": {
        "bar": "psi", "kPa": "psi", "MPa": "psi", "kgf/cm2": "psi", "mH2O": "ftH2O",
        "mbar": "inH2O", "Pa": "inH2O",
        "m": "ft", "km": "ft", "cm": "in", "mm": "in", "m2": "ft2",
        "L/s": "gpm", "L/min": "gpm", "m3/h": "gpm", "L/h": "gpm", "m3/d": "gpm",
        "L": "gal", "m3": "gal",
        "m/s": "ft/s", "mm/s": "in/s",
        "hp_metric": "hp", "N.m": "lbf.ft", "kg.m2": "lb.ft2",
        "kg/m3": "lb/ft3", "kg/L": "lb/ft3",
        "degC": "degF", "K": "delta_degF",
    },
}  # fmt: skip
_FEWEST_DIGITS = 3
_MOST_DIGITS = 4


def habit(value: Any) -> Units:
    """The system that most quantities in a document are written in: `us`, else as entered."""
    counted = Counter(unit for unit in _units(value) if _is_of_one_system(unit))
    us = sum(times for unit, times in counted.items() if unit in _INSTEAD["si"])
    return "us" if 2 * us > counted.total() else "entered"


def _is_of_one_system(unit: str) -> bool:
    return unit in _INSTEAD["si"] or unit in _INSTEAD["us"]


def _units(value: Any) -> Iterator[str]:
    if isinstance(value, Mapping):
        unit = value.get("unit")
        if isinstance(unit, str):
            yield unit
        for inner in value.values():
            yield from _units(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _units(inner)


def are_alike(one: str, other: str) -> bool:
    """Whether some kind of quantity is written in both units."""
    return not set(kinds_of(one)).isdisjoint(kinds_of(other))


def other_system(one: str, other: str) -> bool:
    """Whether two units of one kind belong to the two systems: psi and bar, not m and mm."""
    us, metric = _INSTEAD["si"], _INSTEAD["us"]
    return (one in us and other in metric) or (one in metric and other in us)


def unit_in(unit: str, system: Units) -> str:
    """The unit that values of this one are shown in."""
    return _INSTEAD[system].get(unit, unit)


def instead(quantity: Mapping[str, Any], system: Units) -> dict[str, str] | None:
    """The quantity in a unit of `system`; None where it stays as entered.

    It has as many significant digits as were entered, three at least.
    """
    unit = _INSTEAD[system].get(str(quantity["unit"]))
    if unit is None:
        return None
    entered = str(quantity["value"])
    value = from_si(to_si(float(entered), str(quantity["unit"])), unit)
    return {"value": _rounded(value, _significant(entered)), "unit": unit}


def beside(quantity: Mapping[str, Any], unit: str) -> dict[str, str] | None:
    """The quantity in the unit of what it is compared with; None where that is of another kind.

    None too where it stands in that unit already. It has as many significant digits as were
    entered, within three and four: who compares reads no more.
    """
    own = str(quantity["unit"])
    if own == unit or not are_alike(own, unit):
        return None
    entered = str(quantity["value"])
    value = from_si(to_si(float(entered), own), unit)
    return {"value": _rounded(value, min(_significant(entered), _MOST_DIGITS)), "unit": unit}


def _significant(digits: str) -> int:
    mantissa = digits.lower().partition("e")[0]
    return max(len(mantissa.replace(".", "").strip("-").lstrip("0")), _FEWEST_DIGITS)


def _rounded(value: float, digits: int) -> str:
    if value == 0:
        return "0"
    places = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    return f"{value:.{places}f}"
