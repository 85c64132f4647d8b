"""Other pumps of the same kind on one header, as they were measured."""

from collections.abc import Iterator

from calculations.case import Case, once
from calculations.inputs.event import Event
from calculations.inputs.pump import Pump
from calculations.inputs.subject import Neighbour, Subject

COMPARED = ("rated_flow", "rated_head", "rated_speed", "impeller_diameter")
SAME = 0.01
"""How near plates of like pumps are [1]: digits of two units; no source."""


@once
def like_neighbours(case: Case) -> tuple[tuple[str, Case], ...]:
    """Place and case of every neighbour whose pump is of this kind and has measured points."""
    return tuple(_found(case))


def _found(case: Case) -> Iterator[tuple[str, Case]]:
    own = case.subject.pump
    for index, each in enumerate(case.subject.neighbours or ()):
        if own and each.pump and each.duty_points and are_alike(own, each.pump):
            yield f"/neighbours/{index}", case.of(_as_subject(case, each))


def are_alike(one: Pump, other: Pump) -> bool:
    """Whether two pumps are of one kind by their plates."""
    if one.type != other.type or one.stages != other.stages:
        return False
    if not (one.rated_flow and one.rated_head):
        return False
    for name in COMPARED:
        ours, theirs = getattr(one, name), getattr(other, name)
        if (ours is None) != (theirs is None):
            return False
        if ours is not None and abs(ours.si - theirs.si) > SAME * ours.si:
            return False
    return True


def _as_subject(case: Case, neighbour: Neighbour) -> Subject:
    return Subject(
        site=case.subject.site,
        pump_set=neighbour.pump_set,
        pump=neighbour.pump,
        motor=neighbour.motor,
        drive=neighbour.drive,
        event=Event(duty_points=neighbour.duty_points),
    )
