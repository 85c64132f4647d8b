"""How often tasks are due, as offices have set it for clients, kinds of stations and pieces."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from records import permissions
from records.errors import NotFound
from records.models import IntervalSetting
from records.permissions import Actor
from records.services.times import instant

Document = dict[str, Any]


def rows(actor: Actor) -> QuerySet[IntervalSetting]:
    """Every setting that the actor's organization is a party to, ended ones too."""
    permissions.require(actor, "due.read")
    found = IntervalSetting.objects.select_related("site", "proposal")
    return permissions.visible(found, actor)


def get(actor: Actor, identity: UUID) -> IntervalSetting:
    """The setting of this id."""
    row = rows(actor).filter(id=identity).first()
    if row is None:
        raise NotFound()
    return row


def document(row: IntervalSetting) -> Document:
    """A setting as it is told."""
    return {
        "id": str(row.id),
        "client": str(row.client_id),
        "task": row.task,
        "station_kind": row.station_kind,
        "site": str(row.site.id) if row.site else None,
        "piece": str(row.piece) if row.piece else None,
        "tag": row.tag or None,
        "months": row.months,
        "catalogue_months": row.catalogue_months,
        "reason": row.reason,
        "proposal": str(row.proposal.id) if row.proposal else None,
        "set_by": row.set_by_name,
        "set_at": instant(row.set_at),
        "ended_by": row.ended_by_name or None,
        "ended_at": instant(row.ended_at) if row.ended_at else None,
    }
