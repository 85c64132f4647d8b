"""Keys of devices and scripts: made once, shown once, kept as a digest, revoked at once."""

import hashlib
import secrets
from collections.abc import Mapping
from datetime import timedelta
from typing import Annotated, Any, get_args
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet
from django.utils import timezone
from pydantic import Field

from calculations.inputs.base import Count, Id, Part, Words
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Forbidden, Invalid, NotFound
from records.models import Token
from records.models.people import Scope
from records.permissions import Actor, Presence
from records.selectors import members
from records.services import audit, shown_once
from records.services.reading import read_input
from records.services.times import instant

PREFIX = "stb_"
LONGEST_DAYS = 730


class TokenInput(Part):
    """A token to be made: for whom, for how long, and what it may do."""

    name: Words
    user: Id | None = Field(default=None, description="A member; yourself if left out.")
    scopes: list[Scope] = Field(default=["read"], min_length=1)
    days: Annotated[Count, Field(ge=1, le=LONGEST_DAYS)] = 365


def digest_of(secret: str) -> bytes:
    """What is kept of a token: SHA-256 suffices for 256 random bits."""
    return hashlib.sha256(secret.encode()).digest()


def new_secret() -> str:
    """A token's text: a prefix that people can recognise, and 256 random bits."""
    return PREFIX + secrets.token_urlsafe(32)


def issue(actor: Actor, given: Mapping[str, Any]) -> tuple[Token, str]:
    """Make a token for a member of the actor's organization; its text is shown this once.

    One that signs is made by the person it signs for: nobody else ever holds its text.
    """
    permissions.require(actor, "tokens.write")
    wanted = read_input(TokenInput, given)
    user_id = UUID(wanted.user) if wanted.user else actor.user_id
    return _issue(actor, wanted, user_id, _role_of(actor, user_id))


def issue_own(
    actor: Actor, given: Mapping[str, Any], *, identity: UUID | None = None
) -> tuple[Token, str]:
    """Make a token for the actor, whatever their role; its text is shown this once.

    And once for each `identity`, the id of the form that it was asked for with.
    """
    permissions.require(actor, "tokens.own")
    wanted = read_input(TokenInput, {**given, "user": None})
    return _issue(actor, wanted, actor.user_id, actor.role, identity)


def scopes_of(role: str) -> tuple[str, ...]:
    """What a token of somebody in a role can be given: a client's reads, and does no more."""
    return ("read",) if role == permissions.CLIENT else get_args(Scope)


def _role_of(actor: Actor, user_id: UUID) -> str:
    member = members.current(actor).filter(user_id=user_id).first()
    if member is None:
        words = "there is no such member of your organization"
        raise Invalid(problems=[Problem("/user", "unknown_id", words)])
    return str(member.role)


def _issue(
    actor: Actor, wanted: TokenInput, user_id: UUID, role: str, identity: UUID | None = None
) -> tuple[Token, str]:
    if not set(wanted.scopes) <= set(scopes_of(role)):
        words = f"expected {' and '.join(scopes_of(role))} alone: it is the token of a {role}"
        raise Invalid(problems=[Problem("/scopes", "choice", words)])
    if not set(wanted.scopes) <= actor.scopes:
        raise Forbidden("a token cannot be given scopes that you lack")
    if "sign" in wanted.scopes and (user_id != actor.user_id or actor.token_id is not None):
        words = "a token that signs is made by the person it signs for, on the page /tokens"
        raise Forbidden(words, [Problem("/scopes", "not_yours", words)])
    if "sign" in wanted.scopes:
        permissions.require_presence(actor)
    token, secret = keep(
        wanted.days,
        identity=identity,
        name=wanted.name.strip(),
        user_id=user_id,
        organization_id=actor.organization_id,
        role=role,
        scopes=list(wanted.scopes),
        created_by_id=actor.user_id,
    )
    audit.write(actor, "token made", about(token), audit.Change(after=told(token)))
    return token, secret


