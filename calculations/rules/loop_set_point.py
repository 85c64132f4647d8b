"""Rules of the set point: its unit, and whether the pump can hold it."""

from collections.abc import Iterator
from math import log

from calculations.aspects import group, known_aims, liquid, loop, pumping, sleeping, suction, system
from calculations.case import Case, Missing, Waits
from calculations.derived.duty import HEAD_UNIT
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, each_alone, show
from calculations.rules.closeness import above, below
from calculations.rules.loop_signal import AT_LOWER, AT_UPPER, shown
from calculations.rules.speed_limits import MAXIMUM, RESTS_ON_CURVE
from calculations.units import Quantity, to_si

SET_POINT, WAKE = loop.SET_POINT, "/settings/wake_value"
CHAIN = ("loop.signal-type", "loop.input-selector", "loop.scaling")
"""What has to be right before values of the feedback mean anything."""

SCALED = ("loop.signal-type", "loop.scaling")
"""What has to be right before settings of the loop mean anything: they are numbers of the scaling,
whatever terminal or switch the feedback comes in by."""

MIXED_UP = {
    "psi": ("bar", "kPa", "ftH2O"),
    "bar": ("psi", "kPa", "mH2O"),
    "kPa": ("bar", "psi", "mH2O"),
    "MPa": ("bar", "psi"),
    "ftH2O": ("psi",),
    "mH2O": ("bar", "kPa"),
    "kgf/cm2": ("psi", "kPa"),
}
"""Units of pressure that are met on the same gauges, and taken for each other."""

NEIGHBOURS = (AT_UPPER, WAKE, "/regulating_sensor/upper_range_value",
              "/settings/high_discharge_limit", "/settings/low_discharge_limit")  # fmt: skip
"""What is written in the unit that the set point was probably meant in."""

NEIGHBOURS_FIT_WITHIN = 0.40
"""The same of the unit that the scale and its neighbours are in: more than that is odd anyhow."""

FITS_WITHIN = 0.10
"""How near the expected pressure another unit must bring the set point, as a share of it or of the
pump's head, the larger of the two [1]: in a deep well the pressure is the small rest; no source."""


KNOWN_WITHIN = 0.02
"""How near a set point that is known must be to explain one as read in another unit [1]; no
source: digits are rounded in converting."""


# -- unit ---------------------------------------------------------------------------------------


def _odd(case: Case, pressure: float) -> str | None:
    """What is odd about a set point [Pa]; None where nothing is, as far as is known."""
    if _below_suction(case, pressure):
        return "below_suction"
    if _outside_span(case, pressure):
        return "outside_span"
    if _above_shut_off(case, pressure):
        return "above_shut_off"
    least = case.find("/site/minimum_service_pressure")
    if least is not None and below(pressure, least.si):
        return "below_service"
    return None


def _below_suction(case: Case, pressure: float) -> bool:
    """Whether even the lowest suction holds it without the pump."""
    height = loop.set_point_elevation(case)
    return not above(pressure, suction.pressure(case, "low", height))


def _outside_span(case: Case, pressure: float) -> bool:
    if case.find(AT_LOWER) is None or case.find(AT_UPPER) is None:
        return False
    share = loop.displayed_range(case).share(pressure)
    return not 0 <= share <= 1


def _above_shut_off(case: Case, pressure: float) -> bool:
    highest = case.find(MAXIMUM)
    if highest is None or case.find("/pump/curve_points") is None:
        return False
    needed = loop.required_head(case, "high", pressure)
    return above(liquid.pressure(case, needed), pumping.shut_off_pressure(case, highest.si))


def _expected(case: Case) -> float | None:
    """Pressure [Pa] that the station is laid out for, at the height of the set point."""
    head = case.find("/site/system_design_head")
    if head is None:
        return None
    middle = (suction.grade(case, "low") + suction.grade(case, "high")) / 2
    return liquid.pressure(case, middle + head.si - loop.set_point_elevation(case))


def _part_of_head(case: Case, expected: float | None) -> float:
    """Expected pressure over that of the design head [1], at most 1."""
    head = case.find("/site/system_design_head")
    if head is None or not expected:
        return 1.0
    return min(expected / liquid.pressure(case, head.si), 1.0)


