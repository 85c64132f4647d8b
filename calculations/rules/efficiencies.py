"""Rules of the overall efficiency against the product of its parts."""

from collections.abc import Callable, Iterator
from math import hypot
from typing import NamedTuple

from calculations import motor_operation
from calculations.aspects import duty, liquid, load, pumping
from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing, Waits, once
from calculations.constants import STANDARD_GRAVITY
from calculations.derived.duty import wire_to_water
from calculations.errors import InvalidInput
from calculations.findings import Finding, Severity
from calculations.rule import Alike, Limit, Rule, entered, percent, rough_percent
from calculations.rules import apparent_power
from calculations.rules.closeness import Apart, above, below
from calculations.rules.measured_points import has_points
from calculations.rules.mix_ups import EXPLAINS, moved
from calculations.rules.speed_limits import RESTS_ON_CURVE
from calculations.rules.suction_absolute import require_gauge
from calculations.units import factor

DRIVE_EFFICIENCY = 0.97
"""Of a drive at the loads of a pump [1]; 2 to 4 % of loss are met, from memory."""

Motor = Callable[[Case, float], float]
"""Efficiency of the motor [1] at a shaft power [W]."""

POWER_SLIPS = {"kW": ("hp",), "hp": ("kW",), "W": ("kW",)}
MOVED = (0.1, 10.0)
MOVED_EXPLAINS = 0.25
"""How well a moved point must explain the ratio [1]: parts and readings leave that open."""


class Overall(NamedTuple):
    """Measured overall efficiency, the product of the parts, and their uncertainty [1]."""

    measured: float
    product: float
    uncertainty: float

    @property
    def ratio(self) -> float:
        """Measured over product."""
        return self.measured / self.product


@once
def overall(case: Case, place: str, motor: Motor) -> Overall:
    """Efficiency from wire to water of a point, and what pump, motor and drive should give."""
    uncertainty = _uncertainty(case, place)
    return Overall(wire_to_water(case, place), _product(case, place, motor), uncertainty)


@once
def _uncertainty(case: Case, place: str) -> float:
    """Expanded uncertainty of the efficiency as measured, as a share of it [1]."""
    read = case.quantity(load.power_place(case, place))
    head = duty.total_head(case, place)
    return hypot(
        duty.flow_uncertainty(case, place),
        duty.head_uncertainty(case, place, head),
        duty.power_uncertainty(case, place, read),
    )


def _product(case: Case, place: str, motor: Motor) -> float:
    """Pump's efficiency by its curve, times that of motor and drive [1]."""
    pump, shaft = _by_curve(case, place)
    return pump * motor(case, shaft) * (1.0 if case.fixed_speed else DRIVE_EFFICIENCY)


@once
def _by_curve(case: Case, place: str) -> tuple[float, float]:
    """Efficiency [1] and shaft power [W] that the pump's curve has at the point."""
    curve = pumping.curve(case)
    flow, speed = duty.flow(case, place), duty.speed(case, place)
    pump = curve.efficiency(flow=flow, speed=speed)
    shaft = curve.shaft_power(flow=flow, speed=speed, density=liquid.density(case))
    if not pump and shaft:
        head = curve.head(flow=flow, speed=speed)
        pump = head and liquid.density(case) * STANDARD_GRAVITY * flow * head / shaft
    if not pump or not shaft:
        raise Missing("/pump/curve_points", because="no efficiency and no power at this flow")
    return pump, shaft


def at_best(case: Case, shaft: float) -> float:
    """The most that is expected of a motor on a drive [1]: its efficiency at full load."""
    return case.si("/rating/efficiency")


def at_least(case: Case, shaft: float) -> float:
    """The least that is expected of it at a shaft power [W]: as at full speed and part load [1].

    On a drive it is better, since voltage and frequency fall with the load.
    """
    power, efficiency = case.require("/rating/power", "/rating/efficiency")
    return motor_operation.part_load_efficiency(
        full_load_efficiency=efficiency.si, load=min(shaft / power.si, 1.0)
    )


def _slip(case: Case, place: str, found: Overall) -> str:
    """The power in another unit, or with its point moved, that would explain the ratio."""
    read = case.quantity(load.power_place(case, place))
    if _is_loaded_so(case, place, found):
        return ""
    for unit in POWER_SLIPS.get(read.unit, ()):
        ratio = found.ratio * factor(read.unit) / factor(unit)
        if Apart(ratio).near(1, EXPLAINS + found.uncertainty):
            return f"{read.value} {unit}"
    for times in MOVED:
        if Apart(found.ratio / times).near(1, MOVED_EXPLAINS):
            return str(entered(moved(read, times)))
    return ""


LOADED = 0.15
"""From how much more current than the load explains a power of more is no slip of unit [1]: the
note of `load.current-expected`."""


def _is_loaded_so(case: Case, place: str, found: Overall) -> bool:
    """Whether the motor's current is high as well: then the motor does take that power."""
    if found.ratio >= 1:
        return False
    try:
        read = load.require_own_currents(case, place)
        return load.mean(read) > (1 + LOADED) * load.expected_current(case, place)
    except (Missing, Waits, InvalidInput):
        return False


