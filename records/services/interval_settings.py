"""Setting how often a task is due: for a client, its stations of a kind, or one piece, with why."""

from collections.abc import Mapping
from typing import Any, get_args
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from calculations.due_dates import LONGEST, SHORTEST
from calculations.inputs.base import Count, Id, Part, Text, Words
from calculations.inputs.reading import Problem
from calculations.inputs.site import SiteKind
from calculations.tasks.catalogue import BY_ID
from calculations.tasks.task import Task
from records import permissions
from records.errors import Conflict, Invalid, NotFound
from records.models import IntervalSetting, PerformedTask
from records.models.base import new_id
from records.permissions import Actor
from records.selectors import due_documents, due_items
from records.selectors import interval_settings as selector
from records.selectors.due_items import Item, Wanted
from records.services import audit, in_force
from records.services.content import quick_digest
from records.services.reading import read_input


class IntervalSettingInput(Part):
    """How often a task shall be due; for one piece, or stations of a kind, where one is named."""

    id: Id | None = None
    client: Id
    task: Text
    station_kind: SiteKind | None = None
    piece: Id | None = None
    months: Count
    reason: Words


class AcceptanceInput(Part):
    """Words of whoever accepts a proposal, besides its arithmetic."""

    reason: Text = ""


def put(actor: Actor, given: Mapping[str, Any]) -> tuple[IntervalSetting, bool]:
    """Set an interval in place of what was set before; returns the row and whether it is new.

    The same id with the same content again changes nothing.
    """
    permissions.require(actor, "intervals.write")
    wanted = read_input(IntervalSettingInput, given)
    digest = quick_digest(wanted.model_dump(mode="json"))
    identity = UUID(wanted.id) if wanted.id else new_id()
    existing = in_force.sent_before(selector.rows(actor), identity, digest)
    if existing is not None:
        return existing, False
    return _keep(actor, _row(actor, wanted, identity, digest))


def accept(actor: Actor, identity: UUID, given: Mapping[str, Any]) -> tuple[IntervalSetting, bool]:
    """Set what a proposal says for its piece; again answers with the same setting."""
    permissions.require(actor, "intervals.write")
    said = read_input(AcceptanceInput, given)
    found = selector.rows(actor).filter(proposal__id=identity, ended_at=None).first()
    if found is not None:
        return found, False
    item = proposed(actor, identity)
    proposal = due_documents.proposal(item)
    wanted = IntervalSettingInput(
        client=item.client_id,
        task=item.task,
        piece=item.piece,
        months=proposal.months,
        reason=f"{proposal.arithmetic} {said.reason.strip()}".strip(),
    )
    digest = quick_digest(wanted.model_dump(mode="json"))
    row = _row(actor, wanted, new_id(), digest)
    row.proposal = PerformedTask.objects.get(id=identity)
    return _keep(actor, row)


def proposed(actor: Actor, identity: UUID) -> Item:
    """The proposal that is made of what was found, by the id of that."""
    rows = permissions.visible(PerformedTask.objects.select_related("site"), actor)
    found = rows.filter(id=identity).first()
    if found is None:
        raise NotFound()
    wanted = Wanted(site=found.site.id, task=found.task, proposed=True)
    for item in due_items.items(actor, wanted):
        if item.good_id == str(identity):
            return item
    raise NotFound("nothing is proposed of this any more")


def remove(actor: Actor, identity: UUID) -> None:
    """Let the interval apply again that would without it; again changes nothing."""
    permissions.require(actor, "intervals.write")
    row = selector.get(actor, identity)
    if in_force.end(actor, selector.rows(actor).filter(row=row.row), timezone.now()):
        change = audit.Change(before=_told_of(row))
        audit.write(actor, "interval removed", _about(row), change)


def problems_of(row: IntervalSetting) -> list[Problem]:
    """What of a row could not have been set, wherever its piece stands."""
    names = ("task", "station_kind", "months", "reason")
    given = {name: getattr(row, name) for name in names} | {"client": str(row.client_id)}
    try:
        wanted = read_input(IntervalSettingInput, given)
    except Invalid as error:
        return list(error.problems)
    task, wrong = _task(row.task)
    if task is None:
        return wrong
    if row.safety != task.safety:
        return [Problem("/safety", "differs", f"expected {task.safety}: it follows from the task")]
    usual = _usual(task, wanted, None) if row.piece is None else _longest(task)
    return _months_problems(row.months) + _length_problems(task, row.months, usual)


def _longest(task: Task) -> int:
    return max(each.months for each in task.defaults)


