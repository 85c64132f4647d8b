"""Slips in how a verification was written down: one of them explains all of its readings."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, cast

from calculations.aspects import kinds, loop, verifying
from calculations.aspects.verifying import Check, Point, State
from calculations.case import Case, Missing, Waits, once
from calculations.rules.closeness import above
from calculations.signals import ANALOGUE_SIGNALS, value_from_signal
from calculations.units import KINDS, Quantity, factor

Kind = Literal[
    "unit_applied",
    "applied_signal",
    "applied_percent",
    "unit_indicated",
    "signal",
    "percent",
    "signal_percent",
    "other",
    "range",
    "falling",
    "rising",
]

RULE = "sensor.entry"

LEAST_MIRRORED = 3
"""Different inputs of a direction that is turned round."""

LEAST_SPREAD = 0.05
"""How far apart inputs must be then [1 of span]: a single one fits too much, and a dead sensor any
that are as good as none; no source."""

NEAR_ONE = 0.1
"""Of a unit so near to the one entered, an error of the span looks the same: it must fit twice as
well; no source."""

LEAST_SENT = 0.5
"""How far signals have to reach to tell of a range [1 of theirs]; no source."""

RANGE_TIMES = (0.8, 1.25)
"""Within these shares of its span a transmitter may be badly adjusted; no source."""

WRITTEN_IN = ("pressure", "length", "flow")


@dataclass(frozen=True, slots=True)
class Slip:
    """What was written down wrongly, the point that shows it best, and what it was instead.

    `meant` is a unit, or the place of another sensor; `ends` are those of another range [SI].
    """

    kind: Kind
    point: Point
    meant: str = ""
    ends: tuple[float, float] = (0.0, 0.0)


Readings = Iterable[tuple[Point, float, float]]
"""Points with what was applied and what was shown, as another way of writing has them."""


@once
def slip(case: Case, place: str, state: State) -> Slip | None:
    """The one slip that explains all readings of a verification, where some are out of tolerance.

    `Missing` as for the readings themselves.
    """
    found = verifying.check(case, place, state)
    if not found.outside:
        return None
    if not _written_alike(case, found):
        return None
    shows = max(found.outside, key=lambda each: abs(each[0].applied))[0]
    for kind, meant, readings, within in _ways(case, found):
        if _fits(readings, found, within):
            return Slip(kind, shows, meant)
    ends = _ends_of_range(case, found)
    return Slip("range", shows, ends=ends) if ends else None


def _ends_of_range(case: Case, found: Check) -> tuple[float, float] | None:
    """Ends of another range [SI] that all signals fit, so much wider or narrower that none drifts.

    A line through the readings at the lowest and the highest input.
    """
    if any(point.by_signal is None for point in found.readable):
        return None
    own = loop.measuring_range(case, found.sensor)
    first = min(found.readable, key=lambda each: each.applied)
    last = max(found.readable, key=lambda each: each.applied)
    apart = own.share(_said(last)) - own.share(_said(first))
    inputs = {round(point.applied / found.span, 3) for point in found.readable}
    if len(inputs) < LEAST_MIRRORED or abs(apart) < LEAST_SENT:
        return None
    span = (last.applied - first.applied) / apart
    if RANGE_TIMES[0] < abs(span) / found.span < RANGE_TIMES[1]:
        return None
    low = first.applied - own.share(_said(first)) * span
    within = found.tolerance * abs(span)
    for point in found.readable:
        sent = own.share(_said(point))
        of_input = point.rounding - point.reading_rounding
        rounding = of_input + point.reading_rounding * abs(span) / found.span
        if abs(low + sent * span - point.applied) > within + rounding:
            return None
    return low, low + span


def require_right(case: Case, place: str, state: State) -> None:
    """Raise `Waits` where a slip explains all readings and nobody said that they are right."""
    if RULE not in case.accepted and slip(case, place, state):
        raise Waits(RULE)


def _written_alike(case: Case, found: Check) -> bool:
    """Whether each column has one unit."""
    names = ("applied", "indicated")
    units = [
        {read.unit for point in found.readable if (read := case.find(f"{point.place}/{name}"))}
        for name in names
    ]
    return all(len(each) <= 1 for each in units)


def _fits(readings: Readings, found: Check, within: float) -> bool:
    """Whether every reading is inside the tolerance then, by so much of it [1], and tells much."""
    allowed = within * found.tolerance * found.span
    inputs = []
    for point, applied, shown in readings:
        if abs(shown - applied) > allowed + point.rounding:
            return False
        inputs.append(applied)
    return max(inputs) - min(inputs) >= LEAST_SPREAD * found.span


def _ways(case: Case, found: Check) -> Iterator[tuple[Kind, str, Readings, float]]:
    """Other ways of writing, with how much of the tolerance they may use [1]."""
    yield from _units(case, found, "applied")
    yield from _columns(case, found, "applied")
    if all(point.by_signal is None for point in found.readable):
        yield from _units(case, found, "indicated")
        yield from _columns(case, found, "indicated")
    else:
        yield from _signals_in_percent(case, found)
        yield from _sensors(case, found)
    yield from _mirrored(found)


def _units(
    case: Case, found: Check, name: Literal["applied", "indicated"]
) -> Iterator[tuple[Kind, str, Readings, float]]:
    entered = [case.quantity(f"{point.place}/{name}") for point in found.readable]
    own = entered[0]
    if own.kind not in WRITTEN_IN or own.kind != kinds.of_sensor(case, found.sensor):
        return
    for unit in KINDS[own.kind]:
        times = factor(unit) / factor(own.unit)
        if unit == own.unit:
            continue
        within = 0.5 if abs(times - 1) < NEAR_ONE else 1.0
        if name == "applied":
            yield "unit_applied", unit, _applied(found, entered, times), within
        else:
            yield "unit_indicated", unit, _shown(found, entered, times), within


def _applied(found: Check, entered: list[Quantity], times: float) -> Readings:
    return [
        (point, point.applied + read.si * (times - 1), _said(point))
        for point, read in zip(found.readable, entered, strict=True)
    ]


def _shown(found: Check, entered: list[Quantity], times: float) -> Readings:
    return [
        (point, point.applied, _said(point) + read.si * (times - 1))
        for point, read in zip(found.readable, entered, strict=True)
    ]


def _said(point: Point) -> float:
    """What a readable point indicates."""
    return cast(float, point.indicated)


def _columns(
    case: Case, found: Check, name: Literal["applied", "indicated"]
) -> Iterator[tuple[Kind, str, Readings, float]]:
    """The signal, or the share of span, written down as what was applied or shown."""
    entered = [case.quantity(f"{point.place}/{name}") for point in found.readable]
    if any(read.kind not in WRITTEN_IN for read in entered):
        return
    ranged = loop.measuring_range(case, found.sensor)
    output = str(case.find(f"{found.sensor}/output"))
    sent = ANALOGUE_SIGNALS.get(output)
    applied = name == "applied"
    if sent is not None:
        values = [
            value_from_signal(
                kind=output, signal=factor(sent.unit) * float(read.value),
                lower_range_value=ranged.low, upper_range_value=ranged.high,
            )
            for read in entered
        ]  # fmt: skip
        yield "applied_signal" if applied else "signal", sent.unit, _put(found, name, values), 1.0
    values = [ranged.at(float(read.value) / 100) for read in entered]
    yield "applied_percent" if applied else "percent", "%", _put(found, name, values), 1.0


def _signals_in_percent(case: Case, found: Check) -> Iterator[tuple[Kind, str, Readings, float]]:
    """The share of span written down as the signal."""
    ranged = loop.measuring_range(case, found.sensor)
    signals = [point.signal for point in found.readable]
    values = [ranged.at(float(read.value) / 100) for read in signals if read is not None]
    if len(values) == len(signals):
        yield "signal_percent", "%", _put(found, "indicated", values), 1.0


def _put(found: Check, name: str, values: list[float]) -> Readings:
    """The readings with other values in one column."""
    return [
        (point, value, _said(point)) if name == "applied" else (point, point.applied, value)
        for point, value in zip(found.readable, values, strict=True)
    ]


def _sensors(case: Case, found: Check) -> Iterator[tuple[Kind, str, Readings, float]]:
    """Another sensor of the pump set, whose range the signals fit."""
    ranged = loop.measuring_range(case, found.sensor)
    alike = case.find(f"{found.sensor}/quantity"), case.find(f"{found.sensor}/output")
    for index in range(len(case.subject.sensors or ())):
        other = f"/sensors/{index}"
        if other == found.sensor:
            continue
        if (case.find(f"{other}/quantity"), case.find(f"{other}/output")) != alike:
            continue
        try:
            its = loop.measuring_range(case, other)
        except Missing:
            continue
        if _is_the_same(found, ranged, its):
            continue
        yield "other", other, [
            (point, point.applied, its.at(ranged.share(_said(point))))
            for point in found.readable
        ], _tolerance(case, other, its) / (found.tolerance * found.span)  # fmt: skip


def _is_the_same(found: Check, own: loop.Range, its: loop.Range) -> bool:
    """Whether another sensor's range explains nothing that a larger tolerance would not."""
    apart = max(abs(one - other) for one, other in zip(own, its, strict=True))
    return not above(apart, found.tolerance * found.span)


def _tolerance(case: Case, sensor: str, ranged: loop.Range) -> float:
    """What another sensor may be off, in SI of what it measures; nothing where not known."""
    share = case.find(f"{sensor}/tolerance_percent_of_span")
    return 0.0 if share is None else share.si * abs(ranged.span)


def _mirrored(found: Check) -> Iterator[tuple[Kind, str, Readings, float]]:
    """One direction written down from its other end."""
    ways: tuple[tuple[Kind, bool], ...] = (("falling", False), ("rising", True))
    for kind, rising in ways:
        there = [point for point in found.readable if point.rising is rising]
        if len({point.applied for point in there}) < LEAST_MIRRORED:
            continue
        others = [point for point in found.readable if point.rising is not rising]
        turned = [
            (point, point.applied, _said(other))
            for point, other in zip(there, reversed(there), strict=True)
        ]
        kept = [(point, point.applied, _said(point)) for point in others]
        yield kind, "", [*turned, *kept], 1.0
