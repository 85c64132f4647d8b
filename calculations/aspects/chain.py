"""The measuring chain from the transmitter to what the drive shows."""

from math import isclose

from calculations import sensor_chains
from calculations.aspects import kinds, loop
from calculations.case import Case, Missing, Waits, once
from calculations.rules.closeness import above
from calculations.sensor_chains import ChainPoint, SensorChain
from calculations.signals import ANALOGUE_SIGNALS

OUTPUT, INPUT = "/regulating_sensor/output", "/settings/feedback_signal"
SELECTOR = "/settings/input_selector"
SELECTOR_RULE = "loop.input-selector"
"""The rule that names an input selected for what does not carry the signal."""

WITHOUT_CHAIN = ("pulse",)
LEVEL_REFERENCES = {
    "floor": "the floor of the well",
    "transmitter_zero": "the zero of the transmitter",
    "site_datum": "the site datum",
}
"""What levels may count from, in words."""

EXACTLY = 0.001
"""Share of span within which a scaling is the transmitter's own range [1]; no source."""

ENDS = ("/settings/feedback_at_lower_signal", "/settings/feedback_at_upper_signal")


def has_chain(case: Case) -> bool:
    """Whether a signal may be scaled in the drive: not counted pulses."""
    return loop.reads_feedback(case) and not case.is_(OUTPUT, *WITHOUT_CHAIN)


def carries(signal: str) -> str:
    """What carries a signal: current, voltage, digital or pulse."""
    found = ANALOGUE_SIGNALS.get(signal)
    return str(found.quantity) if found else signal


def has_live_zero(signal: str) -> bool:
    """Whether a dead wire differs from the lower end of the range; a bus reports it by itself."""
    found = ANALOGUE_SIGNALS.get(signal)
    return found.has_live_zero if found else signal == "digital"


@once
def selector_fits(case: Case) -> bool:
    """Whether the drive's input is selected for what carries the signal, as far as is known."""
    selector, signal = case.find(SELECTOR), case.find(INPUT) or case.find(OUTPUT)
    if selector is None or signal is None or not has_chain(case):
        return True
    return bool(selector == "not_selectable" or selector == carries(signal))


def is_read_right(case: Case) -> bool:
    """Whether the drive's readings count as its feedback: also where its selector was accepted."""
    return selector_fits(case) or SELECTOR_RULE in case.accepted


def burden(case: Case) -> float | None:
    """Resistance that a current signal finds [ohm]; None where none is recorded."""
    found = case.find("/regulating_sensor/loop_load")
    return float(found.si) if found is not None and found.si > 0 else None


def is_connected(case: Case) -> bool:
    """Whether the signal of the sensor can reach the input at all, whatever the scaling."""
    sent, expected = carries(case.word(OUTPUT)), carries(case.word(INPUT))
    return sent == expected or ({sent, expected} == {"current", "voltage"} and bool(burden(case)))


@once
def points(case: Case) -> tuple[ChainPoint, ...]:
    """Indicated against true at 0, 50 and 100 % of the sensor's span, by the datum that fits best.

    Where the datum's height is not known, only the width of the scaling is judged.
    """
    offsets = loop.datum_offsets(case)
    if offsets is None:
        offsets = (_mean_shift(sensor_chains.chain_points(chain=_chain(case, 0.0))),)
    read = [sensor_chains.chain_points(chain=_chain(case, offset)) for offset in offsets]
    return min(read, key=lambda each: abs(worst(each).error))


@once
def fitting_ends(case: Case) -> loop.Range:
    """What the drive should show at the ends of its input [SI of what is regulated]."""
    offsets = loop.datum_offsets(case) or (0.0,)
    return loop.Range(*sensor_chains.fitting_feedback(chain=_chain(case, offsets[0])))


def granted(case: Case) -> float:
    """Error of the chain that is not told [1 of span]: the sensor's own tolerance, if larger."""
    tolerance = case.find("/regulating_sensor/tolerance_percent_of_span")
    return max(case.limit("loop.scaling.review"), tolerance.si if tolerance else 0.0)


