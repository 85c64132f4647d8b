"""What a drive can give at its site, and what happens between it and the motor.

Currents are r.m.s. [A], voltages line to line [V], temperatures of the air at the drive [K].
Default deratings are common practice; the figures of the drive's own manual go first.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import prod, sqrt

from calculations import guards, motor_guards
from calculations.constants import ICE_POINT
from calculations.errors import InvalidInput

ALTITUDE_START = 1000.0
"""Altitude up to which a drive carries its rating [m]; three manuals, IEC61800-2 from memory."""

ALTITUDE_LOSS_PER_METRE = 0.01 / 100
"""Current lost above it [1/m]; common practice, three manuals; others have 0.05 per 1000 m."""

ALTITUDE_LIMIT = 4000.0
"""Altitude to which that straight line is used [m]; common practice."""

AMBIENT_START = ICE_POINT + 40.0
"""Air temperature up to which a drive carries its rating [K]; common practice, three manuals."""

AMBIENT_LOSS_PER_KELVIN = 0.01
"""Current lost above it [1/K]; common practice, three manuals; others have 0.025."""

AMBIENT_LIMIT = ICE_POINT + 55.0
"""Air temperature to which that straight line is used [K]; common practice."""

SINGLE_PHASE_SHARE = 0.5
"""Three-phase drive fed with one phase, output over rated current [1], where its maker states
none; common practice, several application texts."""

SINGLE_PHASE_INPUT_RATIO = (1.7, 2.0)
"""Input current with one phase over that with three at the same load [1]; common practice. Equal
power and power factor alone give 1.73."""

CABLE_WAVE_SPEED = 150e6
"""Speed of a pulse along a motor cable [m/s]; from memory."""

REFLECTION_FACTOR = 0.9
"""Share of a pulse that a motor's terminals throw back [1]; from memory."""

GENERAL_PURPOSE_PEAK = 1000.0
"""Peak that a general-purpose motor of up to 600 V stands [V]; MG1-2011 30.2.2.8."""

INVERTER_DUTY_PEAK_RATIO = 3.1
"""Peak that an inverter-duty motor stands over its rated voltage [1]; MG1-2011 31.4.4.2, from
memory (an older print has 1600 V)."""


def altitude_factor(
    *,
    altitude: float,
    start: float = ALTITUDE_START,
    loss_per_metre: float = ALTITUDE_LOSS_PER_METRE,
    limit: float = ALTITUDE_LIMIT,
) -> float:
    """Share of its rated current that a drive carries at an altitude.

    altitude: of the site [m], -500 to `limit`.
    start: altitude up to which nothing is lost [m], at least 0.
    loss_per_metre: [1/m], at least 0.
    limit: altitude up to which the drive may be used [m], above 0.
    Returns the factor [1].
    Raises InvalidInput outside these ranges: above `limit` only its maker knows.
    Equation: 1 - k (h - h0) above h0.
    Source: common practice, three drive manuals; the drive's manual governs.
    """
    guards.not_negative(start=start, loss_per_metre=loss_per_metre)
    guards.within(lowest=-500, highest=limit, unit="m", altitude=altitude)
    return _straight_loss("altitude", altitude - start, loss_per_metre)


def ambient_factor(
    *,
    temperature: float,
    start: float = AMBIENT_START,
    loss_per_kelvin: float = AMBIENT_LOSS_PER_KELVIN,
    limit: float = AMBIENT_LIMIT,
) -> float:
    """Share of its rated current that a drive carries in warm air.

    temperature: of the air at the drive, inside its cabinet [K], 223.15 to `limit`.
    start: temperature up to which nothing is lost [K], above 0.
    loss_per_kelvin: [1/K], at least 0.
    limit: temperature up to which the drive may be used [K], above 0.
    Returns the factor [1].
    Raises InvalidInput outside these ranges: above `limit` only its maker knows.
    Equation: 1 - k (t - t0) above t0.
    Source: common practice, three drive manuals; the drive's manual governs.
    """
    guards.positive(start=start)
    guards.not_negative(loss_per_kelvin=loss_per_kelvin)
    guards.within(lowest=ICE_POINT - 50, highest=limit, unit="K", temperature=temperature)
    return _straight_loss("temperature", temperature - start, loss_per_kelvin)


def carrier_factor(*, carrier: float, carrier_at_rating: float, loss_per_hertz: float) -> float:
    """Share of its rated current that a drive carries at a carrier frequency.

    carrier: as set [Hz], above 0.
    carrier_at_rating: up to which the drive carries its rating [Hz], above 0.
    loss_per_hertz: above it, from the drive's manual [1/Hz], at least 0.
    Returns the factor [1].
    Raises InvalidInput outside these ranges.
    Equation: 1 - k (f - f0) above f0.
    Source: the drive's manual; there is no general figure.
    """
    guards.positive(carrier=carrier, carrier_at_rating=carrier_at_rating)
    guards.not_negative(loss_per_hertz=loss_per_hertz)
    return _straight_loss("carrier", carrier - carrier_at_rating, loss_per_hertz)


def _straight_loss(argument: str, excess: float, loss: float) -> float:
    factor = 1 - loss * max(excess, 0.0)
    if factor <= 0:
        raise InvalidInput(argument, "leaves the drive no current at all")
    return factor


