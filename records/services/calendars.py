"""Secret addresses of calendars: made and shown once, kept as a digest, revoked at once."""

import secrets
from dataclasses import dataclass
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet
from django.utils import timezone

from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Invalid, NotFound
from records.models import Calendar, Clientele
from records.permissions import Actor
from records.services import audit, shown_once
from records.services.tokens import TO_LOOK, digest_of

LONGEST_NAME = 200
PREFIX = "stc_"


@dataclass(frozen=True, slots=True)
class Subscribed:
    """Whom an address speaks for, and of which client alone, where it is of one."""

    actor: Actor
    calendar: UUID
    client: UUID | None


def issue(
    actor: Actor, name: str, client: UUID | None = None, *, identity: UUID | None = None
) -> tuple[Calendar, str]:
    """Make an address; its secret part is shown this once, and once for each `identity`."""
    permissions.require(actor, "calendars.own")
    named = name.strip()
    if not named or len(named) > LONGEST_NAME or "\0" in named:
        words = f"expected what it is for, in at most {LONGEST_NAME} characters"
        raise Invalid(problems=[Problem("/name", "required", words)])
    if client is not None and not _is_acquainted(actor, client):
        raise Invalid(problems=[Problem("/client", "unknown_id", "there is no such client")])
    secret = PREFIX + secrets.token_urlsafe(32)
    row = shown_once.create(
        Calendar,
        identity,
        name=named,
        user_id=actor.user_id,
        organization_id=actor.organization_id,
        role=actor.role,
        client=client,
        digest=digest_of(secret),
    )
    audit.write(actor, "calendar made", _about(row))
    return row, secret


def _is_acquainted(actor: Actor, client: UUID) -> bool:
    return permissions.visible(Clientele.objects.filter(client_id=client), actor).exists()


def own(actor: Actor) -> QuerySet[Calendar]:
    """The actor's own addresses in this organization, newest first."""
    permissions.require(actor, "calendars.own")
    return _of(actor, actor.user_id)


def _of(actor: Actor, user_id: UUID) -> QuerySet[Calendar]:
    rows = Calendar.objects.filter(organization_id=actor.organization_id, user_id=user_id)
    return rows.order_by("-created_at", "id")


def revoke(actor: Actor, identity: UUID) -> None:
    """Make an address worthless from the next request on; again changes nothing."""
    row = own(actor).filter(id=identity).first()
    if row is None:
        raise NotFound()
    _revoke(actor, row)


def revoke_all_of(actor: Actor, user_id: UUID) -> None:
    """The same for every address of a person in the actor's organization."""
    permissions.require(actor, "members.write")
    for row in _of(actor, user_id).filter(revoked_at=None):
        _revoke(actor, row)


def _revoke(actor: Actor, row: Calendar) -> None:
    live = Calendar.objects.filter(id=row.id, revoked_at=None)
    if live.update(revoked_at=timezone.now()):
        audit.write(actor, "calendar revoked", _about(row))


def _about(row: Calendar) -> audit.About:
    return audit.About("calendar", row.id, row.name, client=row.client)


def subscribed(secret: str) -> Subscribed | None:
    """Whom an address speaks for; None for a wrong or revoked one, or a person who was let go."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM find_calendar(%s)", [digest_of(secret)])
        found = cursor.fetchone()
    if found is None:
        return None
    calendar, user, name, organization, organization_name, role, client = found
    actor = Actor(user, name, organization, organization_name, role, TO_LOOK)
    return Subscribed(actor, calendar, client)
