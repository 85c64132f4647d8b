"""A device gets its token by a code: made by a person, shown once, good once and for minutes."""

import base64
import hashlib
import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Annotated, Any
from uuid import UUID

from django.db import connection, transaction
from django.db.models import Q
from django.utils import timezone
from pydantic import Field

from calculations.inputs.base import Part, Words
from records import permissions
from records.errors import Forbidden, NotFound, NotSignedIn
from records.models import Enrolment, Token
from records.permissions import CONTRACTOR, Actor
from records.selectors import members
from records.services import audit, tokens
from records.services.reading import read_input
from records.services.times import instant

MINUTES = 10
DEVICE_DAYS = 365
RANDOM_BYTES = 20  # 160 bits: SHA-256 suffices to keep them
GROUP = 4  # signs of the code that are written together
FORM = 1  # of what the picture holds


class EnrolmentInput(Part):
    """A device that comes in."""

    code: Annotated[Words, Field(max_length=100)] = Field(
        description="As it was shown; spaces, hyphens and small letters do not matter."
    )
    name: Annotated[Words, Field(max_length=100)] = Field(
        description="What its person calls it: it stands in the list of tokens."
    )


@dataclass(frozen=True, slots=True)
class Code:
    """A code for one device of a person; its text is not kept."""

    text: str
    name: str
    scopes: tuple[str, ...]
    expires_at: datetime


def make_code(actor: Actor, user_id: UUID, *, signs: bool = False) -> Code:
    """Make a code for a device of a member; it ends the person's former one.

    Whoever holds the device acts as its person: with the scope sign only where that person makes
    the code. Made by people at a browser, who confirm who they are.
    """
    own = user_id == actor.user_id
    permissions.require(actor, "devices.own" if own else "devices.write")
    if actor.token_id is not None:
        raise Forbidden("a code for a device is made by a person who is signed in, not by a token")
    if signs and not own:
        raise Forbidden("a device that signs is enrolled by the person it signs for")
    permissions.require_presence(actor)
    role, name = _member(actor, user_id)
    code = _new_code()
    scopes = ("read", "write", "sign") if signs else ("read", "write")
    held = Enrolment.objects.filter(organization_id=actor.organization_id, user_id=user_id)
    held.delete()
    made = Enrolment.objects.create(
        user_id=user_id,
        organization_id=actor.organization_id,
        role=role,
        scopes=list(scopes),
        digest=digest_of(code),
        created_by_id=actor.user_id,
        expires_at=timezone.now() + timedelta(minutes=MINUTES),
    )
    change = audit.Change(after={"scopes": made.scopes, "expires_at": instant(made.expires_at)})
    audit.write(actor, "enrolment code made", audit.About("person", user_id, name), change)
    return Code(code, name, scopes, made.expires_at)


def end_codes_of(actor: Actor, user_id: UUID) -> None:
    """End the codes for a person's devices, and those that the person made for others."""
    permissions.require(actor, "members.write")
    held = Enrolment.objects.filter(organization_id=actor.organization_id)
    held.filter(Q(user_id=user_id) | Q(created_by_id=user_id)).delete()


def in_picture(code: Code, address: str) -> str:
    """What the QR code holds: a JSON object with this service's address and the code."""
    return json.dumps({"stationbook": FORM, "address": address.rstrip("/"), "code": code.text})


def enrol(wanted: EnrolmentInput, address: str | None) -> tuple[Token, str]:
    """Make the token of a device that gives a good code; its text is answered this once.

    `NotSignedIn` for a code that is unknown, used, too old or whose person may no more: the same
    for each. Not inside of another actor's place: the caller counts guesses before.
    """
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT * FROM use_enrolment(%s)", [digest_of(wanted.code)])
        found = cursor.fetchone()
        if found is None:
            words = f"the code is not good: it works once, and for {MINUTES} minutes"
            raise NotSignedIn(words)
        user_id, name, organization_id, organization, role, scopes, maker = found
        actor = Actor(
            user_id, name, organization_id, organization, role, frozenset(scopes), address=address
        )
        permissions.enter(actor)
        token, secret = tokens.keep(
            DEVICE_DAYS,
            name=wanted.name.strip(),
            user_id=user_id,
            organization_id=organization_id,
            role=role,
            scopes=scopes,
            created_by_id=maker,
            device=True,
        )
        change = audit.Change(after=tokens.told(token))
        by_itself = replace(actor, token_id=token.id)
        audit.write(by_itself, "device enrolled", tokens.about(token), change)
        permissions.leave()
    return token, secret


def read(given: Mapping[str, Any]) -> EnrolmentInput:
    """What a device sent; `Invalid` names each field that is missing or wrong."""
    return read_input(EnrolmentInput, given)


def forget_expired() -> int:
    """Drop codes whose time is over; answers how many. In the place of the background tasks."""
    return Enrolment.objects.filter(expires_at__lt=timezone.now()).delete()[0]


def digest_of(code: str) -> bytes:
    """What is kept of a code, however it was typed."""
    plain = "".join(code.split()).replace("-", "").upper()
    return hashlib.sha256(plain.encode()).digest()


def _new_code() -> str:
    """Letters and digits that are not taken for one another (RFC 4648, base32), in groups."""
    plain = base64.b32encode(secrets.token_bytes(RANDOM_BYTES)).decode()
    return "-".join(plain[at : at + GROUP] for at in range(0, len(plain), GROUP))


def _member(actor: Actor, user_id: UUID) -> tuple[str, str]:
    """Role and name of a member who can have a device."""
    rows = members.current(actor).filter(user_id=user_id, role__in=CONTRACTOR)
    member = rows.select_for_update().first()  # of two made at once one is good
    if member is None:
        raise NotFound()
    return str(member.role), members.name_of(user_id)
