"""A sensor's verification as numbers: what was applied, what the signal meant, what was shown."""

from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import Any, Literal, NamedTuple

from calculations import verification
from calculations.aspects import instruments, kinds, liquid, loop
from calculations.aspects.chain import SELECTOR_RULE, is_read_right
from calculations.case import Case, Missing, Waits, once
from calculations.inputs.readings import VerificationPoint
from calculations.rules.closeness import above
from calculations.signals import ANALOGUE_SIGNALS, value_from_signal
from calculations.units import Quantity
from calculations.verification import CheckPoint, ErrorVerdict, VerificationResult

State = Literal["as_found", "as_left"]
VERIFICATIONS = "/event/sensor_verifications"


class Point(NamedTuple):
    """One point in SI of what is measured; `by_signal` and `shown` are None where not read.

    `indicated` is what the transmitter says: by its signal, else as it is shown. `rounding` is what
    the digits of value applied and reading are granted (`applied_grant`), `reading_rounding` half a
    last digit of the reading alone; `signal` is as it was read.
    """

    place: str
    applied: float
    signal: Quantity | None
    by_signal: float | None
    shown: float | None
    indicated: float | None
    rising: bool
    rounding: float
    reading_rounding: float

    def granting(self, most: float) -> "Point":
        """The point with no more than `most` granted to the digits of the value applied."""
        own = self.reading_rounding
        granted = own + min(self.rounding - own, most)
        return self if granted == self.rounding else Point(*self[:-2], granted, own)


@dataclass(frozen=True)
class Check:
    """One verification in one state: its sensor, the span and tolerance, the points.

    `readable` are the points that say something of the transmitter; `result` belongs to them.
    """

    place: str
    sensor: str
    span: float
    tolerance: float
    points: tuple[Point, ...]
    readable: tuple[Point, ...]
    result: VerificationResult

    @property
    def errors(self) -> tuple[float, ...]:
        """Errors of the readable points, as shares of span [1]."""
        return self.result.errors

    @cached_property
    def outside(self) -> tuple[tuple[Point, float], ...]:
        """Points whose error is certainly beyond the tolerance, rounding of the digits granted."""
        return tuple(
            (point, error)
            for point, error in zip(self.readable, self.errors, strict=True)
            if abs(error) > (self.tolerance + point.rounding / self.span) * (1 + 1e-9)
        )

    @property
    def undecided(self) -> tuple[Point, ...]:
        """Points whose error is beyond the tolerance by less than what is granted to the digits."""
        outside = {point.place for point, _ in self.outside}
        return tuple(
            point
            for point, error in zip(self.readable, self.errors, strict=True)
            if abs(error) > self.tolerance * (1 + 1e-9) and point.place not in outside
        )

    @property
    def worst(self) -> tuple[Point, float]:
        """The point with the largest error, and that error [1]."""
        return max(zip(self.readable, self.errors, strict=True), key=lambda each: abs(each[1]))


def points_of(points: list[Any]) -> list[tuple[Any, ...]]:
    """What was read at each point, without what says where."""
    names = ("direction", "applied", "signal", "indicated")
    return [tuple(getattr(point, each) for each in names) for point in points]


def state_left(case: Case, place: str) -> State:
    """The state in which the sensor was left: as found where nothing was adjusted."""
    if case.find(f"{place}/as_left"):
        return "as_left"
    if case.word(f"{place}/adjusted") == "none":
        return "as_found"
    raise Missing(f"{place}/as_left")


@once
def check(case: Case, place: str, state: State) -> Check:
    """The points of one verification in one state; `Missing` names what it lacks."""
    sensor = sensor_place(case, place)
    (tolerance,) = case.require(f"{sensor}/tolerance_percent_of_span")
    chain = _chain(case, place, sensor)
    points = case.require(f"{place}/{state}")[0]
    if not points:
        raise Missing(f"{place}/{state}")
    at = f"{place}/{state}"
    read = tuple([_point(case, f"{at}/{i}", each, chain) for i, each in enumerate(points)])
    most = applied_grant(case, place, chain, read)
    read = tuple([each.granting(most) for each in read])
    told = [(point, point.indicated) for point in read if point.indicated is not None]
    if not told:
        raise Missing(f"{place}/{state}/0/signal", f"{place}/{state}/0/indicated")
    span = abs(chain.span)
    checked = [CheckPoint(point.applied, shown, point.rising) for point, shown in told]
    result = verification.verify(points=checked, span=span)
    readable = tuple([point for point, _ in told])
    return Check(place, sensor, span, tolerance.si, read, readable, result)


def sensor_place(case: Case, place: str) -> str:
    """Where the verified sensor stands in the subject."""
    named = case.find(f"{place}/sensor")
    found = case.sensor(named)
    if found is None:
        raise Missing("/sensors" if named else f"{place}/sensor")
    return found[0]


