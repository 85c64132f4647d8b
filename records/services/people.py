"""Who belongs to an organization: invited by the office, given a role, let go."""

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated, Any, Literal
from uuid import UUID

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import IntegrityError, connection, transaction
from django.urls import reverse
from django.utils import timezone
from pydantic import Field, StringConstraints

from calculations.inputs.base import Part, Words
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Conflict, Forbidden, Invalid, NotFound
from records.models import Membership, Organization, User
from records.models.base import new_id
from records.permissions import OFFICE, Actor
from records.selectors import members
from records.services import audit, calendars, enrolments, links, mails, tokens
from records.services.reading import read_input

Address = Annotated[str, StringConstraints(strip_whitespace=True, max_length=150)]


class InvitationInput(Part):
    """Somebody to be let into the caller's organization."""

    name: Words
    email: Address = Field(description="Where the invitation goes; the user name besides.")
    role: Literal["office", "technician"]


class FirstInvitationInput(InvitationInput):
    """The same by whoever runs the service, for a client's people as well."""

    role: Literal["office", "technician", "client"]  # type: ignore[assignment]


class RoleInput(Part):
    """The role that a member is to have."""

    role: Literal["office", "technician"]


@dataclass(frozen=True, slots=True)
class Invitation:
    """Who was let in. `link` is None for whoever has a password and signs in as before."""

    user_id: UUID
    username: str
    role: str
    link: str | None
    expires_at: datetime | None


def invite(actor: Actor, given: Mapping[str, Any], absolute: Callable[[str], str]) -> Invitation:
    """Let a person into the actor's organization, with a link to choose a password.

    `absolute` makes a path a whole address (`request.build_absolute_uri`). The link is mailed,
    and answered so that it can be handed over; it is good once and for a week. Again for somebody
    who has not used it, a new link ends the former. Somebody who signs in already with this
    address, and never belonged here, is refused: a link for them would let others in.
    """
    _require_to_let_in(actor)
    wanted = read_input(InvitationInput, given)
    email = _address(wanted.email)
    known = _known(email)
    if known is None:
        user = _add(wanted.name.strip(), email)
        Membership.objects.create(
            user_id=user.id, organization_id=actor.organization_id, role=wanted.role
        )
    else:
        user = _take_again(actor, known, wanted.role)
    invitation = _invitation(user, wanted.role, absolute)
    # The answer shows the link this once: whatever becomes of the mail, it has to arrive.
    transaction.on_commit(lambda: _mail(actor, email, invitation), robust=True)
    audit.write(actor, "person invited", _about(user.id, str(user)), _role(None, wanted.role))
    return invitation


def invite_by_operator(
    organization: Organization,
    given: Mapping[str, Any],
    absolute: Callable[[str], str],
    *,
    by: str,
    reason: str,
    using: str,
) -> Invitation:
    """The first person of an organization, who can then invite others; as the tables' owner.

    The organization reads in its audit `by` whom, and why.
    """
    wanted = read_input(FirstInvitationInput, given)
    email = _address(wanted.email)
    with transaction.atomic(using=using):
        user = User(id=new_id(), username=email, full_name=wanted.name.strip(), email=email)
        user.password = _no_password()
        try:
            user.save(using=using, force_insert=True)
        except IntegrityError:
            raise _taken() from None
        Membership.objects.using(using).create(
            user=user, organization=organization, role=wanted.role
        )
        audit.write_by_operator(
            organization.id, by, "person invited", _about(user.id, str(user)),
            change=_role(None, wanted.role), reason=reason, using=using,
        )  # fmt: skip
    return _invitation(user, wanted.role, absolute)


def change_role(actor: Actor, user_id: UUID, role: str) -> None:
    """Give a member another role; their tokens of the former one end with it."""
    _require_to_let_in(actor)
    if role not in permissions.CONTRACTOR:
        words = f"expected one of {', '.join(permissions.CONTRACTOR)}"
        raise Invalid(problems=[Problem("/role", "choice", words)])
    member = _member(actor, user_id)
    if member.role == role:
        return
    if member.role == OFFICE:
        _refuse_last(actor, member)
    before, member.role = member.role, role
    member.save(update_fields=["role"])
    about = _about(user_id, members.name_of(user_id))
    audit.write(actor, "role changed", about, _role(before, role))


def give_role(actor: Actor, user_id: UUID, given: Mapping[str, Any]) -> str:
    """The same by what a caller sent; answers the role."""
    _require_to_let_in(actor)
    wanted = read_input(RoleInput, given)
    change_role(actor, user_id, wanted.role)
    return wanted.role


