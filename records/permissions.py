"""Who may see and do what: the first wall, and the key to the second.

Every query of API, pages, downloads and tasks is scoped here. `enter` sets the database's role
and organization for the transaction, `visible` adds the same predicate as a literal.
"""

import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TypeVar
from uuid import UUID

from django.conf import settings
from django.db import connection, models, transaction
from django.db.models import Q, QuerySet

from records import roles
from records.errors import ConfirmationNeeded, Forbidden, SecondFactorNeeded
from records.models import Clientele, Organization, Record, Site

Row = TypeVar("Row", bound=models.Model)

OFFICE, TECHNICIAN, CLIENT = "office", "technician", "client"
CONTRACTOR = (OFFICE, TECHNICIAN)
EVERYBODY = (OFFICE, TECHNICIAN, CLIENT)

_DATABASE_ROLE = {OFFICE: roles.OFFICE, TECHNICIAN: roles.OFFICE, CLIENT: roles.CLIENT}


@dataclass(frozen=True, slots=True)
class Presence:
    """What a person at a browser has proven since signing in; seconds since 1970."""

    second_factor: bool = False
    confirmed_at: float = 0.0


@dataclass(frozen=True, slots=True)
class Actor:
    """A person in one organization and role, by session or by token."""

    user_id: UUID
    name: str
    organization_id: UUID
    organization: str
    role: str
    scopes: frozenset[str]
    token_id: UUID | None = None
    address: str | None = None
    presence: Presence | None = None  # None: a device, or a command
    admitted: str = ""  # why somebody who runs the service was let in, to look and no more
    use_is_noted: bool = False  # of the token, within the last minute

    @property
    def is_authenticated(self) -> bool:
        """An actor is always somebody."""
        return True


@dataclass(frozen=True, slots=True)
class Allowed:
    """Roles and the scope of a token that an action asks for."""

    roles: tuple[str, ...]
    scope: str


# What each role may do. Tests are made from this table.
ACTIONS: Mapping[str, Allowed] = {
    "rules.read": Allowed(EVERYBODY, "read"),
    "rules.write": Allowed((OFFICE,), "write"),
    "evaluate": Allowed(EVERYBODY, "read"),
    "register.read": Allowed(EVERYBODY, "read"),
    "instruments.read": Allowed(CONTRACTOR, "read"),
    "instruments.write": Allowed(CONTRACTOR, "write"),
    "organizations.write": Allowed((OFFICE,), "write"),
    "sites.write": Allowed((OFFICE,), "write"),
    "equipment.write": Allowed(CONTRACTOR, "write"),
    "register.import": Allowed((OFFICE,), "write"),
    "visits.prepare": Allowed(CONTRACTOR, "read"),
    "events.read": Allowed(CONTRACTOR, "read"),
    "events.write": Allowed(CONTRACTOR, "write"),
    "events.withdraw": Allowed(CONTRACTOR, "write"),
    "findings.answer": Allowed(CONTRACTOR, "write"),
    "stops.accept": Allowed((OFFICE,), "write"),
    "events.sign": Allowed(CONTRACTOR, "sign"),
    "events.seal": Allowed(CONTRACTOR, "sign"),
    "records.read": Allowed(EVERYBODY, "read"),
    "due.read": Allowed(EVERYBODY, "read"),
    "intervals.write": Allowed((OFFICE,), "write"),
    "reports.read": Allowed(EVERYBODY, "read"),
    "reports.write": Allowed((OFFICE,), "write"),
    "calendars.own": Allowed(EVERYBODY, "manage"),
    "members.read": Allowed((OFFICE,), "manage"),
    "members.write": Allowed((OFFICE,), "manage"),
    "tokens.own": Allowed(EVERYBODY, "manage"),
    "tokens.read": Allowed((OFFICE,), "manage"),
    "tokens.write": Allowed((OFFICE,), "manage"),
    "devices.own": Allowed(CONTRACTOR, "manage"),
    "devices.write": Allowed((OFFICE,), "manage"),
    "audit.read": Allowed((OFFICE,), "manage"),
}


def require(actor: Actor, action: str) -> None:
    """`Forbidden` where the actor's role or token does not cover an action, whatever it is about.

    Who may is no secret. What is out of an actor's sight is `NotFound`, by `visible`.
    """
    allowed = ACTIONS[action]
    if actor.role not in allowed.roles:
        words = f"this needs the role {' or '.join(allowed.roles)}; yours is {actor.role}"
        raise Forbidden(words + _HINTS.get(action, "") if actor.role == CLIENT else words)
    if allowed.scope not in actor.scopes:
        raise Forbidden(f"this token lacks the scope {allowed.scope}")


_HINTS = {
    "events.read": ": a client reads what has been sealed, at /api/v1/records and on the page of"
    " its station",
    "events.sign": ": a client's witness is named in the visit's parties.witnessed_by",
}


