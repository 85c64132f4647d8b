"""A duty point as numbers: flow of this pump, its speed, its total head, and how well known."""

import math
from collections.abc import Mapping

from calculations import hydraulics
from calculations.aspects import instruments, liquid, pumping, suction
from calculations.case import Case, Missing, once
from calculations.hydraulics import Gauge
from calculations.system_curves import HAZEN_WILLIAMS_EXPONENT, hazen_williams_coefficient
from calculations.units import Quantity

SUPPLIED = "/event/supply/frequency"
POINTS = "/event/duty_points"
METER = (
    "/flow_meter/tolerance_percent_of_span", "/flow_meter/lower_range_value",
    "/flow_meter/upper_range_value",
)  # fmt: skip

Reread = Mapping[str, float]
AS_READ: Reread = {}

FLOW_UNCERTAINTY = {
    "installed_meter": 0.02,
    "strap_on": 0.05,
    "drawdown": 0.075,
    "volumetric": 0.02,
}
"""Expanded uncertainty of a flow by its method [1], where no instrument says more; from memory."""

UNKNOWN_FLOW_UNCERTAINTY = 0.05
PRESSURE_UNCERTAINTY = 0.01
"""Expanded uncertainty of a head where no gauge is named [1]; from memory."""

POWER_UNCERTAINTY = 0.02
SLIP_UNCERTAINTY = 0.005
"""Least that a speed by slip may be off by where none was measured [1]; common practice."""

RISING_PIPE_ROUGHNESS = 130.0
"""Hazen-Williams C of a rising pipe [1]; common practice."""


@once
def flow(case: Case, place: str) -> float:
    """Flow of this pump alone [m3/s]."""
    value = case.si(f"{place}/flow")
    others = case.find(f"{place}/other_pumps_running")
    if others and case.is_(f"{place}/flow_method", "installed_meter"):
        raise Missing(f"{place}/flow", because="other pumps ran on the same meter")
    return value


@once
def speed(case: Case, place: str) -> float:
    """Speed of the pump [1/s]: measured, else by the slip of its load at the flow as read."""
    read = case.find(f"{place}/speed")
    if read is not None and read.si > 0 and case.find(f"{place}/speed_measured"):
        return float(read.si) / pumping.transmission(case)
    frequency = case.si(at_frequency(case, place))
    if frequency <= 0:
        raise Missing(f"{place}/frequency", because="the pump stands still")
    return pumping.speed(case, frequency, _own_flow(case, place))


def _own_flow(case: Case, place: str) -> float | None:
    """Flow [m3/s] that loads the motor; None where it is not known."""
    try:
        return flow(case, place)
    except Missing:
        return 0.0 if case.is_(f"{place}/purpose", "shut_off") else None


def at_frequency(case: Case, place: str) -> str:
    """Where the frequency of a duty point stands: without a drive it is that of the supply."""
    own = f"{place}/frequency"
    return SUPPLIED if case.fixed_speed and case.find(own) is None else own


def _bore(case: Case, place: str, side: str) -> float:
    read = case.find(f"{place}/bore_{side}")
    return float(read.si) if read is not None else case.si(f"/pump/bore_{side}")


def gauge(case: Case, place: str, side: str, reread: Reread = AS_READ) -> Gauge:
    """The suction or discharge gauge of a duty point."""
    needed = (f"{place}/{side}_pressure", f"{place}/{side}_gauge_elevation")
    pressure, elevation = case.require(*needed)
    if not reread:
        return Gauge(pressure.si, elevation.si, _bore(case, place, side))
    read = reread.get(f"{side}_pressure", pressure.si)
    height = reread.get(f"{side}_gauge_elevation", elevation.si)
    return Gauge(read, height, _bore(case, place, side))


def total_head(case: Case, place: str, reread: Reread = AS_READ) -> float:
    """Total head of the pump [m], from gauges, or from the level that it draws from.

    `reread` are readings taken otherwise than entered, in SI, to try an explanation.
    """
    return _total_head(case, place, reread) if reread else _head_as_read(case, place)


@once
def _head_as_read(case: Case, place: str) -> float:
    return _total_head(case, place, AS_READ)


def _total_head(case: Case, place: str, reread: Reread) -> float:
    discharge = gauge(case, place, "discharge", reread)
    through = reread.get("flow", flow(case, place))
    density = liquid.density(case)
    if case.find(f"{place}/suction_pressure") is not None:
        inlet = gauge(case, place, "suction", reread)
        return hydraulics.total_head(
            flow=through, suction=inlet, discharge=discharge, density=density
        ).total
    return hydraulics.total_head_from_level(
        flow=through, water_level=water_level(case, place, reread), discharge=discharge,
        density=density,
        pipe_loss=_rising_pipe_loss(case, through) + _suction_loss(case, through),
    ).total  # fmt: skip


def water_level(case: Case, place: str, reread: Reread = AS_READ) -> float:
    """Elevation of the surface that the pump draws from [m over the site datum]."""
    level, depth = case.find(f"{place}/suction_level"), case.find(f"{place}/suction_level_depth")
    if level is not None:
        return reread.get("suction_level", float(level.si))
    if depth is not None:
        suction.require_datum(case)  # it counts from there, gauges may not
        return -reread.get("suction_level_depth", float(depth.si))
    raise Missing(f"{place}/suction_pressure", f"{place}/suction_level")


