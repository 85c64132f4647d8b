"""What the motor is loaded with: currents as read, and as the torque model expects them."""

from math import pi, sqrt
from typing import NamedTuple

from calculations import guards, motor_operation, motors
from calculations.aspects import duty, instruments, liquid, pumping
from calculations.aspects.rating import run_rating
from calculations.case import Case, Missing, once
from calculations.constants import STANDARD_GRAVITY
from calculations.rules import motor_plate
from calculations.rules.scope import is_immersed
from calculations.units import IN_SI, Quantity

SAMPLES = 16
"""Steps along a pump's curve in which its highest power is looked for [1]."""

PLACES = ("currents_drive_output", "currents_drive_display")
"""Readings that are the motor's own current, the better first; the input's is another one."""

AT_SUPPLY = "/event/supply/currents"

AMMETERS = ("clamp_meter", "power_analyser", "multimeter_true_rms")


# -- as read ------------------------------------------------------------------------------------


def motor_currents(case: Case, point: str) -> list[Quantity]:
    """The motor's own currents at a duty point; none where only the drive's input was read."""
    found = case.find(current_place(case, point))
    return list(found) if found else []


def require_motor_currents(case: Case, point: str) -> list[Quantity]:
    """The same; `Missing` names the reading that is wanted where there is none."""
    return list(case.require(current_place(case, point))[0])


def require_own_currents(case: Case, point: str) -> list[Quantity]:
    """The same, with nothing in them that hangs on the supply beside the motor."""
    if may_have_others(case, point):
        raise Missing(f"{point}/currents_drive_input")
    return require_motor_currents(case, point)


@once
def current_place(case: Case, point: str) -> str:
    """Where the motor's own currents at a duty point stand; the best place where none are known.

    Without a drive the same current flows all along the line.
    """
    names = ("currents_drive_input", *PLACES) if case.fixed_speed else PLACES
    places = [f"{point}/{name}" for name in names]
    if is_the_supply_s(case, point):
        places.append(AT_SUPPLY)
    known = [place for place in places if case.find(place)]
    return known[0] if known else places[0]


def is_the_supply_s(case: Case, point: str) -> bool:
    """Whether the supply's currents are those of the motor at this point, as far as is known.

    Without a drive they are, where they were read under load, at the only duty point, and no other
    pump ran.
    """
    return (
        case.fixed_speed
        and case.find("/event/supply/under_load") is not False
        and len(case.find("/event/duty_points") or ()) == 1
        and not case.find(f"{point}/other_pumps_running")
    )


def may_have_others(case: Case, point: str) -> bool:
    """Whether what else hangs on the supply may be in the currents taken for the motor's."""
    at_motor = case.is_("/event/supply/measured_at", "drive_input")
    return current_place(case, point) == AT_SUPPLY and not at_motor


def power_place(case: Case, point: str) -> str:
    """Where the power that the set takes at a duty point stands: at its drive's input.

    Without a drive it is the same all along the line.
    """
    names = ("power_drive_input", "power_drive_output", "power_drive_display")
    places = [f"{point}/{name}" for name in (names if case.fixed_speed else names[:1])]
    known = [place for place in places if case.find(place) is not None]
    return known[0] if known else places[0]


def power_taken_at(case: Case) -> str:
    """Where that is, in words."""
    return "from the supply" if case.fixed_speed else "at the drive's input"


def highest_plate_current(case: Case) -> Quantity:
    """Plate current; of an immersed motor that at its service factor, where it is printed."""
    plate = case.quantity("/rating/current")
    loaded: Quantity | None = case.find("/motor/service_factor_current")
    if is_immersed(case) and loaded is not None and loaded.si > plate.si:
        return loaded
    return plate


def allowed_current(case: Case) -> float:
    """What the plate allows [A]: across the line with its service factor, on a drive without."""
    plate = highest_plate_current(case).si
    factor = case.find("/motor/service_factor")
    return plate * factor.si if case.fixed_speed and factor is not None else plate


def mean(readings: list[Quantity]) -> float:
    """Mean of readings in SI."""
    return sum([each.si for each in readings]) / len(readings)


@once
def highest_reading(case: Case) -> tuple[str, Quantity] | None:
    """The duty point with the highest current that is certainly the motor's, and that current."""
    points = case.find("/event/duty_points") or ()
    places = [f"/event/duty_points/{index}" for index in range(len(points))]
    own = [place for place in places if not may_have_others(case, place)]
    read = [(max(found, key=IN_SI), p) for p in own if (found := motor_currents(case, p))]
    if not read:
        return None
    current, place = max(read, key=lambda each: each[0].si)
    return place, current