def may(actor: Actor, action: str) -> bool:
    """Whether `require` would let the actor pass."""
    allowed = ACTIONS[action]
    return actor.role in allowed.roles and allowed.scope in actor.scopes


def allowed(actor: Actor | None) -> dict[str, dict[str, bool]]:
    """Every action by its two words, as templates ask: `may.events.read`; nothing for nobody."""
    found: dict[str, dict[str, bool]] = {}
    for action in ACTIONS:
        what, _, deed = action.partition(".")
        found.setdefault(what, {})[deed] = actor is not None and may(actor, action)
    return found


def lacks_second_factor(actor: Actor | None) -> bool:
    """Whether the actor must set one up, or show it, before anything else: the office does."""
    if actor is None or actor.presence is None or actor.role != OFFICE:
        return False
    return _is_required() and not actor.presence.second_factor


def require_presence(actor: Actor) -> None:
    """Before what binds a person: `SecondFactorNeeded` or `ConfirmationNeeded` at a browser.

    A device's token was made by the person it signs for, who confirmed it then.
    """
    if actor.presence is None:
        return
    if _is_required() and not actor.presence.second_factor:
        raise SecondFactorNeeded()
    if not is_recent(actor.presence):
        raise ConfirmationNeeded()


def is_present(actor: Actor) -> bool:
    """Whether `require_presence` would let the actor pass."""
    try:
        require_presence(actor)
    except (ConfirmationNeeded, SecondFactorNeeded):
        return False
    return True


def is_recent(presence: Presence) -> bool:
    """Whether somebody has shown who they are within the last CONFIRMED_MINUTES."""
    return time.time() - presence.confirmed_at <= settings.CONFIRMED_MINUTES * 60


def _is_required() -> bool:
    return bool(settings.SECOND_FACTOR == "required")


def enter(actor: Actor) -> None:
    """Take the actor's place in the database until the end of the transaction."""
    _set_context(_DATABASE_ROLE[actor.role], str(actor.organization_id))


@contextmanager
def inside(actor: Actor) -> Iterator[None]:
    """A transaction of its own in the actor's place, where a request makes several."""
    with transaction.atomic():
        enter(actor)
        yield


@contextmanager
def while_streaming(actor: Actor) -> Iterator[None]:
    """The same for an answer that is made while it is read: no connection is held in between."""
    with inside(actor):
        yield
    if not connection.in_atomic_block:
        connection.close()  # back to the pool


def leave() -> None:
    """Be the log-in role again, before the transaction ends."""
    _set_context("none", "")


def enter_as_worker() -> None:
    """Take the background tasks' place in the database until the end of the transaction."""
    _set_context(roles.WORKER, "")


def _set_context(role: str, organization: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT set_config('role', %s, true), set_config('app.org', %s, true)",
            [role, organization],
        )


def visible(rows: QuerySet[Row], actor: Actor, *, handed: bool = True) -> QuerySet[Row]:
    """Those of `rows` that the actor's organization is a party to, or was handed by the client.

    Without `handed` the former alone: for long lists, where nothing was.
    """
    own = Q(**{party(actor): actor.organization_id})
    if handed and actor.role != CLIENT and hasattr(rows.model, "handed_to"):
        own |= Q(handed_to__contains=[actor.organization_id])
    return rows.filter(own)


def known_to(rows: QuerySet[Record], contractor: UUID) -> QuerySet[Record]:
    """Of records those that a contractor sealed, or was handed: what is done for it rests on."""
    return rows.filter(Q(contractor=contractor) | Q(handed_to__contains=[contractor]))


def known_to_sql(rows: str) -> str:
    """The same for SQL that is written by hand about such `rows`, with its `%(contractor)s`."""
    return f"({rows}.contractor_id = %(contractor)s OR %(contractor)s = ANY ({rows}.handed_to))"


def beside(rows: QuerySet[Record], record: Record) -> QuerySet[Record]:
    """Of records those that both parties of one of them may see: they may be printed in it."""
    return known_to(rows, record.contractor_id).filter(client=record.client_id)


def formerly(rows: QuerySet[Site], actor: Actor) -> QuerySet[Site]:
    """Of stations those that the actor's organization looked after once: its events name them."""
    if actor.role == CLIENT:
        return rows.none()
    own = rows.filter(former_contractors__contains=[actor.organization_id])
    return own.exclude(contractor=actor.organization_id)


def party(actor: Actor) -> str:
    """The column by which rows are the actor's organization's: for SQL that is written by hand."""
    return "client_id" if actor.role == CLIENT else "contractor_id"


def acquainted(rows: QuerySet[Organization], actor: Actor) -> QuerySet[Organization]:
    """Of organizations the actor's own one, and those that it works with."""
    ours, theirs = ("client", "contractor") if actor.role == CLIENT else ("contractor", "client")
    pairs = Clientele.objects.filter(**{f"{ours}_id": actor.organization_id})
    return rows.filter(Q(id=actor.organization_id) | Q(id__in=pairs.values(f"{theirs}_id")))
