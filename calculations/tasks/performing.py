"""Which tasks an event performed, on which piece, and how it left them.

Read from the same subject that the rules judge, with what they found of it: a finding that needs
an answer leaves a task undone, accepted or not. What could not be judged leaves it undone as well.
"""

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import replace

from calculations.aspects import duty
from calculations.aspects.excuses import reason
from calculations.aspects.insulation_test import TEST, resistance_at_40_degrees
from calculations.aspects.turning import DIRECTION, across_the_line
from calculations.case import Case
from calculations.errors import CalculationError
from calculations.inputs.readings import ProtectionTest
from calculations.inputs.subject import Subject
from calculations.judging import Limits, case_of
from calculations.rules.draw_down import TESTS as DRAW_DOWNS
from calculations.rules.draw_down import drawdown_flow
from calculations.rules.measured_points import POINT
from calculations.rules.point_slips import slips
from calculations.rules.vessels import vessel_of
from calculations.tasks import catalogue, sensors
from calculations.tasks.performed import (
    AsFound,
    Performed,
    Result,
    Verdicts,
    is_inside,
    verdict,
)
from calculations.tasks.pieces import places, tags_of, thing
from calculations.tasks.task import Task

POINTS, PROTECTIONS, EARTHS = "/event/duty_points", "/event/protection_tests", "/event/earth_tests"
CHECKS, AS_LEFT = "/event/vessel_checks", "/event/settings/as_left"
AS_FOUND = "/event/settings/as_found"
LEAST_POINTS = 3
WORN = ("curve.points-agree", "trend.head", "trend.efficiency", "efficiency.wire-to-water")
"""Rules that tell of a pump that it does not do what it did when new, or what its curve says.

Beside them `curve.point`, but for points that a mistaken unit explains: these tell nothing of it.
"""


def performed(
    subject: Subject,
    verdicts: Verdicts,
    limits: Limits | None = None,
    accepted: Collection[str] = frozenset(),
) -> tuple[Performed, ...]:
    """Every task that an event performed or says was not possible, one for each piece.

    subject: what was judged, with its event.
    verdicts: what the rules said of it, with the limits that applied then.
    limits: those that differed from the catalogue's, by `rule.limit`, in SI.
    accepted: rules whose findings were accepted: what waited for them was judged after all.
    Returns them in the catalogue's order, of an exchanged sensor the old one first; of several
    tests of one kind the last one counts, and as found the first; of several kinds that perform
    one task the worst.
    """
    case = case_of(subject, limits, accepted=accepted)
    if case.event is None:
        return ()
    done = _one_each((each for read in _READERS for each in read(case, verdicts)), _worse)
    done = [_with_drive(case, _of_interval(case, each)) for each in done]
    named = {(each.task, each.thing.tag) for each in done}
    left = [each for each in _not_possible(case) if (each.task, each.thing.tag) not in named]
    order = {task.id: index for index, task in enumerate(catalogue.TASKS)}
    return tuple(
        sorted(
            (*done, *left),
            key=lambda each: (order[each.task], each.thing.tag, not each.taken_out),
        )
    )


def _one_each(
    done: Iterable[Performed], of_two: Callable[[Performed, Performed], Performed]
) -> list[Performed]:
    kept: dict[tuple[str, str, bool], Performed] = {}
    for each in done:
        one = each.task, each.thing.tag, each.taken_out
        before = kept.get(one)
        kept[one] = each if before is None else of_two(before, each)
    return list(kept.values())


def _later(first: Performed, last: Performed) -> Performed:
    return replace(last, as_found=first.as_found, ratio=first.ratio)


_UP_TO_WORST: tuple[Result, ...] = ("not_judged", "inside", "begun", "outside")


def _worse(one: Performed, other: Performed) -> Performed:
    """Of two kinds of test that perform one task; what was not judged says nothing."""
    worse = max(one, other, key=lambda each: _UP_TO_WORST.index(each.result))
    found = {one.as_found, other.as_found}
    as_found: AsFound | None = "outside" if "outside" in found else one.as_found or other.as_found
    return replace(worse, as_found=as_found)


def _of_interval(case: Case, done: Performed) -> Performed:
    """What is new has no interval behind it that what was found could be held against."""
    new = case.is_("/event/kind", "start_up", "replacement") and not done.taken_out
    return replace(done, as_found=None, ratio=None) if new else done


def _with_drive(case: Case, done: Performed) -> Performed:
    rests = catalogue.BY_ID[done.task].rests_on_drive
    return replace(done, drive=thing(case, "/drive")) if rests else done


# -- pieces -------------------------------------------------------------------------------------


