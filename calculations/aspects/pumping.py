"""The pump at the drive's frequencies: curve, speeds, what it holds at no flow."""

from collections.abc import Callable
from typing import NamedTuple

from calculations import motors, pump_curves
from calculations.aspects import curve_columns, liquid, pump_torque
from calculations.aspects.curve_columns import Doubt
from calculations.aspects.pump_torque import Asked, Torques
from calculations.aspects.rating import EXTENSION_RULE, SUPPLY, available, is_untold, run_rating
from calculations.case import Case, Missing, Waits, once
from calculations.pump_curves import PumpCurve, ShapeProblemKind
from calculations.roots import root
from calculations.rules import motor_plate
from calculations.rules.closeness import above
from calculations.rules.scope import has_slip
from calculations.slipping import Slipping

UNUSABLE = (
    ShapeProblemKind.STARTS_LATE,
    ShapeProblemKind.DUPLICATE_FLOW,
    ShapeProblemKind.FLOW_GOES_BACK,
)
ORDINARY_RISE = 0.10
"""Rise of a curve, as a share of its highest head, that some pumps really have; from memory."""

LITTLE_SLIP = 0.015
"""Rated slip [1] up to which one round tells the speed where it hangs on the flow; no source."""

SETTLED = 2e-4
"""What a speed may be off by [1]: 0.04 % of head; no source."""

ROUNDS = 20
"""Most rounds that are made until a speed settles [1]."""

NEVER_SHUT_OFF = ("progressive_cavity", "axial_or_mixed_flow")
"""Pumps that must not run at a closed valve: pressure, or power, is highest there."""


def is_centrifugal(case: Case) -> bool:
    """Whether the pump is not known to be a positive displacement pump."""
    return not case.is_("/pump/type", "progressive_cavity")


def may_shut_off(case: Case) -> bool:
    """Whether the pump is not known to be of a kind that must not run at a closed valve."""
    return not case.is_("/pump/type", *NEVER_SHUT_OFF)


@once
def rows(case: Case) -> tuple[pump_curves.CurvePoint, ...]:
    """The recorded points of the curve."""
    (points,) = case.require("/pump/curve_points")
    found = [
        pump_curves.CurvePoint(
            flow=point.flow.si,
            head=point.head.si,
            efficiency=point.efficiency.si if point.efficiency else None,
            shaft_power=point.shaft_power.si if point.shaft_power else None,
            npsh_required=point.npsh_required.si if point.npsh_required else None,
        )
        for point in points
    ]
    return tuple(found)


@once
def shape_problems(case: Case) -> tuple[pump_curves.ShapeProblem, ...]:
    """What is odd about them."""
    return pump_curves.shape_problems(points=rows(case))


@once
def as_entered(case: Case) -> PumpCurve:
    """The curve through all points; it waits for `curve.shape` where they contradict each other."""
    speed, points = case.si("/pump/rated_speed"), rows(case)
    if (
        any(problem.kind in UNUSABLE for problem in shape_problems(case))
        or rise(points) > ORDINARY_RISE
    ):
        raise Waits("curve.shape")
    return pump_curves.fit_pump_curve(points=points, speed=speed)


@once
def curve_doubt(case: Case) -> Doubt | None:
    """What contradicts itself in the columns of the curve, where one cause explains it."""
    return curve_columns.doubt(case, rows(case), as_entered(case))


@once
def curve(case: Case) -> PumpCurve:
    """The fitted curve, without powers that are doubted.

    It waits for `curve.shape` where the points contradict each other, for `curve.speed` where
    the curve's speed is not the motor's, and for `curve.columns` where a column is another one.
    """
    found = as_entered(case)
    if speeds_agree(case) is False and "curve.speed" not in case.accepted:
        raise Waits("curve.speed")
    doubt = curve_doubt(case)
    if curve_columns.RULE in case.accepted or (doubt is not None and doubt.is_of_rated):
        return found
    if doubt is not None:
        points = curve_columns.usable(doubt, rows(case))
        if points is None:
            raise Waits(curve_columns.RULE)
    elif curve_columns.read(case, rows(case), found).is_grave:
        points = curve_columns.without_powers(rows(case))
    else:
        return found
    return pump_curves.fit_pump_curve(points=points, speed=found.speed)


def rise(points: tuple[pump_curves.CurvePoint, ...]) -> float:
    """Largest rise of head towards a larger flow, as a share of the highest head [1]."""
    lowest, largest = points[0].head, 0.0
    for point in points:
        lowest = min(lowest, point.head)
        largest = max(largest, point.head - lowest)
    return largest / max([point.head for point in points])


@once
def speeds_agree(case: Case) -> bool | None:
    """Whether the curve's speed is the motor's, as rated or run, or at the maximum frequency.

    None where one of them is not known, or the plate contradicts itself.
    """
    if motor_plate.doubt(case):
        return None
    needed = ["/pump/rated_speed", "/rating/speed", "/rating/frequency"]
    if case.find("/motor/extended_constant_torque"):
        needed += ["/rating/voltage", *([] if available(case) else [SUPPLY])]
    if any(case.find(place) is None for place in needed):
        return None
    allowed = case.limit("curve.speed.difference")
    curve_speed = case.si("/pump/rated_speed")
    frequencies = [case.si("/rating/frequency"), _rated(case)[1]]
    highest = case.find("/settings/maximum_frequency")
    if highest is not None:
        frequencies.append(highest.si)
    apart = [abs(curve_speed / speed(case, each) - 1) for each in frequencies if each > 0]
    return min(apart) <= allowed + 1e-9