def _keep(actor: Actor, row: IntervalSetting) -> tuple[IntervalSetting, bool]:
    try:
        with transaction.atomic():
            others = _same_scope(actor, row)
            before = others.first()
            if before is not None:
                in_force.end(actor, others, timezone.now())
            row.save(force_insert=True)
            change = audit.Change(_told_of(before) if before else None, _told_of(row))
            audit.write(actor, "interval set", _about(row), change, row.reason)
    except IntegrityError as error:
        digest = bytes(row.created_digest)
        existing = in_force.sent_before(selector.rows(actor), row.id, digest)  # and quicker
        if existing is not None:
            return existing, False
        raise _told(error) from error
    return row, True


def _about(row: IntervalSetting) -> audit.About:
    name = f"{row.task} of {row.tag}" if row.tag else row.task
    return audit.About("interval setting", row.id, name, row.site_id, row.client_id)


def _told_of(row: IntervalSetting) -> dict[str, Any]:
    return {"months": row.months}


def _told(error: IntegrityError) -> Exception:
    if "one_interval_in_force" not in str(error):
        return error
    words = "somebody has just set this interval: read it again"
    return Conflict(words, [Problem("/task", "taken", words)])


def _same_scope(actor: Actor, row: IntervalSetting) -> Any:
    names = ("client_id", "task", "station_kind", "site_id", "piece")
    same = {name: getattr(row, name) for name in names}
    return permissions.visible(IntervalSetting.objects.filter(**same, ended_at=None), actor)


def _row(
    actor: Actor, wanted: IntervalSettingInput, identity: UUID, digest: bytes
) -> IntervalSetting:
    """The row of what is wanted; `Invalid` tells everything that is wrong with it."""
    problems = in_force.client_problems(actor, wanted.client) + _months_problems(wanted.months)
    task, wrong = _task(wanted.task)
    if task is None:
        raise Invalid(problems=[*problems, *wrong])
    item, more = _piece(actor, task, wanted)
    usual = _usual(task, wanted, item)
    problems += more + _length_problems(task, wanted.months, usual)
    if problems:
        raise Invalid(problems=problems)
    return IntervalSetting(
        id=identity,
        contractor_id=actor.organization_id,
        client_id=UUID(wanted.client),
        task=task.id,
        station_kind=wanted.station_kind,
        site_id=item.site_id if item else None,
        piece=UUID(item.piece) if item else None,
        tag=item.tag if item else "",
        months=wanted.months,
        catalogue_months=usual,
        safety=task.safety,
        reason=wanted.reason.strip(),
        created_digest=digest,
        **in_force.set_by(actor, timezone.now()),
    )


def _task(name: str) -> tuple[Task | None, list[Problem]]:
    """The task of which an interval can be set."""
    task = BY_ID.get(name)
    if task is None:
        words = "there is no such task: GET /verification-tasks lists them"
        return None, [Problem("/task", "unknown", words)]
    if task.once:
        words = "this is done once for each piece, and has no interval"
        return None, [Problem("/task", "once", words)]
    return task, []


def _months_problems(months: int) -> list[Problem]:
    if SHORTEST <= months <= LONGEST:
        return []
    words = f"expected {SHORTEST} to {LONGEST} months, got {months}"
    return [Problem("/months", "out_of_range", words)]


def _piece(
    actor: Actor, task: Task, wanted: IntervalSettingInput
) -> tuple[Item | None, list[Problem]]:
    """The due item of the piece that is named."""
    if wanted.piece is None:
        return None, []
    if wanted.station_kind is not None:
        words = "expected a kind of station, or a piece, not both"
        return None, [Problem("/station_kind", "conflict", words)]
    asked = Wanted(piece=UUID(wanted.piece), task=task.id, client=UUID(wanted.client))
    found = due_items.items(actor, asked)
    if found:
        return found[0], []
    words = f"expected a {task.of.replace('_', ' ')} in service of this client that has this task"
    return None, [Problem("/piece", "unknown_id", words)]


def _usual(task: Task, wanted: IntervalSettingInput, item: Item | None) -> int:
    """The catalogue's own interval there; of several that may be, the longest."""
    if item is not None:
        return int(item.default_months)
    kind = wanted.station_kind
    elsewhere = {f"site.{each}" for each in get_args(SiteKind) if kind and each != kind}
    months = []
    for each in task.defaults:
        if elsewhere.isdisjoint(each.when):
            months.append(each.months)
            if {*each.when} <= {f"site.{kind}"} and not each.unless:
                break  # it fits whatever stands there
    return max(months)


def _length_problems(task: Task, months: int, usual: int) -> list[Problem]:
    if not task.safety or months <= usual or months > LONGEST:
        return []
    words = (
        f"expected at most {usual} months: the interval of a safety function may be shortened,"
        " never lengthened"
    )
    return [Problem("/months", "out_of_range", words)]