def _rest_at_no_flow(case: Case) -> float:
    """What is kept at no flow over what is kept at the design flow [1]; 1 where it is the same.

    A unit that both were mistaken in does not matter here.
    """
    ends = [case.find(f"{loop.COMPENSATION}/{name}") for name in loop.COMPENSATED]
    if any(each is None or each.kind != "pressure" for each in ends):
        return 1.0
    zero, design = (each.si for each in ends)
    return float(zero / design) if 0 < zero < design else 1.0


def _apart(read: float, expected: float, rest: float) -> float:
    """How far a pressure is from what is kept at the design flow or at no flow [1], the nearer."""
    return min(abs(log(read / expected)), abs(log(read / (expected * rest))))


def _unit_that_fits(case: Case, entered: Quantity) -> str | None:
    """The unit in which the digits entered make a set point with nothing odd about it."""
    known = _unit_of_known(case, entered)
    if known is not None:
        return known
    expected = _expected(case)
    part, rest = _part_of_head(case, expected), _rest_at_no_flow(case)
    good: dict[str, float] = {}
    for unit in MIXED_UP.get(entered.unit, ()):
        read = to_si(float(entered.value), unit)
        if read <= 0 or _odd(case, read):
            continue
        good[unit] = part * _apart(read, expected, rest) if expected and expected > 0 else 0.0
    for unit in _units_beside(case):
        if good.get(unit, NEIGHBOURS_FIT_WITHIN) < NEIGHBOURS_FIT_WITHIN:
            return unit
    best = min(good, key=lambda unit: good[unit], default=None)
    if best and good[best] <= FITS_WITHIN:
        return best
    shown_by_gauges = _read_in_another_unit(case, entered)
    return shown_by_gauges[0] if shown_by_gauges else None


def _unit_of_known(case: Case, entered: Quantity) -> str | None:
    """The unit in which the digits are a set point as found, as once left, or of a neighbour."""
    known = [each.si for _, each in known_aims.known(case, "pressure")]
    for unit in MIXED_UP.get(entered.unit, ()):
        read = to_si(float(entered.value), unit)
        if any(abs(read - each) <= KNOWN_WITHIN * each for each in known):
            return unit
    return None


def _units_beside(case: Case) -> list[str]:
    """Units of what stands beside the set point, the drive's scale first."""
    found = (case.find(each) for each in NEIGHBOURS)
    return [each.unit for each in found if each is not None and each.kind == "pressure"]


def _set_point_unit(case: Case, place: str) -> Iterator[Finding]:
    of_each = _flow_unit_of if case.is_("/settings/regulated_quantity", "flow") else _unit_of
    return each_alone(*(of_each(case, each) for each in (SET_POINT, *loop.alternatives(case))))


def _flow_unit_of(case: Case, pointer: str) -> Iterator[Finding]:
    entered = case.quantity(pointer)
    meant = known_aims.flow_meant(case, entered) if entered.kind == "flow" else None
    if meant is None:
        return
    unit, aim = meant
    yield SET_POINT_UNIT.finding(
        "flow_unit", "review", case.place(pointer),
        compared={"set_point": entered, "flow": aim.flow},
        read=f"{entered.value} {unit}", which=loop.which(case, pointer), what=aim.words,
        same=about(to_si(float(entered.value), unit), entered.unit),
    )  # fmt: skip


def _unit_of(case: Case, pointer: str) -> Iterator[Finding]:
    entered, pressure = case.quantity(pointer), loop.process_value(case, pointer)
    odd = _odd(case, pressure)
    if odd is None:
        if pointer == SET_POINT and entered.kind == "pressure":
            yield from _beside_others(case, entered)
        return
    unit = _unit_that_fits(case, entered) if entered.kind == "pressure" else None
    if unit is None and odd != "below_suction":
        return
    at = suction.pressure(case, "low", loop.set_point_elevation(case))
    yield SET_POINT_UNIT.finding(
        f"{odd}_unit" if unit else odd,
        "stop" if unit or pointer == SET_POINT else "review", case.place(pointer),
        compared={"set_point": entered, "suction": shown(case, at)},
        read=f"{entered.value} {unit}" if unit else "", which=loop.which(case, pointer),
        same=about(to_si(float(entered.value), unit), entered.unit) if unit else "",
    )  # fmt: skip


