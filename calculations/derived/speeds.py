"""Derived values: speeds that matter, as frequencies, and pressures at no flow."""

from collections.abc import Iterator

from calculations.aspects import holding, load, loop, pump_torque, pumping, sleeping, suction
from calculations.aspects.rating import run_rating
from calculations.aspects.suction import End
from calculations.case import Case, Missing
from calculations.rule import Value, fixed, like
from calculations.rules.scope import is_immersed
from calculations.units import Quantity

TAPPING = "/regulating_sensor/tapping_elevation"
AFFINITY = "HI engineering data, equation 1.B.6 (affinity laws)"

SLIP = "f = n p / 2 + f_slip T / T_rated"
SLIP_SOURCE = f"slip in proportion to torque; {pump_torque.FROM_MEMORY}"

LIMIT = "/site/discharge_pressure_limit"
_OF_PRESSURES = like(
    LIMIT, "bar",
    "/settings/set_point", "/site/suction_pressure_high", "/regulating_sensor/upper_range_value",
)  # fmt: skip
_OF_OTHERS = like(LIMIT, "bar", "/site/suction_pressure_high")


def pressure_unit(case: Case) -> str:
    """Unit of a discharge pressure: the one that the station's other pressures are entered in.

    A level's set point and range may be written in millibars: they say nothing of a discharge.
    """
    measured = case.find("/regulating_sensor/quantity")
    return (_OF_PRESSURES if measured in (None, "pressure") else _OF_OTHERS)(case)


def usable_power(case: Case, frequency: float) -> float:
    """Shaft power that the motor gives at a frequency [Hz]: full torque as far as it is kept.

    That is up to its rated frequency, stretched on purpose up to that which drive and supply keep
    its volts per hertz to; beyond it gives no more than there. A service factor counts where the
    plate states it for a drive, or for an immersed motor.
    """
    power, rated = case.require("/rating/power", "/rating/frequency")
    kept = min(frequency / rated.si, _stretch(case))
    return float(power.si * service_factor(case) * kept)


def _stretch(case: Case) -> float:
    """Up to how many times its rated frequency the motor keeps its torque [1]."""
    return run_rating(case).stretch if case.find("/motor/extended_constant_torque") else 1.0


def service_factor(case: Case) -> float:
    """The service factor that may be used on a drive [1]."""
    stated = case.find("/motor/inverter_service_factor")
    if stated is None and is_immersed(case):
        stated = case.find("/motor/service_factor")
    return float(stated.si) if stated is not None else 1.0


def _zero_flow(end: End) -> Value:
    return Value(
        id=f"speed.zero-flow-at-{end}est-suction",
        title=f"Frequency below which nothing flows, at the {end}est suction",
        formula="n0 = n sqrt(H / H0), H = (p_set - p_s)/(rho g) + dz, or the static lift, "
        f"over the main's high point where that is above the outlet; {SLIP}",
        source=f"{AFFINITY}, at zero flow; {SLIP_SOURCE}",
        unit=fixed("Hz"),
        compute=lambda case: holding.zero_flow_frequency(case, end),
        subject="/pump",
        applies=pumping.is_centrifugal,
        read_on_site=True,
    )


def _at_minimum_flow(end: End) -> Value:
    lowest = end == "low"
    return Value(
        id="speed.at-minimum-continuous-flow" + ("" if lowest else "-at-highest-suction"),
        title=f"Frequency below which the minimum continuous flow is not kept, at the {end}est "
        "suction",
        formula="n = s n_curve, s^2 h(Q_min) = H; a well's H at its static level, and the "
        f"draw-down in proportion to the flow; {SLIP}",
        source=f"{AFFINITY}; {SLIP_SOURCE}",
        unit=fixed("Hz"),
        compute=lambda case: sleeping.at_minimum_flow(case, end),
        subject="/pump",
        applies=pumping.is_centrifugal,
    )


def _highest_for_power(case: Case) -> float:
    found = case.si("/rating/frequency") * _stretch(case)
    needed, usable = load.highest_shaft_power(case, found).power, usable_power(case, found)
    if needed <= usable:
        return load.frequency_of_highest_power(case, usable)
    # Power rises with the speed at full torque, the pump's with its cube: only slip is left over.
    for _ in range(3):
        needed = load.highest_shaft_power(case, found).power
        found *= (usable_power(case, found) / needed) ** 0.5
    return found


def _lowest_sensible(case: Case) -> float:
    floors = [case.find("/pump/minimum_frequency_permitted"), case.find("/pump/bearing_frequency")]
    known = [floor.si for floor in floors if floor is not None]
    if not known:
        raise Missing("/pump/minimum_frequency_permitted")
    return float(max(*known, holding.zero_flow_frequency(case, "high")))


def ceilings(case: Case, *, pump: bool = True) -> Iterator[tuple[str, Quantity, float]]:
    """Whose highest speed is stated, as it is stated, and the frequency [Hz] that reaches it.

    `pump`: whether the pump's counts too, for which the motor's plate has to be right. Its speed
    is that at the motor's full load, the lowest: beyond it, it is so at whatever load.
    """
    own, driven = case.find("/motor/maximum_frequency"), case.find("/pump/maximum_speed_permitted")
    if own:
        yield "motor", own, own.si
    if driven and pump:
        yield "pump", driven, pumping.frequency(case, driven.si)


