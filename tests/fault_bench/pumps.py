"""Pumps: type by kind of station, best point by the motor's power, shape by specific speed."""

from dataclasses import dataclass
from math import log10, pi
from random import Random

from .physics import GRAVITY, Pump


@dataclass
class Machine:
    """A pump with what its plate and manual say beside the curve."""

    hydraulics: Pump
    type: str
    stages: int
    sides: int
    bore_suction: float
    bore_discharge: float
    minimum_flow: float  # m3/s at rated speed
    speed: float  # rpm, as the curve is printed for


HEADS = {
    "booster": (25, 90), "well": (40, 220), "lift_station": (7, 32), "raw_water": (14, 70),
    "reservoir_fill": (30, 110), "irrigation": (28, 75),
}  # fmt: skip
MULTISTAGE = ("multistage_vertical", "multistage_horizontal", "submersible_well",
              "vertical_turbine")  # fmt: skip


def specific_speed(speed: float, flow: float, head: float) -> float:
    """n sqrt(Q) / H^0.75 in rpm, m3/s, m."""
    return float(speed * flow**0.5 / head**0.75)


def draw(chance: Random, *, kind: str, type_: str, rpm: float, power: float) -> Machine | None:
    """A pump of about so much shaft power at best efficiency [W]; None where no pump fits."""
    for _ in range(200):
        low, high = HEADS[kind]
        head = low * (high / low) ** chance.random()
        efficiency = 0.7
        for _ in range(5):
            flow = power * efficiency / (1000 * GRAVITY * head)
            efficiency = 0.87 - 0.085 * abs(log10(flow * 3600 / 1000)) ** 1.3
            efficiency -= 0.08 if type_ == "submersible_sewage" else 0.0
        efficiency = min(max(efficiency + chance.uniform(-0.02, 0.02), 0.35), 0.88)
        sides = 2 if type_ == "split_case" else 1
        stages = 1
        if type_ in MULTISTAGE:
            wanted = chance.uniform(30, 50) if type_ != "multistage_vertical" else 38
            while specific_speed(rpm, flow, head / stages) < wanted * 0.85 and stages < 40:
                stages += 1
        ns = specific_speed(rpm, flow / sides, head / stages)
        if 11 <= ns <= 85 and flow * 3600 > 0.8:
            return _made(chance, type_, rpm, flow, head, efficiency, stages, sides, ns)
    return None


def _made(
    chance: Random, type_: str, rpm: float, flow: float, head: float, efficiency: float,
    stages: int, sides: int, ns: float,
) -> Machine:  # fmt: skip
    shut_off = 1.14 + 0.0045 * ns + chance.uniform(0, 0.06)
    suction = 150 + 40 * chance.random()
    fast = (1.2, 2.0) if type_ == "submersible_well" else (2.0, 3.4)
    npsh = max((rpm * (flow / sides) ** 0.5 / suction) ** (4 / 3), 1.0)
    hydraulics = Pump(
        speed=rpm / 60, flow=flow, head=head, efficiency=efficiency, shut_off=shut_off,
        power_of_flow=chance.uniform(1.75, 2.3), end=chance.uniform(1.28, 1.42), npsh=npsh,
        made_head=1 + max(-0.025, min(0.025, chance.gauss(0, 0.011))),
        made_power=1 + max(-0.03, min(0.03, chance.gauss(0, 0.013))),
    )  # fmt: skip
    return Machine(
        hydraulics, type_, stages, sides,
        bore_suction=bore(flow, chance.uniform(1.3, 2.2)),
        bore_discharge=bore(flow, chance.uniform(*fast)),
        minimum_flow=flow * chance.uniform(0.15, 0.3), speed=rpm,
    )  # fmt: skip


def bore(flow: float, velocity: float) -> float:
    """Bore [m] of a pipe for a flow at a velocity."""
    return max(float((4 * flow / (pi * velocity)) ** 0.5), 0.02)
