"""Current that copper conductors carry without growing too hot, by the tables of codes.

Areas are of one conductor [m2], currents in amperes; three loaded conductors, air of 30 degC.
"""

from bisect import bisect_right
from collections.abc import Sequence
from math import exp, log

from calculations import guards
from calculations.errors import InvalidInput
from calculations.units import conductor_area, to_si

Row = tuple[float, float]
"""Area of a conductor [m2] and its ampacity [A]."""


def _by_gauge(*rows: tuple[float, float]) -> tuple[Row, ...]:
    """Gauges of the American wire gauge, -3 for 4/0."""
    return tuple((conductor_area(gauge), current) for gauge, current in rows)


def _by_area(unit: str, *rows: tuple[float, float]) -> tuple[Row, ...]:
    return tuple((to_si(area, unit), current) for area, current in rows)


CODE_75_DEGC = (
    *_by_gauge(
        (14, 20), (12, 25), (10, 35), (8, 50), (6, 65), (4, 85), (3, 100), (2, 115), (1, 130),
        (0, 150), (-1, 175), (-2, 200), (-3, 230),
    ),
    *_by_area("kcmil", (250, 255), (300, 285), (350, 310), (400, 335), (500, 380),
              (600, 420), (750, 475)),
)  # fmt: skip
"""Copper at 75 degC in a raceway, cable or earth; NFPA 70 Table 310.16."""

OPEN_AIR_90_DEGC = _by_area(
    "mm2",
    (1.5, 23), (2.5, 32), (4, 42), (6, 54), (10, 75), (16, 100), (25, 127), (35, 158), (50, 192),
    (70, 246), (95, 298), (120, 346), (150, 399), (185, 456), (240, 538), (300, 621),
)  # fmt: skip
"""Multicore cable of copper with insulation for 90 degC in open air, method E, the most that the
standard grants such a cable; IEC 60364-5-52 Table B.52.12, from memory."""


def ampacity(*, area: float, table: Sequence[Row]) -> float:
    """Current that a conductor carries by a table.

    area: of the conductor [m2], within the table to 5 %.
    table: rows with rising area; between two rows by the power law through both.
    Returns the current [A].
    Raises InvalidInput outside the table.
    Source: NFPA70 Table 310.16, IEC60364-5-52.
    """
    guards.positive(area=area)
    areas = [row[0] for row in table]
    if not areas[0] * 0.95 <= area <= areas[-1] * 1.05:
        raise InvalidInput("area", "expected a size of the table")
    upper = min(max(bisect_right(areas, area), 1), len(areas) - 1)
    (low_area, low), (high_area, high) = table[upper - 1], table[upper]
    power = log(high / low) / log(high_area / low_area)
    return low * exp(power * log(area / low_area))
