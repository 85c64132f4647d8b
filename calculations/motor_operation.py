"""How a motor behaves away from its rating: at part load, at another speed, while it starts.

Power [W] is shaft power, speeds are in revolutions per second [1/s], temperatures in kelvin [K].
Every function raises InvalidInput, naming the argument, outside the range it states.
"""

from dataclasses import dataclass
from math import inf, pi, sqrt

from calculations import guards, motor_guards
from calculations.constants import ICE_POINT
from calculations.errors import InvalidInput
from calculations.motors import MECHANICAL_HORSEPOWER, synchronous_speed

MAGNETIZING_SHARE = 0.4
"""No-load over rated current [1]; 0.3 to 0.5 is met, from memory."""

COPPER_ZERO_RESISTANCE = ICE_POINT - 234.5
"""Where the resistance of copper extrapolates to zero [K]; IEEE112, IEC60034-1, from memory."""

RATED_AMBIENT = ICE_POINT + 40.0
"""Ambient temperature of a rating where the plate names none [K]; IEC60034-1, from memory."""

RATED_ALTITUDE = 1000.0
"""Altitude up to which a plate holds without more [m]; IEC60034-1, from memory."""

AMBIENT_LOSS_PER_METRE = 0.01
"""Allowed ambient lost above `RATED_ALTITUDE`, class F [K/m]; common practice, from memory."""

AMBIENT_LOSS_BY_CLASS = {
    "A": 0.006,
    "E": 0.0075,
    "B": 0.008,
    "F": AMBIENT_LOSS_PER_METRE,
    "H": 0.0125,
}
"""The same by thermal class [K/m]: 1 % of its rise for 100 m; IEC60034-1, from memory."""

PART_LOAD_LOSS = (-0.4508, 1.2399, -0.4301, 0.6410)
"""Loss over full-load loss, coefficients from x^3 down [1]; 10CFR431-Y App. A."""

PART_LOAD_LOSS_WITH_DRIVE = (
    (5.0, (-0.4658, 1.4965, 0.5303)),
    (20.0, (-1.3198, 2.9551, 0.1052)),
    (50.0, (-1.5122, 3.0777, 0.1847)),
    (inf, (-0.8914, 2.8846, 0.2625)),
)
"""Up to a motor size [hp]: coefficients from x^2 down [1] with a drive; 10CFR431-Y App. A."""


def current_at_torque(
    *, rated_current: float, torque_ratio: float, magnetizing_share: float = MAGNETIZING_SHARE
) -> float:
    """Line current of an induction motor at a share of its rated torque, at rated flux.

    rated_current: on the plate [A], above 0.
    torque_ratio: torque over rated torque [1], at least 0.
    magnetizing_share: no-load current over rated current [1], 0 to 1.
    Returns the current [A]. It does not fall with the cube of the speed as shaft power does:
    the magnetizing current stays.
    Raises InvalidInput outside these ranges.
    Equation: I = I_n sqrt(k^2 + (1 - k^2) tau^2).
    Source: circle diagram, derived; k from memory.
    """
    if not (
        0.0 < rated_current < inf and 0.0 <= torque_ratio < inf and 0 <= magnetizing_share <= 1
    ):
        guards.positive(rated_current=rated_current)
        guards.not_negative(torque_ratio=torque_ratio)
        guards.within(lowest=0, highest=1, unit="", magnetizing_share=magnetizing_share)
    share = magnetizing_share**2
    return rated_current * sqrt(share + (1 - share) * torque_ratio**2)


def part_load_loss_factor(*, load: float) -> float:
    """Loss of a motor over its loss at full load.

    load: shaft power over rated power [1], 0 to 1.
    Returns the factor [1]; 1 at full load.
    Raises InvalidInput outside the range.
    Equation: y = -0.4508 x^3 + 1.2399 x^2 - 0.4301 x + 0.6410.
    Source: 10CFR431-Y App. A.
    """
    guards.within(lowest=0, highest=1, unit="", load=load)
    return _polynomial(PART_LOAD_LOSS, load)


def part_load_loss_factor_with_drive(*, load: float, rated_power: float) -> float:
    """Loss of motor and drive together over the full-load loss of the motor alone.

    load: shaft power over rated power [1], 0 to 1.
    rated_power: of the motor [W], above 0.
    Returns the factor [1].
    Raises InvalidInput outside these ranges.
    Equation: z = a x^2 + b x + c, coefficients by size.
    Source: 10CFR431-Y App. A.
    """
    guards.within(lowest=0, highest=1, unit="", load=load)
    guards.positive(rated_power=rated_power)
    horsepower = rated_power / MECHANICAL_HORSEPOWER
    coefficients = next(
        found for limit, found in PART_LOAD_LOSS_WITH_DRIVE if horsepower <= limit * (1 + 1e-9)
    )
    return _polynomial(coefficients, load)


