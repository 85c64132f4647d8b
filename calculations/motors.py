"""What the plate of a motor says, and whether its figures agree with each other.

Power [W] is shaft power, voltage [V] is line to line, speeds are in revolutions per second [1/s].
Every function raises InvalidInput, naming the argument, outside the range it states.
"""

from math import floor, inf, pi, sqrt

from calculations import guards, motor_guards
from calculations.constants import STANDARD_GRAVITY
from calculations.errors import InvalidInput

MECHANICAL_HORSEPOWER = 550 * 0.3048 * 0.45359237 * STANDARD_GRAVITY
"""550 ft.lbf/s [W], from the definitions of foot and pound."""

ELECTRIC_HORSEPOWER = 746.0
"""Nameplate practice of electrical machines [W]; NIST-SP811 App. B, from memory."""

METRIC_HORSEPOWER = 75 * STANDARD_GRAVITY
"""75 kgf.m/s [W], from its definition."""

MOST_POLES = 24
"""The most poles [1] that pump motors have."""

HIGHEST_SLIP = 0.10
"""Largest ordinary full-load slip [1]; common practice, from memory."""

HIGHEST_SLIP_SMALL = 0.15
"""The same up to `SMALL_MOTOR_POWER`, where 8 to 13 % is met; common practice, from memory."""

SMALL_MOTOR_POWER = 750.0
"""Rated power [W] up to which the larger slip is ordinary; common practice, from memory."""

NEARLY_SYNCHRONOUS = 0.01
"""Excess [1] up to which a typed speed is read as above synchronous, not as a huge slip."""

SLIP_TOLERANCE = 0.20
"""True against printed slip [1]; MG1-2011 12.46, IEC60034-1 from 1 kW, from memory."""

SLIP_TOLERANCE_SMALL = 0.30
"""The same below 1 kW; IEC60034-1, from memory."""


PRODUCT_BAND = (0.68, 0.90)
"""Ordinary efficiency times power factor [1], 2 and 4 poles from 4 kW; practice, from memory."""

PRODUCT_BAND_SMALL_OR_SLOW = (0.45, 0.86)
"""The same below 4 kW or from 6 poles; common practice, from memory."""

PRODUCT_BAND_IMMERSED = (0.50, 0.82)
"""The same for motors that run in the liquid; common practice, from memory."""

PRODUCT_BAND_SYNCHRONOUS = (0.80, 0.98)
"""The same for synchronous motors; common practice, from memory."""


class AboveSynchronousSpeed(InvalidInput):
    """A speed that an induction motor cannot reach by itself at its frequency."""

    code = "above-synchronous-speed"

    def __init__(self, *, speed: float, frequency: float, poles: int) -> None:
        limit = synchronous_speed(frequency=frequency, poles=poles)
        super().__init__(
            "speed",
            f"{60 * speed:g} rpm is above the synchronous speed of {poles} poles at "
            f"{frequency:g} Hz, {60 * limit:g} rpm",
        )
        self.poles = poles
        self.synchronous_speed = limit


def synchronous_speed(*, frequency: float, poles: int) -> float:
    """Speed of the rotating field.

    frequency: of the supply [Hz], above 0.
    poles: number of poles [1], even, at least 2.
    Returns the speed [1/s].
    Raises InvalidInput outside these ranges.
    Equation: n_s = 2 f / p.
    Source: definition.
    """
    if not 0.0 < frequency < inf:
        guards.positive(frequency=frequency)
    motor_guards.poles(poles)
    return 2 * frequency / poles


def slip(*, speed: float, frequency: float, poles: int) -> float:
    """Slip of a rotor behind its field.

    speed: of the shaft [1/s], above 0.
    frequency: of the supply [Hz], above 0.
    poles: number of poles [1], even, at least 2.
    Returns the slip [1]; 0 at synchronous speed, negative above it.
    Raises InvalidInput outside these ranges.
    Equation: s = (n_s - n) / n_s.
    Source: definition.
    """
    if not 0.0 < speed < inf:
        guards.positive(speed=speed)
    return 1 - speed / synchronous_speed(frequency=frequency, poles=poles)


