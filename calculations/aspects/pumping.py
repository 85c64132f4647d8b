"""The pump at the drive's frequencies: curve, speeds, what it holds at no flow."""

from calculations import pump_curves
from calculations.aspects import curve_columns, liquid
from calculations.aspects.curve_columns import Doubt
from calculations.aspects.rating import EXTENSION_RULE, SUPPLY, available, is_untold, run_rating
from calculations.case import Case, Missing, Waits, once
from calculations.pump_curves import PumpCurve, ShapeProblemKind
from calculations.rules import motor_plate

UNUSABLE = (
    ShapeProblemKind.STARTS_LATE,
    ShapeProblemKind.DUPLICATE_FLOW,
    ShapeProblemKind.FLOW_GOES_BACK,
)
ORDINARY_RISE = 0.10
"""Rise of a curve, as a share of its highest head, that some pumps really have; from memory."""

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
    return tuple(
        pump_curves.CurvePoint(
            flow=point.flow.si,
            head=point.head.si,
            efficiency=point.efficiency.si if point.efficiency else None,
            shaft_power=point.shaft_power.si if point.shaft_power else None,
            npsh_required=point.npsh_required.si if point.npsh_required else None,
        )
        for point in points
    )


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
    if doubt is None or curve_columns.RULE in case.accepted or doubt.is_of_rated:
        return found
    points = curve_columns.usable(doubt, rows(case))
    if points is None:
        raise Waits(curve_columns.RULE)
    return pump_curves.fit_pump_curve(points=points, speed=found.speed)


def rise(points: tuple[pump_curves.CurvePoint, ...]) -> float:
    """Largest rise of head towards a larger flow, as a share of the highest head [1]."""
    lowest, largest = points[0].head, 0.0
    for point in points:
        lowest = min(lowest, point.head)
        largest = max(largest, point.head - lowest)
    return largest / max(point.head for point in points)


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


def speed(case: Case, frequency: float) -> float:
    """Speed of the pump [1/s] at a frequency [Hz]: rated slip in proportion.

    It waits for the plate where that contradicts itself.
    """
    rated_speed, rated_frequency = _rated(case)
    return rated_speed * frequency / rated_frequency / transmission(case)


def frequency(case: Case, speed: float) -> float:
    """Frequency [Hz] at which the pump turns at a speed [1/s]."""
    rated_speed, rated_frequency = _rated(case)
    return speed * transmission(case) * rated_frequency / rated_speed


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
    return liquid.pressure(case, curve(case).shut_off_head(speed=speed(case, frequency)))


def zero_flow_frequency(case: Case, required_head: float) -> float:
    """Frequency [Hz] below which a head [m] is not held and nothing flows."""
    return frequency(case, curve(case).zero_flow_speed(required_head=required_head))
