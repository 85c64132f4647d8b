"""What a sealed record did of each verification task, written beside it when it is sealed.

It follows from the record's text alone: for records of before, `keep_performed_tasks` writes it.
"""

import json
from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import QuerySet

from calculations.inputs.base import Moment
from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.tasks.catalogue import BY_ID
from calculations.tasks.performed import Performed, Thing, Verdicts
from calculations.tasks.performing import performed
from records.ids import is_id
from records.models import PerformedTask, Record
from records.selectors.rule_settings import in_si
from records.services import holding

Content = Mapping[str, Any]

_AT_ONCE = 100


def keep(record: Record, content: Content) -> None:
    """Write what a record that was just sealed performed."""
    PerformedTask.objects.bulk_create(rows(record, content))


def rows(record: Record, content: Content) -> list[PerformedTask]:
    """What a record's text says was performed, was not possible, or begins to count."""
    event = read(EventInput, content["event"])
    subject = read(Subject, content["snapshot"]).model_copy(update={"event": event})
    zone = ZoneInfo(content["snapshot"]["site"]["time_zone"])
    common = {
        "record": record,
        "contractor_id": record.contractor_id,
        "client_id": record.client_id,
        "site_id": record.site_id,
        "performed_on": Moment(content["event"]["performed_at"]).at.astimezone(zone).date(),
        "sealed_at": record.sealed_at,
        "handed_to": record.handed_to,
    }
    judgement = content["judgement"]
    found = performed(
        subject,
        _verdicts(judgement),
        in_si(judgement["limits_changed"]),
        _accepted(judgement, content["answers"]),
    )
    return [PerformedTask(**common, **_columns(each)) for each in found]


def _verdicts(judgement: Content) -> Verdicts:
    return Verdicts.of(
        ((each["rule"], each["severity"], each["subject"]) for each in judgement["findings"]),
        ((each["rule"], each["subject"]) for each in judgement["not_evaluated"]),
    )


def _accepted(judgement: Content, answers: Iterable[Content]) -> frozenset[str]:
    """Rules of which a finding was accepted; of several answers to one the last counts.

    A note is answered by who wants to: nothing waits for it.
    """
    last = {each["finding"]: each["accepted"] for each in answers}
    asked = (each for each in judgement["findings"] if each["severity"] != "note")
    return frozenset(each["rule"] for each in asked if last.get(each["id"]))


def _columns(done: Performed) -> dict[str, Any]:
    drive = done.drive or Thing("")
    return {
        "task": done.task,
        "kind": BY_ID[done.task].of,
        "tag": done.thing.tag,
        "piece": _id(done.thing),
        "serial": done.thing.serial,
        "firmware": done.thing.firmware,
        "drive": _id(drive),
        "drive_serial": drive.serial,
        "place": done.place,
        "result": done.result,
        "as_found": done.as_found,
        "ratio": done.ratio,
        "reason": done.reason,
    }


def _id(thing: Thing) -> UUID | None:
    return UUID(thing.id) if is_id(thing.id) else None


def keep_of_before(using: str) -> int:
    """Write what records performed that have no such rows; `using` is the tables' owner's.

    Safe to break off, to run again, and to run beside a serving process.
    """
    count, after = 0, 0
    while True:
        with transaction.atomic(using=using):
            records = holding.records(_without(using, after), _AT_ONCE)
            if not records:
                return count
            for record in records:
                found = rows(record, json.loads(bytes(record.canonical)))
                made = PerformedTask.objects.using(using)
                made.bulk_create(found, ignore_conflicts=True)
                count += bool(found)
            after = records[-1].row


def _without(using: str, after: int) -> QuerySet[Record]:
    return Record.objects.using(using).filter(row__gt=after, performed=None)