@dataclass(frozen=True, slots=True)
class AvailableCurrent:
    """Rated current [A] and the factors [1] that multiply it, in their order."""

    rated: float
    factors: Mapping[str, float] = field(default_factory=dict)

    @property
    def current(self) -> float:
        """What is left [A]: factors multiply, they do not add."""
        return self.rated * prod(self.factors.values())

    def margin(self, required: float) -> float:
        """What is left over what is required, less one [1]; negative when it does not suffice."""
        guards.positive(required=required)
        return self.current / required - 1

    def tipping_factor(self, required: float) -> str | None:
        """Name of the factor with which the current falls short; "rated" if it always did."""
        guards.positive(required=required)
        left = self.rated
        if left < required:
            return "rated"
        for name, factor in self.factors.items():
            left *= factor
            if left < required:
                return name
        return None


def available_current(*, rated_current: float, factors: Mapping[str, float]) -> AvailableCurrent:
    """Output current that a drive still carries with every derating.

    rated_current: for the duty in use [A], above 0.
    factors: names and factors [1], above 0 to 1, in the order in which they are told.
    Returns the current with its factors.
    Raises InvalidInput outside these ranges.
    Equation: I = I_n k1 k2 ...
    Source: common practice; 0.95 twice is 0.9025, not 0.90.
    """
    guards.positive(rated_current=rated_current)
    motor_guards.fraction(**factors)
    return AvailableCurrent(rated_current, dict(factors))


def single_phase_rated_current(
    *, rated_current: float, stated: float | None = None, share: float = SINGLE_PHASE_SHARE
) -> float:
    """Output current of a three-phase drive fed with a single phase.

    rated_current: with three phases [A], above 0.
    stated: rating of the maker for one phase [A], above 0, None if there is none.
    share: taken without a stated rating [1], above 0 to 1.
    Returns the current [A].
    Raises InvalidInput outside these ranges.
    Source: the maker's rating; else common practice, several application texts.
    """
    guards.positive(rated_current=rated_current)
    motor_guards.fraction(share=share)
    if stated is None:
        return rated_current * share
    guards.positive(stated=stated)
    return stated


def single_phase_input_current(
    *, three_phase_input: float, ratios: tuple[float, float] = SINGLE_PHASE_INPUT_RATIO
) -> tuple[float, float]:
    """Input current to expect when a drive's load is carried from a single phase.

    three_phase_input: input current with three phases at the same load [A], at least 0.
    ratios: lowest and highest growth [1], above 0.
    Returns the lowest and highest current [A].
    Raises InvalidInput outside these ranges.
    Equation: I1 = (1.7 to 2.0) I3.
    Source: common practice; sqrt(3) by definition for equal power factor.
    """
    guards.not_negative(three_phase_input=three_phase_input)
    lowest, highest = ratios
    guards.positive(lowest=lowest, highest=highest)
    return three_phase_input * lowest, three_phase_input * highest


def critical_cable_length(*, rise_time: float, wave_speed: float = CABLE_WAVE_SPEED) -> float:
    """Cable length from which a pulse is fully reflected at the motor.

    rise_time: of the drive's pulses [s], above 0.
    wave_speed: along the cable [m/s], above 0.
    Returns the length [m].
    Raises InvalidInput outside these ranges.
    Equation: l = v t / 2.
    Source: travelling-wave theory; mechanism retrieved, formula from memory.
    """
    guards.positive(rise_time=rise_time, wave_speed=wave_speed)
    return wave_speed * rise_time / 2


def dc_link_voltage(*, line_voltage: float, loaded: bool = False) -> float:
    """Voltage of the d.c. link behind a three-phase diode bridge.

    line_voltage: of the supply [V], above 0.
    loaded: False for the peak, reached without load; True for the mean under load.
    Returns the voltage [V].
    Raises InvalidInput outside the range.
    Equation: sqrt(2) U, or 1.35 U under load (3 sqrt(2) / pi rounded).
    Source: definition; the constant is common practice.
    """
    guards.positive(line_voltage=line_voltage)
    return line_voltage * (1.35 if loaded else sqrt(2))


def terminal_peak(*, dc_link: float, reflection_factor: float = REFLECTION_FACTOR) -> float:
    """Peak voltage between a motor's terminals at the end of a long cable.

    dc_link: voltage of the d.c. link [V], above 0.
    reflection_factor: [1], 0 to 1.
    Returns the peak [V]; pulses that follow each other closely at a high carrier exceed it.
    Raises InvalidInput outside these ranges.
    Equation: (1 + G) U_dc.
    Source: travelling-wave theory, from memory.
    """
    guards.positive(dc_link=dc_link)
    guards.within(lowest=0, highest=1, unit="", reflection_factor=reflection_factor)
    return (1 + reflection_factor) * dc_link


def inverter_duty_peak(
    *, rated_voltage: float, peak_ratio: float = INVERTER_DUTY_PEAK_RATIO
) -> float:
    """Peak voltage that the terminals of an inverter-duty motor stand.

    rated_voltage: of the motor [V], above 0.
    peak_ratio: peak over rated voltage [1], above 0; the motor's own figure goes first.
    Returns the peak [V] at a rise time of 0.1 us or more.
    Raises InvalidInput outside these ranges.
    Equation: 3.1 U_n.
    Source: MG1-2011 31.4.4.2, from memory.
    """
    guards.positive(rated_voltage=rated_voltage, peak_ratio=peak_ratio)
    return peak_ratio * rated_voltage
