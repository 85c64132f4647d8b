"""One piece goes, another comes to its tag: in one transaction, with the pump sets it turned in."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from records import natural, permissions
from records.errors import Conflict
from records.models import PumpSet
from records.models.base import Registered
from records.permissions import Actor
from records.services import drafts, register
from records.services.kinds import KINDS, Kind


def replace(
    actor: Actor, kind: Kind, old: Any, given: Mapping[str, Any], *, day: str, revision: int
) -> Registered:
    """Take `old` out of service on a day, and put another piece at its tag from that day on.

    The pump sets that hold it hold the other one then. Sent again with the same id it changes
    nothing.
    """
    permissions.require(actor, kind.write)
    document = {**given, "site": str(old.site.id), "tag": old.tag, "in_service_from": day}
    with transaction.atomic():
        there = register.rows(actor, kind).filter(id=UUID(str(given["id"]))).first()
        if there is not None:
            return register.create(actor, kind, document)[0]
        if old.out_of_service_on is not None:
            raise Conflict(f"it was taken out of service on {old.out_of_service_on}")
        joined = holding(actor, kind, old)
        gone = {"out_of_service_on": day}
        drafts.change_registered(actor, kind, old.id, gone, revision)
        new, _ = drafts.add_registered(actor, kind, document)
        for pump_set in joined:
            _rejoin(actor, kind, pump_set, old, new)
        return new


def _rejoin(actor: Actor, kind: Kind, pump_set: PumpSet, old: Any, new: Any) -> None:
    names = [name for name in _roles(kind) if getattr(pump_set, f"{name}_id") == old.row]
    patch = {name: str(new.id) for name in names}
    drafts.change_registered(actor, KINDS["pump-sets"], pump_set.id, patch, pump_set.revision)


def holding(actor: Actor, kind: Kind, piece: Any) -> list[PumpSet]:
    """The pump sets in service that a piece is joined in."""
    names = _roles(kind)
    if not names:
        return []
    held = Q()
    for name in names:
        held |= Q(**{name: piece.row})
    rows = PumpSet.objects.filter(held, out_of_service_on=None).order_by(*natural.order("tag"))
    return list(permissions.visible(rows, actor))


def _roles(kind: Kind) -> list[str]:
    """What a pump set calls a piece of this kind."""
    relations = KINDS["pump-sets"].relations
    return [name for name, model in relations.items() if model is kind.model and name != "site"]