def _rising_pipe_loss(case: Case, flow: float) -> float:
    """Friction from a well pump up to the gauge at the well head [m]; 0 where unknown."""
    depth, bore = case.find("/site/pump_setting_depth"), case.find("/pump/bore_discharge")
    if depth is None or bore is None or not case.is_("/site/suction_kind", "well"):
        return 0.0
    suction.require_fit(case, suction.SETTING_DEPTH)
    coefficient = hazen_williams_coefficient(
        length=depth.si, bore=bore.si, roughness=RISING_PIPE_ROUGHNESS
    )
    return coefficient * float(flow**HAZEN_WILLIAMS_EXPONENT)


def _suction_loss(case: Case, flow: float) -> float:
    """Friction from the surface to the pump [m]: the pump's work as well; 0 where unknown."""
    try:
        return suction.loss(case, flow)
    except Missing:
        return 0.0


# -- how well known -------------------------------------------------------------------------------


@once
def flow_uncertainty(case: Case, place: str) -> float:
    """Expanded uncertainty of the flow as a share of it [1]."""
    read = case.quantity(f"{place}/flow")
    share = flow_accuracy(case, place, read) or usual_flow_accuracy(case, place)
    return share + _rounding(read)


def flow_accuracy(case: Case, place: str, read: Quantity) -> float | None:
    """Uncertainty of what the flow was read with, as a share of it [1]; None if not recorded."""
    method = case.find(f"{place}/flow_method")
    if method == "installed_meter":
        return _meter_uncertainty(case, read.si) or None
    if method == "strap_on":
        return _instrument(case, place, ("flow_strap_on",), read) or None
    return None


def usual_flow_accuracy(case: Case, place: str) -> float:
    """Uncertainty of a flow by its method, as a share of it [1]."""
    method = str(case.find(f"{place}/flow_method"))
    return FLOW_UNCERTAINTY.get(method, UNKNOWN_FLOW_UNCERTAINTY)


def _meter_uncertainty(case: Case, reading: float) -> float | None:
    tolerance, low, high = map(case.find, METER)
    if tolerance is None or low is None or high is None or reading <= 0 or high.kind != "flow":
        return None
    return float(tolerance.si * abs(high.si - low.si) / reading)


@once
def head_uncertainty(case: Case, place: str, head: float) -> float:
    """Expanded uncertainty of the total head as a share of it [1]."""
    if head <= 0:
        return math.inf
    measured = case.find(f"{place}/speed_measured") and case.find(f"{place}/speed")
    by_speed = 0.0 if measured else 2 * _speed_uncertainty(case, place)
    return math.hypot(gauge_uncertainty(case, place, head), by_speed)


def gauge_uncertainty(case: Case, place: str, head: float) -> float:
    """Expanded uncertainty of a head above zero [m] by its gauges alone, as a share of it [1]."""
    read = [case.find(f"{place}/{side}_pressure") for side in ("suction", "discharge")]
    pressures = [each for each in read if each is not None]
    shares = [_pressure_uncertainty(case, place, each) for each in pressures]
    return math.hypot(*shares) / liquid.pressure(case, head)


def _speed_uncertainty(case: Case, place: str) -> float:
    """What a speed by the slip of its load may be off by [1]; small motors slip much."""
    off = pumping.frequency_uncertainty(case, speed(case, place), _own_flow(case, place))
    return max(SLIP_UNCERTAINTY, off / case.si(at_frequency(case, place)))


def _pressure_uncertainty(case: Case, place: str, read: Quantity) -> float:
    """Expanded uncertainty of a pressure [Pa], rounding included."""
    share = pressure_accuracy(case, place, read)
    return (PRESSURE_UNCERTAINTY if share is None else share) * abs(read.si) + read.resolution


def pressure_accuracy(case: Case, place: str, read: Quantity) -> float | None:
    """Uncertainty of the gauge, as a share of its reading [1]; None where none is recorded."""
    return _instrument(case, place, ("pressure_gauge", "pressure_calibrator"), read)


def power_uncertainty(case: Case, place: str, read: Quantity) -> float:
    """Expanded uncertainty of an electrical power as a share of it [1]."""
    share = power_accuracy(case, place, read)
    return (POWER_UNCERTAINTY if share is None else share) + _rounding(read)


def power_accuracy(case: Case, place: str, read: Quantity) -> float | None:
    """Uncertainty of the analyser, as a share of its reading [1]; None where none is recorded."""
    return _instrument(case, place, ("power_analyser",), read)


def _instrument(case: Case, place: str, kinds: tuple[str, ...], read: Quantity) -> float | None:
    """Uncertainty of the point's instrument of one of `kinds`, as a share of the reading [1]."""
    for named in case.find(f"{place}/instruments") or ():
        found = case.instrument(named)
        if found is None or found[1].kind not in kinds or read.si == 0:
            continue
        try:
            return instruments.instrument_share(case, found[0], read)
        except Missing:
            continue
    return None


def _rounding(read: Quantity) -> float:
    return read.resolution / abs(read.si) if read.si else 0.0
