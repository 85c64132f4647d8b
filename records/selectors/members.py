"""The people of an organization."""

from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet

from records import permissions
from records.errors import NotFound
from records.models import Membership, User
from records.permissions import Actor
from records.services.times import instant

_COLUMNS = (
    "user_id", "user__full_name", "user__username", "user__email", "user__last_login", "role",
    "since",
)  # fmt: skip


def members(actor: Actor) -> list[dict[str, Any]]:
    """Everybody in the actor's organization, with the id that a token is made for, by name."""
    return [document(member) for member in rows(actor)]


def rows(actor: Actor) -> list[dict[str, Any]]:
    """The same with times as they are kept, and with the address that signs in."""
    return _read(_visible(actor))


def row(actor: Actor, user_id: UUID) -> dict[str, Any]:
    """One of them."""
    found = _read(_visible(actor).filter(user_id=user_id))
    if not found:
        raise NotFound()
    return found[0]


def current(actor: Actor) -> QuerySet[Membership]:
    """Who belongs to the actor's organization now, whatever the actor may do with them."""
    return Membership.objects.filter(organization_id=actor.organization_id, ended_at=None)


def name_of(user_id: UUID) -> str:
    """What a person is called; the columns that an office may read."""
    return str(User.objects.only("full_name", "username").get(id=user_id))


def document(member: dict[str, Any]) -> dict[str, Any]:
    """A member as the API tells it."""
    last = member["last_sign_in_at"]
    return {
        "id": str(member["id"]),
        "name": member["name"],
        "role": member["role"],
        "since": instant(member["since"]),
        "second_factor": member["second_factor"],
        "last_sign_in_at": instant(last) if last else None,
    }


def _visible(actor: Actor) -> QuerySet[Membership]:
    permissions.require(actor, "members.read")
    return current(actor)


def _read(found: QuerySet[Membership]) -> list[dict[str, Any]]:
    secured = _with_second_factor()
    known = [_member(row, secured) for row in found.values(*_COLUMNS)]
    return sorted(known, key=lambda member: (member["name"], str(member["id"])))


def _with_second_factor() -> set[UUID]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT members_with_second_factor()")
        return {user_id for (user_id,) in cursor.fetchall()}


def _member(row: dict[str, Any], secured: set[UUID]) -> dict[str, Any]:
    return {
        "id": row["user_id"],
        "name": row["user__full_name"] or row["user__username"],
        "username": row["user__username"],
        "email": row["user__email"],
        "role": row["role"],
        "since": row["since"],
        "second_factor": row["user_id"] in secured,
        "last_sign_in_at": row["user__last_login"],
    }
