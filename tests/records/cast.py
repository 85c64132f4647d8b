"""The people of the tests: two contractors, each with a client, and their tokens."""

import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

import psycopg
from django.contrib.auth.hashers import make_password
from joserfc.jwk import OKPKey
from psycopg.types.json import Jsonb

from records.services import keys
from records.services.tokens import digest_of, new_secret

SCOPES = {
    "office": ["read", "write", "sign", "manage"],
    "technician": ["read", "write", "sign", "manage"],
    "client": ["read"],
}
EXPIRES = datetime(2100, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Person:
    """Somebody with a role in an organization, and a token that may do all of it."""

    username: str
    role: str
    organization: uuid.UUID
    id: uuid.UUID = field(default_factory=uuid.uuid4)
    secret: str = field(default_factory=new_secret)

    @property
    def email(self) -> str:
        """Where mail reaches them."""
        return f"{self.username}@people.example"


@dataclass(frozen=True)
class Cast:
    """Orla's contractor works for Cleo's utility; Otto's for Cato's. They never met."""

    contractor: uuid.UUID
    client: uuid.UUID
    other_contractor: uuid.UUID
    other_client: uuid.UUID
    orla: Person  # office
    teo: Person  # technician
    cleo: Person  # client
    otto: Person  # the other office
    tilda: Person  # the other technician
    cato: Person  # the other client

    @property
    def people(self) -> list[Person]:
        """Everybody."""
        return [self.orla, self.teo, self.cleo, self.otto, self.tilda, self.cato]


NAMES = {
    "contractor": "Halvorn Pump Works",
    "client": "Tresk Water District",
    "other_contractor": "Ostrel Field Service",
    "other_client": "Lumen Vale Utility",
}


def make() -> Cast:
    """A fresh cast, known to nobody yet."""
    ours, theirs, others, their_client = (uuid.uuid4() for _ in range(4))
    return Cast(
        ours,
        theirs,
        others,
        their_client,
        Person("orla", "office", ours),
        Person("teo", "technician", ours),
        Person("cleo", "client", theirs),
        Person("otto", "office", others),
        Person("tilda", "technician", others),
        Person("cato", "client", their_client),
    )


def engage(
    owner: psycopg.Connection, cast: Cast, key: OKPKey, since: datetime | None = None
) -> None:
    """Write the cast and the signing key into the book, as its owner; it seals `since` then."""
    for role, name in NAMES.items():
        owner.execute(
            "INSERT INTO records_organization (id, name, revision, created_at)"
            " VALUES (%s, %s, 1, now())",
            [getattr(cast, role), name],
        )
    pairs = [(cast.contractor, cast.client), (cast.other_contractor, cast.other_client)]
    for pair in pairs:
        owner.execute(
            "INSERT INTO records_clientele (contractor_id, client_id, since)"
            " VALUES (%s, %s, now())",
            pair,
        )
    for person in cast.people:
        engage_person(owner, person)
    owner.execute(
        "INSERT INTO records_signingkey (kid, public_jwk, algorithm, valid_from, endorsement,"
        " created_at) VALUES (%s, %s, 'Ed25519', date_trunc('second', coalesce(%s, now())), '',"
        " now())",
        [keys.key_id(key), Jsonb(keys.public_jwk(key)), since],
    )


def add_account(owner: psycopg.Connection, person: Person) -> None:
    """An account that belongs nowhere yet."""
    owner.execute(
        "INSERT INTO records_user (id, username, full_name, password, first_name, last_name,"
        " email, is_staff, is_active, is_superuser, date_joined)"
        " VALUES (%s, %s, %s, %s, '', '', %s, false, true, false, now())",
        [person.id, person.username, person.username.title(), _password(), person.email],
    )


def engage_person(owner: psycopg.Connection, person: Person) -> None:
    """An account, its membership and its token."""
    add_account(owner, person)
    owner.execute(
        "INSERT INTO records_membership (user_id, organization_id, role, since)"
        " VALUES (%s, %s, %s, now())",
        [person.id, person.organization, person.role],
    )
    owner.execute(
        "INSERT INTO records_token (id, name, user_id, organization_id, role, scopes, prefix,"
        " digest, created_by_id, created_at, expires_at)"
        " VALUES (%s, 'test', %s, %s, %s, %s, %s, %s, %s, now(), %s)",
        [
            uuid.uuid4(), person.id, person.organization, person.role, SCOPES[person.role],
            person.secret[:12], digest_of(person.secret), person.id, EXPIRES,
        ],
    )  # fmt: skip


@cache
def _password() -> str:
    """Everybody's; hashing one takes longer than most tests."""
    return make_password("correct horse")


def in_days(days: int) -> str:
    """A date from today on."""
    return (datetime.now(UTC) + timedelta(days=days)).date().isoformat()


Document = dict[str, Any]