def _beside_others(case: Case, entered: Quantity) -> Iterator[Finding]:
    """A set point with nothing odd about it but that wake value, or gauges, are in another unit."""
    wake = _passed(case, entered)
    read = _read_in_another_unit(case, entered)
    unit = read[0] if read else _unit_that_fits(case, entered) if wake is not None else None
    if unit is None or unit not in _units_beside(case):
        return
    if wake is not None and not below(wake.si, to_si(float(entered.value), unit)):
        return
    beside: dict[str, Shown | Quantity] = {"set_point": entered}
    if read is not None:
        beside["gauge"] = read[1]
    elif wake is not None:
        beside["wake"] = wake
    yield SET_POINT_UNIT.finding(
        "read_unit" if read else "wake_unit", "review", case.place(SET_POINT),
        compared=beside, which=loop.which(case, SET_POINT),
        read=f"{entered.value} {unit}",
        same=about(to_si(float(entered.value), unit), entered.unit),
    )  # fmt: skip


def _passed(case: Case, entered: Quantity) -> Quantity | None:
    """The wake value where the set point is not above it; None where it is, or nobody can tell."""
    wake: Quantity | None = case.find(WAKE)
    absolute = wake is not None and case.is_("/settings/wake_basis", "absolute")
    if wake is None or not absolute or wake.kind != "pressure" or below(wake.si, entered.si):
        return None
    return wake


def _read_in_another_unit(case: Case, entered: Quantity) -> tuple[str, Quantity] | None:
    """The unit in which the digits are what gauges showed in service at every point, and one."""
    try:
        read = known_aims.pressures_read(case)
    except (Missing, Waits):
        return None
    beside = _units_beside(case)
    for unit in filter(beside.__contains__, MIXED_UP.get(entered.unit, ())):
        meant = to_si(float(entered.value), unit)  # twice as much, or half, at the least
        if read and meant > 0 and all(abs(si / meant - 1) <= FITS_WITHIN for _, si in read):
            return unit, read[0][0]
    return None


_ODD = {
    "below_suction": "{which} {set_point} is not above the lowest suction pressure of {suction} "
    "at its height: the pump would never run.",
    "outside_span": "{which} {set_point} lies outside the span of the feedback.",
    "above_shut_off": "{which} {set_point} is more than the pump reaches at its maximum "
    "frequency, even without flow and with the highest suction.",
    "below_service": "{which} {set_point} is below the minimum service pressure.",
}

SET_POINT_UNIT = Rule(
    id="loop.set-point-unit",
    title="Unit of the set point",
    severities=("stop", "review"),
    condition="The set point, and every alternative (review where no unit explains it), is above "
    "what the lowest suction holds by itself, and no other unit of pressure makes sense of a set "
    "point that is outside the span, out of the pump's reach or below the minimum service "
    "pressure (or, as a review, in a unit that all beside it is written in, of one that is not "
    "above the wake value, or whose digits are within 10 % what gauges showed at every point of "
    "service): by the set point that was found, was left at the first visit, or that a pump set on "
    "the same header keeps (within 2 %), else by what the station is laid out for. The digits of "
    "a flow that is kept are not, in another unit, such a set point within 5 %, nor a flow read in "
    "ordinary service or the design flow where flows of the station are written in that unit "
    "(review); up to 1.5 times apart it is a choice.",
    source="hydrostatics; definitions of the units",
    subject=SET_POINT,
    needs=(SET_POINT, "/settings/regulated_quantity"),
    waits_for=(*SCALED, *RESTS_ON_CURVE),
    applies=lambda case: loop.regulates(case, "discharge_pressure", "flow"),
    check=_set_point_unit,
    sentences={
        "below_suction": _ODD["below_suction"],
        "flow_unit": "Probably {read}. {which} {set_point} is far from {what} ({flow}), which its "
        "digits are in that unit.",
    }
    | {f"{name}_unit": "Probably {read}. " + sentence for name, sentence in _ODD.items()}
    | {
        "wake_unit": "Probably {read}. {which} {set_point} is not above the wake value {wake}; in "
        "that unit it is, and everything beside it is written in that.",
        "read_unit": "Probably {read}. {which} {set_point} is far from the {gauge} that the gauge "
        "showed in service, which its digits are in that unit.",
    },
    remedies={"below_suction": "Set the set point in the unit that the drive shows."}
    | dict.fromkeys(
        ("flow_unit", "wake_unit", "read_unit"),
        "Look which unit the drive shows. If {read} is meant, set {same} in the unit that is "
        "shown, or correct what is written down.",
    )
    | {
        f"{name}_unit": "Set the set point to {read}, that is {same}, in the unit that is shown."
        for name in _ODD
    },
)