def is_regulating(case: Case, sensor: str) -> bool:
    """Whether the drive is regulated on the sensor at this place."""
    return case.place("/regulating_sensor") == sensor


AT_DRIVE = (None, "unknown", "drive")
"""Where a value is shown that the drive's input and scaling have to do with."""


def rests_on_loop(case: Case, place: str) -> bool:
    """Whether a verification is of the sensor that the drive is regulated on, or may be."""
    try:
        return is_regulating(case, sensor_place(case, place))
    except Missing:
        return True


def is_shown_by_drive(case: Case, place: str) -> bool:
    """Whether, besides, some of its values were read at the drive."""
    points = [*(case.find(f"{place}/as_found") or ()), *(case.find(f"{place}/as_left") or ())]
    read = any(each.indicated is not None and each.indicated_at in AT_DRIVE for each in points)
    return read and rests_on_loop(case, place)


@dataclass(frozen=True, slots=True)
class _Chain:
    """What all points of a verification share.

    `read_right` is whether the drive's readings count (`is_read_right`), `height` what the
    reference's height adds.
    """

    sensor: str
    kind: str | None
    range: loop.Range
    span: float
    output: str
    regulating: bool
    read_right: bool
    height: float


def _chain(case: Case, place: str, sensor: str) -> _Chain:
    kind, ranged = kinds.of_sensor(case, sensor), loop.measuring_range(case, sensor)
    return _Chain(
        sensor=sensor,
        kind=kind,
        range=ranged,
        span=ranged.span,
        output=case.word(f"{sensor}/output"),
        regulating=is_regulating(case, sensor),
        read_right=is_read_right(case),
        height=_height(case, place, sensor),
    )


def _point(case: Case, at: str, read: VerificationPoint, chain: _Chain) -> Point:
    applied, signal, shown = read.applied, read.signal, read.indicated
    if applied is None:
        raise Missing(f"{at}/applied")
    output = ANALOGUE_SIGNALS.get(chain.output)
    by_signal, rounding = None, 0.0
    if signal is None and shown is not None and read.indicated_at in AT_DRIVE:
        _require_input(chain)
    if signal is not None and output is not None:
        if signal.kind != output.quantity:
            raise Waits(kinds.SENSOR_RULE)
        by_signal = value_from_signal(
            kind=chain.output, signal=signal.si,
            lower_range_value=chain.range.low, upper_range_value=chain.range.high,
        )  # fmt: skip
        rounding = abs(signal.resolution / (output.upper - output.lower) * chain.span)
    elif shown is not None:
        rounding = _step(case, shown, chain)
    value = _process(case, applied, chain) + chain.height
    seen = None if shown is None else _shown(case, shown, read.indicated_at, chain)
    return Point(
        place=at,
        applied=value,
        signal=signal,
        by_signal=by_signal,
        shown=seen,
        indicated=seen if by_signal is None else by_signal,
        rising=read.direction != "down",
        rounding=rounding + _step(case, applied, chain),
        reading_rounding=rounding,
    )


def _require_input(chain: _Chain) -> None:
    """Raise `Waits` where nothing tells what the transmitter says but a drive's wrong input."""
    if chain.regulating and not chain.read_right:
        raise Waits(SELECTOR_RULE)


def _process(case: Case, quantity: Quantity, chain: _Chain) -> float:
    if quantity.kind == chain.kind != "ratio":
        return quantity.si
    if quantity.kind == "ratio":
        return chain.range.at(quantity.si)
    return kinds.in_sensor(case, chain.sensor, quantity)


def _step(case: Case, quantity: Quantity, chain: _Chain) -> float:
    """Half a last digit, in SI of what is measured."""
    kind, step = quantity.kind, quantity.resolution
    if kind == chain.kind != "ratio":
        return step
    if kind == "ratio":
        return abs(step * chain.span)
    if kind == "pressure" and chain.kind == "length":
        return liquid.head(case, step)
    if kind == "length" and chain.kind == "pressure":
        return liquid.pressure(case, step)
    return step


def applied_grant(case: Case, place: str, chain: _Chain, points: tuple[Point, ...]) -> float:
    """The most that the digits of a value applied may have changed, in SI of what is measured.

    Nothing where the inputs are check points that were set: 5 bar is then 5 bar, however it is
    written. Else they were read off the reference, which nobody reads worse than it is; where its
    uncertainty is not known, the digits alone bound it.
    """
    shares = [chain.range.share(each.applied - chain.height) for each in points]
    if verification.are_check_points(shares=shares):
        return 0.0
    try:
        return _reference(case, place, chain.sensor, points)
    except Missing:
        return inf