def end(actor: Actor, user_id: UUID) -> None:
    """Let a member go: sessions and tokens are refused from their next request on.

    Sessions, tokens and calendars end for good, and codes for devices: a browser or a device that
    was lost meanwhile does not come back with its person.
    """
    permissions.require(actor, "members.write")
    member = _member(actor, user_id)
    if member.role == OFFICE:
        _refuse_last(actor, member)
    _end_sessions_of(user_id)  # of members alone: before they are none
    member.ended_at = timezone.now()
    member.save(update_fields=["ended_at"])
    tokens.revoke_all_of(actor, user_id)
    calendars.revoke_all_of(actor, user_id)
    enrolments.end_codes_of(actor, user_id)
    about = _about(user_id, members.name_of(user_id))
    audit.write(actor, "person removed", about, _role(member.role, None))


def _end_sessions_of(user_id: UUID) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT end_sessions_of(%s)", [user_id])


def _require_to_let_in(actor: Actor) -> None:
    """Whoever is let in can sign: nobody gives what they lack, and a person confirms it first."""
    permissions.require(actor, "members.write")
    if "sign" not in actor.scopes:
        raise Forbidden("who is let in can sign and seal: this token lacks the scope sign")
    permissions.require_presence(actor)


def _address(given: str) -> str:
    try:
        validate_email(given)
    except ValidationError:
        words = "expected an e-mail address"
        raise Invalid(problems=[Problem("/email", "email", words)]) from None
    return given.lower()


def _known(email: str) -> UUID | None:
    """Who signs in with an address, wherever: an office sees its own people alone."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT person_of(%s)", [email])
        found: UUID | None = (cursor.fetchone() or [None])[0]
    return found


def _add(name: str, email: str) -> User:
    user = User(id=new_id(), username=email, full_name=name, email=email, password=_no_password())
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(
                "SELECT add_person(%s, %s, %s, %s, %s)",
                [user.id, user.username, user.full_name, user.email, user.password],
            )
    except IntegrityError:  # the same, and quicker
        raise _taken() from None
    return user


def _take_again(actor: Actor, user_id: UUID, role: str) -> User:
    """Somebody of this organization, who left or did not use the invitation."""
    held = Membership.objects.select_for_update().filter(
        user_id=user_id, organization_id=actor.organization_id
    )
    member = held.first()
    if member is None:
        raise _taken()
    user = _invited_again(user_id)
    if member.ended_at is None and user.has_usable_password():
        words = "this person belongs to your organization already"
        raise Conflict(words, [Problem("/email", "taken", words)])
    member.ended_at, member.role = None, role
    member.save(update_fields=["ended_at", "role"])
    return user


def _invited_again(user_id: UUID) -> User:
    """With a fresh password that nobody has, where there is none yet: it ends the former link."""
    password = _no_password()
    with connection.cursor() as cursor:
        cursor.execute("SELECT invite_again(%s, %s)", [user_id, password])
        [waiting] = cursor.fetchone() or [False]
    names = ("id", "username", "full_name", "email")
    values = User.objects.values(*names).get(id=user_id)
    return User(**values, password=password if waiting else "kept")


def _no_password() -> str:
    return UNUSABLE_PASSWORD_PREFIX + secrets.token_urlsafe(40)


def _taken() -> Conflict:
    words = "somebody else signs in with this address: give another one"
    return Conflict(words, [Problem("/email", "taken", words)])


def _invitation(user: User, role: str, absolute: Callable[[str], str]) -> Invitation:
    if user.has_usable_password():
        return Invitation(user.id, user.username, role, None, None)
    names = {"uidb36": user.id.hex, "key": links.Links().make_token(user)}
    path = reverse("account_reset_password_from_key", kwargs=names)
    expires = datetime.fromtimestamp(links.expires_at(user), UTC)
    return Invitation(user.id, user.username, role, absolute(path), expires)


def _mail(actor: Actor, email: str, invitation: Invitation) -> None:
    told = {"inviter": actor.name, "organization": actor.organization, "link": invitation.link,
            "username": invitation.username}  # fmt: skip
    name = "invited" if invitation.link else "joined"
    mails.send(f"account/email/{name}", email, told)


def _member(actor: Actor, user_id: UUID) -> Membership:
    """One member; nobody else of the organization changes any before this is done.

    All are locked, in one order: of two who remove each other at once, one waits, and is
    `Forbidden` what the place would allow that is gone by then.
    """
    locked = list(members.current(actor).select_for_update().order_by("pk"))
    if not any((each.user_id, each.role) == (actor.user_id, actor.role) for each in locked):
        raise Forbidden("your own place in this organization ended or changed a moment ago")
    member = next((each for each in locked if each.user_id == user_id), None)
    if member is None:
        raise NotFound()
    return member


def _refuse_last(actor: Actor, member: Membership) -> None:
    """An organization without an office could let nobody in; its members are locked."""
    others = members.current(actor).filter(role=OFFICE).exclude(pk=member.pk)
    if not others.exists():
        raise Conflict("this is the last person of the office: give somebody else the role first")


def _about(user_id: UUID, name: str) -> audit.About:
    return audit.About("person", user_id, name)


def _role(before: str | None, after: str | None) -> audit.Change:
    return audit.Change(before={"role": before}, after={"role": after})
