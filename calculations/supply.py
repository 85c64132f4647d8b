"""Voltages and frequency of a three-phase supply, and the unbalance of any three readings.

Voltages are line to line unless said. Unbalance and variation are ratios [1], not percent.
A motor behind a drive never sees the supply: for it, compare the supply with the drive's input.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import inf, sqrt
from typing import Literal

from calculations import guards
from calculations.errors import InvalidInput

DERATING_POINTS = (
    (0.000, 1.00),
    (0.010, 1.00),
    (0.015, 0.97),
    (0.020, 0.95),
    (0.025, 0.93),
    (0.030, 0.89),
    (0.035, 0.85),
    (0.040, 0.82),
    (0.045, 0.78),
    (0.050, 0.76),
)
"""Unbalance and factor [1]; readings of MG1-2011 Fig. 14-1, +/-0.01 between prints; ETB-D648."""

HIGHEST_UNBALANCE = 0.05
"""Unbalance [1] above which operation is not recommended; MG1-2011 14.36."""

HIGHEST_FREQUENCY_VARIATION = 0.05
"""Frequency off rated [1] at rated voltage; MG1-2011 12.44.1 b."""

HIGHEST_COMBINED_VARIATION = 0.10
"""Sum of both without signs [1]; MG1-2011 12.44.1 c."""

IecZones = tuple[tuple[Literal["A", "B"], float, float, float], ...]

IEC_ZONES: IecZones = (
    ("A", 0.05, 0.02, 0.02),
    ("B", 0.10, 0.05, 0.03),
)
"""Zone, voltage +/-, frequency below and above rated [1]; IEC60034-1 7.3, numbers from memory."""

EXTRA_RISE = 2.0
"""Percent of temperature rise for one percent of unbalance squared; practice, from memory."""

_ROUNDING = 1e-9


def mean(*, values: Sequence[float]) -> float:
    """Mean of the readings of the phases.

    values: two or more readings [any unit].
    Returns the mean [same unit].
    Raises InvalidInput for fewer than two readings.
    Source: definition.
    """
    if len(values) < 2:
        raise InvalidInput("values", f"expected two or more readings, got {len(values)}")
    return sum(values) / len(values)


def unbalance(*, values: Sequence[float]) -> float:
    """Largest deviation from the mean, over the mean.

    values: readings of the phases [any unit], two or more, each at least 0, mean above 0:
        voltages, currents, winding resistances.
    Returns the unbalance [1].
    Raises InvalidInput outside these ranges.
    Equation: max |x - mean| / mean; (max - min) / mean is another, larger figure.
    Source: MG1-2011 12.45 and 14.36 for voltages; the same form is common practice for the others.
    """
    middle = mean(values=values)
    if not (min(values) >= 0.0 < middle < inf):  # no call where nothing is wrong
        guards.all_not_negative(values=values)
        guards.positive(mean=middle)
    return max([abs(value - middle) for value in values]) / middle


def voltage_unbalance(*, line_voltages: Sequence[float]) -> float:
    """Voltage unbalance as NEMA defines it.

    line_voltages: the three line-to-line voltages [V], above 0.
    Returns the unbalance [1].
    Raises InvalidInput outside these ranges.
    Equation: max |U - mean| / mean.
    Source: MG1-2011 12.45 and 14.36.
    """
    _require_three(line_voltages)
    return unbalance(values=line_voltages)


def negative_sequence_unbalance(*, line_voltages: Sequence[float]) -> float:
    """Voltage unbalance as IEC defines it: negative over positive sequence.

    line_voltages: magnitudes of the three line-to-line voltages [V], above 0, able to form a
        triangle.
    Returns the unbalance [1].
    Raises InvalidInput outside these ranges.
    Equation: b = sum U^4 / (sum U^2)^2, sqrt((1 - sqrt(3 - 6 b)) / (1 + sqrt(3 - 6 b))).
    Source: IEC61000-4-30, from memory; checked against symmetrical components.
    """
    _require_three(line_voltages)
    squares = [voltage**2 for voltage in line_voltages]
    beta = sum(square**2 for square in squares) / sum(squares) ** 2
    if beta > 0.5:
        raise InvalidInput("line_voltages", "cannot be the sides of a triangle, one is wrong")
    root = sqrt(3 - 6 * beta)
    return sqrt(max(1 - root, 0.0) / (1 + root))


def _require_three(line_voltages: Sequence[float]) -> None:
    if len(line_voltages) != 3:
        raise InvalidInput("line_voltages", f"expected three voltages, got {len(line_voltages)}")
    for voltage in line_voltages:
        if not 0.0 < voltage < inf:
            guards.positive(line_voltages=voltage)


def derating_factor(*, voltage_unbalance: float) -> float:
    """Share of its rated power that a motor on an unbalanced supply may give.

    voltage_unbalance: as NEMA defines it [1], 0 to 0.05.
    Returns the factor [1], straight between the published points. For motors across the line or
    on bypass only: not for drive-fed motors, whose output voltages the drive balances.
    Raises InvalidInput outside the range; above 5 % operation is not recommended at all.
    Source: MG1-2011 Fig. 14-1 as read in ETB-D648; prints differ by 0.01.
    """
    guards.within(lowest=0, highest=HIGHEST_UNBALANCE, unit="", voltage_unbalance=voltage_unbalance)
    (left, factor_left), (right, factor_right) = next(
        (start, end) for start, end in pairwise(DERATING_POINTS) if voltage_unbalance <= end[0]
    )
    share = (voltage_unbalance - left) / (right - left)
    return factor_left + share * (factor_right - factor_left)


def extra_temperature_rise(*, voltage_unbalance: float, coefficient: float = EXTRA_RISE) -> float:
    """Growth of a motor's temperature rise by an unbalanced supply; not for drive-fed motors.

    voltage_unbalance: as NEMA defines it [1], 0 to 0.05.
    coefficient: percent of rise for one percent of unbalance squared, at least 0.
    Returns the growth over the balanced rise [1]; 2 % of unbalance gives 0.08.
    Raises InvalidInput outside these ranges.
    Equation: 2 u^2 with both in percent.
    Source: common practice, from memory.
    """
    guards.within(lowest=0, highest=HIGHEST_UNBALANCE, unit="", voltage_unbalance=voltage_unbalance)
    guards.not_negative(coefficient=coefficient)
    return 100 * coefficient * voltage_unbalance**2


def variation(*, measured: float, rated: float) -> float:
    """How far a measured voltage or frequency is from its rating.

    measured: [V] or [Hz], at least 0.
    rated: same unit, above 0.
    Returns the variation [1], negative below rated.
    Raises InvalidInput outside these ranges.
    Equation: x / x_n - 1.
    Source: definition.
    """
    guards.not_negative(measured=measured)
    guards.positive(rated=rated)
    return measured / rated - 1


def combined_variation(*, voltage_variation: float, frequency_variation: float) -> float:
    """Sum of the variations of voltage and frequency, without their signs.

    voltage_variation: off rated [1].
    frequency_variation: off rated [1].
    Returns the sum [1].
    Raises InvalidInput for a value that is not finite.
    Equation: |dU| + |df|.
    Source: MG1-2011 12.44.1 c.
    """
    guards.finite(voltage_variation=voltage_variation, frequency_variation=frequency_variation)
    return abs(voltage_variation) + abs(frequency_variation)


def within_nema_variation(*, voltage_variation: float, frequency_variation: float) -> bool:
    """Whether a motor across the line runs within NEMA's limits of voltage and frequency.

    voltage_variation: off rated [1].
    frequency_variation: off rated [1].
    Returns True on and inside the limits: sum of both 10 %, frequency 5 %. Performance there need
    not be that of the rating.
    Raises InvalidInput for a value that is not finite.
    Equation: |dU| + |df| <= 0.10 and |df| <= 0.05.
    Source: MG1-2011 12.44.1.
    """
    total = combined_variation(
        voltage_variation=voltage_variation, frequency_variation=frequency_variation
    )
    return (
        total <= HIGHEST_COMBINED_VARIATION + _ROUNDING
        and abs(frequency_variation) <= HIGHEST_FREQUENCY_VARIATION + _ROUNDING
    )


def iec_zone(
    *, voltage_variation: float, frequency_variation: float, zones: IecZones = IEC_ZONES
) -> Literal["A", "B", "outside"]:
    """Zone of IEC 60034-1 in which a motor across the line runs.

    voltage_variation: off rated [1].
    frequency_variation: off rated [1].
    zones: limits of the zones, the inner one first [1].
    Returns "A" (continuous), "B" (runs, not for long at the edge) or "outside". The standard's
    zones have cut corners, so a corner of the rectangles used here is judged too kindly.
    Raises InvalidInput for a value that is not finite.
    Source: IEC60034-1 7.3; meaning retrieved, numbers from memory.
    """
    guards.finite(voltage_variation=voltage_variation, frequency_variation=frequency_variation)
    for zone, voltage, below, above in zones:
        fits_frequency = -below - _ROUNDING <= frequency_variation <= above + _ROUNDING
        if abs(voltage_variation) <= voltage + _ROUNDING and fits_frequency:
            return zone
    return "outside"
