"""Somebody who runs the service looks into an organization's book: for a reason, for a time, seen.

Whoever is admitted reads and changes nothing, has no token there, and each request is written into
that organization's audit.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import connection, transaction
from django.utils import timezone

from records.errors import Conflict, Forbidden, NotFound
from records.models import Admission, Membership, User
from records.models.audit import Action
from records.permissions import Actor
from records.services import audit, organizations
from records.services.times import instant

LONGEST_ASKED = 200


@dataclass(frozen=True, slots=True)
class Wanted:
    """Who is let in where, by whom, and why."""

    username: str
    organization: UUID
    operator: str
    reason: str


def admit(wanted: Wanted, hours: int, using: str) -> datetime:
    """Let a person in until the time that is answered; `using` is the tables' owner's.

    The person has an account and belongs to no organization: what they do is the operator's.
    """
    with transaction.atomic(using=using):
        user = _user(wanted, using)
        organization = organizations.known(wanted.organization, using)
        if Membership.objects.using(using).filter(user=user, ended_at=None).exists():
            raise Conflict("this person belongs to an organization: use an account of its own")
        now = timezone.now()
        _still_in(user, using).filter(until__lte=now).update(ended_at=now)
        if _still_in(user, using).exists():
            raise Conflict("this person is admitted already: end that first")
        until = now + timedelta(hours=hours)
        Admission.objects.using(using).create(
            user=user,
            organization=organization,
            reason=wanted.reason,
            admitted_by=wanted.operator,
            since=now,
            until=until,
        )
        _write_down(wanted, user, "operator admitted", audit.Change(after=_told(until)), using)
    return until


def dismiss(wanted: Wanted, using: str) -> None:
    """End it before its time, with effect on the next request."""
    with transaction.atomic(using=using):
        user = _user(wanted, using)
        ended = _still_in(user, using).filter(organization=wanted.organization)
        if not ended.update(ended_at=timezone.now()):
            raise NotFound("this person is not admitted there")
        _write_down(wanted, user, "operator dismissed", audit.NOTHING, using)


def note(actor: Actor, asked: str, *, inside: bool = True) -> None:
    """Write down what somebody admitted asked for, and let the database refuse more than looking.

    `inside` says whether all of it is one transaction, in the actor's place.
    """
    if not actor.admitted:
        return
    if not inside:
        raise Forbidden("who is admitted to look sends no files")
    about = audit.About("organization", actor.organization_id, asked[:LONGEST_ASKED])
    audit.write(actor, "operator looked", about, reason=actor.admitted)
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")  # at the end it would count as writing
        cursor.execute("SET TRANSACTION READ ONLY")


def _still_in(user: User, using: str) -> Any:
    return Admission.objects.using(using).filter(user=user, ended_at=None)


def _user(wanted: Wanted, using: str) -> User:
    rows = User.objects.using(using).select_for_update()
    user = rows.filter(username=wanted.username, is_active=True).first()
    if user is None:
        raise NotFound("there is no active account of this user name")
    return user


def _told(until: datetime) -> dict[str, str]:
    return {"until": instant(until.replace(microsecond=0))}


def _write_down(
    wanted: Wanted, user: User, action: Action, change: audit.Change, using: str
) -> None:
    about = audit.About("person", user.id, str(user))
    audit.write_by_operator(
        wanted.organization, wanted.operator, action, about,
        reason=wanted.reason, change=change, using=using,
    )  # fmt: skip
