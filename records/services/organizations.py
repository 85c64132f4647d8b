"""Organizations that a contractor works for."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from calculations.inputs.base import Id, Part, Words
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Conflict, Invalid, NotFound, SameIdOtherContent, Stale
from records.models import Clientele, Organization
from records.permissions import Actor
from records.selectors import organizations
from records.services import audit
from records.services.content import merge_patch
from records.services.reading import read_input


class OrganizationInput(Part):
    """A company or a utility."""

    id: Id | None = None
    name: Words


def create(actor: Actor, given: Mapping[str, Any]) -> tuple[Organization, bool]:
    """Add a client of the actor's organization; returns it and whether it is new."""
    permissions.require(actor, "organizations.write")
    name, identity = _organization(given)
    _one_at_a_time(actor)
    existing = _existing(actor, name, identity)
    if existing is not None:
        return existing, False
    _refuse_same_name(actor, name)
    organization = Organization(name=name, **({"id": identity} if identity else {}))
    try:
        _insert(organization, actor)
    except IntegrityError:
        existing = _existing(actor, name, identity)  # the same, and quicker
        if existing is None:
            raise SameIdOtherContent() from None
        return existing, False
    return organization, True


def change(actor: Actor, identity: UUID, patch: Mapping[str, Any], revision: int) -> Organization:
    """Give an organization another name, meant for one revision of it.

    Sealed records keep the name that it had. `Conflict` where other contractors work for it, too:
    it is printed on what they seal.
    """
    permissions.require(actor, "organizations.write")
    row = organizations.get(actor, identity)
    held = {"id": str(row.id), "name": row.name}
    if "id" in patch and patch["id"] != held["id"]:
        raise Invalid(problems=[Problem("/id", "fixed", "this does not change")])
    name, _ = _organization(merge_patch(held, patch))
    if row.revision != revision:
        raise Stale(revision=row.revision)
    if name != row.name:
        _one_at_a_time(actor)
        _refuse_same_name(actor, name, but=identity)
    if not _renamed(row, name, revision):
        raise Stale(revision=organizations.get(actor, identity).revision)
    change = audit.difference(_told(row), {"name": name})
    audit.write(actor, "changed", _about(row), change)
    return organizations.get(actor, identity)


def known(identity: UUID, using: str) -> Organization:
    """Any organization of the book: for whoever runs the service, as the tables' owner."""
    found = Organization.objects.using(using).filter(id=identity).first()
    if found is None:
        raise NotFound("there is no organization of this id")
    return found


def _renamed(row: Organization, name: str, revision: int) -> bool:
    """The database knows who else works for it; whoever asks does not see them."""
    rows = Organization.objects.filter(id=row.id, revision=revision)
    try:
        with transaction.atomic():
            return bool(rows.update(name=name, revision=revision + 1))
    except IntegrityError:
        words = "others work for this client as well: whoever runs the service changes its name"
        raise Conflict(words, [Problem("/name", "shared", words)]) from None


def _told(organization: Organization) -> dict[str, Any]:
    return {"name": organization.name}


def _about(organization: Organization) -> audit.About:
    return audit.About("organization", organization.id, organization.name, client=organization.id)


def _one_at_a_time(actor: Actor) -> None:
    """Nobody of the organization adds between a look and what is added after it."""
    Organization.objects.select_for_update().get(id=actor.organization_id)


def _refuse_same_name(actor: Actor, name: str, but: UUID | None = None) -> None:
    """Two of one name could not be told apart."""
    others = organizations.rows(actor).filter(name__iexact=name)
    if (others.exclude(id=but) if but else others).exists():
        words = "you work with an organization of this name already"
        raise Conflict(words, [Problem("/name", "taken", words)])


def _existing(actor: Actor, name: str, identity: UUID | None) -> Organization | None:
    found = organizations.rows(actor).filter(id=identity).first() if identity else None
    if found is not None and found.name != name:
        raise SameIdOtherContent()
    return found


def _insert(organization: Organization, actor: Actor) -> None:
    """The pair first: an organization is seen by those who work with it."""
    with transaction.atomic():
        Clientele.objects.create(contractor_id=actor.organization_id, client_id=organization.id)
        organization.save(force_insert=True)
        audit.write(actor, "added", _about(organization), audit.Change(after=_told(organization)))


def _organization(given: Mapping[str, Any]) -> tuple[str, UUID | None]:
    document = read_input(OrganizationInput, given)
    return " ".join(document.name.split()), UUID(document.id) if document.id else None