def _of(
    case: Case, task: Task, at: str, place: str, result: Result, as_found: AsFound | None = None
) -> Iterator[Performed]:
    found = thing(case, at)
    if found is not None:
        yield Performed(task.id, found, place, result, as_found)


# -- sensors ------------------------------------------------------------------------------------


def _sensors(case: Case, verdicts: Verdicts) -> Iterable[Performed]:
    return _one_each(sensors.performed(case), _later)


# -- motor and drive ----------------------------------------------------------------------------


def _insulation(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    if case.find(TEST) is None:
        return
    rule = "insulation.minimum"
    judged = _computes(resistance_at_40_degrees, case) and not verdicts.unjudged(TEST, rule)
    judged = judged and not verdicts.against(TEST, "insulation.drive-connected")
    outside = verdicts.against(TEST, rule)
    as_found: AsFound | None = ("outside" if outside else "inside") if judged else None
    result = verdict(judged=judged, outside=outside)
    yield from _of(case, catalogue.INSULATION, "/motor", TEST, result, as_found)


def _rotation(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    direction = across_the_line(case)[1] if case.fixed_speed else case.find(DIRECTION)
    if direction not in ("correct", "reversed"):
        return
    rules = ("rotation.reversed", "rotation.bypass")
    told = any(verdicts.against(at, *rules) for at in ("/event/rotation", POINTS))
    result = verdict(judged=True, outside=told or direction == "reversed")
    yield from _of(case, catalogue.ROTATION, "/motor", "/event/rotation", result)


def _settings(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    if case.find(AS_LEFT) is None or case.fixed_speed:
        return
    stopped = any(is_inside(at, "/event/settings") for at in verdicts.stops)
    result = verdict(judged=True, outside=stopped)
    moved = verdicts.against(AS_FOUND, "record.settings-found")
    as_found: AsFound | None = "outside" if moved else None
    yield from _of(case, catalogue.SETTINGS_AUDIT, "/drive", AS_LEFT, result, as_found)


def _overload(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    if case.find(f"{AS_LEFT}/overload_current") is None:
        return
    rule = "drive.overload-setting"
    outside, silent = verdicts.against("/event", rule), verdicts.unjudged("/event", rule)
    result = verdict(judged=not silent, outside=outside)
    yield from _of(
        case, catalogue.OVERLOAD, "/motor", f"{AS_LEFT}/overload_current", result
    )  # fmt: skip


def _protections(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    tests = [(f"{PROTECTIONS}/{n}", test) for n, test in enumerate(case.find(PROTECTIONS) or ())]
    for function in dict.fromkeys(test.function for _, test in tests):
        of_it = [(at, test) for at, test in tests if test.function == function]
        yield from _one_each(_protection(case, verdicts, of_it), _later)


def _protection(
    case: Case, verdicts: Verdicts, tests: Iterable[tuple[str, ProtectionTest]]
) -> Iterator[Performed]:
    for place, test in tests:
        if test.passed is None:
            continue
        off = verdicts.against(place, "protection.trip-value", "protection.delay")
        result: AsFound = "outside" if off or not test.passed else "inside"
        for task in _proven(case, str(test.function)):
            yield from _of(case, task, f"/{task.of}", place, result, result)


def _proven(case: Case, function: str) -> Iterator[Task]:
    """At a booster whatever keeps the suction from running empty proves low suction."""
    names = {function}
    if case.is_("/site/kind", "booster") and function in ("dry_run", "low_level"):
        names.add("low_suction")
    yield from (task for task in catalogue.TASKS if names.intersection(task.functions))


# -- pump, earth, vessels, the set --------------------------------------------------------------


def _performance(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    places = [f"{POINTS}/{index}" for index in range(len(case.find(POINTS) or ()))]
    read = [at for at in places if _computes(duty.flow, case, at)]
    if sum(_computes(duty.total_head, case, at) for at in read) < LEAST_POINTS:
        return
    undecided = POINT.id
    off_curve, noted = (
        _told(case, places, told.get(undecided, ()), severity)
        for told, severity in ((verdicts.found, "review"), (verdicts.notes, "note"))
    )
    mistaken = {at for at in off_curve.intersection(read) if _is_mistaken(case, at)}
    off = bool(off_curve - mistaken) or verdicts.against(POINTS, *WORN)
    judged = (
        sum(
            not verdicts.unjudged(at, undecided) and at not in noted and at not in mistaken
            for at in read
        )
        >= LEAST_POINTS
    )
    result = verdict(judged=judged, outside=off)
    as_found: AsFound | None = None if result == "not_judged" else result
    yield from _of(case, catalogue.PERFORMANCE, "/pump", POINTS, result, as_found)


def _told(case: Case, places: Iterable[str], subjects: Collection[str], severity: str) -> set[str]:
    """Points found off their curve, each by itself or once at the list of those off alike."""
    each = {at for at in places if any(is_inside(found, at) for found in subjects)}
    if POINTS not in subjects:
        return each
    alike = {at for at in places if _severity(case, at) == severity}
    return each | alike or set(places)  # all, where an older catalogue said so of none of these


def _severity(case: Case, place: str) -> str:
    """Of what is found of a point against its curve; empty where nothing is."""
    try:
        return next((found.severity for found in POINT.check(case, place)), "")
    except (CalculationError, ArithmeticError):
        return ""


def _is_mistaken(case: Case, place: str) -> bool:
    """Whether a unit explains a point, and nobody said that it is right as it stands."""
    if "curve.point" in case.accepted or case.is_(f"{place}/purpose", "shut_off"):
        return False
    return bool(_severity(case, place) and slips(case, place))


def _draw_downs(case: Case, verdicts: Verdicts) -> Iterable[Performed]:
    return _one_each(_draw_down(case, verdicts), _later)


def _draw_down(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    for index in range(len(case.find(DRAW_DOWNS) or ())):
        place = f"{DRAW_DOWNS}/{index}"
        rule = "flow.drawdown"
        outside = verdicts.against(place, rule)
        silent = verdicts.unjudged(place, rule) or verdicts.waits(DRAW_DOWNS, rule)
        judged = _computes(drawdown_flow, case, place) and not silent
        result = verdict(judged=judged, outside=outside)
        yield from _of(case, catalogue.DRAW_DOWN, "/pump", place, result)


def _vibration(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    points = case.find(POINTS) or ()
    vibration = [each for point in points for each in point.vibration or ()]
    measured = any(each.velocity_rms is not None for each in vibration)
    if measured or any(point.bearing_temperatures for point in points):
        outside = verdicts.against(POINTS, "machine.vibration", "machine.bearing-temperature")
        result = verdict(judged=True, outside=outside)
        yield from _of(case, catalogue.VIBRATION, "/pump", POINTS, result)


def _earth(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    tests = case.find(EARTHS) or ()
    if tests:
        rule = "earth.continuity"
        judged = any(test.resistance or test.open_circuit for test in tests)
        result = verdict(judged=judged, outside=verdicts.against("/event/earth_tests", rule))
        yield from _of(case, catalogue.EARTH, "/pump_set", EARTHS, result)


_CHARGE = ("vessel.precharge", "vessel.precharge-design")


def _vessels(case: Case, verdicts: Verdicts) -> Iterable[Performed]:
    return _one_each(_each_vessel(case, verdicts), _later)


def _each_vessel(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    for index, test in enumerate(case.find(CHECKS) or ()):
        place = f"{CHECKS}/{index}"
        left = test.pre_charge_as_left or test.pre_charge_as_found
        if left is None or not _computes(vessel_of, case, place):
            continue
        at, _ = vessel_of(case, place)
        drained = test.system_drained is True  # else the figure means nothing
        judged = drained and not verdicts.unjudged(place, *_CHARGE)
        outside = drained and verdicts.against(place, *_CHARGE)
        result = verdict(judged=judged, outside=outside)
        yield from _of(case, catalogue.PRE_CHARGE, at, place, result)


def _follow_up(case: Case, verdicts: Verdicts) -> Iterator[Performed]:
    results: dict[str, Result] = {"start_up": "begun", "re_verification": "inside"}
    kind = str(case.find("/event/kind"))
    if kind in results:
        yield from _of(case, catalogue.FOLLOW_UP, "/pump_set", "/event/kind", results[kind])


_READERS: tuple[Callable[[Case, Verdicts], Iterable[Performed]], ...] = (
    _sensors, _insulation, _rotation, _settings, _overload, _protections, _performance, _draw_downs,
    _vibration, _earth, _vessels, _follow_up,
)  # fmt: skip


def _computes(compute: Callable[..., object], case: Case, *places: str) -> bool:
    try:
        compute(case, *places)
    except (CalculationError, ArithmeticError):
        return False
    return True


# -- not possible -------------------------------------------------------------------------------


def _not_possible(case: Case) -> Iterator[Performed]:
    for task in catalogue.TASKS:
        for at in places(case, task):
            found = thing(case, at)
            if found is None:
                continue
            tags = tags_of(case, task)
            others = tuple(tag for tag in tags if tag != found.tag)
            tag = found.tag if tags else ""
            why = reason(case, *task.words, tag=tag, others=others)
            if why is not None:
                done = Performed(task.id, found, "", "not_possible", reason=why)
                yield _with_drive(case, done)
