"""Limits of rules that an office has set for a client, and what they change."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db.models import Count, QuerySet

from calculations import offline
from calculations.catalogue import rule
from calculations.findings import digits
from calculations.rule import Limit
from records import permissions
from records.errors import NotFound
from records.models import Clientele, Organization, RuleSetting
from records.permissions import Actor
from records.services.times import instant

Document = dict[str, Any]


def rows(actor: Actor) -> QuerySet[RuleSetting]:
    """Every setting that the actor's organization is a party to, ended ones too."""
    permissions.require(actor, "rules.read")
    return permissions.visible(RuleSetting.objects.all(), actor)


def get(actor: Actor, identity: UUID) -> RuleSetting:
    """The setting of this id."""
    row = rows(actor).filter(id=identity).first()
    if row is None:
        raise NotFound()
    return row


def in_force(actor: Actor, client: UUID) -> list[RuleSetting]:
    """What is set for a client now, in the order it was set."""
    return list(rows(actor).filter(client_id=client, ended_at=None).order_by("row"))


def clients(actor: Actor) -> list[tuple[Organization, int]]:
    """Clients that the actor's organization works for, by name, with how many limits are set."""
    permissions.require(actor, "rules.write")
    pairs = permissions.visible(Clientele.objects.select_related("client"), actor)
    rows_in_force = rows(actor).filter(ended_at=None).order_by()
    counts = dict(rows_in_force.values_list("client_id").annotate(Count("row")))
    found = sorted((pair.client for pair in pairs), key=lambda each: each.name.casefold())
    return [(each, counts.get(each.id, 0)) for each in found]


def client(actor: Actor, identity: UUID) -> Organization:
    """One of them."""
    found = next((each for each, _ in clients(actor) if each.id == identity), None)
    if found is None:
        raise NotFound()
    return found


def history(actor: Actor, client_id: UUID, rule_id: str, name: str) -> list[RuleSetting]:
    """What was ever set of a limit for a client, the newest first."""
    same = {"client_id": client_id, "rule": rule_id, "limit": name}
    return list(rows(actor).filter(**same).order_by("-row"))


def known_limit(rule_id: str, name: str) -> Limit | None:
    """A limit of the catalogue; None if it has none of that name."""
    try:
        return rule(rule_id).limits.get(name)
    except KeyError:
        return None


def names_of_limits(rule_id: str) -> list[str] | None:
    """The limits that a rule has; None if there is no such rule."""
    try:
        return list(rule(rule_id).limits)
    except KeyError:
        return None


def limit_value(limit: Limit) -> dict[str, str]:
    """The catalogue's own limit as it stands in documents."""
    return {"value": digits(limit.value, 6), "unit": limit.unit}


def document(row: RuleSetting) -> Document:
    """A setting as it is told."""
    return {
        "id": str(row.id),
        "client": str(row.client_id),
        "rule": row.rule,
        "limit": row.limit,
        "value": {"value": row.value, "unit": row.unit},
        "looser": row.looser,
        "reason": row.reason,
        "set_by": row.set_by_name,
        "set_at": instant(row.set_at),
        "ended_by": row.ended_by_name or None,
        "ended_at": instant(row.ended_at) if row.ended_at else None,
    }


def changes(settings: Iterable[RuleSetting]) -> list[Document]:
    """What settings change of today's catalogue, as it stands on events and records."""
    found = ((row, known_limit(row.rule, row.limit)) for row in settings)
    return [_change(row, limit) for row, limit in found if limit is not None]


def _change(row: RuleSetting, limit: Limit) -> Document:
    over = row.si - limit.si
    return {
        "rule": row.rule,
        "limit": row.limit,
        "value": row.value,
        "unit": row.unit,
        "catalogue": limit_value(limit),
        "looser": over > 0 if limit.tighter == "lower" else over < 0,
        "reason": row.reason,
        "set_by": row.set_by_name,
        "set_at": instant(row.set_at),
    }


def in_si(changed: Iterable[Mapping[str, Any]]) -> dict[str, float]:
    """Changed limits as judging takes them: SI by `rule.limit`."""
    return offline.limits_in_si(changed)