# -- reachable ----------------------------------------------------------------------------------


REACHED = ("discharge_pressure", "differential_pressure", "flow")


def _reachable(case: Case, place: str) -> Iterator[Finding]:
    on_flow = case.is_("/settings/regulated_quantity", "flow")
    of_each = _flow_reachable if on_flow else _pressure_reachable
    return each_alone(*(of_each(case, each) for each in (SET_POINT, *loop.alternatives(case))))


def _flow_reachable(case: Case, pointer: str) -> Iterator[Finding]:
    highest, wanted = case.quantity(MAXIMUM), loop.process_value(case, pointer)
    flow = system.flow(case, highest.si, "low") * group.sharing(case)
    if flow == 0:
        raise Waits("speed.zero-flow")
    if not above(wanted, flow * (1 + case.limit("loop.set-point-reachable.flow"))):
        return
    yield REACHABLE.finding(
        "flow", "review", case.place(pointer),
        compared={
            "set_point": case.quantity(pointer),
            "maximum": highest,
            "flow": shown(case, flow),
        },
        which=loop.which(case, pointer),
    )  # fmt: skip


def _pressure_reachable(case: Case, pointer: str) -> Iterator[Finding]:
    highest, wanted_pressure = case.quantity(MAXIMUM), loop.process_value(case, pointer)
    place, which = case.place(pointer), loop.which(case, pointer)
    needed = loop.required_head(case, "low", wanted_pressure)
    curve = pumping.curve(case)
    available = curve.shut_off_head(speed=pumping.speed(case, highest.si, 0.0))
    at = pumping.zero_flow_frequency(case, needed)
    head_unit = HEAD_UNIT(case)
    compared: dict[str, Shown | Quantity] = {
        "set_point": case.quantity(pointer),
        "maximum": highest,
        "needed": show(needed, head_unit),
        "available": show(available, head_unit),
        "zero_flow": show(at, "Hz"),
    }
    if not below(needed, available):
        yield REACHABLE.finding("never", "review", place, compared=compared, which=which)
        return
    flow = sleeping.flow_at_set_point(case, highest.si, "low", wanted_pressure)
    wanted = _wanted_flow(case)
    if wanted and flow < wanted.si / group.sharing(case) * (
        1 - case.limit("loop.set-point-reachable.flow")
    ):
        compared |= {"flow": show(flow, wanted.unit), "wanted": wanted}
        yield REACHABLE.finding("little_flow", "note", place, compared=compared)


def _wanted_flow(case: Case) -> Quantity | None:
    found: Quantity | None = case.find("/site/system_design_flow")
    return found


REACHABLE = Rule(
    id="loop.set-point-reachable",
    title="Set point within the pump's reach",
    severities=("review", "note"),
    condition="At the maximum frequency and the lowest suction the pump holds the set point, and "
    "every alternative, at no flow, and at its share of the system's design flow (note, 10 % "
    "allowed); a flow that is kept is given on the system at the highest lift (10 % allowed).",
    source="affinity laws, HI engineering data, equation 1.B.6",
    subject=SET_POINT,
    needs=(SET_POINT, MAXIMUM, "/settings/regulated_quantity", "/pump/curve_points"),
    waits_for=(*SCALED, *RESTS_ON_CURVE, "speed.order", "loop.set-point-unit",
               "loop.set-point-in-span"),
    applies=lambda case: loop.regulates(case, *REACHED)
    and pumping.is_centrifugal(case),
    check=_reachable,
    limits={
        "flow": Limit(10, "%", "less than the design flow", "lower", "common practice"),
    },
    sentences={
        "never": "{which} {set_point} needs {needed} of head at the lowest suction; at {maximum} "
        "the pump gives {available} without any flow, it would need {zero_flow}.",
        "flow": "{which} {set_point} is more than the {flow} that the pump gives at {maximum} on "
        "this system at the highest lift.",
        "little_flow": "At {maximum} and the lowest suction the pump holds {set_point} up to "
        "{flow} only, less than its share of the design flow {wanted}.",
    },
    remedies=dict.fromkeys(
        ("never", "flow"),
        "Check the unit of the set point; lower it, or raise the maximum frequency if motor and "
        "pump allow it.",
    ),
)  # fmt: skip
