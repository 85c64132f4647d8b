"""Motors with their plates: drawn from the tables, rounded as plates are, a little off in truth."""

from dataclasses import dataclass, field
from math import sqrt
from random import Random

from . import tables
from .writing import HORSEPOWER, Document, q, significant, stepped


@dataclass
class Motor:
    """Plate as printed, and what it is in truth."""

    hp: bool
    power: float  # W, of the plate
    poles: int
    frequency: float  # Hz
    voltage: float
    current: float  # A, as printed
    speed: float  # rpm, as printed
    power_factor: float
    efficiency: float  # as printed [1]
    kind: str = "induction"
    immersed: bool = False
    low_tap: float = 0.0  # voltage of the second line of a dual-voltage plate; 0: none
    low_tap_connection: str = ""
    other_mains: bool = False  # plate has a second line for the other mains frequency
    in_use: int = 0
    extended: bool = False  # run along its volts per hertz above its rating
    service_factor: float = 1.0
    service_factor_current: float = 0.0
    claimed: str = "none"
    year: int = 2024
    old: bool = False
    no_load: float = 0.4  # true no-load over rated current
    slip_factor: float = 1.0  # true over printed slip
    more: Document = field(default_factory=dict)

    @property
    def synchronous(self) -> float:
        """Speed of the field at rated frequency [rpm]."""
        return 120 * self.frequency / self.poles

    @property
    def base_frequency(self) -> float:
        """Frequency that the rating is run at: rated, or stretched on purpose [Hz]."""
        return self.frequency * self.stretch

    @property
    def stretch(self) -> float:
        """400 V over 230 V where a delta winding is run to 87 Hz."""
        return 400 / 230 if self.extended else 1.0

    @property
    def run_power(self) -> float:
        """Power of the rating as run [W]."""
        return self.power * self.stretch

    @property
    def run_speed(self) -> float:
        """Full-load speed of the rating as run [rpm]."""
        return self.synchronous * self.stretch - (self.synchronous - self.speed)

    @property
    def rated_torque(self) -> float:
        """[N.m] over 2 pi, so that power is torque times speed in 1/s."""
        return self.power / (self.speed / 60)

    def frequency_at(self, speed: float, torque_share: float) -> float:
        """Output frequency [Hz] at a shaft speed [1/s] and a share of rated torque."""
        slip = (self.synchronous - self.speed) * self.slip_factor * torque_share
        return (speed * 60 + slip) * self.poles / 120

    def current_at(self, torque_share: float) -> float:
        """Motor current [A] on the same volts per hertz."""
        k = 0.0 if self.kind == "permanent_magnet" else self.no_load
        return self.current * sqrt(k**2 + (1 - k**2) * torque_share**2)

    def electrical_power(self, shaft: float, torque_share: float, frequency: float) -> float:
        """Power into the motor [W]: iron and friction fall with frequency, copper with torque."""
        lost = self.power * (1 / self.efficiency - 1)
        iron = 0.4 * (frequency / self.frequency) ** 1.5
        return shaft + lost * (iron + 0.6 * torque_share**2)


def _printed(value: float) -> float:
    """A current as plates have it."""
    return float(amperes(value))


def draw(chance: Random, *, practice: str, hertz: float, power: float, poles: int,
         immersed: bool, well: bool, magnets: bool, volts: float) -> Motor:  # fmt: skip
    """A motor of the nearest preferred rating."""
    hp = practice in ("us", "canadian")
    old = not immersed and not magnets and chance.random() < 0.12
    year = chance.randint(1975, 1996) if old else chance.randint(2017, 2026)
    kilowatts = power / 1e3
    if magnets:
        return _magnets(chance, hp=hp, power=power, volts=volts, hertz=hertz, year=year)
    if immersed and well:
        slip, efficiency = tables.immersed_slip(kilowatts), tables.immersed_efficiency(kilowatts)
        claimed, cosine = "none", chance.uniform(0.79, 0.87)
    else:
        slip = tables.slip(kilowatts, poles) * chance.uniform(0.85, 1.2) * (1.3 if old else 1)
        claimed, efficiency = _efficiency(chance, hp, hertz, kilowatts, poles, immersed, old)
        cosine = tables.power_factor(kilowatts, poles) + chance.uniform(-0.02, 0.02)
    cosine = float(stepped(cosine, 0.01))
    if kilowatts < 0.75 and not immersed:
        slip = chance.uniform(0.035, 0.085)
    share = efficiency / 100
    current = _printed(power / (sqrt(3) * volts * share * cosine) * chance.uniform(0.985, 1.015))
    field_speed = 120 * hertz / poles
    step = 5 if kilowatts < 22 or old else 1
    found = Motor(
        hp=hp, power=power, poles=poles, frequency=hertz, voltage=volts, current=current,
        speed=float(stepped(field_speed * (1 - slip), step)), power_factor=cosine,
        efficiency=share, immersed=immersed, claimed=claimed, year=year, old=old,
        no_load=tables.no_load_share(kilowatts, poles) * chance.uniform(0.9, 1.1),
        slip_factor=chance.uniform(0.85, 1.15),
    )  # fmt: skip
    _second_line(chance, found, practice)
    if immersed and well:
        found.service_factor = 1.15 if hp else 1.0
        if hp:
            found.service_factor_current = _printed(current * chance.uniform(1.12, 1.16))
    elif hp:
        found.service_factor = 1.15 if chance.random() < 0.85 else 1.0
    return found


