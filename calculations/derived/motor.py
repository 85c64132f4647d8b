"""Derived values of the motor."""

from calculations import full_load_current, motors, overload
from calculations.aspects import cooling
from calculations.aspects.rating import run_rating, stretch
from calculations.case import Case, Missing
from calculations.rule import Value, fixed, like
from calculations.rules.motor_class import claims_a_class, required_efficiency
from calculations.rules.motor_cooling import allowed_ambient, is_cooled_by_air
from calculations.rules.motor_power import phases
from calculations.rules.scope import has_slip

READ_HERE = (
    "/event/ambient_temperature", "/drive/ambient_at_drive", "/event/liquid_temperature",
    "/site/liquid_temperature_max",
)  # fmt: skip


def _air_unit(case: Case) -> str:
    """Unit of air temperatures: that in which others are read here, or goes with the elevation's.

    A plate states its ambient in degC in America too (NEMA MG 1): that comes last.
    """
    for place in READ_HERE:
        found = case.find(place)
        if found is not None:
            return str(found.unit)
    if case.quantity("/site/elevation").unit == "ft":
        return "degF"
    return like("/motor/ambient_rated", "degC")(case)


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


def _product(case: Case) -> float:
    power, voltage, current = case.require("/rating/power", "/rating/voltage", "/rating/current")
    return motors.efficiency_times_power_factor(
        power=power.si, voltage=voltage.si, current=current.si, phases=phases(case)
    )


def _is_extended(case: Case) -> bool:
    known = case.find("/rating/voltage") and case.find("/rating/frequency")
    try:
        return bool(known) and stretch(case) > 1
    except Missing:
        return True  # how far is not known: the value says what it lacks


def _extended_frequency(case: Case) -> float:
    return run_rating(case).frequency


def _extended_power(case: Case) -> float:
    case.require("/rating/power")
    return run_rating(case).power or 0.0


def _extended_speed(case: Case) -> float:
    case.require("/rating/speed")
    return run_rating(case).speed or 0.0


def _required_efficiency(case: Case) -> float:
    return required_efficiency(case).printed


def _has_a_table(case: Case) -> bool:
    return has_slip(case) and case.is_("/site/electrical_practice", "us_nec")


def _table_current(case: Case) -> float:
    power, voltage = case.require("/rating/power", "/rating/voltage")
    return full_load_current.table_full_load_current(power=power.si, voltage=voltage.si)


def _separate_overload(case: Case) -> float:
    current, factor = case.require("/rating/current", "/motor/service_factor")
    return overload.separate_device_limit(
        nameplate_current=current.si, service_factor=factor.si
    ).maximum


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
        significant=3,
    ),
    Value(
        id="motor.rated-torque",
        title="Rated torque",
        formula="T = P / (2 pi n)",
        source="definition",
        unit=_torque_unit,
        compute=_rated_torque,
        subject="/rating",
    ),
    Value(
        id="motor.efficiency-times-power-factor",
        title="Efficiency times power factor that the plate implies",
        formula="eta cos(phi) = P / (sqrt(3) U I)",
        source="definition of input power",
        unit=fixed("1"),
        compute=_product,
        subject="/rating",
        significant=3,
    ),
    Value(
        id="motor.extended-frequency",
        title="Frequency of the rating as extended",
        formula="f = f_n U_supply / U_n",
        source="derived: constant volts per hertz",
        unit=fixed("Hz"),
        compute=_extended_frequency,
        subject="/rating",
        applies=_is_extended,
    ),
    Value(
        id="motor.extended-power",
        title="Power of the rating as extended",
        formula="P = P_n f / f_n",
        source="derived: constant torque",
        unit=like("/rating/power", "kW"),
        compute=_extended_power,
        subject="/rating",
        applies=_is_extended,
    ),
    Value(
        id="motor.extended-speed",
        title="Speed of the rating as extended",
        formula="n = 2 f / p - (2 f_n / p - n_n)",
        source="derived: slip speed stays",
        unit=fixed("rpm"),
        compute=_extended_speed,
        subject="/rating",
        applies=_is_extended,
    ),
    Value(
        id="motor.required-efficiency",
        title="Efficiency that the claimed class demands",
        formula="A x^3 + B x^2 + C x + D, x = log10(P / 1 kW) at 50 Hz; table at 60 Hz",
        source="UK SI 2021/745 Sch. 16; 10 CFR 431.25",
        unit=fixed("%"),
        compute=_required_efficiency,
        subject="/rating/efficiency",
        significant=3,
        applies=claims_a_class,
    ),
    Value(
        id="motor.table-full-load-current",
        title="Full-load current of the code's table, for conductors only",
        formula="by horsepower and voltage",
        source="NFPA 70 Table 430.250 (2008 print)",
        unit=fixed("A"),
        compute=_table_current,
        subject="/rating",
        applies=_has_a_table,
    ),
    Value(
        id="motor.separate-overload-limit",
        title="Highest trip of a separate overload device across the line, not for the drive",
        formula="1.25 I_n with service factor of 1.15 and more, else 1.15 I_n",
        source="NFPA 70 430.32(A)(1)",
        unit=like("/rating/current", "A"),
        compute=_separate_overload,
        subject="/rating",
        applies=_has_a_table,
    ),
    Value(
        id="motor.allowed-ambient",
        title="Air temperature in which the motor still carries its rating",
        formula="t = t_n - k (h - 1000 m) / 100 m; k by thermal class: A 0.6 K, E 0.75 K, "
        "B 0.8 K, F 1 K, H 1.25 K",
        source="IEC 60034-1, from memory",
        unit=_air_unit,
        compute=allowed_ambient,
        subject="/motor/ambient_rated",
        applies=is_cooled_by_air,
    ),
    Value(
        id="motor.cooling-velocity",
        title="Velocity past the motor at the lowest flow that a loop keeps, else at the minimum "
        "continuous flow",
        formula="v = Q / (pi / 4 (D^2 - d^2))",
        source="definition",
        unit=cooling.velocity_unit,
        compute=cooling.slowest_velocity,
        subject="/motor/outside_diameter",
        applies=cooling.is_in_a_well,
        significant=3,
    ),
)
