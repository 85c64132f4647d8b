"""What changed since the visit of the year before."""

from . import systems, visits
from .checks import readings
from .mistakes import mistake, number, times
from .stand import Entered
from .stations import Point


def _worn(e: Entered, head: float, power: float) -> bool | None:
    points = None if e.earlier is None else systems.again(e.station, head, power)
    if points is None or not _can_be_compared(e.station.points, points):
        return False
    e.document["event"]["duty_points"] = [
        visits.duty_point(e.station, e.document, each) for each in points
    ]
    return None


def _can_be_compared(before: list[Point], now: list[Point]) -> bool:
    """Whether two points run at about the flows of the year before, at one speed."""
    shares = [b.flow / b.speed * a.speed / a.flow for b, a in zip(before, now, strict=True)]
    return sum(abs(share - 1) < 0.07 for share in shares) > 1


@mistake("worn rings: head lost since the year before", "trend.head")
def head_lost(e: Entered) -> bool | None:
    return _worn(e, 0.86, 0.98)


@mistake("rubbing: more power than the year before", "trend.efficiency")
def power_gained(e: Entered) -> bool | None:
    if e.station.suction == "well":
        return False  # its efficiency is good to some 13 % only
    return _worn(e, 1.0, 1.14)


@mistake("insulation that fell since the year before", "trend.insulation")
def insulation_fell(e: Entered) -> bool | None:
    if e.earlier is None:
        return False
    then = e.earlier["event"]["motor_tests"]["insulation"]
    for name in ("resistance_30_s", "resistance_1_min", "resistance_10_min"):
        if name in then:
            then[name] = times(then[name], e.chance.uniform(4, 9), 2)
    return None


@mistake("a sensor that drifts towards its tolerance", "trend.sensor")
def drifts(e: Entered) -> bool | None:
    sensor = e.document["sensors"][0]
    now, then = (
        (each["event"].get("sensor_verifications") or [None])[0] if each else None
        for each in (e.document, e.earlier)
    )
    if not now or not then or "as_left" in now or "as_left" in then:
        return False
    tolerance = number(sensor["tolerance_percent_of_span"]) / 100
    if tolerance * 16 < 0.06:
        return False
    for check, share in ((then, 0.1), (now, 0.85)):
        check["as_found"] = readings(e.station.pen, sensor, e.settings, share * tolerance, 0.0, 0.0)
    return None