def poles_from_speed(*, speed: float, frequency: float) -> int:
    """Number of poles whose synchronous speed is the next at or above a full-load speed.

    speed: full-load speed on the plate [1/s], above 0.
    frequency: rated frequency [Hz], above 0.
    Returns the number of poles [1]. The slip that follows from it still has to be judged: a wrong
    frequency shows as a slip beyond `highest_ordinary_slip`, though not for every number of poles.
    Raises AboveSynchronousSpeed above the speed of two poles, or at most 1 % above another
    synchronous speed while no ordinary slip explains it; InvalidInput outside the ranges.
    Equation: p = 2 floor(f / n).
    Source: definition.
    """
    guards.positive(speed=speed, frequency=frequency)
    pole_pairs = floor(frequency / speed + 1e-9)
    if pole_pairs < 1:
        raise AboveSynchronousSpeed(speed=speed, frequency=frequency, poles=2)
    poles = 2 * pole_pairs
    _refuse_nearly_synchronous(speed, frequency, poles)
    return poles


def _refuse_nearly_synchronous(speed: float, frequency: float, poles: int) -> None:
    """1801 rpm at 60 Hz is a slip of the pen above 4 poles, not 2 poles at half speed."""
    slower = poles + 2
    excess = -slip(speed=speed, frequency=frequency, poles=slower)
    too_large = slip(speed=speed, frequency=frequency, poles=poles) > HIGHEST_SLIP_SMALL
    if too_large and excess <= NEARLY_SYNCHRONOUS:
        raise AboveSynchronousSpeed(speed=speed, frequency=frequency, poles=slower)


def pole_candidates(
    *, speed: float, frequency: float, highest_slip: float = HIGHEST_SLIP
) -> tuple[int, ...]:
    """Every number of poles with which a speed is an ordinary full-load speed.

    speed: full-load speed [1/s], above 0.
    frequency: of the supply [Hz], above 0.
    highest_slip: largest slip taken as ordinary [1], 0 to below 1.
    Returns the numbers of poles [1], 2 to 24, none when the speed fits no count. Two frequencies
    that both have candidates cannot be told apart by speed alone.
    Raises InvalidInput outside these ranges.
    Equation: 0 <= (n_s - n) / n_s <= highest slip.
    Source: definition; limit from memory.
    """
    guards.positive(speed=speed, frequency=frequency)
    guards.within(lowest=0, highest=0.999, unit="", highest_slip=highest_slip)
    return tuple(
        poles
        for poles in range(2, MOST_POLES + 1, 2)
        if -1e-9 <= slip(speed=speed, frequency=frequency, poles=poles) <= highest_slip + 1e-9
    )


def highest_ordinary_slip(
    *,
    power: float,
    ordinary: float = HIGHEST_SLIP,
    small: float = HIGHEST_SLIP_SMALL,
    small_power: float = SMALL_MOTOR_POWER,
) -> float:
    """Largest full-load slip that an induction motor of this size has without a question.

    power: rated shaft power [W], above 0.
    ordinary, small: the limits of larger and of small motors [1], above 0.
    small_power: up to which a motor is small [W], above 0.
    Returns the slip [1]: 10 % above 0.75 kW, 15 % up to it.
    Raises InvalidInput outside these ranges.
    Source: common practice, from memory.
    """
    guards.positive(power=power, ordinary=ordinary, small=small, small_power=small_power)
    return ordinary if power > small_power else small


def nameplate_speed_band(
    *, speed: float, synchronous: float, slip_tolerance: float = SLIP_TOLERANCE
) -> tuple[float, float]:
    """Speeds that a motor may have at full load for one speed on its plate.

    speed: full-load speed on the plate [1/s], above 0, below synchronous.
    synchronous: synchronous speed [1/s], above 0.
    slip_tolerance: share of the slip speed [1], at least 0; IEC has 0.30 below 1 kW.
    Returns the lowest and highest speed [1/s].
    Raises InvalidInput outside these ranges.
    Equation: n -/+ t (n_s - n).
    Source: MG1-2011 12.46, IEC60034-1 table of tolerances; from memory.
    """
    guards.positive(speed=speed, synchronous=synchronous)
    guards.not_negative(slip_tolerance=slip_tolerance)
    if speed >= synchronous:
        raise InvalidInput("speed", "must be below the synchronous speed")
    margin = slip_tolerance * (synchronous - speed)
    return speed - margin, speed + margin


def rated_torque(*, power: float, speed: float) -> float:
    """Torque at the shaft.

    power: shaft power [W], at least 0.
    speed: of the shaft [1/s], above 0.
    Returns the torque [N.m].
    Raises InvalidInput outside these ranges.
    Equation: T = P / (2 pi n).
    Source: definition.
    """
    if not (0.0 <= power < inf and 0.0 < speed < inf):
        guards.not_negative(power=power)
        guards.positive(speed=speed)
    return power / (2 * pi * speed)


