"""Whole pump sets: what stands there, what it has to do, and what it does on the day."""

from dataclasses import dataclass, field
from random import Random

from . import motors, physics, pumps, tables
from .motors import Motor
from .physics import GRAVITY
from .pumps import Machine
from .writing import HORSEPOWER, INCH, Pen

KINDS = ("booster", "well", "lift_station", "raw_water", "reservoir_fill", "irrigation")
WEIGHTS = (34, 20, 20, 9, 9, 8)
CLOSED = ("pressure", "level", "flow")
"""What a drive may keep by itself."""


@dataclass
class Point:
    """One steady operating point, in truth (SI)."""

    purpose: str
    flow: float
    head: float
    speed: float  # 1/s, of pump and motor
    frequency: float
    shaft: float
    torque_share: float
    suction_grade: float  # m over the datum
    discharge: float  # Pa at the gauge


@dataclass
class Station:
    """One pump set with its surroundings, in truth; the document is written from it."""

    chance: Random
    apart: Random  # for what only some have, so that no other draw depends on it
    pen: Pen
    practice: str
    hertz: float
    kind: str
    driven: bool
    elevation: float
    liquid: float  # degC
    supply: float  # V
    phases: int
    motor: Motor
    machine: Machine
    regulation: str  # pressure, level, flow, external, none
    suction: str  # pressurised_main, flooded_tank, wet_well, well, suction_lift
    level: dict[str, float] = field(default_factory=dict)  # grade line low, high, day [m]
    z_suction: float = 0.3
    z_discharge: float = 0.6
    z_sensor: float = 0.8
    eye: float = 0.0
    set_point: float = 0.0  # Pa at the transmitter, m of level, or m3/s
    lift: dict[str, float] = field(default_factory=dict)
    design_flow: float = 0.0
    design_head: float = 0.0
    friction: float = 0.0  # m per (m3/s)^2
    suction_loss: float = 0.0  # m at the design flow
    maximum: float = 0.0  # Hz
    minimum: float = 0.0
    points: list[Point] = field(default_factory=list)
    oddities: set[str] = field(default_factory=set)
    riser: float = 0.0  # length of the rising pipe of a well [m]
    summit: float = 0.0  # of the main, over its outlet [m]; 0: none
    dip: float = 0.0  # of the main's high point under its outlet [m]; 0: none such is known
    raised: float = 0.0  # Pa by which the set point rises up to the design flow
    inertia: float = 0.0  # of the motor where it is known [kg.m2]; 0: not
    area: str = "none"  # whose air may explode
    transducer: float = 0.0  # where one hangs in a well [m over the datum]; 0: none
    seed: int = 0

    def by_itself(self, thing: str) -> Random:
        """Chance of one thing alone, with which no other draw moves."""
        return Random(f"{self.seed} {thing}")

    @property
    def rho(self) -> float:
        """Density of the liquid [kg/m3]."""
        return physics.density(self.liquid)

    @property
    def weight(self) -> float:
        """rho g [N/m3]."""
        return self.rho * GRAVITY

    @property
    def top_speed(self) -> float:
        """Speed of the pump at the maximum frequency, rated slip in proportion [1/s]."""
        return self.speed_of(self.maximum)

    def speed_of(self, frequency: float) -> float:
        """Speed at a frequency, rated slip in proportion [1/s]."""
        return self.motor.run_speed / 60 * frequency / self.motor.base_frequency

    def frequency_of(self, speed: float) -> float:
        """The frequency of a speed, rated slip in proportion [Hz]."""
        return speed * 60 / self.motor.run_speed * self.motor.base_frequency

    def zero_flow(self, end: str, above: float = 0.0) -> float:
        """Frequency below which nothing flows, at the `low` or `high` suction [Hz].

        A well that gives nothing stands at its static level, the high end.
        """
        return self.shut_at(self._speed_at_no_flow(end, above))

    def zero_flow_as_told(self, end: str) -> float:
        """What plate and curve let one expect of it [Hz]: the plate's slip, and where the curve
        tells no power at no flow, as here, 45 % of that at best efficiency (common practice)."""
        speed, pump, motor = self._speed_at_no_flow(end), self.machine.hydraulics, self.motor
        flow = pump.flow * speed / pump.speed
        torque = 0.45 * pump.power_at(flow, speed, self.rho, made=False) / speed
        slip = (motor.synchronous - motor.speed) * torque / motor.rated_torque
        return (speed * 60 + slip) * motor.poles / 120

    def _speed_at_no_flow(self, end: str, above: float = 0.0) -> float:
        """Speed at which the head at no flow is held [1/s]."""
        if self.suction == "well" and self.regulation == "pressure":
            end = "high"
        pump = self.machine.hydraulics
        head = self.static_head(end) + above
        shut_off = pump.head_at(0.0, pump.speed, made=False)
        return pump.speed * float((max(head, 0.0) / shut_off) ** 0.5)

    def shut_at(self, speed: float) -> float:
        """Frequency at which the pump turns at a speed [1/s] against a closed valve [Hz].

        The slip is that of the torque there, and as much off the plate's as the motor really is.
        """
        if speed <= 0:
            return 0.0
        torque = self.machine.hydraulics.power_at(0.0, speed, self.rho) / speed
        return self.motor.frequency_at(speed, torque / self.motor.rated_torque)

    def speed_shut(self, frequency: float) -> float:
        """Speed against a closed valve at a frequency [1/s]."""
        return physics.bisect(
            lambda speed: self.shut_at(speed) - frequency, 0.0, 1.2 * self.speed_of(frequency)
        )

    def static_head(self, end: str) -> float:
        """Head at no flow at an end of the suction [m]."""
        if self.regulation == "pressure":
            return self.set_point / self.weight + self.z_sensor - self.level[end]
        return self.lift["high" if end == "low" else "low" if end == "high" else "day"]

    def shut_off_pressure(self, frequency: float) -> float:
        """Pressure at the datum, no flow, highest suction [Pa]."""
        pump = self.machine.hydraulics
        head = pump.head_at(0.0, self.speed_shut(frequency), made=False)
        return self.weight * (head + self.level["high"])


