"""Units of the trade, by kind of quantity, and conversion to SI.

One registry (pint) is read once, at import; from then on a conversion is one multiplication and
one addition. Pressures are gauge. Rotational speed is kept in revolutions per second, frequency
in hertz, temperatures in kelvin, ratios as 1.
"""

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from operator import attrgetter

import pint

from calculations.errors import UnitError

# What each of our symbols means to pint. Head units are those of water of 1000 kg/m3 under
# standard gravity, the convention of ISO 80000-4 (0.18 % from water at 20 degC).
_PINT = {
    "psi": "psi",
    "bar": "bar",
    "mbar": "mbar",
    "Pa": "pascal",
    "kPa": "kilopascal",
    "MPa": "megapascal",
    "ftH2O": "9806.65 * 0.3048 * pascal",
    "inH2O": "9806.65 * 0.0254 * pascal",
    "mH2O": "9806.65 * pascal",
    "inHg": "3386.389 * pascal",
    "kgf/cm2": "98066.5 * pascal",
    "m": "meter",
    "ft": "foot",
    "mm": "millimeter",
    "cm": "centimeter",
    "in": "inch",
    "km": "kilometer",
    "gpm": "gallon / minute",
    "L/s": "liter / second",
    "L/min": "liter / minute",
    "L/h": "liter / hour",
    "m3/h": "meter**3 / hour",
    "m3/d": "meter**3 / day",
    "ft3/s": "foot**3 / second",
    "MGD": "1e6 * gallon / day",
    "L": "liter",
    "m3": "meter**3",
    "gal": "gallon",
    "ft3": "foot**3",
    "m2": "meter**2",
    "ft2": "foot**2",
    "mm2": "millimeter**2",
    "m/s": "meter / second",
    "ft/s": "foot / second",
    "mm/s": "millimeter / second",
    "in/s": "inch / second",
    "W": "watt",
    "kW": "kilowatt",
    "MW": "megawatt",
    "hp": "horsepower",
    "hp_metric": "735.49875 * watt",
    "kVA": "kilovolt * ampere",
    "kvar": "kilovolt * ampere",
    "kWh": "kilowatt * hour",
    "MWh": "megawatt * hour",
    "kWh/m3": "kilowatt * hour / meter**3",
    "kWh/Mgal": "kilowatt * hour / (1e6 * gallon)",
    "mA": "milliampere",
    "A": "ampere",
    "kA": "kiloampere",
    "mV": "millivolt",
    "V": "volt",
    "kV": "kilovolt",
    "mohm": "milliohm",
    "ohm": "ohm",
    "kohm": "kiloohm",
    "Mohm": "megaohm",
    "Gohm": "gigaohm",
    "Hz": "1 / second",
    "kHz": "1000 / second",
    "rpm": "1 / minute",
    "ms": "millisecond",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "d": "day",
    "mo": "365.25 / 12 * day",
    "N.m": "newton * meter",
    "lbf.ft": "pound_force * foot",
    "kg.m2": "kilogram * meter**2",
    "lb.ft2": "pound * foot**2",
    "kg/m3": "kilogram / meter**3",
    "kg/L": "kilogram / liter",
    "lb/ft3": "pound / foot**3",
    "mH": "millihenry",
    "V/krpm": "volt * minute / 1000",
    "V/Hz": "volt * second",
    "dB": "dimensionless",
    "1": "dimensionless",
    "%": "0.01 * dimensionless",
    "K": "kelvin",
    "delta_degF": "5 / 9 * kelvin",
}

US_FLOWS = ("gpm", "MGD", "ft3/s")
"""Units of flow beside which other values are told in US units."""

KINDS: dict[str, tuple[str, ...]] = {
    "pressure": (
        "psi", "bar", "kPa", "MPa", "mbar", "Pa", "ftH2O", "mH2O", "inH2O", "inHg", "kgf/cm2",
    ),
    "length": ("m", "ft", "mm", "cm", "in", "km"),
    "head": ("m", "ft"),
    "flow": ("gpm", "L/s", "L/min", "m3/h", "MGD", "L/h", "m3/d", "ft3/s"),
    "volume": ("L", "m3", "gal", "ft3"),
    "area": ("m2", "ft2"),
    "velocity": ("m/s", "ft/s", "mm/s", "in/s"),
    "power": ("W", "kW", "hp", "MW", "hp_metric"),
    "apparent_power": ("kVA",),
    "reactive_power": ("kvar",),
    "energy": ("kWh", "MWh"),
    "energy_per_volume": ("kWh/m3", "kWh/Mgal"),
    "current": ("A", "mA", "kA"),
    "voltage": ("V", "mV", "kV"),
    "resistance": ("ohm", "mohm", "kohm", "Mohm", "Gohm"),
    "frequency": ("Hz", "kHz"),
    "speed": ("rpm",),
    "time": ("s", "ms", "min", "h", "d", "mo"),
    "temperature": ("degC", "degF"),
    "temperature_difference": ("K", "delta_degF"),
    "torque": ("N.m", "lbf.ft"),
    "inertia": ("kg.m2", "lb.ft2"),
    "ratio": ("%", "1"),
    "count": ("1",),
    "conductor": ("mm2", "AWG", "kcmil"),
    "inductance": ("mH",),
    "back_emf": ("V/krpm",),
    "volts_per_frequency": ("V/Hz",),
    "density": ("kg/m3", "kg/L", "lb/ft3"),
    "sound_level": ("dB",),
}  # fmt: skip

