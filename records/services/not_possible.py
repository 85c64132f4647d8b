"""Saying of what a visit lacks that it could not be done on the day, and why."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from calculations.inputs.base import Id, Part, Words
from calculations.inputs.reading import Problem
from calculations.rules import record_content
from records import permissions
from records.errors import Conflict, Invalid, NotFound, Stale
from records.models import Event, Finding
from records.models.base import new_id
from records.permissions import Actor
from records.services import events
from records.services.reading import read_input


class NotPossibleInput(Part):
    """Tasks that a finding misses, and why none of them could be done."""

    id: Id | None = None
    tasks: list[Words]
    reason: Words


def tasks_of(finding: Finding) -> tuple[str, ...]:
    """What can be said to have been impossible; nothing where the finding misses no content."""
    if finding.rule != record_content.MISSING.id:
        return ()
    return record_content.tasks_of(finding.subject, str(finding.document["sentence"]))


def say(
    actor: Actor, event: Event, identity: UUID, given: Mapping[str, Any], revision: int
) -> Event:
    """Add tasks to what was not possible, meant for one revision; the event is judged again.

    The same id again changes nothing.
    """
    permissions.require(actor, "events.write")
    event = Event.objects.select_for_update().get(row=event.row)  # no repeat in between
    finding = Finding.objects.filter(event=event, id=identity).first()
    if finding is None:
        raise NotFound()
    wanted = read_input(NotPossibleInput, given)
    held = event.document.get("not_possible") or []
    owner = wanted.id or str(new_id())
    if any(str(each.get("id", "")).startswith(f"{owner}.") for each in held):
        return event
    _refuse(event, finding, wanted, revision)
    added = [
        {"id": f"{owner}.{number}", "task": task, "reason": wanted.reason}
        for number, task in enumerate(wanted.tasks, 1)
    ]
    return events.change(actor, event.id, {"not_possible": [*held, *added]}, revision)


def _refuse(event: Event, finding: Finding, wanted: NotPossibleInput, revision: int) -> None:
    event.refuse_unless_draft()
    if event.revision != revision:
        raise Stale(revision=event.revision, etag=event.etag)
    possible = tasks_of(finding)
    if not finding.present or not possible:
        raise Conflict("nothing is missing here any more: what the visit holds was changed")
    if not wanted.tasks:
        words = "expected at least one of what is missing"
        raise Invalid(problems=[Problem("/tasks", "required", words)])
    if not set(wanted.tasks) <= set(possible):
        words = f"expected some of: {', '.join(possible)}"
        raise Invalid(problems=[Problem("/tasks", "unknown", words)])