def keep(
    days: int, *, identity: UUID | None = None, using: str = "default", **columns: Any
) -> tuple[Token, str]:
    """A token with these columns, good for so many days, and its text, which is not kept."""
    secret = new_secret()
    token = shown_once.create(
        Token,
        identity,
        using=using,
        prefix=secret[:12],
        digest=digest_of(secret),
        expires_at=timezone.now() + timedelta(days=days),
        **columns,
    )
    return token, secret


def about(token: Token) -> audit.About:
    """A token, as the audit names it."""
    return audit.About("token", token.id, token.name)


def told(token: Token) -> dict[str, Any]:
    """What a token is, without anything that would let in."""
    return {
        "user": str(token.user_id),
        "role": token.role,
        "scopes": token.scopes,
        "expires_at": instant(token.expires_at),
    }


def own(actor: Actor) -> list[Token]:
    """The actor's own tokens in this organization, newest first."""
    permissions.require(actor, "tokens.own")
    return list(_newest(actor).filter(user_id=actor.user_id))


def every(actor: Actor) -> list[Token]:
    """Everybody's tokens in the actor's organization, newest first."""
    permissions.require(actor, "tokens.read")
    return list(_newest(actor))


def _newest(actor: Actor) -> QuerySet[Token]:
    rows = Token.objects.filter(organization_id=actor.organization_id)
    return rows.select_related("device_key").order_by("-created_at", "id")


def revoke_own(actor: Actor, identity: UUID) -> None:
    """Make one of the actor's own tokens worthless from the next request on."""
    permissions.require(actor, "tokens.own")
    _revoke(Token.objects.filter(user_id=actor.user_id), actor, identity)


def revoke(actor: Actor, identity: UUID) -> None:
    """Make a token worthless from the next request on; again changes nothing."""
    permissions.require(actor, "tokens.write")
    _revoke(Token.objects.all(), actor, identity)


def revoke_all_of(actor: Actor, user_id: UUID) -> None:
    """The same for whatever speaks for a person in the actor's organization."""
    permissions.require(actor, "members.write")
    held = _newest(actor).filter(user_id=user_id, revoked_at=None)
    for identity in held.values_list("id", flat=True):
        _revoke(Token.objects.all(), actor, identity)


def _revoke(rows: QuerySet[Token], actor: Actor, identity: UUID) -> None:
    tokens = rows.filter(organization_id=actor.organization_id, id=identity)
    token = tokens.first()
    if token is None:
        raise NotFound()
    if tokens.filter(revoked_at=None).update(revoked_at=timezone.now()):
        audit.write(actor, "token revoked", about(token))


_FIND = "SELECT *, use_of_token_is_noted(%s) FROM find_token(%s)"


def actor_of(secret: str, address: str | None = None) -> Actor | None:
    """Who a token speaks for, from which address; None for a wrong, expired or revoked one."""
    digest = digest_of(secret)
    with connection.cursor() as cursor:
        cursor.execute(_FIND, [digest, digest])
        found = cursor.fetchone()
    if found is None:
        return None
    token_id, user_id, name, organization_id, organization, role, scopes, is_noted = found
    return Actor(
        user_id, name, organization_id, organization, role, frozenset(scopes), token_id, address,
        use_is_noted=bool(is_noted),
    )  # fmt: skip


def note_use(secret: str) -> None:
    """That a token was used just now, to the minute; nothing for one that is not good."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT note_use_of_token(%s)", [digest_of(secret)])


TO_LOOK = frozenset(("read",))
ALL_SCOPES = frozenset(get_args(Scope))


def actor_of_person(
    user_id: UUID,
    organization_id: UUID | None = None,
    address: str | None = None,
    *,
    presence: Presence,
) -> Actor | None:
    """Who a signed-in person is: in the organization chosen, else in their first one."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM memberships_of(%s)", [user_id])
        memberships = cursor.fetchall()
    for name, organization, organization_name, role, admitted in memberships:
        if organization_id in (None, organization):
            return Actor(
                user_id,
                name,
                organization,
                organization_name,
                role,
                TO_LOOK if admitted else ALL_SCOPES,
                address=address,
                presence=presence,
                admitted=admitted,
            )
    return None