# The unit that a value of each kind is computed and sorted in.
SI_UNITS: dict[str, str] = {
    "pressure": "Pa",
    "length": "m",
    "head": "m",
    "flow": "m3/s",
    "volume": "m3",
    "area": "m2",
    "velocity": "m/s",
    "power": "W",
    "apparent_power": "VA",
    "reactive_power": "var",
    "energy": "J",
    "energy_per_volume": "J/m3",
    "current": "A",
    "voltage": "V",
    "resistance": "ohm",
    "frequency": "Hz",
    "speed": "1/s",
    "time": "s",
    "temperature": "K",
    "temperature_difference": "K",
    "torque": "N.m",
    "inertia": "kg.m2",
    "ratio": "1",
    "count": "1",
    "conductor": "m2",
    "inductance": "H",
    "back_emf": "V.s",
    "volts_per_frequency": "V.s",
    "density": "kg/m3",
    "sound_level": "dB",
}

# Spellings that are met on plates and gauges and mean something that must not be guessed.
_HINTS = {
    "psig": "pressures are gauge here: write psi",
    "psia": "absolute pressure does not belong here: give gauge pressure in psi",
    "bara": "absolute pressure does not belong here: give gauge pressure in bar",
    "barg": "pressures are gauge here: write bar",
    "igpm": "imperial gallons are not used here: give L/s, m3/h or US gpm",
    "imp gpm": "imperial gallons are not used here: give L/s, m3/h or US gpm",
    "USgpm": "write gpm for US gallons per minute",
    "HP": "write hp (mechanical horsepower) or hp_metric",
    "PS": "write hp_metric",
    "CV": "write hp_metric",
    "KW": "write kW",
    "°C": "write degC",
    "C": "write degC",
    "°F": "write degF",
    "F": "write degF",
    "Ω": "write ohm",
    "MΩ": "write Mohm",
    "kΩ": "write kohm",
    "l/s": "write L/s",
    "m³/h": "write m3/h",
    "1/min": "write rpm",
    "percent": "write %",
    "repeats/min": "give the integral time in s: 60 divided by the repeats per minute",
}

NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]{1,3})?")
"""A decimal number as JSON writes it, in its digits."""
_NOT_NOTHING = re.compile(r"-?[0.]*[1-9]")
LARGEST_NUMBER = 1e30
"""What the digits of a physical quantity come to at most, in whatever unit."""
_LONGEST_NUMBER = 40
_KELVIN_AT_0_DEGC = 273.15


@dataclass(frozen=True, slots=True)
class Scale:
    """What a unit is in SI: `factor` for one step of it, from `offset` on."""

    factor: float
    offset: float = 0.0


@cache
def factors_of_expressions() -> dict[str, float]:
    """What the registry makes of each expression above, in SI."""
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    return {
        expression: float(registry.Quantity(expression).to_base_units().magnitude)
        for expression in _PINT.values()
    }


@cache
def _scales() -> dict[str, Scale]:
    factors = factors_of_expressions()
    scales = {symbol: Scale(factors[expression]) for symbol, expression in _PINT.items()}
    scales["degC"] = Scale(1.0, _KELVIN_AT_0_DEGC)
    scales["degF"] = Scale(5 / 9, _KELVIN_AT_0_DEGC - 32 * 5 / 9)
    # Area of a round conductor: AWG is geometric (ASTM B258), a circular mil is pi/4 mil2.
    scales["kcmil"] = Scale(1000 * 3.141592653589793 / 4 * 2.54e-5**2)
    return scales


@cache
def scale_of(unit: str) -> Scale:
    """The scale of a unit; `UnitError` if the unit is unknown or not linear."""
    found = _scales().get(unit)
    if found is None:
        raise UnitError("unit", _unknown(unit))
    return found


def kinds_of(unit: str) -> tuple[str, ...]:
    """Every kind of quantity that is written in `unit`; none if the unit is unknown."""
    return tuple(kind for kind, units in KINDS.items() if unit in units)