def input_power(*, voltage: float, current: float, power_factor: float, phases: int = 3) -> float:
    """Electrical power that a motor takes.

    voltage: line to line [V], above 0.
    current: line current [A], at least 0.
    power_factor: [1], above 0 to 1.
    phases: 3 or 1.
    Returns the power [W].
    Raises InvalidInput outside these ranges.
    Equation: P = sqrt(3) U I cos(phi), or U I cos(phi) for one phase.
    Source: definition.
    """
    guards.positive(voltage=voltage)
    guards.not_negative(current=current)
    motor_guards.fraction(power_factor=power_factor)
    return _phase_factor(phases) * voltage * current * power_factor


def rated_current(
    *, power: float, voltage: float, efficiency: float, power_factor: float, phases: int = 3
) -> float:
    """Line current of a motor at a shaft power.

    power: shaft power [W], at least 0.
    voltage: line to line [V], above 0.
    efficiency: [1], above 0 to 1.
    power_factor: [1], above 0 to 1.
    phases: 3 or 1.
    Returns the current [A].
    Raises InvalidInput outside these ranges.
    Equation: I = P / (sqrt(3) U eta cos(phi)).
    Source: definition.
    """
    guards.not_negative(power=power)
    guards.positive(voltage=voltage)
    motor_guards.fraction(efficiency=efficiency, power_factor=power_factor)
    return power / (_phase_factor(phases) * voltage * efficiency * power_factor)


def efficiency_times_power_factor(
    *, power: float, voltage: float, current: float, phases: int = 3
) -> float:
    """Product of efficiency and power factor that a plate implies without printing them.

    power: rated shaft power [W], above 0.
    voltage: rated, line to line [V], above 0.
    current: rated line current [A], above 0.
    phases: 3 or 1.
    Returns the product [1]; 1 or more is impossible, about half or double the ordinary value points
    to the other voltage of a dual-voltage plate, about 1.73 to star against delta.
    Raises InvalidInput outside these ranges.
    Equation: eta cos(phi) = P / (sqrt(3) U I).
    Source: definition.
    """
    guards.positive(power=power, voltage=voltage, current=current)
    return power / (_phase_factor(phases) * voltage * current)


def _phase_factor(phases: int) -> float:
    if phases not in (1, 3):
        raise InvalidInput("phases", f"must be 1 or 3, not {phases}")
    return sqrt(phases)


def ordinary_product_band(
    *, power: float, poles: int, immersed: bool = False, synchronous: bool = False
) -> tuple[float, float]:
    """Band in which efficiency times power factor of an ordinary motor lies.

    power: rated shaft power [W], above 0.
    poles: number of poles [1], even, at least 2.
    immersed: whether the motor runs in the liquid.
    synchronous: whether it is a permanent-magnet or other synchronous motor.
    Returns lowest and highest product [1]; a caller with better figures uses its own band.
    Raises InvalidInput outside these ranges.
    Source: common practice, from memory; nothing outside the band is proven wrong by it.
    """
    guards.positive(power=power)
    motor_guards.poles(poles)
    if synchronous:
        return PRODUCT_BAND_SYNCHRONOUS
    if immersed:
        return PRODUCT_BAND_IMMERSED
    return PRODUCT_BAND if poles <= 4 and power >= 4000 else PRODUCT_BAND_SMALL_OR_SLOW


def current_at_other_voltage(*, current: float, voltage: float, other_voltage: float) -> float:
    """Rated current of the same motor linked for another voltage at the same frequency.

    current: line current at `voltage` [A], at least 0.
    voltage: line to line [V], above 0.
    other_voltage: line to line [V], above 0.
    Returns the current [A].
    Raises InvalidInput outside these ranges.
    Equation: I2 = I1 U1 / U2.
    Source: definition (same power, efficiency and power factor).
    """
    guards.not_negative(current=current)
    guards.positive(voltage=voltage, other_voltage=other_voltage)
    return current * voltage / other_voltage


def rating_pair_deviation(
    *, voltage: float, current: float, other_voltage: float, other_current: float
) -> float:
    """How far two voltage and current pairs of one frequency are from the same apparent power.

    voltage, other_voltage: line to line [V], above 0.
    current, other_current: line current at that voltage [A], above 0.
    Returns (U2 I2) / (U1 I1) - 1 [1]; a pair of any ratio, 2.00 or 1.73, gives 0 when it agrees.
    Raises InvalidInput outside these ranges.
    Source: definition.
    """
    guards.positive(
        voltage=voltage, current=current, other_voltage=other_voltage, other_current=other_current
    )
    return other_voltage * other_current / (voltage * current) - 1
