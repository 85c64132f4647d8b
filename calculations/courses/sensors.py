"""A transmitter's errors from verification to verification: what it drifted, and what was set."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from calculations import trends
from calculations.aspects import entries, exchanges, sensor_history, verifying
from calculations.aspects.verifying import VERIFICATIONS, Check, State
from calculations.case import Case, Missing, Waits
from calculations.courses.course import Verdict, Visit
from calculations.errors import InvalidInput

NEAR = 0.05
"""How near two applied values must be for their errors to be compared [1 of span]; no source."""

SAME_SPAN = 1e-6
"""Share by which two spans differ that are one, entered in other units [1]."""

_Refused = (Missing, Waits, InvalidInput)

Identity = tuple[str | None, str | None]
"""Serial number and id of a sensor, as far as they are known."""

Anew = Literal["replaced", "range_changed", "not_read_as_found", "not_read_as_left"]


@dataclass(frozen=True, slots=True)
class Errors:
    """One verification: errors as shares of span [1], signed, the largest of each state.

    drift: since the first record's, adjustments left out, at the applied value where it is
    largest. noise: what rounding and references of both explain [1 of span], the references only
    where they are known (`reference_known`).
    """

    visit: int
    found: float | None
    left: float | None
    adjusted: bool
    tolerance: float
    drift: float | None = None
    noise: float | None = None
    reference_known: bool = True
    because: str = ""

    @property
    def verdict(self) -> Verdict:
        """What can be said of the drift."""
        if self.drift is None:
            return "not_compared" if self.because else "first"
        if self.noise is None or abs(self.drift) <= self.noise:
            return "noise"
        return "lower" if self.drift < 0 else "higher"


@dataclass(frozen=True, slots=True)
class SensorCourse:
    """Verifications of one thing on one range in the order of time.

    `began_by` is why they do not go on from those before: nothing for the first.
    """

    serial: str
    errors: tuple[Errors, ...]
    began_by: Anew | None = None


@dataclass(frozen=True)
class _Verified:
    """A verification with what was found and left, each with the uncertainty of its errors.

    One that adjusted, and has nothing that was left, ends what can be compared.
    """

    visit: int
    thing: Identity
    found: Check | None
    left: Check | None
    adjusted: bool
    uncertainty: float | None

    @property
    def is_read(self) -> bool:
        """Whether anything was read at all."""
        return self.found is not None or self.left is not None

    @property
    def newest(self) -> Check:
        """What the next visit is compared with."""
        last = self.left or self.found
        assert last is not None  # noqa: S101 - one of both is there, by `is_read`
        return last


def courses(visits: Sequence[Visit], tag: str) -> list[SensorCourse]:
    """What every thing at a tag did; visits in the order of time.

    Another transmitter or another range begins anew, as does one that was adjusted before anybody
    read how it was found, or without anybody reading how it was left. Errors are shares of span.
    """
    found: list[SensorCourse] = []
    run: list[_Verified] = []
    began_by: Anew | None = None
    unread: _Verified | None = None
    for index, visit in enumerate(visits):
        for each in _verified(index, visit.case(), tag):
            if not each.is_read:
                unread = each
                continue
            anew = _anew(run, each, unread) if run else None
            unread = None
            if anew:
                found.append(_course(run, began_by))
                run, began_by = [], anew
            run.append(each)
    return [*found, _course(run, began_by)] if run else found


def _anew(run: Sequence[_Verified], each: _Verified, unread: _Verified | None) -> Anew | None:
    """Why a verification does not go on from those before; `unread` was adjusted in between."""
    if not all(_is_one(earlier.thing, each.thing) for earlier in run):
        return "replaced"
    before = run[-1]
    if unread is not None or (before.adjusted and before.left is None):
        return "not_read_as_left"
    if abs(before.newest.span - each.newest.span) > SAME_SPAN * before.newest.span:
        return "range_changed"
    return "not_read_as_found" if each.found is None else None


def _identity(case: Case, sensor: str) -> Identity:
    return case.find(f"{sensor}/serial"), case.find(f"{sensor}/id")


def _is_one(one: Identity, other: Identity) -> bool:
    """Whether two are certainly one: what took the place of another may have no number yet."""
    if one[0] and other[0]:
        return one[0] == other[0]
    return one[1] == other[1]


def _course(run: Sequence[_Verified], began_by: Anew | None) -> SensorCourse:
    return SensorCourse(str(run[0].thing[0] or ""), tuple(_errors(run)), began_by)


def _verified(index: int, case: Case, tag: str) -> list[_Verified]:
    found = []
    for place in case.elements(VERIFICATIONS):
        try:
            sensor = verifying.sensor_place(case, place)
        except Missing:
            continue
        if case.find(f"{sensor}/tag") != tag:
            continue
        before, after = (_check(case, place, state) for state in ("as_found", "as_left"))
        things = _things(case, place, sensor)
        if len(things) == 1:
            adjusted = sensor_history.adjusts(case, place)
            found += _read(case, index, things[0], before, after, adjusted=adjusted)
        else:  # what was found was taken out, and what was left came new: nothing was adjusted
            found += _read(case, index, things[0], before, None)
            found += _read(case, index, things[1], after, None)
    return found


def _things(case: Case, place: str, sensor: str) -> tuple[Identity, ...]:
    """The sensor that was verified; of an exchange the one that was found and the one left."""
    registered = _identity(case, sensor)
    old, new = exchanges.of_sensor(case, sensor)
    if old == new or not exchanges.is_of_exchange(case, sensor):
        return (registered,)
    id_of_old = registered[1] if registered[0] in (None, old) else None
    id_of_new = registered[1] if new or id_of_old is None else None
    ids = {old or None: id_of_old, new or None: id_of_new}
    return tuple(
        (each, ids[each]) for each in dict.fromkeys(exchanges.serials(case, place, sensor))
    )


def _read(
    case: Case,
    index: int,
    thing: Identity,
    before: Check | None,
    after: Check | None,
    *,
    adjusted: bool = False,
) -> list[_Verified]:
    newest = after or before
    if newest is None and not adjusted:
        return []
    known = verifying.known_uncertainty(case, newest) if newest is not None else None
    return [_Verified(index, thing, before, after, adjusted, known)]


def _check(case: Case, place: str, state: State) -> Check | None:
    try:
        entries.require_right(case, place, state)
        return verifying.check(case, place, state)
    except _Refused:
        return None


def _errors(run: Sequence[_Verified]) -> list[Errors]:
    """Errors with the drift so far: the sum of what moved between adjustments."""
    told = [_told(run[0])]
    start, drifted, noises = run[0], 0.0, list[float]()
    for each in run[1:]:
        moved = _moved(start, each)
        if moved is None:
            told.append(_told(each, because="no value was applied at both visits"))
            continue
        drift, noise = drifted + moved[0], trends.combined_uncertainty(moved[1], *noises)
        known = start.uncertainty is not None and each.uncertainty is not None
        told.append(_told(each, drift=drift, noise=noise, reference_known=known))
        if each.adjusted:
            start, drifted, noises = each, drift, [*noises, moved[1]]
    return told


def _told(
    each: _Verified,
    *,
    drift: float | None = None,
    noise: float | None = None,
    reference_known: bool = True,
    because: str = "",
) -> Errors:
    worst = [None if check is None else check.worst[1] for check in (each.found, each.left)]
    left = worst[1] if each.adjusted else worst[0]
    tolerance = each.newest.tolerance
    return Errors(
        each.visit, worst[0], left, each.adjusted, tolerance, drift, noise, reference_known, because
    )


def _moved(start: _Verified, each: _Verified) -> tuple[float, float] | None:
    """How far the error moved that moved most, and the noise of that [1 of span]."""
    now = each.found
    pairs = _pairs(start.newest, now) if now is not None else []
    if now is None or not pairs:
        return None
    moved, rounding = max(pairs, key=lambda pair: abs(pair[0]))
    noise = trends.combined_uncertainty(rounding, start.uncertainty or 0, each.uncertainty or 0)
    return moved, noise


def _pairs(before: Check, now: Check) -> list[tuple[float, float]]:
    """Differences of errors at values that were applied both times, with rounding [1 of span]."""
    found = []
    for point, error in zip(now.readable, now.errors, strict=True):
        near = [
            (abs(other.applied - point.applied), then, other.rounding)
            for other, then in zip(before.readable, before.errors, strict=True)
            if other.rising == point.rising
        ]
        apart, then, rounding = min(near, default=(math.inf, 0.0, 0.0))
        if apart <= NEAR * now.span:
            found.append((error - then, (rounding + point.rounding) / now.span))
    return found
