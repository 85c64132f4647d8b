"""Derived values of the motor."""

from calculations import motors
from calculations.case import Case, Missing
from calculations.rule import Value, fixed
from calculations.rules.scope import has_slip


def _poles(case: Case) -> float:
    stated = case.find("/motor/poles")
    if stated is not None:
        return float(stated)
    if not has_slip(case):
        raise Missing("/motor/poles")
    speed, frequency = case.require("/rating/speed", "/rating/frequency")
    return float(motors.poles_from_speed(speed=speed.si, frequency=frequency.si))


def _synchronous_speed(case: Case) -> float:
    return motors.synchronous_speed(
        frequency=case.si("/rating/frequency"), poles=int(case.value("motor.poles"))
    )


def _slip(case: Case) -> float:
    speed, frequency = case.require("/rating/speed", "/rating/frequency")
    poles = int(case.value("motor.poles"))
    return motors.slip(speed=speed.si, frequency=frequency.si, poles=poles)


def _rated_torque(case: Case) -> float:
    power, speed = case.require("/rating/power", "/rating/speed")
    return motors.rated_torque(power=power.si, speed=speed.si)


def _torque_unit(case: Case) -> str:
    power = case.find("/rating/power")
    return "lbf.ft" if power is not None and power.unit == "hp" else "N.m"


VALUES = (
    Value(
        id="motor.poles",
        title="Pole count",
        formula="p = 2 floor(60 f / n), or as stated on the plate",
        source="definition of synchronous speed",
        unit=fixed("1"),
        compute=_poles,
        subject="/motor",
    ),
    Value(
        id="motor.synchronous-speed",
        title="Synchronous speed",
        formula="n_s = 120 f / p",
        source="definition",
        unit=fixed("rpm"),
        compute=_synchronous_speed,
        subject="/rating",
        significant=6,
    ),
    Value(
        id="motor.slip",
        title="Slip at rated load",
        formula="s = (n_s - n) / n_s",
        source="definition",
        unit=fixed("%"),
        compute=_slip,
        subject="/rating",
        applies=has_slip,
        significant=6,
    ),
    Value(
        id="motor.rated-torque",
        title="Rated torque",
        formula="T = P / (2 pi n)",
        source="definition",
        unit=_torque_unit,
        compute=_rated_torque,
        subject="/rating",
        significant=6,
    ),
)
