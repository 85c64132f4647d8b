"""The sleep frequency that makes sense: within reach, and where little is still delivered."""

from math import ceil, sqrt
from typing import NamedTuple

from calculations import operating_region
from calculations.aspects import duty, group, holding, loop, on_curve, pumping, suction
from calculations.aspects.pumping import Off
from calculations.aspects.suction import End
from calculations.case import Case, Missing, Waits, once
from calculations.duty_points import duty_points
from calculations.rules.closeness import below
from calculations.system_curves import TURBULENT_EXPONENT, FrictionCurve

MINIMUM, MAXIMUM = "/settings/minimum_frequency", "/settings/maximum_frequency"


class Proposal(NamedTuple):
    """A sleep frequency [Hz], and whether it puts the pump to sleep in time and not too early."""

    frequency: float
    fits: bool


class ZeroFlow(NamedTuple):
    """Where nothing flows at the lowest suction [Hz], what it may be off by, how far it lies
    above what the curve says [Hz], and whether a closed valve showed it."""

    frequency: float
    off: Off
    above_curve: float
    seen: bool


@once
def zero_flow(case: Case) -> ZeroFlow:
    """By a closed-valve reading of the visit that agrees with the curve, else by the curve."""
    by_curve = holding.zero_flow_frequency(case, "low")
    off = holding.zero_flow_off(case, "low")
    needed = holding.head_at_no_flow(case, "low")
    found = [_as_seen(case, place, needed) for place in _closed(case) if needed > 0]
    seen = [each for each in found if each is not None]
    if not seen:
        return ZeroFlow(by_curve, off, 0.0, False)
    frequency, uncertainty = min(seen, key=lambda each: each[1])
    return ZeroFlow(frequency, Off(uncertainty, uncertainty), frequency - by_curve, True)


def _closed(case: Case) -> list[str]:
    points = enumerate(case.find(duty.POINTS) or ())
    return [f"{duty.POINTS}/{index}" for index, each in points if each.purpose == "shut_off"]


def _as_seen(case: Case, place: str, needed: float) -> tuple[float, float] | None:
    """Frequency [Hz] at which a head [m] is held at a closed valve, by what was read at another.

    With what it may be off by [Hz]: the gauges' share, the last digit of the frequency, and slip
    as far as it is not the same. None where the reading is not whole, or not on the curve.
    """
    try:
        point, read = on_curve.measured(case, place), case.quantity(f"{place}/frequency")
        if read.si <= 0 or point.flow > 0 or point.head <= 0:  # gauges that were exchanged
            return None
        if not on_curve.fits_closed(case, point):
            return None
    except (Missing, Waits):
        return None
    ratio = sqrt(needed / point.head)
    speed = pumping.speed(case, read.si, 0.0)
    frequency = pumping.frequency(case, speed * ratio, 0.0)
    by_gauge = duty.gauge_uncertainty(case, place, point.head) / 2 * frequency
    by_slip = pumping.frequency_uncertainty(case, speed * ratio, 0.0) * abs(1 - 1 / ratio)
    return frequency, by_gauge + by_slip + read.resolution * ratio


@once
def proposal(case: Case) -> Proposal:
    """What to set, rounded up to 0.1 Hz as a drive is set; the lowest looked at if none fits.

    Above zero flow at the lowest suction by the usual room, and not below the minimum frequency,
    what the pump permits, nor where its minimum continuous flow is kept. Where the pump still
    delivers too much there, by the minimum frequency alone, and then by the least room. First what
    `loop.sleep-window` says nothing of, though a minimum flow may give way; then what it notes.
    """
    zero_flow_ = zero_flow(case).frequency
    least = case.limit("loop.sleep-window.least")
    usual = max(case.limit("loop.sleep-order.above"), least)
    lowest = case.find(MINIMUM)
    floor = lowest.si if lowest is not None else 0.0
    bearing = max(floor, _lowest_by_manual(case))
    by_flow = case.known("speed.at-minimum-continuous-flow") or bearing
    best = max(zero_flow_ + usual, bearing, by_flow)
    quiet = [
        best, max(zero_flow_ + least, bearing, by_flow),
        max(zero_flow_ + usual, bearing), max(zero_flow_ + least, bearing),
    ]  # fmt: skip
    tried = [best, max(zero_flow_ + usual, floor), max(zero_flow_ + least, floor)]
    frequencies = [ceil(each * 10 - 1e-6) / 10 for each in (*quiet, *tried)]
    mosts = ["share"] * len(quiet) + ["beyond"] * len(tried)
    fitting = next(
        (each for each, most in zip(frequencies, mosts, strict=True) if _fits(case, each, most)),
        None,
    )
    return Proposal(frequencies[-1] if fitting is None else fitting, fitting is not None)