# -- as expected --------------------------------------------------------------------------------


def magnetizing_share(case: Case) -> float:
    """No-load over rated current [1]; magnets need none."""
    if case.is_("/motor/kind", "permanent_magnet"):
        return 0.0
    return motor_operation.MAGNETIZING_SHARE


@once
def rated_torque(case: Case) -> float:
    """Torque of the plate [N.m]; the same where the rating is stretched."""
    power, speed = case.require("/rating/power", "/rating/speed")
    motor_plate.require_consistent(case)
    return motors.rated_torque(power=power.si, speed=speed.si)


def current_of_power(
    case: Case, *, power: float, speed: float, frequency: float, share: float | None = None
) -> float:
    """Motor current [A] at a shaft power [W], a motor speed [1/s] and a frequency [Hz]."""
    guards.positive(speed=speed)
    torque_ratio = power / (2 * pi * speed) / rated_torque(case)
    weakening = max(frequency / run_rating(case).frequency, 1.0)
    return motor_operation.current_at_torque(
        rated_current=case.si("/rating/current"),
        torque_ratio=torque_ratio * weakening,
        magnetizing_share=magnetizing_share(case) if share is None else share,
    )


class Highest(NamedTuple):
    """The highest power that a pump takes [W], and the speed at which it turns there [1/s]."""

    power: float
    speed: float


def highest_shaft_power(case: Case, frequency: float, *, up_to: float | None = None) -> Highest:
    """Highest power [W] that the pump takes anywhere on its curve at a frequency [Hz].

    up_to: flow [m3/s] beyond which it is not looked for.
    It goes with the cube of the speed, along with every other point of the curve; the motor slips
    by the torque that this power means.
    """
    guards.positive(frequency=frequency)
    own = pumping.curve(case).speed
    if up_to is None:
        power, load = _highest_of_curve(case)
    else:
        power = _highest_power(case, up_to * own / pumping.speed(case, frequency, up_to))
        load = _load_of(case, power)
    speed = pumping.speed_under(case, frequency, load)
    return Highest(power * (speed / own) ** 3, speed)


def frequency_of_highest_power(case: Case, power: float) -> float:
    """Frequency [Hz] at which the highest power of the curve is that much [W]."""
    of_curve, load = _highest_of_curve(case)
    ratio = motor_operation.highest_speed_ratio(motor_power=power, pump_power=of_curve)
    return pumping.frequency_under(case, pumping.curve(case).speed * ratio, load)


@once
def _highest_of_curve(case: Case) -> tuple[float, float]:
    """Highest power along the whole curve at its own speed [W], and the load that it means [s2]."""
    power = highest_power_of_curve(case)
    return power, _load_of(case, power)


def _load_of(case: Case, power: float) -> float:
    """Torque over the motor's rated one and the square of its speed [s2], of a power [W] that is
    taken at the curve's own speed."""
    turns = pumping.curve(case).speed * pumping.transmission(case)
    return power / (2 * pi * turns) / rated_torque(case) / turns**2


def highest_power_of_curve(case: Case) -> float:
    """Along the whole curve [W], at its own speed."""
    curve = pumping.curve(case)
    return _highest_power(case, curve.highest_flow(speed=curve.speed))


def _highest_power(case: Case, last: float) -> float:
    """Up to a flow [m3/s], at the curve's own speed: between its points and at them [W].

    An axial pump takes most at a closed valve, where it must not run and no motor is chosen for:
    below its minimum continuous flow, where that is stated, nothing counts.
    """
    curve, density = pumping.curve(case), liquid.density(case)
    last = min(last, curve.highest_flow(speed=curve.speed))
    least = None if pumping.may_shut_off(case) else case.find("/pump/minimum_continuous_flow")
    first = 0.0 if least is None else min(least.si, last)
    between = [first + (last - first) * step / SAMPLES for step in range(SAMPLES + 1)]
    at_points = [point.flow for point in pumping.rows(case) if first <= point.flow <= last]
    flows = (*between, *at_points)
    found = curve.highest_shaft_power(flows=flows, density=density)
    if found is None:
        raise Missing("/pump/curve_points", because=NO_POWER)
    return found


NO_POWER = "shaft power or efficiency of its points, the last one's too"
"""What is lacking where a curve has head and flow alone."""

BEST_EFFICIENCY = 0.95
"""Efficiency that no pump has [1], as the limit of what may be entered."""


def tells_power(case: Case) -> bool:
    """Whether the curve tells a power at all."""
    curve = pumping.curve(case)
    return curve.shaft_powers is not None or curve.efficiencies is not None