def part_load_loss(*, rated_power: float, full_load_efficiency: float, load: float) -> float:
    """Power lost in a motor at part load.

    rated_power: [W], above 0.
    full_load_efficiency: [1], above 0 to 1.
    load: shaft power over rated power [1], 0 to 1.
    Returns the loss [W].
    Raises InvalidInput outside these ranges.
    Equation: y P (1 / eta - 1).
    Source: 10CFR431-Y App. A.
    """
    guards.positive(rated_power=rated_power)
    motor_guards.fraction(full_load_efficiency=full_load_efficiency)
    full_load_loss = rated_power * (1 / full_load_efficiency - 1)
    return part_load_loss_factor(load=load) * full_load_loss


def part_load_efficiency(*, full_load_efficiency: float, load: float) -> float:
    """Efficiency of a motor at part load.

    full_load_efficiency: [1], above 0 to 1.
    load: shaft power over rated power [1], above 0 to 1.
    Returns the efficiency [1].
    Raises InvalidInput outside these ranges.
    Equation: x / (x + y (1 / eta - 1)).
    Source: 10CFR431-Y App. A.
    """
    motor_guards.fraction(load=load)
    loss = part_load_loss(rated_power=1, full_load_efficiency=full_load_efficiency, load=load)
    return load / (load + loss)


def _polynomial(coefficients: tuple[float, ...], value: float) -> float:
    """Horner's scheme, highest power first."""
    total = 0.0
    for coefficient in coefficients:
        total = total * value + coefficient
    return total


def highest_speed_ratio(
    *, motor_power: float, pump_power: float, service_factor: float = 1.0
) -> float:
    """Speed ratio at which a pump loads a motor fully, power being constant above base speed.

    motor_power: rated shaft power [W], above 0.
    pump_power: shaft power of the pump at ratio 1, at its highest load [W], above 0.
    service_factor: that holds on the drive [1], at least 1; normally 1.
    Returns the ratio [1]; pump's speed, pressure and NPSH limits apply as well.
    Raises InvalidInput outside these ranges.
    Equation: (P_m SF / P_p)^(1/3).
    Source: affinity rule for power, HI-DATA Eq. 1.B.6; derived.
    """
    guards.positive(motor_power=motor_power, pump_power=pump_power)
    guards.within(lowest=1, highest=2, unit="", service_factor=service_factor)
    return float((motor_power * service_factor / pump_power) ** (1 / 3))


def load_at_speed_ratio(*, pump_power: float, motor_power: float, speed_ratio: float) -> float:
    """Share of a motor's rating that a pump takes at another speed.

    pump_power: shaft power of the pump at ratio 1 [W], at least 0.
    motor_power: rated shaft power [W], above 0.
    speed_ratio: speed over the speed of `pump_power` [1], at least 0.
    Returns the load [1]; above base speed the motor gives no more than 1.
    Raises InvalidInput outside these ranges.
    Equation: r^3 P_p / P_m.
    Source: affinity rule for power, HI-DATA Eq. 1.B.6.
    """
    guards.not_negative(pump_power=pump_power, speed_ratio=speed_ratio)
    guards.positive(motor_power=motor_power)
    return speed_ratio**3 * pump_power / motor_power


def acceleration_time(*, inertia: float, speed_change: float, net_torque: float) -> float:
    """Time to change the speed of a rotating mass.

    inertia: moment of inertia of all that turns [kg.m2], above 0.
    speed_change: [1/s], above 0.
    net_torque: motor torque less load torque [N.m], above 0.
    Returns the time [s].
    Raises InvalidInput outside these ranges.
    Equation: t = 2 pi J dn / T.
    Source: Newton's second law for rotation; derived. The US handbook constant
    308 of WK2 dn / (308 T) is 307.24 rounded and reads 0.25 % low.
    """
    guards.positive(inertia=inertia, speed_change=speed_change, net_torque=net_torque)
    return 2 * pi * inertia * speed_change / net_torque


def ramp_torque(*, inertia: float, speed_change: float, time: float) -> float:
    """Torque that a speed ramp takes on top of the load.

    inertia: moment of inertia of all that turns [kg.m2], above 0.
    speed_change: [1/s], above 0.
    time: of the ramp [s], above 0.
    Returns the torque [N.m].
    Raises InvalidInput outside these ranges.
    Equation: T = 2 pi J dn / t.
    Source: Newton's second law for rotation; derived.
    """
    guards.positive(inertia=inertia, speed_change=speed_change, time=time)
    return 2 * pi * inertia * speed_change / time


def volts_per_hertz(*, voltage: float, frequency: float) -> float:
    """Voltage over frequency, the measure of flux in a motor.

    voltage: line to line [V], above 0.
    frequency: [Hz], above 0.
    Returns the ratio [V/Hz].
    Raises InvalidInput outside these ranges.
    Equation: U / f.
    Source: definition.
    """
    guards.positive(voltage=voltage, frequency=frequency)
    return voltage / frequency


def flux_ratio(
    *, voltage: float, frequency: float, set_voltage: float, set_frequency: float
) -> float:
    """Flux below base speed that a drive's settings give, over the rated flux.

    voltage, frequency: of the motor's rating in use [V], [Hz], above 0.
    set_voltage, set_frequency: motor voltage and base frequency set in the drive [V], [Hz],
        above 0.
    Returns the ratio [1]; above about 1.05 the motor saturates, below 1 it loses torque.
    Raises InvalidInput outside these ranges.
    Equation: (U_set / f_set) / (U / f).
    Source: law of induction; derived.
    """
    rated = volts_per_hertz(voltage=voltage, frequency=frequency)
    return volts_per_hertz(voltage=set_voltage, frequency=set_frequency) / rated


