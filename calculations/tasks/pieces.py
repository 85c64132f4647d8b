"""Pieces that tasks are performed on: where they stand in a subject, and what they are called."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.tasks import catalogue
from calculations.tasks.performed import Thing
from calculations.tasks.task import Task


def thing(case: Case, place: str) -> Thing | None:
    """The piece at a place of the subject; the new one where the event says it was replaced."""
    tag = case.find(f"{place}/tag")
    if tag is None:
        return None
    firmware = case.find("/drive/firmware") if place == "/drive" else None
    old = str(case.find(f"{place}/serial") or "") if place != "/pump_set" else ""
    return Thing(
        tag, str(case.find(f"{place}/id") or ""), _new_serial(case, place, tag) or old,
        str(firmware or ""),
    )  # fmt: skip


def _new_serial(case: Case, place: str, tag: str) -> str | None:
    kind = place.split("/")[1].removesuffix("s")
    for each in case.find("/event/replaced") or ():
        if each.resource == kind and each.tag == tag and each.new_serial:
            return str(each.new_serial)
    return None


def tags_of(case: Case, task: Task) -> tuple[str, ...]:
    """Tags of the pieces of a kind of which there are several."""
    pieces = {"sensor": case.subject.sensors, "vessel": case.subject.vessels}.get(task.of)
    return tuple(each.tag for each in pieces or () if each.tag)


def places(case: Case, task: Task) -> Iterator[str]:
    """Where pieces of the task's kind stand in the subject."""
    if task.of == "sensor":
        flows = task is catalogue.FLOW_METER
        for index, sensor in enumerate(case.subject.sensors or ()):
            if (sensor.quantity == "flow") is flows:
                yield f"/sensors/{index}"
    elif task.of == "vessel":
        yield from (f"/vessels/{index}" for index in range(len(case.subject.vessels or ())))
    else:
        yield f"/{task.of}"