def _lowest_by_manual(case: Case) -> float:
    """Lowest frequency [Hz] by the pump's manual, as far as is known."""
    stated = map(case.find, ("/pump/minimum_frequency_permitted", "/pump/bearing_frequency"))
    return max(0.0, *(each.si if each is not None else 0.0 for each in stated))


def at_minimum_flow(case: Case, end: End) -> float:
    """Frequency [Hz] below which the minimum continuous flow is not kept."""
    least = case.si("/pump/minimum_continuous_flow")
    falls = holding.is_kept_from_a_well(case)
    curve = pumping.curve(case)
    speed = operating_region.speed_at_minimum_flow(
        curve=curve,
        minimum_flow=least,
        required_head=holding.required_head(case, "high" if falls else end),
        drawdown=holding.drawdown(case, least) if falls else 0.0,
    )
    if speed is None:
        raise Missing("/pump/curve_points", because="the minimum flow lies beyond the curve")
    return pumping.frequency(case, speed, least * speed / curve.speed)


def _fits(case: Case, frequency: float, most: str = "beyond") -> bool:
    """Whether a sleep frequency is below the maximum and delivers little; True if not known."""
    highest = case.find(MAXIMUM)
    if highest is not None and frequency >= highest.si:
        return False
    try:
        at = frequency - zero_flow(case).above_curve
        flows = [flow_at_set_point(case, at, end) for end in suction.ENDS]
        best = best_flow(case, frequency)
    except (Missing, Waits):
        return True
    if is_its_share(case, flows[0]):
        return False
    shares = zip(flows, ("busy", most), strict=True)
    return not best or all(
        flow <= case.limit(f"loop.sleep-window.{name}") * best for flow, name in shares
    )


def is_its_share(case: Case, flow: float) -> bool:
    """Whether a flow [m3/s] is the pump's share of the design flow, or more."""
    wanted = case.find("/site/system_design_flow")
    return wanted is not None and not below(flow, wanted.si / group.sharing(case))


def best_flow(case: Case, frequency: float) -> float | None:
    """Best-efficiency flow [m3/s] at a frequency [Hz]."""
    curve, speed = pumping.curve(case), pumping.speed(case, frequency)
    stated = case.find("/pump/best_efficiency_flow")
    if stated is not None:
        return float(stated.si * speed / curve.speed)
    return curve.best_efficiency_flow(speed=speed)


@once
def flow_at_set_point(
    case: Case, frequency: float, end: End, pressure: float | None = None
) -> float:
    """Flow of the pump [m3/s] while it keeps a pressure [Pa], else the set point, at a frequency.

    Out of a well the head grows with the flow, from that at the static level, and to a remote
    sensor by what the main loses.
    """
    falls = holding.is_kept_from_a_well(case)
    head = loop.required_head(case, "high" if falls else end, pressure)
    grows = holding.drawdown(case, 1.0) if falls else remote_loss(case)
    exponent = 1.0 if falls else TURBULENT_EXPONENT

    def at(speed: float) -> float:
        return _flow_at_head(case, speed, head, grows, exponent)

    return at(pumping.speed_where(case, frequency, at))


@once
def remote_loss(case: Case) -> float:
    """What the main loses up to a remote sensor [m per (m3/s)^2]; 0 beside the pump.

    The system's design head less what the set point takes without flow; 0 where that is not known.
    """
    design = [case.find(f"/site/system_design_{name}") for name in ("flow", "head")]
    if not loop.is_remote(case) or None in design:
        return 0.0
    flow, head = design
    lost: float = head.si - loop.required_head(case, "low")
    each: float = max(lost, 0.0) / flow.si**TURBULENT_EXPONENT
    return each


def least_flow(case: Case, frequency: float, end: End) -> float:
    """What flows at the least at the set point [m3/s], as zero flow and slip are uncertain."""
    found = zero_flow(case)
    at = frequency - found.above_curve - found.off.more
    return flow_at_set_point(case, at, end) if at > 0 else 0.0


def _flow_at_head(
    case: Case, speed: float, head: float, grows: float = 0.0, exponent: float = TURBULENT_EXPONENT
) -> float:
    """Flow [m3/s] at a speed [1/s] and a head [m], which grows with a power of the flow."""
    curve = pumping.curve(case)
    if curve.heads.falls and head >= 0 and grows == 0:
        flow = curve.flow_at_head(head=head, speed=speed)
    elif head >= curve.shut_off_head(speed=speed):
        flow = 0.0
    else:
        needed = FrictionCurve(head, grows, exponent)
        met = duty_points(curve=curve, system=needed, speed=speed, extrapolate=True).points
        flow = met[-1].pump_flow if met else None
    if flow is None:
        raise Missing("/pump/curve_points", because="the set point lies beyond the curve")
    return flow
