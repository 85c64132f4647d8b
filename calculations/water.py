"""Properties of clean water, and of the air above it."""

import math

from calculations import guards
from calculations.constants import ICE_POINT, STANDARD_ATMOSPHERE, STANDARD_GRAVITY

# IF97, table 34: coefficients n1 to n10 of the saturation line.
_SATURATION = (
    1167.0521452767,
    -724213.16703206,
    -17.073846940092,
    12020.82470247,
    -3232555.0322333,
    14.91510861353,
    -4823.2657361591,
    405113.40542057,
    -0.23855557567849,
    650.17534844798,
)
_CRITICAL_TEMPERATURE = 647.096  # K, IF97

# KELL1975, equation 16: density at one standard atmosphere [kg/m3] over temperature [degC].
_DENSITY_NUMERATOR = (
    999.83952,
    16.945176,
    -7.9870401e-3,
    -46.170461e-6,
    105.56302e-9,
    -280.54253e-12,
)
_DENSITY_DENOMINATOR = 16.879850e-3

# MARCZAK1997, equation for one standard atmosphere: sound speed [m/s] over temperature [degC].
_SOUND_SPEED = (1402.385, 5.038813, -5.799136e-2, 3.287156e-4, -1.398845e-6, 2.787860e-9)

# ISO2533-1975: lowest layer of the standard atmosphere.
_SEA_LEVEL_TEMPERATURE = 288.15  # K
_LAPSE_RATE = 0.0065  # K/m
_GAS_CONSTANT_OF_AIR = 287.05287  # J/(kg K)
_EARTH_RADIUS = 6_356_766.0  # m


def saturation_pressure_absolute(*, temperature: float) -> float:
    """Pressure at which water boils.

    temperature: of the liquid [K].
    Returns the absolute vapour pressure [Pa].
    Valid from 273.15 K to the critical point, 647.096 K.
    Raises InvalidInput outside that range.
    Equation: quadratic in p^(1/4) and a transformed temperature, equation 30.
    Source: IF97, 8.1.
    """
    guards.within(
        temperature=temperature, lowest=ICE_POINT, highest=_CRITICAL_TEMPERATURE, unit="K"
    )
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _SATURATION
    theta = temperature + n9 / (temperature - n10)
    a = theta * theta + n1 * theta + n2
    b = n3 * theta * theta + n4 * theta + n5
    c = n6 * theta * theta + n7 * theta + n8
    root = 2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))
    return 1e6 * root**4


def density(*, temperature: float) -> float:
    """Density of clean water at one standard atmosphere.

    temperature: of the water [K].
    Returns the density [kg/m3].
    Valid from 273.15 K to 373.15 K; within 0.004 kg/m3 of IAPWS-95 from 274 K to 333 K.
    Raises InvalidInput outside that range.
    Equation: quotient of a fifth-degree and a first-degree polynomial in degC, equation 16.
    Source: KELL1975.
    """
    celsius = _celsius(temperature)
    return _polynomial(_DENSITY_NUMERATOR, celsius) / (1.0 + _DENSITY_DENOMINATOR * celsius)


def sound_speed(*, temperature: float) -> float:
    """Speed of sound in clean, gas-free water at one standard atmosphere.

    temperature: of the water [K].
    Returns the speed [m/s]; a little gas in the water lowers it very much.
    Valid from 273.15 K to 373.15 K; the source's range ends at 368.15 K.
    Raises InvalidInput outside that range.
    Equation: fifth-degree polynomial in degC.
    Source: MARCZAK1997.
    """
    return _polynomial(_SOUND_SPEED, _celsius(temperature))


def bulk_modulus(*, temperature: float) -> float:
    """Stiffness of clean, gas-free water against compression.

    temperature: of the water [K].
    Returns the adiabatic bulk modulus [Pa].
    Valid from 273.15 K to 373.15 K.
    Raises InvalidInput outside that range.
    Equation: K = rho c^2.
    Source: definition of the speed of sound, with KELL1975 and MARCZAK1997.
    """
    return density(temperature=temperature) * sound_speed(temperature=temperature) ** 2


def atmospheric_pressure_absolute(*, elevation: float) -> float:
    """Pressure of the standard atmosphere at an elevation above sea level; weather moves it 3 %.

    elevation: geometric altitude [m].
    Returns the absolute pressure [Pa].
    Valid from -2,000 m to 11,000 m, the lowest layer.
    Raises InvalidInput outside that range.
    Equation: p = p0 (1 - L H / T0)^(g / (R L)), H = r z / (r + z).
    Source: ISO2533-1975, 2.4 to 2.7.
    """
    guards.within(elevation=elevation, lowest=-2000.0, highest=11000.0, unit="m")
    geopotential = _EARTH_RADIUS * elevation / (_EARTH_RADIUS + elevation)
    exponent = STANDARD_GRAVITY / (_GAS_CONSTANT_OF_AIR * _LAPSE_RATE)
    ratio = 1.0 - _LAPSE_RATE * geopotential / _SEA_LEVEL_TEMPERATURE
    return STANDARD_ATMOSPHERE * math.pow(ratio, exponent)


def head_of_pressure(*, pressure: float, density: float) -> float:
    """Height of a column of liquid that a pressure holds up.

    pressure: difference, gauge or absolute [Pa].
    density: of the liquid [kg/m3], above zero.
    Returns the head [m] with the pressure's sign.
    Raises InvalidInput for a density not above zero or a pressure that is not finite.
    Equation: h = p / (rho g).
    Source: ISO9906-2012, 3.2.
    """
    if not (0.0 < density < math.inf and math.isfinite(pressure)):
        guards.finite(pressure=pressure)
        guards.positive(density=density)
    return pressure / (density * STANDARD_GRAVITY)


def pressure_of_head(*, head: float, density: float) -> float:
    """Pressure under a column of liquid.

    head: height of the column [m].
    density: of the liquid [kg/m3], above zero.
    Returns the pressure [Pa] with the head's sign.
    Raises InvalidInput for a density not above zero or a head that is not finite.
    Equation: p = rho g h.
    Source: ISO9906-2012, 3.2.
    """
    if not (0.0 < density < math.inf and math.isfinite(head)):
        guards.finite(head=head)
        guards.positive(density=density)
    return density * STANDARD_GRAVITY * head


def head_per_pressure(*, temperature: float) -> float:
    """Head of clean water per unit of pressure, in place of the 2.31 ft/psi of pocket books.

    temperature: of the water [K].
    Returns the head per pressure [m/Pa].
    Valid from 273.15 K to 373.15 K.
    Raises InvalidInput outside that range.
    Equation: 1 / (rho g).
    Source: definition, with KELL1975.
    """
    return 1.0 / (density(temperature=temperature) * STANDARD_GRAVITY)


def _celsius(temperature: float) -> float:
    guards.within(temperature=temperature, lowest=ICE_POINT, highest=ICE_POINT + 100.0, unit="K")
    return temperature - ICE_POINT


def _polynomial(coefficients: tuple[float, ...], x: float) -> float:
    value = 0.0
    for coefficient in reversed(coefficients):
        value = value * x + coefficient
    return value