def tells_power_to_its_end(case: Case) -> bool:
    """Whether the curve tells the power at its last point, where it is highest of most pumps."""
    curve = pumping.curve(case)
    last = curve.highest_flow(speed=curve.speed)
    return curve.shaft_power(flow=last, speed=curve.speed) is not None


def least_shaft_power(case: Case, frequency: float, *, up_to: float | None = None) -> float:
    """Highest power [W] along the curve at a frequency [Hz] that any pump of its heads takes.

    up_to: flow [m3/s] beyond which it is not looked for. The speed is that of the motor's full
    load.
    """
    curve, speed = pumping.curve(case), pumping.speed(case, frequency)
    end = curve.highest_flow(speed=speed)
    last = end if up_to is None else min(up_to, end)
    flows = [last * step / SAMPLES for step in range(SAMPLES + 1)]
    lifted = max([flow * (curve.head(flow=flow, speed=speed) or 0.0) for flow in flows])
    return liquid.density(case) * STANDARD_GRAVITY * lifted / BEST_EFFICIENCY


def highest_current(case: Case) -> float:
    """Highest motor current [A] to expect: anywhere on the curve at the highest frequency."""
    return highest_current_at(case, case.si("/settings/maximum_frequency"))


def highest_current_at(case: Case, frequency: float) -> float:
    """Highest motor current [A] to expect anywhere on the curve at a frequency [Hz]."""
    if not pumping.is_centrifugal(case):
        raise Missing("/pump/type", because="only for centrifugal pumps")
    power, pump_speed = highest_shaft_power(case, frequency)
    speed = pump_speed * pumping.transmission(case)
    return current_of_power(case, power=power, speed=speed, frequency=frequency)


def torque_ratio_of_current(case: Case, current: float) -> float:
    """Share of rated torque [1] that a motor current [A] means; 0 at and below no-load current."""
    share = magnetizing_share(case) ** 2
    loaded = (current / case.si("/rating/current")) ** 2 - share
    return float(sqrt(max(loaded, 0.0) / (1 - share)))


RUNNING = 0.2
"""Share of the plate's current from which the highest is one of a running motor [1]; no source."""


def lost_phases(case: Case, currents: list[Quantity]) -> tuple[int, ...]:
    """Which of a running motor's three currents are next to none."""
    highest = max(each.si for each in currents)
    if len(currents) != 3 or highest < RUNNING * case.si("/rating/current"):
        return ()
    least = case.limit("winding.current-unbalance.lost") * highest
    return tuple(i for i, each in enumerate(currents) if each.at_most < least)


# -- at a duty point ----------------------------------------------------------------------------


@once
def shaft_power(case: Case, point: str) -> float:
    """Shaft power [W] at a duty point: off the pump's curve, else from the drive's output."""
    by_curve = power_by_curve(case, point)
    if by_curve is not None:
        return by_curve
    place = power_place(case, point) if case.fixed_speed else f"{point}/power_drive_output"
    power, efficiency = case.find(place), case.find("/rating/efficiency")
    if power is None or efficiency is None:
        raise Missing(
            f"{point}/flow" if case.find(f"{point}/flow") is None else "/pump/curve_points"
        )
    return float(power.si * efficiency.si)


def power_by_curve(case: Case, point: str) -> float | None:
    """Shaft power [W] at a duty point off the pump's curve, which no electrical reading touches."""
    flow = case.find(f"{point}/flow")
    if flow is None or not pumping.is_centrifugal(case) or case.find("/pump/curve_points") is None:
        return None
    return pumping.curve(case).shaft_power(
        flow=flow.si, speed=duty.speed(case, point), density=liquid.density(case)
    )


@once
def expected_current(case: Case, point: str, share: float | None = None) -> float:
    """Motor current [A] to expect at a duty point, for a no-load `share` of rated current [1]."""
    return current_of_power(
        case,
        power=shaft_power(case, point),
        speed=duty.speed(case, point) * pumping.transmission(case),
        frequency=case.si(duty.at_frequency(case, point)),
        share=share,
    )


def instrument_share(case: Case, point: str, reading: Quantity) -> float:
    """Accuracy of the ammeter that was used, as a share of its reading [1]; 0 where unknown."""
    for reference in case.find(f"{point}/instruments") or ():
        found = case.instrument(reference)
        if found and found[1].kind in AMMETERS and reading.si > 0:
            try:
                return instruments.instrument_share(case, found[0], reading)
            except Missing:
                continue
    return 0.0