def draw(seed: int) -> Station:
    """The station of a seed: drawn again until everything in it fits together."""
    chance, apart = Random(seed), Random(seed + 5 * 10**6)
    for _ in range(500):
        station = _draw(chance, apart)
        if station is not None:
            station.seed = seed
            _keep_a_flow(station)
            return station
    raise RuntimeError(f"no station fits seed {seed}")


def _keep_a_flow(station: Station) -> None:
    """Now and then the drive keeps what flows on an ordinary day, by its meter.

    As much has to flow at the highest lift as well, and less at the lowest frequency.
    """
    if station.regulation != "external" or station.kind == "lift_station":
        return
    if station.by_itself("flow that is kept").random() > 0.4:
        return
    kept = station.pen.si("flow", station.pen.put("flow", station.points[1].flow, digits=3))
    pump, most = station.machine.hydraulics, station.top_speed

    def flows(lift: str, speed: float) -> float:
        return pump.flow_on(lambda flow: station.lift[lift] + station.friction * flow**2, speed)

    least = flows("low", station.speed_of(station.minimum))
    if 1.1 * least < kept < 0.95 * flows("high", most):
        station.regulation, station.set_point = "flow", kept
        station.oddities.add("a flow is kept")


def _draw(chance: Random, apart: Random) -> Station | None:
    kind = chance.choices(KINDS, WEIGHTS)[0]
    practice = chance.choices(("us", "canadian", "iec", "iec60"), (42, 6, 46, 6))[0]
    hertz = 50.0 if practice == "iec" else 60.0
    driven = chance.random() < 0.85
    machine_type, immersed, poles = _machine_type(chance, kind, hertz)
    power = _power(chance, practice, machine_type)
    kilowatts = power / 1e3
    if kilowatts < 1.1:
        poles = min(poles, 4)
    supply, volts, phases = _supply(chance, practice, kilowatts, driven)
    magnets = driven and not immersed and kilowatts >= 1.1 and kilowatts <= 160 and (
        chance.random() < (0.03 if practice in ("us", "canadian") else 0.07)
    )  # fmt: skip
    well = machine_type == "submersible_well"
    motor = motors.draw(chance, practice=practice, hertz=hertz, power=power, poles=poles,
                        immersed=immersed, well=well, magnets=magnets, volts=volts)  # fmt: skip
    if motor.low_tap_connection == "delta" and driven and supply == 400 and chance.random() < 0.2:
        _extend(motor)
    machine = _machine(chance, kind, machine_type, motor)
    if machine is None:
        return None
    us = practice == "us"
    station = Station(
        chance=chance, apart=apart, pen=Pen(us, "" if us or chance.random() < 0.6 else "L/s"),
        practice=practice, hertz=hertz, kind=kind, driven=driven,
        elevation=_elevation(chance), liquid=chance.uniform(6, 24), supply=supply, phases=phases,
        motor=motor, machine=machine, regulation=_regulation(chance, kind, driven),
        suction=_suction(chance, kind, machine_type),
    )  # fmt: skip
    station.area = _area(station)
    if driven and station.apart.random() < 0.2:
        # As catalogues have it: 0.04 kg.m2 at 7.5 kW, 0.85 at 75 kW, with four poles; a rotor of
        # magnets has as many poles as it likes, but the length and bore that its speed asks for.
        station.inertia = 0.0025 * kilowatts**1.35 * (30 * hertz / motor.speed) ** 1.5
    from .systems import lay_out

    return station if lay_out(station) else None


