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
    for place in case.elements(VERIFICATIONS):
        try:
            sensor = verifying.sensor_place(case, place)
        except CalculationError:
            continue
        stands = thing(case, sensor)
        if stands is None:
            continue
        task, before = _task_of(case, sensor), _before(case, place)
        old, new = _things(case, stands, sensor, place)
        if old is not None:
            yield Performed(task.id, old, place, "not_judged", *before, taken_out=True)
            before = None, None
        if new is not None:
            yield Performed(task.id, new, place, _result(case, place), *before)


def _things(
    case: Case, stands: Thing, sensor: str, place: str
) -> tuple[Thing | None, Thing | None]:
    """The thing that was taken out at a visit, and the one that stands there since.

    Each None where a verification was not read of it, or it cannot be told from the other.
    """
    old, new = exchanges.of_sensor(case, sensor)
    read = exchanges.serials(case, place, sensor)
    if old == new or not exchanges.is_of_exchange(case, sensor):
        return None, stands
    known = str(case.find(f"{sensor}/serial") or "") in ("", old)
    taken_out = Thing(stands.tag, stands.id if known else "", old)
    left = replace(stands, serial=new)
    return (
        taken_out if read.found == (old or None) else None,
        left if read.left == (new or None) else None,
    )


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
