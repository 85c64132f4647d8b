"""Insulation resistance of windings against ground, after IEEE 43.

Resistances are in ohm, temperatures in kelvin, both of the winding itself. The drive, filters and
everything electronic must be disconnected before any of these readings is taken.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import exp

from calculations import guards
from calculations.constants import ICE_POINT
from calculations.errors import InvalidInput

MEGOHM = 1e6
"""[ohm]"""

LOWEST_TEMPERATURE = ICE_POINT + 10.0
"""Below it no correction is published [K]: wait, or warm the winding; IEEE43-2013 6.3."""

HIGHEST_TEMPERATURE = ICE_POINT + 85.0
"""Above it no correction is published [K]; IEEE43-2013 6.3."""

HIGHEST_ASSESSABLE_RESISTANCE = 5000 * MEGOHM
"""One-minute resistance at 40 degC above which a polarization index says nothing [ohm];
IEEE43-2013 12.2, from memory."""

LOW_VOLTAGE = 1000.0
"""Rated voltage below which a form-wound winding has the minimum of a random-wound one [V];
IEEE43-2013 table 3, from memory."""

_ROUNDING = 1e-6


class InsulationSystem(StrEnum):
    """What holds the conductors apart: it decides the temperature correction."""

    THERMOPLASTIC = "thermoplastic"
    THERMOSETTING = "thermosetting"


class Winding(StrEnum):
    """What kind of winding: it decides the minimum."""

    BEFORE_1970 = "made before about 1970, or a field winding"
    FORM_WOUND = "form-wound"
    RANDOM_WOUND = "random-wound"


MINIMUM_RESISTANCE = {
    Winding.FORM_WOUND: 100 * MEGOHM,
    Winding.RANDOM_WOUND: 5 * MEGOHM,
}
"""Least one-minute resistance at 40 degC [ohm]; IEEE43-2013 table 3, from memory."""

MINIMUM_POLARIZATION_INDEX = {"A": 1.5, "B": 2.0, "F": 2.0, "H": 2.0}
"""Least index [1] by thermal class; IEEE43-2000 table 2."""

TestVoltages = tuple[tuple[float, float, float], ...]

TEST_VOLTAGES: TestVoltages = (
    (500.0, 500.0, 500.0),
    (2500.0, 500.0, 1000.0),
    (5000.0, 1000.0, 2500.0),
    (12000.0, 2500.0, 5000.0),
)
"""Rated voltage up to, lowest and highest direct test voltage [V]; IEEE43-2013 table 1, which has
500 V alone up to 1 kV, and IEC60364-6 table 6A, which has 1000 V above 500 V; from memory."""


@dataclass(frozen=True, slots=True)
class ServiceLimits:
    """Practice in service at 40 degC [ohm]: stop below, question below, remark on a new one."""

    stop: float
    review: float
    note_when_new: float


def temperature_factor(*, temperature: float, system: InsulationSystem) -> float:
    """Factor that brings a resistance to 40 degC.

    temperature: of the winding [K], 10 to 85 degC.
    system: THERMOSETTING for motors of today, THERMOPLASTIC for old ones; at 20 degC the wrong
        one is wrong by three.
    Returns the factor [1].
    Raises InvalidInput outside the range, where no correction is published.
    Equation: thermoplastic 0.5^((40 - t) / 10); thermosetting exp(-1245 (1 / (t + 273) - 1 / 313))
        up to 40 degC and exp(-4230 (...)) above.
    Source: IEEE43-2013 6.3; structure retrieved, coefficients from memory.
    """
    _require_correctable(temperature)
    celsius = temperature - ICE_POINT
    if system is InsulationSystem.THERMOPLASTIC:
        return float(0.5 ** ((40 - celsius) / 10))
    coefficient = 4230 if celsius > 40 else 1245
    return exp(-coefficient * (1 / (celsius + 273) - 1 / 313))


def _require_correctable(temperature: float) -> None:
    guards.finite(temperature=temperature)
    if not LOWEST_TEMPERATURE - _ROUNDING <= temperature <= HIGHEST_TEMPERATURE + _ROUNDING:
        raise InvalidInput(
            "temperature",
            "expected 10 to 85 degC: no correction to 40 degC is published outside, got "
            f"{temperature - ICE_POINT:g} degC",
        )


def resistance_at_40_degrees(
    *, resistance: float, temperature: float, system: InsulationSystem
) -> float:
    """Insulation resistance brought to 40 degC.

    resistance: one-minute reading [ohm], at least 0.
    temperature: of the winding [K], 10 to 85 degC, and above the dew point.
    system: kind of insulation.
    Returns the resistance [ohm].
    Raises InvalidInput outside these ranges.
    Equation: R40 = K_T R_T.
    Source: IEEE43-2013 6.3; coefficients from memory.
    """
    guards.not_negative(resistance=resistance)
    return resistance * temperature_factor(temperature=temperature, system=system)


def minimum_resistance(
    *,
    winding: Winding,
    line_voltage: float,
    form_wound: float = MINIMUM_RESISTANCE[Winding.FORM_WOUND],
    random_wound: float = MINIMUM_RESISTANCE[Winding.RANDOM_WOUND],
) -> float:
    """Least one-minute insulation resistance at 40 degC.

    winding: kind of winding.
    line_voltage: rated, line to line [V], above 0.
    form_wound, random_wound: the two fixed minima [ohm], above 0, as the standard at hand has them.
    Returns the resistance [ohm]: kilovolts + 1 Mohm for the oldest, else a fixed value, that of
    random-wound windings also for form-wound ones below 1 kV.
    Raises InvalidInput outside these ranges.
    Equation: (U / 1 kV + 1) Mohm before 1970; a modern 480 V motor has 5 Mohm, not 1.48.
    Source: IEEE43-2013 12.3, table 3; from memory.
    """
    guards.positive(line_voltage=line_voltage, form_wound=form_wound, random_wound=random_wound)
    if winding is Winding.BEFORE_1970:
        return (line_voltage / 1000 + 1) * MEGOHM
    if winding is Winding.FORM_WOUND and line_voltage >= LOW_VOLTAGE:
        return form_wound
    return random_wound


def minimum_at_temperature(
    *, minimum_at_40: float, temperature: float, system: InsulationSystem
) -> float:
    """What the meter must show at today's winding temperature to meet a minimum at 40 degC.

    minimum_at_40: least resistance at 40 degC [ohm], above 0.
    temperature: of the winding [K], 10 to 85 degC.
    system: kind of insulation.
    Returns the resistance [ohm].
    Raises InvalidInput outside these ranges.
    Equation: R_T = R40 / K_T.
    Source: IEEE43-2013 6.3; coefficients from memory.
    """
    guards.positive(minimum_at_40=minimum_at_40)
    return minimum_at_40 / temperature_factor(temperature=temperature, system=system)


def direct_test_voltages(
    *, line_voltage: float, table: TestVoltages = TEST_VOLTAGES
) -> tuple[float, float]:
    """Direct voltages with which a winding is tested.

    line_voltage: rated, line to line [V], above 0 to 12 kV.
    table: in the form of `TEST_VOLTAGES` [V].
    Returns the lowest and highest test voltage [V].
    Raises InvalidInput outside the range.
    Source: IEEE43-2013 table 1, IEC60364-6 table 6A; from memory.
    """
    guards.positive(line_voltage=line_voltage)
    for highest_rating, lowest, highest in table:
        if line_voltage <= highest_rating:
            return lowest, highest
    raise InvalidInput("line_voltage", f"expected at most {table[-1][0]:g} V, got {line_voltage:g}")


def polarization_index(*, ten_minutes: float, one_minute: float) -> float:
    """Growth of insulation resistance from one to ten minutes of the same test.

    ten_minutes, one_minute: readings [ohm], above 0, not corrected for temperature.
    Returns the index [1].
    Raises InvalidInput outside these ranges.
    Equation: R10 / R1.
    Source: IEEE43-2013 5.4; definition.
    """
    guards.positive(ten_minutes=ten_minutes, one_minute=one_minute)
    return ten_minutes / one_minute


def dielectric_absorption_ratio(*, one_minute: float, thirty_seconds: float) -> float:
    """Growth of insulation resistance from thirty seconds to one minute of the same test.

    one_minute, thirty_seconds: readings [ohm], above 0, not corrected for temperature.
    Returns the ratio [1]; IEEE 43 has no limit for it, and public scales disagree.
    Raises InvalidInput outside these ranges.
    Equation: R60 / R30.
    Source: definition.
    """
    guards.positive(one_minute=one_minute, thirty_seconds=thirty_seconds)
    return one_minute / thirty_seconds


@dataclass(frozen=True, slots=True)
class Assessability:
    """Whether a polarization index says anything, and the reason."""

    assessable: bool
    reason: str


def polarization_index_assessable(
    *,
    winding: Winding,
    one_minute_at_40: float,
    highest_resistance: float = HIGHEST_ASSESSABLE_RESISTANCE,
) -> Assessability:
    """Whether a polarization index may be judged at all.

    winding: kind of winding.
    one_minute_at_40: one-minute resistance at 40 degC [ohm], above 0.
    highest_resistance: above which the index says nothing [ohm], above 0.
    Returns the answer with its reason.
    Raises InvalidInput outside these ranges.
    Source: IEEE43-2013 12.2 (5000 Mohm, from memory) and 5.4, annex A (random-wound).
    """
    guards.positive(one_minute_at_40=one_minute_at_40, highest_resistance=highest_resistance)
    if one_minute_at_40 > highest_resistance:
        limit = f"{highest_resistance / MEGOHM:g} Mohm at 40 degC"
        return Assessability(False, f"the one-minute resistance is above {limit}")
    if winding is Winding.RANDOM_WOUND:
        reason = "absorption in a random-wound winding ends within minutes, about 1 is normal"
        return Assessability(False, reason)
    return Assessability(True, "form-wound or old winding below the resistance limit")


def minimum_polarization_index(*, thermal_class: str) -> float:
    """Least polarization index of a winding for which the index may be judged.

    thermal_class: letter of the insulation, A, B, F or H.
    Returns the index [1].
    Raises InvalidInput for another letter.
    Source: IEEE43-2000 table 2.
    """
    try:
        return MINIMUM_POLARIZATION_INDEX[thermal_class]
    except KeyError:
        known = ", ".join(MINIMUM_POLARIZATION_INDEX)
        raise InvalidInput("thermal_class", f"expected {known}, got {thermal_class}") from None