def is_ratio_turned(case: Case) -> bool:
    """Whether the transmission's ratio, the other way round, gives the pump its curve's speed."""
    if speeds_agree(case) is not False:
        return False
    ratio, turns = transmission(case), speed(case, case.si("/rating/frequency"))
    apart = case.si("/pump/rated_speed") / (turns * ratio**2) - 1
    return ratio != 1 and abs(apart) <= case.limit("curve.speed.difference")


def speed(case: Case, frequency: float, flow: float | None = None) -> float:
    """Speed of the pump [1/s] at a frequency [Hz], by what it asks of the motor at a flow [m3/s].

    A motor's slip follows the torque: `calculations.slipping`. Where no flow is told the rated slip
    counts in proportion, as of a motor that carries its full load. It waits for the plate where
    that contradicts itself.
    """
    motor, ratio, rated_speed, rated_frequency, is_by_flow, _ = _driven(case)
    if flow is None or not is_by_flow:
        return rated_speed * frequency / rated_frequency / ratio
    torques, own = _torques(case)
    # The flow at the curve's own speed hangs on the speed, but little: two rounds are enough.
    turns = motor.field * frequency
    for _ in range(2 if flow > 0 else 1):
        at = flow * own / turns if turns > 0 else 0.0
        turns = motor.speed(frequency=frequency, load=torques.likely(at) / own**2)
    return turns / ratio


def speed_where(case: Case, frequency: float, flow_at: Callable[[float], float]) -> float:
    """Speed [1/s] at a frequency [Hz] of a pump whose flow [m3/s] hangs on its speed [1/s]."""
    _, ratio, rated_speed, rated_frequency, is_by_flow, slips_little = _driven(case)
    loaded = rated_speed * frequency / rated_frequency / ratio
    if loaded <= 0 or not is_by_flow:
        return loaded
    guess = (loaded + speed(case, frequency, 0.0)) / 2  # between full load and a closed valve
    found = speed(case, frequency, flow_at(guess))
    if slips_little:
        return found  # what is left of an error in it after one round is next to nothing
    return _settled(lambda turns: speed(case, frequency, flow_at(turns)), guess, found)


def _settled(leads_to: Callable[[float], float], before: float, found: float) -> float:
    """Speed [1/s] that leads to itself, where `before` led to `found`: on a flat curve the flow
    hangs on the speed so much that a round may lead further away."""
    for _ in range(ROUNDS):
        then = leads_to(found)
        if abs(then - found) <= SETTLED * found:
            break
        if (then - found) * (found - before) < 0:
            return root(lambda at: leads_to(at) - at, before, found, found - before, then - found)
        before, found = found, then
    return found


def frequency(case: Case, speed: float, flow: float | None = None) -> float:
    """Frequency [Hz] at which the pump turns at a speed [1/s]: the inverse of `speed`."""
    motor, ratio, rated_speed, rated_frequency, is_by_flow, _ = _driven(case)
    turns = speed * ratio
    if flow is None or not is_by_flow:
        return turns * rated_frequency / rated_speed
    return motor.frequency(speed=turns, load=_asked(case, turns, flow).likely)


def speed_under(case: Case, frequency: float, load: float) -> float:
    """Speed of the pump [1/s] at a frequency [Hz] under a load.

    load: torque over the motor's rated one, and over the square of the motor's speed [s2].
    """
    motor, ratio, *_ = _driven(case)
    return motor.speed(frequency=frequency, load=load) / ratio


def frequency_under(case: Case, speed: float, load: float) -> float:
    """Frequency [Hz] at which the pump turns at a speed [1/s]: the inverse of `speed_under`."""
    motor, ratio, *_ = _driven(case)
    return motor.frequency(speed=speed * ratio, load=load)


class Off(NamedTuple):
    """By how much a frequency may lie below what is likely, and by how much above it [Hz]."""

    less: float
    more: float


def frequency_uncertainty(case: Case, speed: float, flow: float | None) -> float:
    """What `frequency` may be off by [Hz], to either side."""
    return max(frequency_off(case, speed, flow))