def to_si(value: float, unit: str) -> float:
    """A value in one of our units as SI float; `UnitError` if the unit is unknown."""
    if unit == "AWG":
        return conductor_area(value)
    scale = scale_of(unit)
    return value * scale.factor + scale.offset


def from_si(value: float, unit: str) -> float:
    """An SI float in one of our units; `UnitError` if the unit is unknown or not linear."""
    scale = scale_of(unit)
    return (value - scale.offset) / scale.factor


def factor(unit: str) -> float:
    """SI value of one step of `unit`: what a difference of 1 in that unit amounts to."""
    return scale_of(unit).factor


def conductor_area(gauge: float) -> float:
    """Area [m2] of a round conductor of American wire gauge `gauge` [1], -3 (4/0) to 40.

    d = 0.127 mm * 92^((36 - n)/39); ASTM B258.
    """
    if not -3 <= gauge <= 40:
        raise UnitError("unit", "American wire gauge runs from -3 (4/0) to 40")
    diameter = 0.127e-3 * 92 ** ((36 - gauge) / 39)
    return float(3.141592653589793 / 4 * diameter**2)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value as it was entered (digits and unit), with its SI value beside it."""

    value: str
    unit: str
    kind: str
    si: float

    @classmethod
    def of(cls, value: str | int, unit: str, *kinds: str) -> "Quantity":
        """Read digits and unit as one of `kinds`; `UnitError` or `ValueError` in words."""
        kind = _kind(unit, kinds)
        text, number = _number(value)
        return cls(text, unit, kind, to_si(number, unit))

    @property
    def resolution(self) -> float:
        """Half of the last digit entered, in SI: what rounding alone may have changed."""
        return _resolution(self.value, self.unit)

    @property
    def at_least(self) -> float:
        """The least in SI that rounds to the digits entered."""
        return self.si - _resolution(self.value, self.unit)

    @property
    def at_most(self) -> float:
        """The most in SI that rounds to the digits entered."""
        return self.si + _resolution(self.value, self.unit)

    def as_document(self) -> "dict[str, str] | str":
        """As it stands in documents; conductors by gauge are plain text."""
        if self.unit in ("AWG", "kcmil"):
            return f"{self.value} {self.unit}"
        return {"value": self.value, "unit": self.unit}


IN_SI = attrgetter("si")
"""Of a quantity, to compare several by."""


def number_text(value: object) -> str:
    """Digits of a JSON number or a decimal string; `ValueError` says what was expected."""
    return _number(value)[0]


def _number(value: object) -> tuple[str, float]:
    """The digits, and what they come to."""
    if isinstance(value, bool) or not isinstance(value, (str, int)):
        raise ValueError("expected a decimal number such as 7.50, as text or as a JSON number")
    if isinstance(value, int) and abs(value) > LARGEST_NUMBER:
        raise ValueError("the number is too large to be a physical quantity")
    text = str(value)
    if len(text) > _LONGEST_NUMBER or not NUMBER.fullmatch(text):
        raise ValueError(f"expected a decimal number such as 7.50, got {text[:40]!r}")
    number = float(text)
    if not abs(number) <= LARGEST_NUMBER:
        raise ValueError("the number is too large to be a physical quantity")
    if not number and _NOT_NOTHING.match(text):
        raise ValueError("the number is too small to be told from 0")
    return text, number


@lru_cache(maxsize=4096)
def _resolution(text: str, unit: str) -> float:
    return 0.5 * last_digit(text) * (factor(unit) if unit != "AWG" else 0.0)


def last_digit(text: str) -> float:
    """Weight of the last digit of a number as written: 0.1 for 57.6, 1 for 1770."""
    mantissa, _, exponent = text.lower().partition("e")
    places = len(mantissa.partition(".")[2])
    return float(10.0 ** (int(exponent or 0) - places))


def _kind(unit: str, kinds: tuple[str, ...]) -> str:
    for kind in kinds:
        if unit in KINDS[kind]:
            return kind
    found = kinds_of(unit)
    if not found:
        raise UnitError("unit", f"{_unknown(unit)}; expected {_expected(kinds)}")
    raise UnitError("unit", f"expected {_expected(kinds)}; {unit} is a unit of {_words(found[0])}")


def _expected(kinds: tuple[str, ...]) -> str:
    return " or ".join(f"{_words(kind)} ({', '.join(KINDS[kind])})" for kind in kinds)


def _words(kind: str) -> str:
    return kind.replace("_", " ")


def _unknown(unit: str) -> str:
    hint = _HINTS.get(unit)
    return f"unknown unit {unit[:40]!r}" + (f": {hint}" if hint else "")