def _height(case: Case, place: str, sensor: str) -> float:
    """What a reference standing above the sensor adds at the sensor."""
    height = case.find(f"{place}/applied_head_difference")
    if height is None or height.si == 0:
        return 0.0
    if case.is_(f"{sensor}/quantity", "level"):
        return float(height.si)
    if case.is_(f"{sensor}/quantity", "pressure", "differential_pressure"):
        return liquid.pressure(case, height.si)
    return 0.0


def _shown(case: Case, shown: Quantity, where: str | None, chain: _Chain) -> float | None:
    """What is shown, taken back to the transmitter: the drive may show it at another datum.

    None for a flow that the drive makes of a differential pressure, and where the datum is open.
    """
    if where not in AT_DRIVE:
        return _process(case, shown, chain)
    if case.find("/regulating_sensor") is None and loop.is_closed(case):
        return None  # it may be the one that is regulated on
    if not chain.regulating:
        return _process(case, shown, chain)
    if not chain.read_right:
        return None
    kind, of_loop = chain.kind, kinds.of_loop(case)
    if kind != of_loop and (kind, of_loop) != ("pressure", "length"):
        return None if shown.kind in (of_loop, "ratio") else _process(case, shown, chain)
    if shown.kind == "ratio":
        value = loop.process_range(case).at(shown.si)
    elif shown.kind == of_loop:  # most are, and of many points: `in_loop` would say the same
        value = shown.si
    elif kinds.readable(of_loop, shown):
        value = kinds.in_loop(case, shown)
    else:
        return _process(case, shown, chain)
    offset = loop.shown_offset(case)
    if offset is None:
        return None
    value -= offset
    return value if kind == of_loop else liquid.pressure(case, value)


# -- the reference --------------------------------------------------------------------------------


def reference_uncertainty(case: Case, found: Check) -> float:
    """Expanded uncertainty of the reference as a share of span [1]; `Missing` if not known."""
    return _reference(case, found.place, found.sensor, found.points) / found.span


def _reference(case: Case, verification_: str, sensor: str, points: tuple[Point, ...]) -> float:
    """Expanded uncertainty of the reference at the highest input, in SI of what is measured."""
    place = reference_place(case, verification_)
    level = case.is_(f"{sensor}/quantity", "level")
    highest = max([abs(point.applied) for point in points])
    in_pressure = level and _in_pressure(case, place)
    reading = liquid.pressure(case, highest) if in_pressure else highest
    kind = "pressure" if in_pressure else kinds.of_sensor(case, sensor) or ""
    value = instruments.instrument_uncertainty(case, place, reading, kind)
    if not _reads_process(case, place, points):
        raise Missing(f"{verification_}/instrument", because="it does not read what was applied")
    return liquid.head(case, value) if in_pressure else value


READS_NO_PROCESS = (
    "loop_calibrator", "multimeter_true_rms", "clamp_meter", "power_analyser", "insulation_tester",
    "low_resistance_ohmmeter", "tachometer", "sound_vibration",
)  # fmt: skip
"""Instruments that read a signal or a machine, and no pressure, level, flow or temperature."""


def _reads_process(case: Case, place: str, points: tuple[Point, ...]) -> bool:
    """Whether an instrument may be what values applied at these points were held against."""
    if not case.is_(f"{place}/kind", *READS_NO_PROCESS):
        return True
    return all(case.quantity(f"{point.place}/applied").kind == "ratio" for point in points)


def beyond_range(case: Case, found: Check) -> tuple[Quantity, Quantity] | None:
    """The highest value applied and the top of the reference's range, where that is passed.

    A tape is as long as it is.
    """
    place = reference_place(case, found.place)
    top = case.find(f"{place}/range_high")
    if top is None or not found.points:
        return None
    values = [point.applied for point in found.points]
    highest = case.quantity(f"{found.points[values.index(max(values))].place}/applied")
    if highest.kind != top.kind or highest.si <= top.si or case.is_(f"{place}/kind", "tape"):
        return None
    return (highest, top) if above(highest.at_least, top.at_most) else None


def reference_place(case: Case, place: str) -> str:
    """Where the reference of a verification stands in the subject."""
    named = case.find(f"{place}/instrument")
    found = case.instrument(named) if named is not None else None
    if found is None:
        raise Missing("/instruments" if named else f"{place}/instrument")
    return found[0]


def _in_pressure(case: Case, place: str) -> bool:
    found = case.find(f"{place}/range_high")
    return found is not None and found.kind == "pressure"


def verdicts(found: Check, uncertainty: float) -> tuple[ErrorVerdict, ...]:
    """What the errors show of a sensor, seen with the reference's uncertainty [1]."""
    return verification.judge_errors(
        errors=found.errors, tolerance=found.tolerance, uncertainty=uncertainty
    )


def known_uncertainty(case: Case, found: Check) -> float | None:
    """The reference's uncertainty as a share of span [1]; None where it is not known."""
    try:
        return reference_uncertainty(case, found)
    except Missing:
        return None
