"""What was read while a sensor was out: records that rest on it since it was last known good."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from records import permissions
from records.errors import NotFound
from records.models import PerformedTask, Record
from records.permissions import Actor
from records.services.kinds import SENSOR_ROLES

Document = dict[str, Any]


def performed(actor: Actor) -> QuerySet[PerformedTask]:
    """What the actor's organization may see of what was performed."""
    permissions.require(actor, "due.read")
    rows = PerformedTask.objects.select_related("site", "record")
    return permissions.visible(rows, actor)


def document(actor: Actor, identity: UUID) -> Document:
    """What was found of a sensor, and the records since the last good date that rest on it.

    Of what was found inside its tolerance, and of what is no sensor, nothing rests in doubt.
    """
    row = performed(actor).filter(id=identity).first()
    if row is None:
        raise NotFound()
    return told(actor, row)


def told(actor: Actor, row: PerformedTask, until: datetime | None = None) -> Document:
    """The same of a row that the actor may see; as it was known at a moment, else as it is now."""
    by_then = _By(actor, until)
    good = _good_before(by_then, row)
    known = {
        "id": str(row.id),
        "site": str(row.site.id),
        "task": row.task,
        "tag": row.tag,
        "serial": row.serial or None,
        "record": str(row.record.id),
        "number": row.record.number,
        "performed_on": str(row.performed_on),
        "result": row.result,
        "as_found": row.as_found,
        "last_good_on": str(good.performed_on) if good else None,
        "taken_out": _taken_out(by_then, row),
    }
    in_doubt = row.kind == "sensor" and "outside" in (row.as_found, row.result)
    return known | {"records": _records(by_then, row, good) if in_doubt else []}


@dataclass(frozen=True, slots=True)
class _By:
    """Who asks, and until when what was sealed is known."""

    actor: Actor
    until: datetime | None

    def known(self, name: str) -> Q:
        """Of the rows with this moment those that were there."""
        return Q() if self.until is None else Q(**{f"{name}__lte": self.until})

    def stands(self, record: str = "") -> Q:
        """No later record corrects it by then."""
        path = f"{record}row__in"
        corrected = Record.objects.filter(self.known("sealed_at"), corrects__isnull=False)
        return ~Q(**{path: corrected.values("corrects_id")})


def _good_before(by: _By, row: PerformedTask) -> PerformedTask | None:
    """The last time before that it was left inside, and the same thing as far as is known."""
    earlier = Q(performed_on__lt=row.performed_on) | Q(
        performed_on=row.performed_on, row__lt=row.row
    )
    same = Q(serial=row.serial) if row.serial else Q(piece=row.piece)
    rows = performed(by.actor).filter(
        earlier, same, by.known("sealed_at"), by.stands("record__"), site=row.site_id,
        task=row.task, tag=row.tag, result="inside",
    )  # fmt: skip
    return rows.order_by("-performed_on", "-row").first()


def _taken_out(by: _By, row: PerformedTask) -> str | None:
    """What the same visit found of the sensor that this one came for."""
    if row.kind != "sensor":
        return None
    rows = performed(by.actor).filter(record=row.record_id, task=row.task, tag=row.tag)
    found = rows.filter(row__lt=row.row).exclude(serial=row.serial).first()
    return str(found.id) if found else None


def _records(by: _By, row: PerformedTask, good: PerformedTask | None) -> list[Document]:
    rows = permissions.visible(Record.objects.filter(site=row.site_id), by.actor)
    rows = rows.filter(by.known("sealed_at"), by.stands())
    rows = rows.filter(performed_at__lte=row.record.performed_at)
    if good is not None:
        rows = rows.filter(performed_at__gte=good.record.performed_at)
    listed = []
    for record in rows.order_by("performed_at", "number"):
        content = json.loads(bytes(record.canonical))
        used = _used(content["snapshot"], row)
        if used:
            listed.append(_line(record, content, used))
    return listed


def _used(snapshot: Mapping[str, Any], row: PerformedTask) -> list[str]:
    """What the pump set of a record has the sensor for."""
    own = {each["id"] for each in snapshot["sensors"] if each.get("tag") == row.tag}
    joined = snapshot.get("pump_set") or {}
    return [role.replace("_", " ") for role in SENSOR_ROLES if joined.get(role) in own]


def _line(record: Record, content: Mapping[str, Any], used: list[str]) -> Document:
    return {
        "record": str(record.id),
        "number": record.number,
        "performed_at": content["event"]["performed_at"],
        "pump_set": content["snapshot"]["pump_set"]["tag"],
        "as": used,
    }
