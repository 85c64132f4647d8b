"""What a verification can show: how much of the span, and whether apart from the drive."""

from itertools import pairwise
from math import inf

from calculations import verification
from calculations.aspects import chain, kinds, loop, verifying
from calculations.aspects.verifying import Check, Point
from calculations.case import Case, once
from calculations.errors import CalculationError
from calculations.signals import ANALOGUE_SIGNALS, value_from_signal

LEAST_INPUTS = 3
LEAST_SPREAD = {"level": 0.25}
"""How far inputs have to reach [1 of span]; a well is rarely as deep as the range: no source."""

ORDINARY_SPREAD = 0.5


def covers(case: Case, found: Check) -> bool:
    """Whether the inputs show the sensor over its span: three or more, and far enough apart.

    IEC 61298-2 asks for five over the whole span; on site half of it is common practice, no source.
    A flow meter is held against whatever flows the station has.
    """
    if case.is_(f"{found.sensor}/quantity", "flow"):
        return True
    inputs = sorted(point.applied for point in found.readable)
    apart = verification.SAME_INPUT * found.span
    least = LEAST_SPREAD.get(str(case.find(f"{found.sensor}/quantity")), ORDINARY_SPREAD)
    different = 1 + sum(b - a > apart for a, b in pairwise(inputs))
    reach = (inputs[-1] - inputs[0]) / found.span
    return different >= LEAST_INPUTS and reach >= least * (1 - 1e-9)


def is_in_doubt_with_loop(case: Case, place: str) -> bool:
    """Whether a doubted signal type or scaling of the drive leaves a verification open.

    Signals that were measured tell of the transmitter whatever the drive makes of them, unless its
    settings explain them better than the transmitter's range: then that may be what is wrong.
    """
    if not verifying.rests_on_loop(case, place):
        return False
    try:
        found = verifying.check(case, place, verifying.state_left(case, place))
        return not found.outside or not _is_measured_apart(case, found)
    except CalculationError:
        return True


def _is_measured_apart(case: Case, found: Check) -> bool:
    """Whether every reading is a signal that the drive's own type and range do not explain."""
    if any(point.by_signal is None for point in found.readable):
        return False
    offset = loop.shown_offset(case)
    if offset is None or kinds.of_loop(case) != kinds.of_sensor(case, found.sensor):
        return False
    own, drives = loop.measuring_range(case, found.sensor), loop.displayed_range(case)
    taken = str(case.find("/settings/feedback_signal") or case.word(f"{found.sensor}/output"))
    return not any(
        _explains(found, kind, ranged)
        for kind in {taken, case.word(f"{found.sensor}/output")}
        for ranged in (own, loop.Range(drives.low - offset, drives.high - offset))
    )


def _explains(found: Check, kind: str, ranged: loop.Range) -> bool:
    """Whether all signals mean what was applied, by that type and range."""
    wider = max(1.0, abs(ranged.span) / found.span)
    return all(
        abs(_meant(point, kind, *ranged) - point.applied)
        <= (found.tolerance * found.span + point.rounding) * wider
        for point in found.readable
    )


@once
def shows_drives_range(case: Case, place: str, state: verifying.State) -> bool:
    """Whether signals of the regulating sensor are those of the drive's scaling, not of its range.

    Then it is the range in the register that is wrong. Of a drive that acts on no signal, whose
    scaling nobody judges, it is not asked.
    """
    try:
        found = verifying.check(case, place, state)
        offset = loop.shown_offset(case)
        if not found.outside or offset is None or not verifying.is_regulating(case, found.sensor):
            return False
        if any(point.by_signal is None for point in found.readable) or not chain.has_chain(case):
            return False
        if kinds.of_loop(case) != kinds.of_sensor(case, found.sensor):
            return False
        reach = [point.applied for point in found.readable]
        if max(reach) - min(reach) < ORDINARY_SPREAD / 2 * abs(loop.displayed_range(case).span):
            return False
        drives = loop.displayed_range(case)
        ranged = loop.Range(drives.low - offset, drives.high - offset)
        own = loop.measuring_range(case, found.sensor)
        if abs(ranged.span / own.span - 1) <= case.limit("loop.scaling.stop"):
            return False  # a shift has causes of its own: heights, absolute pressure
        return _explains(found, case.word(f"{found.sensor}/output"), ranged)
    except CalculationError:
        return False


def _meant(point: Point, kind: str, low: float, high: float) -> float:
    signal = point.signal
    sent = ANALOGUE_SIGNALS.get(kind)
    if signal is None or sent is None or signal.kind != sent.quantity:
        return inf
    return value_from_signal(
        kind=kind, signal=signal.si, lower_range_value=low, upper_range_value=high
    )


def is_drives_range_verified(case: Case) -> bool:
    """Whether the regulating sensor was verified this day, and left showing the drive's range.

    One that was found so and adjusted to another says nothing for the drive any more.
    """
    return any(
        shows_drives_range(case, place, "as_left" if case.find(f"{place}/as_left") else "as_found")
        for place in case.elements(verifying.VERIFICATIONS)
    )