def _area(station: Station) -> str:
    """What the air over a wet well of sewage is classed as."""
    if station.kind != "lift_station":
        return "none"
    inner, outer = "zone_1", "zone_2"
    if station.practice in ("us", "canadian"):
        inner, outer = "class1_div1", "class1_div2"
    return inner if station.apart.random() < 0.4 else outer


def _machine_type(chance: Random, kind: str, hertz: float) -> tuple[str, bool, int]:
    """Type of pump, whether its motor is immersed, and poles."""
    if kind == "well":
        if chance.random() < 0.8:
            return "submersible_well", True, 2
        return "vertical_turbine", False, 4
    if kind == "lift_station":
        if chance.random() < 0.8:
            return "submersible_sewage", True, chance.choice((2, 4, 4, 4, 6, 8))
        return "end_suction", False, chance.choice((4, 4, 6))
    if kind == "booster":
        type_ = chance.choice(("multistage_vertical", "multistage_vertical", "end_suction",
                               "split_case"))  # fmt: skip
        poles = 4 if type_ == "split_case" else chance.choice((2, 2, 4))
        return type_, False, poles
    if kind == "irrigation":
        return chance.choice(("self_priming", "end_suction")), False, chance.choice((2, 4))
    type_ = chance.choice(("vertical_turbine", "split_case", "end_suction"))
    return type_, False, chance.choice((4, 4, 4, 6, 8))


def _power(chance: Random, practice: str, type_: str) -> float:
    """Rated power [W], preferred, spread evenly over decades within 0.5 to 500 kW."""
    limits = {
        "multistage_vertical": (0.55, 75), "split_case": (15, 500), "vertical_turbine": (11, 450),
        "submersible_well": (0.55, 190), "submersible_sewage": (1.1, 320),
        "self_priming": (0.75, 45), "end_suction": (1.1, 250),
    }  # fmt: skip
    low, high = limits[type_]
    wanted = low * (high / low) ** chance.random()
    if practice in ("us", "canadian"):
        return min(tables.HORSEPOWERS, key=lambda h: abs(h * 0.746 / wanted - 1)) * HORSEPOWER
    return min(tables.KILOWATTS, key=lambda k: abs(k / wanted - 1)) * 1e3


def _supply(
    chance: Random, practice: str, kilowatts: float, driven: bool
) -> tuple[float, float, int]:
    """Nominal supply [V], motor voltage in use [V], phases of the supply."""
    phases = 1 if driven and kilowatts <= 11 and chance.random() < 0.05 else 3
    if practice == "canadian":
        return 600, 575, 3
    if practice == "us":
        if phases == 1:
            return 240, 230, 1
        if kilowatts <= 22 and chance.random() < 0.15:
            return 208, 200, 3
        if kilowatts <= 37 and chance.random() < 0.12:
            return 240, 230, 3
        return 480, 460, 3
    if practice == "iec60":
        return (440, 440, 3) if chance.random() < 0.5 else (380, 380, 3)
    if phases == 1:
        return 230, 230, 1
    return chance.choice((400, 400, 400, 415, 380)), 400, 3


def _extend(motor: Motor) -> None:
    """Linked in delta for 230 V and run to 87 Hz along its volts per hertz."""
    ratio = motor.voltage / motor.low_tap
    motor.extended = True
    motor.other_mains = False
    motor.current, motor.voltage = motors._printed(motor.current * ratio), motor.low_tap
    motor.low_tap = 0.0


def _machine(chance: Random, kind: str, type_: str, motor: Motor) -> Machine | None:
    rpm = motor.run_speed
    printed = round(rpm / 10) * 10.0 if chance.random() < 0.5 else rpm
    return pumps.draw(chance, kind=kind, type_=type_, rpm=printed, power=motor.run_power * 0.75)


def _elevation(chance: Random) -> float:
    if chance.random() < 0.05:
        return chance.uniform(1200, 2300)
    return chance.uniform(0, 700)


def _regulation(chance: Random, kind: str, driven: bool) -> str:
    if not driven:
        return "none"
    if kind == "booster":
        return "pressure"
    if kind == "irrigation":
        return "pressure" if chance.random() < 0.8 else "external"
    if kind == "well":
        return "pressure" if chance.random() < 0.6 else "external"
    if kind == "lift_station":
        return "level" if chance.random() < 0.7 else "external"
    return "external"


def _suction(chance: Random, kind: str, type_: str) -> str:
    if kind == "well":
        return "well"
    if kind == "lift_station":
        return "wet_well"
    if kind == "booster":
        return "pressurised_main" if chance.random() < 0.8 else "flooded_tank"
    if kind == "irrigation":
        return "suction_lift" if type_ == "self_priming" else "flooded_tank"
    return "wet_well" if type_ == "vertical_turbine" else "flooded_tank"


def bore_here(station: Station, bore: float) -> float:
    """A bore as it is written in the place's unit [m]."""
    return round(bore / INCH, 3) * INCH if station.pen.us else round(bore * 1e3) / 1e3
