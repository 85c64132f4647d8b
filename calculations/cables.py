"""Resistance of motor cables and the voltage they lose.

Lengths are one way [m], areas of one conductor [m2], temperatures of the conductor [K].
"""

from dataclasses import dataclass
from math import pi, sqrt

from calculations import guards, motor_guards
from calculations.constants import ICE_POINT

RESISTIVITY_TEMPERATURE = ICE_POINT + 20.0
"""Temperature of the resistivities below [K]."""

WARM_CONDUCTOR = ICE_POINT + 75.0
"""Conductor temperature of a fully loaded cable [K]; common practice."""

CABLE_REACTANCE = 0.08e-3
"""Reactance of a multicore low-voltage cable [ohm/m], where none is stated; common practice, from
memory."""

CIRCULAR_MIL = pi / 4 * (0.0254 / 1000) ** 2
"""Area of a circle one thousandth of an inch wide [m2]; definition."""


@dataclass(frozen=True, slots=True)
class ConductorMetal:
    """Resistivity at 20 degC [ohm.m] and the temperature of zero resistance [K]."""

    resistivity: float
    zero_resistance: float


COPPER = ConductorMetal(1.7241e-8, ICE_POINT - 234.5)
"""Annealed copper of 100 % conductivity; IEC60028, from memory."""

ALUMINIUM = ConductorMetal(2.8264e-8, ICE_POINT - 228.1)
"""Hard-drawn aluminium of 61 % conductivity; IEC60889, from memory."""


def resistance_per_metre(
    *, area: float, temperature: float = WARM_CONDUCTOR, metal: ConductorMetal = COPPER
) -> float:
    """Direct-current resistance of one conductor per metre.

    area: of the conductor [m2], above 0.
    temperature: of the conductor [K], above 223.15 to 473.15.
    metal: copper or aluminium.
    Returns the resistance [ohm/m]; stranding adds about 2 %, skin effect more above 200 mm2.
    Raises InvalidInput outside these ranges.
    Equation: rho (t + 234.5) / (20 + 234.5) / A.
    Source: IEC60028, IEC60889; from memory.
    """
    guards.positive(area=area)
    guards.within(lowest=ICE_POINT - 50, highest=ICE_POINT + 200, unit="K", temperature=temperature)
    reference = RESISTIVITY_TEMPERATURE - metal.zero_resistance
    return metal.resistivity * (temperature - metal.zero_resistance) / reference / area


def voltage_drop(
    *,
    current: float,
    length: float,
    resistance: float,
    power_factor: float,
    reactance: float = CABLE_REACTANCE,
) -> float:
    """Line-to-line voltage that a three-phase cable loses.

    current: in one conductor [A], at least 0.
    length: one way [m], at least 0.
    resistance, reactance: of one conductor [ohm/m], at least 0.
    power_factor: of the motor [1], above 0 to 1.
    Returns the drop [V]; a filter's drop comes on top.
    Raises InvalidInput outside these ranges.
    Equation: sqrt(3) I l (R cos(phi) + X sin(phi)).
    Source: definition, approximate form for small angles.
    """
    guards.not_negative(current=current, length=length, resistance=resistance, reactance=reactance)
    motor_guards.fraction(power_factor=power_factor)
    reactive = sqrt(1 - power_factor**2)
    return sqrt(3) * current * length * (resistance * power_factor + reactance * reactive)
