"""What verifications of sensors perform, and of which sensor."""

from collections.abc import Iterator
from dataclasses import replace

from calculations.aspects import entries, exchanges, verifying, weighing
from calculations.aspects.verifying import VERIFICATIONS, Check, State
from calculations.case import Case
from calculations.errors import CalculationError
from calculations.tasks import catalogue
from calculations.tasks.performed import AsFound, Performed, Result, Thing, verdict
from calculations.tasks.pieces import thing
from calculations.tasks.task import Task


def performed(case: Case) -> Iterator[Performed]:
    """What each verification did; of an exchanged sensor the old one first."""
    came: dict[str, str] = {}  # what is read after an exchange is the new one
    for index in range(len(case.find(VERIFICATIONS) or ())):
        place = f"{VERIFICATIONS}/{index}"
        try:
            sensor = verifying.sensor_place(case, place)
        except CalculationError:
            continue
        found = thing(case, sensor)
        if found is None:
            continue
        task, before = _task_of(case, sensor), _before(case, place)
        old = _taken_out(case, found, sensor, place)
        if old is not None:
            yield Performed(task.id, old, place, "not_judged", *before, taken_out=True)
            came[sensor] = exchanges.of_sensor(case, sensor).new_serial
            before = None, None
        found = replace(found, serial=came.get(sensor, found.serial))
        yield Performed(task.id, found, place, _result(case, place), *before)


def _taken_out(case: Case, found: Thing, sensor: str, place: str) -> Thing | None:
    """The thing that was read as found, where another one was read as left; None where unknown."""
    if not exchanges.is_exchanged(case, place):
        return None
    old, new = exchanges.of_sensor(case, sensor)
    if old == new:
        return None
    known = str(case.find(f"{sensor}/serial") or "") in ("", old)
    return Thing(found.tag, found.id if known else "", old)


def _task_of(case: Case, sensor: str) -> Task:
    flow = case.is_(f"{sensor}/quantity", "flow")
    return catalogue.FLOW_METER if flow else catalogue.TRANSMITTER


def _result(case: Case, place: str) -> Result:
    left = _left(case, place)
    if left is None:
        return "not_judged"
    return verdict(judged=weighing.covers(case, left), outside=bool(left.outside))


def _before(case: Case, place: str) -> tuple[AsFound | None, float | None]:
    """How it was found, and its worst error over the tolerance; a part of the span shows faults."""
    found = _check(case, place, "as_found")
    if found is None or not (found.outside or weighing.covers(case, found)):
        return None, None
    ratio = abs(found.worst[1]) / found.tolerance
    return ("outside" if found.outside else "inside"), ratio


def _left(case: Case, place: str) -> Check | None:
    try:
        return _check(case, place, verifying.state_left(case, place))
    except CalculationError:
        return None


def _check(case: Case, place: str, state: State) -> Check | None:
    try:
        entries.require_right(case, place, state)
        return verifying.check(case, place, state)
    except CalculationError:
        return None