def _highest_permitted(case: Case) -> float:
    found = [frequency for _, _, frequency in ceilings(case)]
    if not found:
        raise Missing("/motor/maximum_frequency", "/pump/maximum_speed_permitted")
    return min(found)


def _sensible_sleep(case: Case) -> float:
    found = sleeping.proposal(case)
    if not found.fits:
        raise Missing("/settings/sleep_method", because="no frequency puts this pump to sleep well")
    return found.frequency


def _sleep_flow(end: End) -> Value:
    lowest = end == "low"
    return Value(
        id="sleep.flow" + ("" if lowest else "-at-highest-suction"),
        title=f"Flow at which it falls asleep, at the {end}est suction",
        formula="s^2 h(Q / s) = H at the set point, s at the sleep frequency; a well's H at its "
        "static level, and the draw-down in proportion to the flow; up to a remote sensor what the "
        "main loses as the square of the flow, by the design head",
        source=AFFINITY,
        unit=like("/pump/rated_flow", "m3/h"),
        compute=lambda case: sleeping.flow_at_set_point(
            case, case.si("/settings/sleep_frequency"), end
        ),
        subject="/settings/sleep_frequency",
        applies=loop.keeps_pressure_of_pump,
        read_on_site=True,
    )


def _shut_off(name: str, frequency: str) -> Value:
    return Value(
        id=f"pressure.shut-off-at-{name}",
        title=f"What the closed-valve check reads at {name.replace('-', ' ')}, highest suction",
        formula="p = p_s + rho g H0 (n / n_curve)^2, at the regulating sensor; at the datum where "
        f"that measures no pressure, is remote, or its height is not known; {SLIP}",
        source=f"{AFFINITY}; {SLIP_SOURCE}",
        unit=pressure_unit,
        compute=lambda case: shut_off_reading(case, case.si(frequency)),
        subject="/pump",
        applies=pumping.may_shut_off,
        read_on_site=True,
    )


def shut_off_reading(case: Case, frequency: float) -> float:
    """Pressure [Pa] at no flow and the highest suction, at the regulating sensor or the datum."""
    return _suction_there(case) + pumping.shut_off_pressure(case, frequency)


def _suction_there(case: Case) -> float:
    return suction.pressure(case, "high", case.si(TAPPING) if is_read_at_sensor(case) else 0.0)


def is_read_at_sensor(case: Case) -> bool:
    """Whether a discharge pressure can be told at the regulating sensor: else it is at the datum.

    A sensor of unknown quantity is taken to measure pressure. A remote one sees nothing of a valve
    that is closed at the pump.
    """
    measured = case.find("/regulating_sensor/quantity")
    known = case.find(TAPPING) is not None and measured in (None, "pressure")
    return known and not loop.is_remote(case)


VALUES = (
    _zero_flow("low"),
    _zero_flow("high"),
    _at_minimum_flow("low"),
    _at_minimum_flow("high"),
    Value(
        id="speed.lowest-sensible-minimum",
        title="Lowest minimum frequency that makes sense",
        formula="the largest of the pump's own minimum and the zero-flow frequency at the highest "
        "suction",
        source=f"{AFFINITY}; {SLIP_SOURCE}; the pump's manual",
        unit=fixed("Hz"),
        compute=_lowest_sensible,
        subject="/pump",
        applies=pumping.is_centrifugal,
    ),
    Value(
        id="speed.highest-for-motor-power",
        title="Highest frequency at which the motor carries the pump anywhere on its curve",
        formula="n = n_curve (P_motor / P_pump)^(1/3); P_motor in proportion to the frequency as "
        f"far as full torque is kept, the same beyond; {SLIP}",
        source=f"{AFFINITY}; slip in proportion to torque",
        unit=fixed("Hz"),
        compute=_highest_for_power,
        subject="/motor",
        applies=pumping.is_centrifugal,
    ),
    Value(
        id="speed.highest-permitted",
        title="Highest frequency that motor and pump permit",
        formula="the lower of the motor's highest frequency and f n_max / n of the pump, n at the "
        "motor's full load",
        source="motor's and pump's manual",
        unit=fixed("Hz"),
        compute=_highest_permitted,
        subject="/pump",
        applies=pumping.is_centrifugal,
    ),
    Value(
        id="sleep.sensible-frequency",
        title="Sleep frequency that makes sense: a little above where nothing flows at the lowest "
        "suction",
        formula="f0 + 1 Hz, rounded up to 0.1 Hz, at least the minimum frequency and what pump and "
        "minimum flow ask for; where the pump still delivers too much there, f0 + 0.5 Hz; f0 by a "
        "reading of the visit at no flow where there is one",
        source=f"{AFFINITY}; {SLIP_SOURCE}; 1 Hz: common practice (1 to 3 Hz)",
        unit=fixed("Hz"),
        compute=_sensible_sleep,
        subject="/settings/sleep_frequency",
        applies=lambda case: pumping.is_centrifugal(case) and loop.keeps_pressure_of_pump(case),
    ),
    _sleep_flow("low"),
    _sleep_flow("high"),
    _shut_off("minimum-speed", "/settings/minimum_frequency"),
    _shut_off("rated-speed", "/rating/frequency"),
    _shut_off("maximum-speed", "/settings/maximum_frequency"),
)
