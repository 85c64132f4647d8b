"""Organizations that a contractor works for."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from calculations.inputs.base import Id, Part, Words
from calculations.inputs.reading import InvalidDocument, Problem, read
from records import permissions
from records.errors import Invalid, SameIdOtherContent
from records.models import Clientele, Organization
from records.permissions import Actor


class OrganizationInput(Part):
    """A company or a utility."""

    id: Id | None = None
    name: Words


def create(actor: Actor, given: Mapping[str, Any]) -> tuple[Organization, bool]:
    """Add a client of the actor's organization; returns it and whether it is new."""
    permissions.require(actor, "organizations.write")
    name, identity = _organization(given)
    existing = _existing(name, identity)
    if existing is not None:
        return existing, False
    organization = Organization(name=name, **({"id": identity} if identity else {}))
    try:
        _insert(organization, actor)
    except IntegrityError:
        existing = _existing(name, identity)  # the same, and quicker
        if existing is None:
            raise _taken() from None
        return existing, False
    return organization, True


def _existing(name: str, identity: UUID | None) -> Organization | None:
    found = Organization.objects.filter(id=identity).first() if identity else None
    if found is not None and found.name != name:
        raise _taken()
    return found


def _taken() -> SameIdOtherContent:
    return SameIdOtherContent(problems=[Problem("/id", "taken", "the id is in use")])


def _insert(organization: Organization, actor: Actor) -> None:
    """The pair first: an organization is seen by those who work with it."""
    with transaction.atomic():
        Clientele.objects.create(contractor_id=actor.organization_id, client_id=organization.id)
        organization.save(force_insert=True)


def _organization(given: Mapping[str, Any]) -> tuple[str, UUID | None]:
    try:
        document = read(OrganizationInput, given)
    except InvalidDocument as error:
        raise Invalid(problems=error.problems) from None
    return document.name, UUID(document.id) if document.id else None