def pull_out_torque_ratio(*, flux: float) -> float:
    """Pull-out torque over its value at rated flux.

    flux: flux over rated flux [1], above 0; above about 1.05 (from memory) the motor saturates and
        the result is arithmetic only, not physical.
    Returns the ratio [1].
    Raises InvalidInput outside the range.
    Equation: (flux ratio)^2.
    Source: MG1-2011 12.44.2 (torque about as voltage squared, frequency inverse
    squared).
    """
    guards.positive(flux=flux)
    return flux**2


def output_voltage(*, frequency: float, rated_voltage: float, rated_frequency: float) -> float:
    """Voltage that a drive gives a motor at constant flux up to base frequency.

    frequency: output frequency [Hz], at least 0.
    rated_voltage, rated_frequency: of the motor's rating in use [V], [Hz], above 0.
    Returns the voltage [V], constant above base frequency; without boost at low speed.
    Raises InvalidInput outside these ranges.
    Equation: U = U_n min(f / f_n, 1).
    Source: definition of constant V/Hz control.
    """
    guards.not_negative(frequency=frequency)
    guards.positive(rated_voltage=rated_voltage, rated_frequency=rated_frequency)
    return rated_voltage * min(frequency / rated_frequency, 1.0)


@dataclass(frozen=True)
class ExtendedRating:
    """A rating stretched at constant flux: frequency [Hz], power [W], speed [1/s]."""

    frequency: float
    power: float
    speed: float


def extended_rating(
    *, voltage: float, frequency: float, power: float, speed: float, poles: int, supply: float
) -> ExtendedRating:
    """Rating of a motor run at constant flux up to a higher voltage ("87 Hz" operation).

    voltage, frequency, power, speed: rating as linked in the terminal box [V], [Hz], [W], [1/s].
    poles: number of poles [1], even, at least 2.
    supply: highest voltage that the drive can give [V], at least `voltage`.
    Returns the stretched rating; current and slip speed stay, so does rated torque. Bearings,
    balance and the pump's limits are not covered by it.
    Raises InvalidInput outside these ranges.
    Equation: f2 = f1 U2 / U1, P2 = P1 f2 / f1, n2 = 2 f2 / p - (2 f1 / p - n1).
    Source: derived.
    """
    guards.positive(voltage=voltage, power=power, speed=speed, supply=supply)
    motor_guards.poles(poles)
    if supply < voltage:
        raise InvalidInput("supply", "must not be below the rated voltage")
    stretch = supply / voltage
    slip_speed = synchronous_speed(frequency=frequency, poles=poles) - speed
    highest = synchronous_speed(frequency=frequency * stretch, poles=poles)
    return ExtendedRating(frequency * stretch, power * stretch, highest - slip_speed)


def resistance_at_temperature(
    *,
    resistance: float,
    temperature: float,
    reference: float,
    zero_resistance: float = COPPER_ZERO_RESISTANCE,
) -> float:
    """Winding resistance brought to another temperature.

    resistance: measured [ohm], above 0.
    temperature: of the winding during the measurement [K], above `zero_resistance`.
    reference: wanted temperature [K], above `zero_resistance`.
    zero_resistance: temperature of zero resistance by straight line [K]; copper 38.65 K.
    Returns the resistance [ohm].
    Raises InvalidInput outside these ranges.
    Equation: R2 = R1 (234.5 + t2) / (234.5 + t1), t in degC.
    Source: IEEE112, IEC60034-1; from memory.
    """
    guards.positive(resistance=resistance)
    guards.positive(
        temperature=temperature - zero_resistance, reference=reference - zero_resistance
    )
    return resistance * (reference - zero_resistance) / (temperature - zero_resistance)


def allowed_ambient(
    *,
    altitude: float,
    rated_ambient: float = RATED_AMBIENT,
    rated_altitude: float = RATED_ALTITUDE,
    loss_per_metre: float = AMBIENT_LOSS_PER_METRE,
) -> float:
    """Ambient temperature in which an air-cooled motor still carries its rating at an altitude.

    altitude: above sea level [m], -500 to 4000.
    rated_ambient: on the plate, or 40 degC [K], above 0.
    rated_altitude: on the plate, or 1000 m [m], at least 0.
    loss_per_metre: [K/m], at least 0.
    Returns the temperature [K].
    Raises InvalidInput outside these ranges.
    Equation: t_n - k (h - h_n); k by thermal class, 1 K for each 100 m of class F.
    Source: IEC60034-1, from memory.
    """
    guards.within(lowest=-500, highest=4000, unit="m", altitude=altitude)
    guards.positive(rated_ambient=rated_ambient)
    guards.not_negative(rated_altitude=rated_altitude, loss_per_metre=loss_per_metre)
    return rated_ambient - loss_per_metre * max(altitude - rated_altitude, 0.0)