def _efficiency(
    chance: Random, hp: bool, hertz: float, kilowatts: float, poles: int, immersed: bool, old: bool
) -> tuple[str, float]:
    """Class that is claimed, and efficiency as printed [%]."""
    known = 8 if poles > 6 else poles
    if hp:
        listed = poles <= 6 and kilowatts > 0.6 and not immersed and not old
        horsepower = round(kilowatts * 1e3 / HORSEPOWER, 2)
        if listed and horsepower >= 1:
            least = tables.premium(poles, horsepower)
            return "premium", tables.nominal_step(least, chance.choice((0, 0, 0, 1)))
        usual = tables.by_formula("ie2", known, kilowatts) - (3.0 if old else 0.0)
        return "none", tables.nominal_step(usual - chance.uniform(0, 1.5))
    if immersed or old or hertz == 60 or poles > 8 or kilowatts < 0.75:
        lower = 3.0 if old else 2.0 if immersed else 0.0
        usual = tables.by_formula("ie2", known, kilowatts) - lower - (3 if kilowatts < 0.75 else 0)
        return "none", round(usual + chance.uniform(-0.5, 0.5), 1)
    claimed = chance.choice(("ie3", "ie3", "ie3", "ie4", "ie2") if poles <= 6 else ("ie3", "ie2"))
    least = tables.by_formula(claimed, poles, kilowatts)
    return claimed, round(least + chance.choice((0, 0, 0.2, 0.4)), 1)


def _second_line(chance: Random, motor: Motor, practice: str) -> None:
    """Dual-voltage plates, and plates for both mains frequencies."""
    small = motor.power <= 75e3
    if practice == "us" and motor.voltage == 460 and small and chance.random() < 0.7:
        motor.low_tap, motor.low_tap_connection = 230, "parallel_star"
    elif practice == "iec" and motor.voltage == 400:
        if motor.power <= 5.5e3 and chance.random() < 0.8:
            motor.low_tap, motor.low_tap_connection = 230, "delta"
        motor.other_mains = not motor.immersed and chance.random() < 0.3


def _magnets(
    chance: Random, *, hp: bool, power: float, volts: float, hertz: float, year: int
) -> Motor:
    """A permanent-magnet motor: no slip, a frequency of its own."""
    poles = chance.choice((6, 8, 10))
    speed = chance.choice((1500, 3000) if hertz == 50 else (1800, 3600))
    efficiency = min(tables.by_formula("ie4", 4, power / 1e3) + 1.5, 97.0)
    cosine = float(stepped(chance.uniform(0.91, 0.98), 0.01))
    share = float(stepped(efficiency, 0.1)) / 100
    current = _printed(power / (sqrt(3) * volts * share * cosine))
    return Motor(
        hp=hp, power=power, poles=poles, frequency=speed * poles / 120, voltage=volts,
        current=current, speed=float(speed), power_factor=cosine, efficiency=share,
        kind="permanent_magnet", claimed="ie5", year=year, slip_factor=0.0,
    )  # fmt: skip


# -- the plate as a document ------------------------------------------------------------------


def amperes(current: float) -> str:
    """A current with the digits that plates print."""
    return significant(current, 2 if current < 1 else 3)


def power_text(motor: Motor) -> Document:
    """Power as printed, in hp or kW."""
    if motor.hp:
        return q(f"{round(motor.power / HORSEPOWER, 3):g}", "hp")
    return q(f"{round(motor.power / 1e3, 3):g}", "kW")


def _line(motor: Motor, voltage: float, current: float, connection: str) -> Document:
    return {
        "voltage": q(f"{voltage:g}", "V"), "connection": connection,
        "frequency": q(f"{motor.frequency:g}", "Hz"), "power": power_text(motor),
        "current": q(amperes(current), "A"), "speed": q(f"{motor.speed:g}", "rpm"),
        "power_factor": q(f"{motor.power_factor:g}", "1"),
        "efficiency": q(f"{motor.efficiency * 100:.1f}", "%"),
    }  # fmt: skip


def ratings(motor: Motor) -> list[Document]:
    """The plate's lines, and the index of the one in use in `motor.in_use`."""
    if motor.low_tap == 0:
        lines = [_line(motor, motor.voltage, motor.current, "star" if motor.hp else "delta")]
        motor.in_use = 0
    else:
        ratio = motor.voltage / motor.low_tap
        low = _line(motor, motor.low_tap, _printed(motor.current * ratio), motor.low_tap_connection)
        high_connection = "series_star" if motor.low_tap_connection != "delta" else "star"
        lines = [low, _line(motor, motor.voltage, motor.current, high_connection)]
        motor.in_use = 1
    if motor.other_mains:
        lines.append(_sixty(motor, lines[motor.in_use]["connection"]))
    return lines


def _sixty(motor: Motor, connection: str) -> Document:
    """A second line, 460 V at 60 Hz: the same power at less current and more speed."""
    line = _line(motor, 460, _printed(motor.current * 400 / 460 * 1.005), connection)
    slip = motor.synchronous - motor.speed
    faster = motor.synchronous * 1.2 - slip
    return line | {"frequency": q("60", "Hz"), "speed": q(f"{faster:.0f}", "rpm")}