def frequency_off(case: Case, speed: float, flow: float | None) -> Off:
    """What `frequency` may be off by: torque, tolerance of the rated slip, weaker flux.

    A drive that reduces the flux at part speed lets the motor slip more; one with a motor model
    may compensate the slip, so that its frequency is that of the shaft.
    """
    motor, ratio, rated_speed, _, is_by_flow, _ = _driven(case)
    turns = speed * ratio
    if motor.rated == 0:
        return Off(0.0, 0.0)
    if flow is None or not is_by_flow:
        unloaded = motor.rated * turns / rated_speed  # it may carry no load at all
        return Off(unloaded, unloaded)
    asked, power = _asked(case, turns, flow), case.find("/rating/power")
    small = power is not None and power.si < 1000
    tolerance = motors.SLIP_TOLERANCE_SMALL if small else motors.SLIP_TOLERANCE
    likely = motor.slip(speed=turns, load=asked.likely)
    least = motor.slip(speed=turns, load=asked.least) * (1 - tolerance)
    most = motor.slip(speed=turns, load=asked.most) * (1 + tolerance)
    if case.is_("/settings/control_mode", "volts_per_hertz_quadratic"):
        most /= min(max(turns / motor.field / motor.base, 0.5), 1.0) ** 2
    if case.is_("/settings/control_mode", "vector"):
        least = 0.0
    return Off(likely - least, most - likely)


def _asked(case: Case, turns: float, flow: float) -> Asked:
    """Torque over rated torque and the square of the motor's speed [s2], at a speed [1/s]."""
    torques, own = _torques(case)
    found, square = torques.at(flow * own / turns if turns > 0 else 0.0), own**2
    return Asked(found.least / square, found.likely / square, found.most / square)


@once
def _torques(case: Case) -> tuple[Torques, float]:
    """Torques along the pump's curve, and the motor's speed [1/s] that they belong to."""
    try:
        fitted = curve(case)
    except (Missing, Waits):
        return pump_torque.of_no_curve(case), _rated(case)[0]
    own = fitted.speed * transmission(case)
    return pump_torque.along(case, fitted, own), own


class _Driven(NamedTuple):
    """The motor's slip, its speed over the pump's [1], its rated speed [1/s] and frequency [Hz] as
    it is run, whether the flow tells its slip (a screw's torque hardly follows it), and whether it
    slips so little that one round tells a speed that hangs on the flow."""

    motor: Slipping
    ratio: float
    rated_speed: float
    rated_frequency: float
    is_by_flow: bool
    slips_little: bool


@once
def _driven(case: Case) -> _Driven:
    """How the motor turns the pump."""
    rated_speed, rated_frequency = _rated(case)
    motor, ratio = _motor(case), transmission(case)
    is_by_flow = motor.rated > 0 and is_centrifugal(case)
    slips_little = not above(motor.rated, LITTLE_SLIP * motor.base)
    return _Driven(motor, ratio, rated_speed, rated_frequency, is_by_flow, slips_little)


def _motor(case: Case) -> Slipping:
    """The motor's field and slip; without slip where it has none or its poles are not known."""
    run_speed, base = _rated(case)
    speed_, frequency_ = case.require("/rating/speed", "/rating/frequency")
    slip = case.known("motor.slip") if has_slip(case) else None
    if slip is None or slip <= 0:
        return Slipping(field=run_speed / base, rated=0.0, base=base)
    field = speed_.si / (1 - slip) / frequency_.si
    return Slipping(field=field, rated=slip * frequency_.si, base=base)


@once
def _rated(case: Case) -> tuple[float, float]:
    """Rated speed [1/s] and frequency [Hz] as the motor is run: stretched, it slips less."""
    motor_plate.require_consistent(case)
    speed_, frequency_ = case.require("/rating/speed", "/rating/frequency")
    if case.find("/motor/extended_constant_torque"):
        if EXTENSION_RULE not in case.accepted and is_untold(case):
            raise Waits(EXTENSION_RULE)  # it slips as of its plate, or as it is meant to
        run = run_rating(case)
        if run.speed is not None:
            return run.speed, run.frequency
    return float(speed_.si), float(frequency_.si)


@once
def transmission(case: Case) -> float:
    """Motor speed over pump speed [1]; 1 where they are coupled directly."""
    stated = case.find("/pump_set/transmission_ratio")
    if stated is not None:
        return float(stated.si)
    if case.is_("/pump_set/transmission", "belt", "gear"):
        raise Missing("/pump_set/transmission_ratio")
    return 1.0


@once
def shut_off_pressure(case: Case, frequency: float) -> float:
    """Pressure that the pump adds at no flow [Pa], at a frequency [Hz]; 0 at rest."""
    if frequency <= 0:
        return 0.0
    return liquid.pressure(case, curve(case).shut_off_head(speed=speed(case, frequency, 0.0)))


@once
def least_shut_off_pressure(case: Case, frequency: float) -> float:
    """The same [Pa] as far as it is certain, since the speed hangs on the motor's slip."""
    if frequency <= 0:
        return 0.0
    off = frequency_off(case, speed(case, frequency, 0.0), 0.0)
    return shut_off_pressure(case, max(frequency - off.more, 0.0))


def zero_flow_frequency(case: Case, required_head: float) -> float:
    """Frequency [Hz] below which a head [m] is not held and nothing flows."""
    return frequency(case, curve(case).zero_flow_speed(required_head=required_head), 0.0)


def zero_flow_off(case: Case, required_head: float) -> Off:
    """What that may be off by for the motor's slip, the curve being right."""
    return frequency_off(case, curve(case).zero_flow_speed(required_head=required_head), 0.0)
