"""Head, efficiency and insulation of a pump set from record to record."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from calculations import insulation, trends
from calculations.aspects import duty, history, instruments, pieces
from calculations.aspects.duty import POINTS
from calculations.aspects.history import Pair
from calculations.aspects.insulation_test import TEST, resistance_at_40_degrees, system
from calculations.case import Case, Missing, Waits
from calculations.courses.course import Change, Course, Visit, runs
from calculations.derived.duty import hydraulic_power
from calculations.errors import InvalidInput
from calculations.rules.efficiencies import is_beyond_parts

PLACES = ("drive_input", "drive_output")
"""Where power is measured: efficiencies of one place are never set beside those of another."""

TEMPERATURE_UNCERTAINTY = 2.0
"""Of a winding's temperature [K]; common practice, no source."""

RESISTANCE_UNCERTAINTY = 0.05
"""Of an insulation resistance where no tester is named [1]; from memory."""

DAY_TO_DAY = 0.4
"""By how much the same insulation reads otherwise on another day, by damp and dirt [1]; common
practice, no source: only a change by a factor says something."""

_NONE_NEAR = "no point near one of the first record's at the same speed"
_Refused = (Missing, Waits, InvalidInput)
_Compared = tuple[Pair, float, float]
"""A pair of points, the value of now and that of before."""


@dataclass(frozen=True)
class _Kind:
    """How one quantity is read and compared; `pieces.RESTS_ON` has of which pieces it is."""

    name: str
    first: Callable[[int, Case], Change | None]
    compare: Callable[[Change, Case, Case], Change]


def courses(visits: Sequence[Visit]) -> list[Course]:
    """Every course of a pump set that there is; visits in the order of time.

    A pump that was replaced, or whose impeller was trimmed, begins anew in head, pump, motor or
    drive in efficiency, a motor in insulation. Values are SI; what lacks for one visit leaves that
    one out.
    """
    cases = [visit.case() for visit in visits]
    return [course for kind in _KINDS for course in _of(kind, visits, cases)]


def _of(kind: _Kind, visits: Sequence[Visit], cases: Sequence[Case]) -> list[Course]:
    found: list[Course] = []
    for run in runs(cases, partial(_is_of_same, kind)):
        changes = _changes(kind, visits, cases, run)
        if changes:
            named = _things(kind, cases[changes[-1].visit])
            found.append(Course(kind.name, named, tuple(changes), bool(found)))
    return found


def _is_of_same(kind: _Kind, one: Case, other: Case) -> bool:
    """Whether a kind's pieces are the same; a trimmed impeller makes another pump of it."""
    both = (pieces.of_subject(case.subject) for case in (one, other))
    return pieces.changed(kind.name, *both) is None


def _changes(
    kind: _Kind, visits: Sequence[Visit], cases: Sequence[Case], run: Sequence[int]
) -> list[Change]:
    known = [(index, own) for index in run if (own := kind.first(index, cases[index]))]
    base = cases[known[0][0]] if known else None
    return [
        own if base is cases[index] or base is None
        else kind.compare(own, visits[index].case(earlier=base), base)
        for index, own in known
    ]  # fmt: skip


def _things(kind: _Kind, case: Case) -> tuple[tuple[str, str], ...]:
    return tuple(
        (piece, str(case.find(f"/{piece}/serial") or "")) for piece in pieces.RESTS_ON[kind.name]
    )


def _tried(compute: Callable[[], float]) -> float | None:
    try:
        return compute()
    except _Refused:
        return None


# -- head -----------------------------------------------------------------------------------------


def _points(case: Case) -> list[str]:
    """Duty points whose head can be compared, the design point first."""
    places = [place for place in case.elements(POINTS) if history.is_usable(case, place)]
    return sorted(places, key=lambda place: case.find(f"{place}/purpose") != "design")


def _head_alone(index: int, case: Case) -> Change | None:
    places = _points(case)
    if not places:
        return None
    head = duty.total_head(case, places[0])
    return Change(index, places[0], head, head)


def _head(own: Change, case: Case, base: Case) -> Change:
    heads = [
        (pair, duty.total_head(case, pair.now), duty.total_head(base, pair.before))
        for pair in history.heads(case)
    ]
    return _compared(own, heads, _NONE_NEAR)


