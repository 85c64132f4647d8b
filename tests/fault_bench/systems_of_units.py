"""The same station in the other system of units: every digit converted, none rounded away."""

from typing import Any

from .stand import Trace
from .writing import FOOT, GALLON, HORSEPOWER, INCH, POUND_FOOT2, PSI, Document

TO_METRIC = {
    "psi": ("bar", PSI / 1e5), "ft": ("m", FOOT), "in": ("mm", INCH * 1e3),
    "gpm": ("m3/h", GALLON / 60 * 3600), "hp": ("kW", HORSEPOWER / 1e3),
    "ft2": ("m2", FOOT**2), "gal": ("L", GALLON * 1e3), "in/s": ("mm/s", INCH * 1e3),
    "lb.ft2": ("kg.m2", POUND_FOOT2),
}  # fmt: skip
TO_US = {
    "bar": ("psi", 1e5 / PSI), "m": ("ft", 1 / FOOT), "mm": ("in", 1 / INCH / 1e3),
    "m3/h": ("gpm", 60 / GALLON / 3600), "L/s": ("gpm", 60 / GALLON / 1e3),
    "kW": ("hp", 1e3 / HORSEPOWER), "m2": ("ft2", 1 / FOOT**2), "L": ("gal", 1e-3 / GALLON),
    "mm/s": ("in/s", 1e-3 / INCH), "kg.m2": ("lb.ft2", 1 / POUND_FOOT2),
}  # fmt: skip


def converted(part: Any, us: bool) -> Any:
    """A document with every quantity in US or in metric units, to nine decimals."""
    if isinstance(part, list):
        return [converted(each, us) for each in part]
    if not isinstance(part, dict):
        return part
    if set(part) == {"value", "unit"}:
        return _quantity(part, us)
    return {name: converted(value, us) for name, value in part.items()}


def _quantity(given: Document, us: bool) -> Document:
    value, unit = float(given["value"]), given["unit"]
    if unit in ("degC", "degF"):
        if (unit == "degF") == us:
            return given
        other = value * 1.8 + 32 if us else (value - 32) / 1.8
        return {"value": f"{other:.9f}", "unit": "degF" if us else "degC"}
    found = (TO_US if us else TO_METRIC).get(unit)
    if found is None:
        return given
    return {"value": f"{value * found[1]:.9f}", "unit": found[0]}


def converted_trace(trace: Trace, us: bool) -> Trace:
    """The rows of a trace in the other units."""
    times, columns = trace
    found = {}
    for name, (unit, values) in columns.items():
        other, factor = (TO_US if us else TO_METRIC).get(unit, (unit, 1.0))
        found[name] = (other, [value * factor for value in values])
    return times, found
