"""A suction gauge that shows absolute pressure, told by the site's suction and the pump's curve."""

from calculations.aspects import duty, liquid, pumping, suction
from calculations.aspects.duty import POINTS
from calculations.case import Case, Waits, once
from calculations.errors import CalculationError, InvalidInput

READING = "suction.reading"
"""The rule that tells it."""

ROOM = 0.25
"""Share of an atmosphere by which the site's suction may be passed [1]; no source."""

ON_CURVE = 0.08
"""Within what share of head a point counts as on its curve here [1]; no source."""


@once
def reads_absolute(case: Case, place: str) -> bool:
    """Whether a point's suction was read as absolute pressure.

    It shows more than the site's highest suction explains and no more without an atmosphere, and
    the head without it is that of the curve; or nearer to it, where another point of the visit,
    read by the same gauge, is explained so.
    """
    try:
        if not _is_an_atmosphere_too_high(case, place):
            return False
        read, meant = _off_the_curve(case, place)
        return meant < read and any(_is_explained(case, each) for each in case.elements(POINTS))
    except CalculationError:
        return False


def require_gauge(case: Case, place: str) -> None:
    """Raise `Waits` where that stands open: no head of this point holds."""
    if READING not in case.accepted and reads_absolute(case, place):
        raise Waits(READING)


def as_gauge(case: Case, place: str) -> float:
    """What an absolute suction gauge says at a point, as gauge pressure [Pa]."""
    return float(case.quantity(f"{place}/suction_pressure").si - liquid.atmosphere(case))


def is_vacuum_rather(case: Case, place: str) -> bool:
    """Whether a reading that may be absolute fits the curve better as a vacuum without its sign."""
    try:
        _, as_absolute = _off_the_curve(case, place)
        turned = {"suction_pressure": -case.si(f"{place}/suction_pressure")}
        expected = _expected(case, place)
        return abs(duty.total_head(case, place, turned) / expected - 1) < as_absolute
    except CalculationError:
        return False


def _is_an_atmosphere_too_high(case: Case, place: str) -> bool:
    height = case.si(f"{place}/suction_gauge_elevation")
    room = ROOM * liquid.atmosphere(case)
    lowest = suction.pressure(case, "low", height) - room
    highest = suction.pressure(case, "high", height) + room
    read, gauge = case.si(f"{place}/suction_pressure"), as_gauge(case, place)
    return read > highest and lowest <= gauge <= highest


def _is_explained(case: Case, place: str) -> bool:
    try:
        read, meant = _off_the_curve(case, place)
        return meant <= ON_CURVE < read and _is_an_atmosphere_too_high(case, place)
    except CalculationError:
        return False


@once
def _off_the_curve(case: Case, place: str) -> tuple[float, float]:
    """By what share of head a point is off its curve: as read, and less an atmosphere [1]."""
    expected = _expected(case, place)
    read = duty.total_head(case, place)
    meant = duty.total_head(case, place, {"suction_pressure": as_gauge(case, place)})
    return abs(read / expected - 1), abs(meant / expected - 1)


def _expected(case: Case, place: str) -> float:
    """Head of the curve at a point's flow and speed [m]."""
    closed = case.is_(f"{place}/purpose", "shut_off")
    flow = 0.0 if closed else duty.flow(case, place)
    expected = pumping.curve(case).head(flow=flow, speed=duty.speed(case, place))
    if not expected:
        raise InvalidInput("curve", "no head there")
    return expected