@once
def other_reference(case: Case) -> str | None:
    """What the drive's levels fit as counted from, where they do not as it is recorded.

    None as well where the height of either is not known, or in doubt: nothing explains them then.
    """
    recorded = _counted_from(case, case.find("/settings/level_reference"))
    if recorded is None or not loop.on_level(case):
        return None
    scaled, fitting = loop.displayed_range(case), fitting_ends(case)
    allowed = granted(case) * abs(fitting.span)
    off = (scaled.low - fitting.low, scaled.high - fitting.high)
    if not above(max(map(abs, off)), allowed):
        return None
    for reference in LEVEL_REFERENCES:
        other = _counted_from(case, reference)
        if other is None:
            continue
        moved = recorded - other
        apart = max(abs(each - moved) for each in off)
        if abs(moved) > allowed and apart <= allowed:
            return reference
    return None


def _counted_from(case: Case, reference: str | None) -> float | None:
    try:
        return None if reference is None else loop.level_counted_from(case, reference)
    except (Missing, Waits):
        return None


def range_of_another(case: Case) -> str:
    """The tag of another sensor of the same kind whose range the drive has; none where none has."""
    kind = kinds.of_sensor(case, kinds.REGULATING)
    ends = [case.quantity(each) for each in ENDS]
    if kind != kinds.of_loop(case) or any(end.kind != kind for end in ends):
        return ""
    for index, sensor in enumerate(case.subject.sensors or ()):
        if f"/sensors/{index}" == case.place(kinds.REGULATING) or not sensor.tag:
            continue
        own = (sensor.lower_range_value, sensor.upper_range_value)
        alike = all(
            its is not None and its.kind == kind and isclose(its.si, end.si, rel_tol=1e-6)
            for its, end in zip(own, ends, strict=True)
        )
        if alike:
            return str(sensor.tag)
    return ""


def shift(case: Case) -> float | None:
    """By how much the scaling is shifted as a whole; None where its width is wrong as well."""
    scaled, fitting = loop.displayed_range(case), fitting_ends(case)
    if above(abs(scaled.span - fitting.span), 0.01 * abs(fitting.span)):
        return None
    return scaled.low - fitting.low


def is_own_range(case: Case) -> bool:
    """Whether the drive has the transmitter's range as it is, though its values count elsewhere."""
    scaled, own = loop.displayed_range(case), loop.measuring_range(case)
    apart = max(abs(scaled.low - own.low), abs(scaled.high - own.high))
    said = case.is_("/settings/set_point_datum", "pump_datum")
    return said and not above(apart, EXACTLY * abs(own.span))


def turned_zero(case: Case) -> str | None:
    """The height of a level transmitter's zero with its sign turned, where the scaling fits it."""
    zero = case.find("/regulating_sensor/zero_elevation")
    counted = case.is_("/settings/level_reference", "floor", "site_datum")
    if zero is None or not zero.si or not counted or not loop.on_level(case):
        return None
    moved = shift(case)
    if moved is None:
        return None
    room = granted(case) * abs(loop.measuring_range(case).span)
    if above(abs(moved + 2 * zero.si), room):
        return None
    return f"{zero.value.removeprefix('-') if zero.si < 0 else '-' + zero.value} {zero.unit}"


def worst(read: tuple[ChainPoint, ...]) -> ChainPoint:
    """The point with the largest error."""
    return max(read, key=lambda point: abs(point.error))


def _mean_shift(read: tuple[ChainPoint, ...]) -> float:
    return sum(point.indicated - point.true for point in read) / len(read)


def _chain(case: Case, datum_offset: float) -> SensorChain:
    ranged, shown = loop.measuring_range(case), loop.displayed_range(case)
    return SensorChain(
        lower_range_value=ranged.low,
        upper_range_value=ranged.high,
        output=case.word(OUTPUT),
        selected_input=case.word(INPUT),
        feedback_at_lower=shown.low,
        feedback_at_upper=shown.high,
        burden=burden(case),
        datum_offset=datum_offset,
    )
