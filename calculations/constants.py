"""Defined constants, exact by convention."""

STANDARD_GRAVITY = 9.80665
"""Acceleration of free fall [m/s2]; third General Conference on Weights and Measures, 1901."""

STANDARD_ATMOSPHERE = 101325.0
"""Pressure of the standard atmosphere, absolute [Pa]; ISO 2533:1975, table 1."""

ICE_POINT = 273.15
"""Zero of the Celsius scale [K]; BIPM, SI brochure, 2.3.1."""
