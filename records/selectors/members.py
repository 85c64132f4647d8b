"""The people of an organization."""

from typing import Any

from records import permissions
from records.models import Membership
from records.permissions import Actor
from records.services.times import instant


def members(actor: Actor) -> list[dict[str, Any]]:
    """Everybody in the actor's organization, with the id that a token is made for, by name."""
    permissions.require(actor, "members.read")
    rows = Membership.objects.filter(organization_id=actor.organization_id, ended_at=None)
    names = ("user_id", "user__full_name", "user__username", "role", "since")
    found = [_member(row) for row in rows.values(*names)]
    return sorted(found, key=lambda member: (member["name"], member["id"]))


def _member(row: dict[str, Any]) -> dict[str, Any]:
    return {
        "id": str(row["user_id"]),
        "name": row["user__full_name"] or row["user__username"],
        "role": row["role"],
        "since": instant(row["since"]),
    }
