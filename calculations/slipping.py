"""An induction motor's field, its slip under load, and the speed that follows from both.

Frequencies are those that the motor is fed with [Hz], speeds are in revolutions per second [1/s].
"""

from dataclasses import dataclass
from math import inf, sqrt

from calculations import guards


@dataclass(frozen=True, slots=True)
class Slipping:
    """How fast the field turns, and how far the rotor falls behind it.

    field: speed of the field over the frequency [1], two over the number of poles, above 0.
    rated: slip frequency at rated torque and full flux [Hz], at least 0; 0 of a synchronous motor.
    base: frequency up to which the flux is full [Hz], above 0.

    With full flux the slip frequency goes with the torque alone, at any speed; above `base` the
    flux falls with the inverse of the frequency, and slip with the square of that. The load is
    told as its torque over rated torque, divided by the square of the speed [s2]: a pump's torque
    at similar points of its curve goes with the square of the speed.
    """

    field: float
    rated: float
    base: float

    def speed(self, *, frequency: float, load: float) -> float:
        """Speed at which field, slip and load agree.

        frequency: fed to the motor [Hz], at least 0.
        load: torque over rated torque and the square of the speed [s2], at least 0.
        Returns the speed [1/s].
        Raises InvalidInput outside these ranges.
        Equation: n = k (f - f_s), f_s = f_sn (T / T_n) max(f / f_b, 1)^2, T / T_n = c n^2; of the
        two solutions that of a running motor.
        Source: linear part of the torque-speed curve at constant flux, IEC60034-1 as to the rated
        point; derived.
        """
        if not (0.0 <= frequency < inf and 0.0 <= load < inf):  # no call where nothing is wrong
            guards.not_negative(frequency=frequency, load=load)
        unloaded = self.field * frequency
        weakening = max(frequency / self.base, 1.0) ** 2
        per_square = self.field * self.rated * weakening * load
        return 2 * unloaded / (1 + sqrt(1 + 4 * per_square * unloaded))

    def frequency(self, *, speed: float, load: float) -> float:
        """Frequency at which the loaded motor turns at a speed: the inverse of `speed`.

        speed: of the motor [1/s], at least 0.
        load: torque over rated torque and the square of the speed [s2], at least 0.
        Returns the frequency [Hz]; beyond the load that a weakened field can carry, that at which
        it comes to stall.
        Raises InvalidInput outside these ranges.
        Equation and source: as `speed`.
        """
        if not (0.0 <= speed < inf and 0.0 <= load < inf):
            guards.not_negative(speed=speed, load=load)
        unloaded, slip = speed / self.field, self.slip(speed=speed, load=load)
        if unloaded + slip <= self.base:
            return unloaded + slip
        inside = 1 - 4 * slip * unloaded / self.base**2
        return 2 * unloaded / (1 + sqrt(max(inside, 0.0)))

    def slip(self, *, speed: float, load: float) -> float:
        """Slip frequency at full flux.

        speed: of the motor [1/s], at least 0.
        load: torque over rated torque and the square of the speed [s2], at least 0.
        Returns the slip frequency [Hz].
        Raises InvalidInput outside these ranges.
        Equation: f_s = f_sn c n^2. Source: as `speed`.
        """
        if not (0.0 <= speed < inf and 0.0 <= load < inf):
            guards.not_negative(speed=speed, load=load)
        return self.rated * load * speed**2