def _compared(own: Change, pairs: Sequence[_Compared], because: str) -> Change:
    """The change of the pair that is known best: it says most of what moved."""
    if not pairs:
        return Change(own.visit, own.place, own.value, because=because)
    best, now, before = min(pairs, key=lambda each: each[0].noise)
    return Change(own.visit, best.now, now, before * (1 + best.change), best.change, best.noise)


HEAD = _Kind("head", _head_alone, _head)


# -- efficiency -----------------------------------------------------------------------------------


def _efficiency_at(case: Case, place: str, where: str) -> float | None:
    power = case.find(f"{place}/power_{where}")
    if power is None or power.si <= 0:
        return None
    if where == "drive_input" and is_beyond_parts(case, place):
        return None  # no efficiency to begin from, nor one that says what became of it
    found = _tried(lambda: hydraulic_power(case, place))
    return None if found is None else found / power.si


def _efficiency(where: str) -> _Kind:
    def alone(index: int, case: Case) -> Change | None:
        for place in _points(case):
            found = _efficiency_at(case, place, where)
            if found is not None:
                return Change(index, place, found, found)
        return None

    def compare(own: Change, case: Case, base: Case) -> Change:
        pairs = (_efficiency_pair(case, base, pair, where) for pair in history.heads(case))
        return _compared(own, [pair for pair in pairs if pair], f"{_NONE_NEAR}, with its power")

    return _Kind(f"efficiency_{where}", alone, compare)


def _efficiency_pair(case: Case, base: Case, pair: Pair, where: str) -> _Compared | None:
    now = _efficiency_at(case, pair.now, where)
    before = _efficiency_at(base, pair.before, where)
    if now is None or before is None:
        return None
    powers = (_power_noise(case, pair.now, where), _power_noise(base, pair.before, where))
    noise = trends.combined_uncertainty(pair.noise, *powers)
    change = trends.relative_change(before=before, now=now)
    return Pair(pair.now, pair.before, change, noise), now, before


def _power_noise(case: Case, place: str, where: str) -> float:
    return duty.power_uncertainty(case, place, case.quantity(f"{place}/power_{where}"))


# -- insulation -----------------------------------------------------------------------------------


_READ = f"{TEST}/resistance_1_min"


def _insulation_alone(index: int, case: Case) -> Change | None:
    read = case.find(_READ)
    at_40 = None if read is None or read.si <= 0 else _tried(lambda: resistance_at_40_degrees(case))
    return None if read is None or at_40 is None else Change(index, _READ, read.si, at_40)


def _insulation(own: Change, case: Case, base: Case) -> Change:
    with_cable = [each.find(f"{TEST}/includes_cable") for each in (base, case)]
    if with_cable[0] != with_cable[1]:
        return Change(own.visit, _READ, own.value, because="once with and once without the cable")
    now, before = resistance_at_40_degrees(case), resistance_at_40_degrees(base)
    noise = trends.combined_uncertainty(
        _resistance_noise(case), _resistance_noise(base), DAY_TO_DAY, DAY_TO_DAY
    )
    change = trends.relative_change(before=before, now=now)
    return Change(own.visit, _READ, own.value, now, change, noise)


def _resistance_noise(case: Case) -> float:
    """Uncertainty of a resistance at 40 degC: the tester's, and the winding temperature's [1]."""
    read = case.quantity(_READ)
    temperature = case.si(f"{TEST}/winding_temperature")
    cooler, warmer = (
        insulation.resistance_at_40_degrees(
            resistance=read.si, temperature=each, system=system(case)
        )
        for each in (temperature, temperature + TEMPERATURE_UNCERTAINTY)
    )
    rounding = read.resolution / read.si
    return trends.combined_uncertainty(warmer / cooler - 1.0, _tester(case) + rounding)


def _tester(case: Case) -> float:
    """Uncertainty of the tester that the visit names, as a share of the reading [1]."""
    read = case.quantity(_READ)
    for named in case.find("/event/instruments") or ():
        found = case.instrument(named)
        if found is not None and found[1].kind == "insulation_tester":
            try:
                return instruments.instrument_share(case, found[0], read)
            except _Refused:
                break
    return RESISTANCE_UNCERTAINTY


INSULATION = _Kind("insulation", _insulation_alone, _insulation)

_KINDS = (HEAD, *map(_efficiency, PLACES), INSULATION)
