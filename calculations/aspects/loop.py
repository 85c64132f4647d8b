"""The regulation: what it regulates, its feedback as true and as shown, its set point."""

from typing import NamedTuple

from calculations.aspects import kinds, liquid, suction
from calculations.case import Case, Missing, once
from calculations.constants import STANDARD_ATMOSPHERE
from calculations.errors import InvalidInput
from calculations.rules.scope import has_drive
from calculations.units import KINDS, Quantity, factor

PRESSURES = ("discharge_pressure", "suction_pressure", "differential_pressure")
LEVELS = ("level_filling", "level_emptying")


class Range(NamedTuple):
    """A lower and an upper value in SI."""

    low: float
    high: float

    @property
    def span(self) -> float:
        """Upper minus lower."""
        return self.high - self.low

    def at(self, share: float) -> float:
        """The value at a share of the span [1]."""
        return self.low + share * (self.high - self.low)

    def share(self, value: float) -> float:
        """The share of the span [1] that a value stands at."""
        span = self.high - self.low
        if span == 0:
            raise InvalidInput("span", "expected the ends of the range to differ")
        return (value - self.low) / span


# -- what is regulated ----------------------------------------------------------------------------


@once
def is_closed(case: Case) -> bool:
    """Whether the drive itself regulates, as far as is known."""
    return has_drive(case) and case.find("/settings/regulation") in (None, "closed_loop_in_drive")


@once
def is_known_closed(case: Case) -> bool:
    """Whether the drive is known to regulate by itself."""
    return has_drive(case) and case.is_("/settings/regulation", "closed_loop_in_drive")


@once
def reads_feedback(case: Case) -> bool:
    """Whether the drive acts by itself on what a transmitter tells it: regulates, starts, stops."""
    return is_closed(case) or (has_drive(case) and kinds.starts_on_level(case))


def regulates(case: Case, *quantities: str) -> bool:
    """Whether the loop may be one on any of `quantities`."""
    regulated = case.find("/settings/regulated_quantity")
    return is_closed(case) and (regulated is None or regulated in quantities)


def on_discharge_pressure(case: Case) -> bool:
    """Whether the loop may keep a discharge pressure."""
    return regulates(case, "discharge_pressure")


def keeps_discharge_pressure(case: Case) -> bool:
    """Whether the loop is known to keep a discharge pressure."""
    return is_known_closed(case) and case.is_("/settings/regulated_quantity", "discharge_pressure")


def keeps_pressure_of_pump(case: Case) -> bool:
    """Whether the loop is known to keep a discharge or a differential pressure."""
    kept = ("discharge_pressure", "differential_pressure")
    return is_known_closed(case) and case.is_("/settings/regulated_quantity", *kept)


def on_level(case: Case) -> bool:
    """Whether what the loop regulates, or its sensor measures, is a level."""
    return kinds.of_loop(case) == "length"


def more_speed_lowers(case: Case) -> bool:
    """Whether more speed lowers what is regulated: a level pumped down, a suction held up."""
    return case.is_("/settings/regulated_quantity", "level_emptying", "suction_pressure")


# -- the sensor -----------------------------------------------------------------------------------


@once
def measuring_range(case: Case, sensor: str = "/regulating_sensor") -> Range:
    """What a transmitter's signal stands for: gauge pressure, level as length, or as it is."""
    ends = case.require(f"{sensor}/lower_range_value", f"{sensor}/upper_range_value")
    regulating = sensor == kinds.REGULATING
    kind = kinds.of_loop(case) if regulating else kinds.of_sensor(case, sensor)
    offset = reference_offset(case, sensor)
    if offset and kind == "length":
        offset = liquid.head(case, offset)
    if regulating:
        return Range(*[kinds.range_end(case, each) + offset for each in ends])
    return Range(*[kinds.in_sensor(case, sensor, each) + offset for each in ends])


def reference_offset(case: Case, sensor: str) -> float:
    """Gauge pressure minus what the transmitter calls it [Pa]: absolute or sealed cells."""
    if case.is_(f"{sensor}/reference", "absolute"):
        return -liquid.atmosphere(case)
    if case.is_(f"{sensor}/reference", "sealed_gauge") and case.find("/site/elevation"):
        return STANDARD_ATMOSPHERE - liquid.atmosphere(case)
    return 0.0


