"""Quantities as a technician writes them: in the units of the place, rounded to what is read.

The factors stand here by their definitions, so that the bench converts nothing with the code that
it tests.
"""

from dataclasses import dataclass
from math import floor, log10
from typing import Any

Document = dict[str, Any]

FOOT = 0.3048
INCH = 0.0254
GALLON = 231 * INCH**3
PSI = 0.45359237 * 9.80665 / INCH**2
HORSEPOWER = 745.6998715822702
POUND_FOOT2 = 0.45359237 * FOOT**2

US = {
    "pressure": ("psi", PSI), "head": ("ft", FOOT), "length": ("ft", FOOT),
    "bore": ("in", INCH), "flow": ("gpm", GALLON / 60), "power": ("hp", HORSEPOWER),
    "area": ("ft2", FOOT**2), "volume": ("gal", GALLON), "inertia": ("lb.ft2", POUND_FOOT2),
}  # fmt: skip
SI = {
    "pressure": ("bar", 1e5), "head": ("m", 1.0), "length": ("m", 1.0), "bore": ("mm", 1e-3),
    "flow": ("m3/h", 1 / 3600), "power": ("kW", 1e3), "area": ("m2", 1.0),
    "volume": ("L", 1e-3), "inertia": ("kg.m2", 1.0),
}  # fmt: skip
EVERYWHERE = {
    "current": ("A", 1.0), "voltage": ("V", 1.0), "frequency": ("Hz", 1.0), "kilowatt": ("kW", 1e3),
    "speed": ("rpm", 1 / 60), "time": ("s", 1.0), "share": ("%", 0.01), "ratio": ("1", 1.0),
    "resistance": ("ohm", 1.0), "insulation": ("Mohm", 1e6), "signal": ("mA", 1e-3),
    "volt_signal": ("V", 1.0), "carrier": ("kHz", 1e3),
}  # fmt: skip

# What is read where nothing better is said: a step of the unit.
STEPS = {
    "psi": 0.1, "bar": 0.01, "ft": 0.1, "m": 0.01, "in": 0.001, "mm": 1.0, "Hz": 0.1, "rpm": 1.0,
    "V": 1.0, "%": 0.1, "s": 1.0, "kHz": 0.5, "degF": 1.0, "degC": 1.0, "mA": 0.01,
}  # fmt: skip


def q(value: object, unit: str) -> dict[str, str]:
    """A quantity as it stands in documents."""
    return {"value": str(value), "unit": unit}


def stepped(value: float, step: float) -> str:
    """A reading to the nearest step of a scale or display."""
    decimals = max(0, -floor(log10(step) + 1e-9))
    return f"{round(value / step) * step:.{decimals}f}"


def significant(value: float, digits: int) -> str:
    """A reading to so many significant digits."""
    if value == 0:
        return "0"
    decimals = max(0, digits - 1 - floor(log10(abs(value))))
    return f"{round(value, digits - 1 - floor(log10(abs(value)))):.{decimals}f}"


@dataclass(frozen=True)
class Pen:
    """Writes SI values in the units of a place."""

    us: bool
    flow_unit: str = ""

    def unit(self, kind: str) -> tuple[str, float]:
        """Unit of a kind of quantity here, and its size in SI."""
        if kind == "flow" and self.flow_unit == "L/s":
            return "L/s", 1e-3
        return EVERYWHERE.get(kind) or (US if self.us else SI)[kind]

    def put(
        self, kind: str, si: float, *, step: float | None = None, digits: int = 0
    ) -> dict[str, str]:
        """A quantity, to a step of its unit or to significant digits."""
        unit, factor = self.unit(kind)
        if digits:
            return q(significant(si / factor, digits), unit)
        return q(stepped(si / factor, step or STEPS[unit]), unit)

    def temperature(self, celsius: float) -> dict[str, str]:
        """A temperature to a whole degree."""
        if self.us:
            return q(round(celsius * 1.8 + 32), "degF")
        return q(round(celsius), "degC")

    def si(self, kind: str, quantity: dict[str, str]) -> float:
        """Back to SI, of what this pen wrote."""
        return float(quantity["value"]) * self.unit(kind)[1]

    def rounded(self, kind: str, si: float, step: float) -> float:
        """The nearest step of the unit here, in SI: what a person would set."""
        return self.si(kind, self.put(kind, si, step=step))
