"""The sleep frequency that makes sense: within reach, and where little is still delivered."""

from math import ceil
from typing import NamedTuple

from calculations import operating_region
from calculations.aspects import group, holding, loop, pumping, suction
from calculations.aspects.suction import End
from calculations.case import Case, Missing, Waits, once
from calculations.duty_points import duty_points
from calculations.rules.closeness import below
from calculations.system_curves import FrictionCurve

MINIMUM, MAXIMUM = "/settings/minimum_frequency", "/settings/maximum_frequency"


class Proposal(NamedTuple):
    """A sleep frequency [Hz], and whether it puts the pump to sleep in time and not too early."""

    frequency: float
    fits: bool


@once
def proposal(case: Case) -> Proposal:
    """What to set, rounded up to 0.1 Hz as a drive is set; the lowest looked at if none fits.

    Above zero flow at the lowest suction by the usual room, and not below the minimum frequency,
    what the pump permits, nor where its minimum continuous flow is kept. Where the pump still
    delivers too much there, by the minimum frequency alone, and then by the least room.
    """
    zero_flow = holding.zero_flow_frequency(case, "low")
    least = case.limit("loop.sleep-window.least")
    usual = max(case.limit("loop.sleep-order.above"), least)
    lowest = case.find(MINIMUM)
    floor = lowest.si if lowest is not None else 0.0
    tried = (
        max(zero_flow + usual, floor, _lowest_for_the_pump(case)),
        max(zero_flow + usual, floor),
        max(zero_flow + least, floor),
    )
    frequencies = [ceil(each * 10 - 1e-6) / 10 for each in tried]
    fitting = next((each for each in frequencies if _fits(case, each)), None)
    return Proposal(frequencies[-1] if fitting is None else fitting, fitting is not None)


def _lowest_for_the_pump(case: Case) -> float:
    """Lowest frequency [Hz] by the pump's manual and its minimum flow, as far as is known."""
    stated = map(case.find, ("/pump/minimum_frequency_permitted", "/pump/bearing_frequency"))
    by_flow = case.known("speed.at-minimum-continuous-flow")
    return max(by_flow or 0.0, *(each.si if each is not None else 0.0 for each in stated))


def at_minimum_flow(case: Case, end: End) -> float:
    """Frequency [Hz] below which the minimum continuous flow is not kept."""
    least = case.si("/pump/minimum_continuous_flow")
    falls = holding.is_kept_from_a_well(case)
    speed = operating_region.speed_at_minimum_flow(
        curve=pumping.curve(case),
        minimum_flow=least,
        required_head=holding.required_head(case, "high" if falls else end),
        drawdown=holding.drawdown(case, least) if falls else 0.0,
    )
    if speed is None:
        raise Missing("/pump/curve_points", because="the minimum flow lies beyond the curve")
    return pumping.frequency(case, speed)


def _fits(case: Case, frequency: float) -> bool:
    """Whether a sleep frequency is below the maximum and delivers little; True if not known."""
    highest = case.find(MAXIMUM)
    if highest is not None and frequency >= highest.si:
        return False
    try:
        flows = [flow_at_set_point(case, frequency, end) for end in suction.ENDS]
        best = best_flow(case, frequency)
    except (Missing, Waits):
        return True
    if is_its_share(case, flows[0]):
        return False
    shares = zip(flows, ("busy", "beyond"), strict=True)
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

    Out of a well the head grows with the flow, from that at the static level.
    """
    curve, speed = pumping.curve(case), pumping.speed(case, frequency)
    falls = holding.is_kept_from_a_well(case)
    head = loop.required_head(case, "high" if falls else end, pressure)
    if head >= curve.shut_off_head(speed=speed):
        return 0.0
    needed = FrictionCurve(
        static_head=head, coefficient=holding.drawdown(case, 1.0) if falls else 0.0, exponent=1.0
    )
    met = duty_points(curve=curve, system=needed, speed=speed, extrapolate=True).points
    if not met:
        raise Missing("/pump/curve_points", because="the set point lies beyond the curve")
    return met[-1].pump_flow