@once
def datum_offsets(case: Case) -> tuple[float, ...] | None:
    """What may be added to the transmitter's value to get the value at the set point's datum.

    Two are possible where no datum is recorded; None where the height of datum or transmitter, or
    what it measures, is not known.
    """
    if kinds.of_loop(case) == "ratio":
        return (0.0,)
    if on_level(case):
        return _level_offsets(case)
    datum = case.find("/settings/set_point_datum")
    at_transmitter = datum is not None and datum in (
        "transmitter", case.find("/regulating_sensor/location"),
    )  # fmt: skip
    quantity = case.find("/regulating_sensor/quantity")
    if at_transmitter or quantity not in (None, "pressure"):
        return (0.0,)
    if quantity is None:
        return None
    if datum == "pump_datum":
        suction.require_datum(case)
        return (liquid.pressure(case, case.si("/regulating_sensor/tapping_elevation")),)
    if datum is not None:
        return None
    height = case.find("/regulating_sensor/tapping_elevation")
    return (0.0, liquid.pressure(case, height.si)) if height else None


@once
def shown_offset(case: Case) -> float | None:
    """What the drive's scaling adds to the transmitter's value; None where that is not known.

    Where the datum leaves it open, the scaling itself tells.
    """
    offsets = datum_offsets(case)
    if offsets is not None and len(offsets) == 1:
        return offsets[0]
    ends = ("/settings/feedback_at_lower_signal", "/settings/feedback_at_upper_signal")
    if any(case.find(end) is None for end in ends):
        return None
    shift = 0.0 if shows_percent(case) else displayed_range(case).low - measuring_range(case).low
    return shift if offsets is None else min(offsets, key=lambda each: abs(each - shift))


def _level_offsets(case: Case) -> tuple[float, ...] | None:
    reference = case.find("/settings/level_reference")
    if reference is None:
        return None
    if reference == "transmitter_zero":
        return (0.0,)
    zero = case.find("/regulating_sensor/zero_elevation")
    if zero is None and not case.is_("/regulating_sensor/quantity", "level"):
        zero = case.quantity("/regulating_sensor/tapping_elevation")  # of a pressure cell
    if zero is None:
        raise Missing(case.place("/regulating_sensor/zero_elevation"))
    return (zero.si - level_reference(case),)


def level_reference(case: Case) -> float:
    """Elevation that levels in the settings count from [m over the site datum]."""
    return level_counted_from(case, case.word("/settings/level_reference"))


def level_counted_from(case: Case, reference: str) -> float:
    """Elevation of what levels may count from [m over the site datum]."""
    if reference == "floor":
        return suction.well_height(case, "wet_well_floor")
    if reference == "transmitter_zero":
        return case.si("/level_sensor/zero_elevation")
    return 0.0


# -- the drive's scaling --------------------------------------------------------------------------


@once
def displayed_range(case: Case) -> Range:
    """What the drive shows at the lower and the upper end of its input, in process units."""
    ends = ("/settings/feedback_at_lower_signal", "/settings/feedback_at_upper_signal")
    case.require(*ends)
    return Range(*(_displayed(case, case.quantity(end)) for end in ends))


def _displayed(case: Case, quantity: Quantity) -> float:
    if quantity.kind != "ratio":
        return kinds.in_loop(case, quantity)
    ranged = signal_range(case) if shows_percent(case) else measuring_range(case)
    return ranged.at(quantity.si)


def shows_percent(case: Case) -> bool:
    """Whether the drive's feedback is scaled in % instead of in units."""
    lower = case.find("/settings/feedback_at_lower_signal")
    return lower is not None and lower.kind == "ratio"


@once
def signal_range(case: Case) -> Range:
    """What 0 and 100 % of the transmitter's signal stand for at the set point's datum."""
    ranged, offset = measuring_range(case), shown_offset(case) or 0.0
    return Range(ranged.low + offset, ranged.high + offset)


def _in_percent(case: Case) -> bool:
    """Whether values in % of the feedback are shares of the signal, as far as is known."""
    return case.find("/settings/feedback_at_lower_signal") is None or shows_percent(case)


def require_level_reference(case: Case) -> None:
    """Raise `Missing` where nothing tells what a level is counted from: elevations of the site?"""
    if on_level(case) and _in_percent(case):
        case.require("/settings/level_reference")


@once
def process_range(case: Case) -> Range:
    """The span that values in % of the feedback belong to, at the set point's datum."""
    return signal_range(case) if _in_percent(case) else displayed_range(case)


@once
def process_span(case: Case) -> float:
    """Width of that span, which no height changes."""
    return abs((measuring_range if _in_percent(case) else displayed_range)(case).span)


@once
def process_value(case: Case, pointer: str) -> float:
    """A setting of the loop in SI of what is regulated, also where it stands in % of span."""
    quantity = case.quantity(pointer)
    if quantity.kind == "ratio":
        return process_range(case).at(quantity.si)
    return kinds.in_loop(case, quantity)


def process_difference(case: Case, pointer: str) -> float:
    """A difference in SI of what is regulated: a boost, an offset; it may stand in % of span."""
    quantity = case.quantity(pointer)
    if quantity.kind == "ratio":
        ends = measuring_range(case) if _in_percent(case) else displayed_range(case)
        return quantity.si * ends.span
    kinds.in_loop(case, quantity)
    difference = float(quantity.value) * factor(quantity.unit)
    in_head = quantity.kind == "pressure" and kinds.of_loop(case) == "length"
    return liquid.head(case, difference) if in_head else difference