def _finding(
    case: Case, rule: Rule, place: str, found: Overall, limit: str, severity: Severity = "review"
) -> Finding:
    read = _slip(case, place, found)
    return rule.finding(
        "unit" if read else "plain", severity, place,
        where=load.power_taken_at(case), parts=_parts(case),
        compared={"power": case.quantity(load.power_place(case, place))}, limit=limit, read=read,
        measured=percent(found.measured), product=percent(found.product),
        share=percent(found.ratio), uncertainty=rough_percent(found.uncertainty),
    )  # fmt: skip


def _parts(case: Case) -> str:
    return "pump and motor" if case.fixed_speed else "pump, motor and drive"


def _sum_of_parts(case: Case, place: str) -> Iterator[Finding]:
    if case.si(f"{place}/flow") == 0:
        return
    require_gauge(case, place)
    found = overall(case, place, at_best)
    limit = case.limit("efficiency.sum-of-parts.share")
    if above(found.ratio * (1 - found.uncertainty), limit):
        yield _finding(case, SUM_OF_PARTS, place, found, f"{percent(limit)} of the product")


def is_beyond_parts(case: Case, place: str) -> bool:
    """Whether a point is known to have more efficiency than its parts can give."""
    try:
        return bool(list(_sum_of_parts(case, place)))
    except (Missing, Waits, InvalidInput):
        return False


def _wire_to_water(case: Case, place: str) -> Iterator[Finding]:
    if case.si(f"{place}/flow") == 0:
        return
    require_gauge(case, place)
    found = overall(case, place, at_least)
    share, limit = map(
        case.limit, ("efficiency.wire-to-water.share", "efficiency.wire-to-water.note")
    )
    if below(found.ratio * (1 + found.uncertainty), limit):
        if not _slip(case, place, found):
            apparent_power.require_possible(case)
        severity: Severity = "note"
        if below(found.ratio * (1 + found.uncertainty), share):
            severity, limit = "review", share
        words = f"{percent(limit)} of the product"
        yield _finding(case, WIRE_TO_WATER, place, found, words, severity)


def _off_by(motor: Motor) -> Alike:
    """Efficiency as measured over the product of the parts [1]."""
    return lambda case, found: overall(case, found.subject, motor).ratio


_NEEDS = ("./flow", "/pump/curve_points", "/pump/rated_speed",
          "/rating/power", "/rating/efficiency")  # fmt: skip
_WAITS = ("motor.power-balance", *RESTS_ON_CURVE, "curve.point")
_SOURCE = "ISO 9906:2012, 3.2; 97 % for the drive, and limit, from memory"
_BODY = (
    "Overall efficiency is {measured} with {power} {where}; {parts} should give {product} together"
)

SUM_OF_PARTS = Rule(
    id="efficiency.sum-of-parts",
    title="Overall efficiency not above the product of its parts",
    severities=("review",),
    condition="Efficiency from the drive's input to the water is at most 110 % of pump by its "
    "curve times motor at full load times drive, the uncertainty of the readings granted.",
    source=_SOURCE,
    each=POINTS,
    needs=_NEEDS,
    waits_for=_WAITS,
    applies=has_points,
    check=_sum_of_parts,
    alike=_off_by(at_best),
    limits={"share": Limit(110, "%", "of the product", "lower", "from memory")},
    sentences={
        "unit": "Probably {read}. " + _BODY + ": more than the parts can give.",
        "plain": _BODY + ": {share} of that, which no parts can give. Flow, head or power is wrong "
        "(power of the display instead of the input reads 2 to 4 % low).",
    },
    remedies=dict.fromkeys(("unit", "plain"), "Check unit and place of the power, then the flow."),
)

WIRE_TO_WATER = Rule(
    id="efficiency.wire-to-water",
    title="Overall efficiency not far below the product of its parts",
    severities=("review", "note"),
    condition="Efficiency from the drive's input to the water is at least 80 % (note: 87 %) of "
    "pump by its curve times motor at this load times drive, the uncertainty of the readings "
    "granted.",
    source=f"{_SOURCE}; part-load loss of the motor: 10 CFR 431 Subpart Y Appendix A",
    each=POINTS,
    needs=_NEEDS,
    waits_for=(*_WAITS, "efficiency.sum-of-parts"),
    applies=has_points,
    check=_wire_to_water,
    alike=_off_by(at_least),
    limits={
        "share": Limit(80, "%", "of the product", "higher", "from memory"),
        "note": Limit(87, "%", "of the product, worth a note", "higher", "from memory"),
    },
    sentences={
        "unit": "Probably {read}. " + _BODY + ".",
        "plain": _BODY + ": {share} of that, beyond the {uncertainty} that the readings leave "
        "open.",
    },
    remedies={
        "unit": "Check unit and place of the power.",
        "plain": "Check flow and power; then wear, clogging and recirculation in the pump.",
    },
)