def boost(case: Case) -> float:
    """How far the set point is raised before sleep, in SI; 0 where no boost is set."""
    if case.find("/settings/sleep_boost") is None:
        return 0.0
    return process_difference(case, "/settings/sleep_boost")


@once
def process_unit(case: Case) -> str:
    """The unit that people read the regulated quantity in."""
    kind = kinds.of_loop(case)
    if kind in (None, "ratio"):
        return "%"
    pointers = ("/settings/set_point", "/settings/feedback_at_upper_signal", kinds.RANGE_TOP)
    found = [case.find(pointer) for pointer in pointers]
    units = [each.unit for each in found if each is not None and each.unit in KINDS[kind]]
    return str(units[0]) if units else kinds.USUAL_UNIT[kind]


# -- what it aims at ------------------------------------------------------------------------------


SET_POINT, ALTERNATIVES = "/settings/set_point", "/settings/set_point_alternatives"
COMPENSATION = "/settings/flow_compensation"
COMPENSATED = {"at_zero_flow": "at no flow", "at_design_flow": "at the design flow"}


def alternatives(case: Case) -> tuple[str, ...]:
    """Places of the set points that hold at other times, of those that are known."""
    listed = range(len(case.find(ALTERNATIVES) or ()))
    places = [f"{ALTERNATIVES}/{index}/set_point" for index in listed]
    return tuple(place for place in places if case.find(place) is not None)


def compensated(case: Case) -> tuple[str, ...]:
    """Places of the set points between which it moves with the flow, of those that are known."""
    if case.find(COMPENSATION) is None:
        return ()
    places = [f"{COMPENSATION}/{name}" for name in COMPENSATED]
    return tuple(place for place in places if case.find(place) is not None)


def aims(case: Case) -> tuple[str, ...]:
    """Places of everything that it aims at: the set point, alternatives, with the flow."""
    own = (SET_POINT,) if case.find(SET_POINT) is not None else ()
    return own + alternatives(case) + compensated(case)


def which(case: Case, place: str) -> str:
    """Which of the set points stands at a place, as a sentence begins with it."""
    if place == SET_POINT:
        return "Set point"
    if place.startswith(COMPENSATION):
        return f"Set point {COMPENSATED[place.rsplit('/', 1)[-1]]}"
    holder = place.rsplit("/", 1)[0]
    schedule = case.find(f"{holder}/schedule")
    number = int(holder.rsplit("/", 1)[-1]) + 1
    return f"Alternative set point ({schedule or f'no. {number}'})"


# -- the set point as a head ----------------------------------------------------------------------


def set_point(case: Case) -> float:
    """The set point in SI of what is regulated."""
    return process_value(case, "/settings/set_point")


@once
def required_head(case: Case, end: suction.End, pressure: float | None = None) -> float:
    """Head [m] that the pump holds at no flow to keep a pressure [Pa], else the set point."""
    kept = set_point(case) if pressure is None else pressure
    if case.is_("/settings/regulated_quantity", "differential_pressure"):
        return liquid.head(case, kept)
    height = set_point_elevation(case)
    return liquid.head(case, kept) + height - suction.grade(case, end)


@once
def set_point_elevation(case: Case) -> float:
    """Height at which the set point counts [m over the site datum]."""
    if case.is_("/settings/set_point_datum", "pump_datum"):
        return 0.0
    tapping = case.si("/regulating_sensor/tapping_elevation")
    offsets = datum_offsets(case)
    if offsets is not None and len(offsets) == 1:
        return tapping
    return tapping - liquid.head(case, _shift(case, offsets))


@once
def over_remote(case: Case) -> float:
    """What the pressure at the pump is above that at a remote sensor, at no flow [Pa].

    Height alone, at the least: 0 of a sensor in the station, and of a remote one that lies lower.
    """
    if not is_remote(case):
        return 0.0
    return max(liquid.pressure(case, set_point_elevation(case)), 0.0)


@once
def is_remote(case: Case) -> bool:
    """Whether the pressure that the loop regulates on is read away from the station."""
    measured = case.find("/regulating_sensor/quantity")
    return case.is_("/regulating_sensor/location", "remote") and measured in (None, "pressure")


def _shift(case: Case, offsets: tuple[float, ...] | None) -> float:
    """What the scaling adds to the transmitter's value where the datum does not tell it."""
    known = shown_offset(case)
    if known is None or (offsets is None and shows_percent(case)):
        raise Missing(case.place("/settings/feedback_at_lower_signal"))
    return known
