"""Organizations that a contractor works for."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from calculations.inputs.base import Id, Part, Text
from calculations.inputs.reading import InvalidDocument, Problem, read
from records import permissions
from records.errors import Invalid, SameIdOtherContent
from records.models import Clientele, Organization
from records.permissions import Actor


class OrganizationInput(Part):
    """A company or a utility."""

    id: Id | None = None
    name: Text


def create(actor: Actor, given: Mapping[str, Any]) -> tuple[Organization, bool]:
    """Add a client of the actor's organization; returns it and whether it is new."""
    permissions.require(actor, "organizations.write")
    name, identity = _organization(given)
    existing = Organization.objects.filter(id=identity).first() if identity else None
    if existing is not None:
        if existing.name != name:
            raise SameIdOtherContent(problems=[Problem("/id", "taken", "the id is in use")])
        return existing, False
    organization = Organization(name=name, **({"id": identity} if identity else {}))
    try:
        with transaction.atomic():
            _insert(organization, actor)
    except IntegrityError:
        raise SameIdOtherContent(problems=[Problem("/id", "taken", "the id is in use")]) from None
    return organization, True


def _insert(organization: Organization, actor: Actor) -> None:
    """The pair first: an organization is seen by those who work with it."""
    Clientele.objects.create(contractor_id=actor.organization_id, client_id=organization.id)
    organization.save(force_insert=True)


def _organization(given: Mapping[str, Any]) -> tuple[str, UUID | None]:
    try:
        document = read(OrganizationInput, given)
    except InvalidDocument as error:
        raise Invalid(problems=error.problems) from None
    if not document.name.strip():
        raise Invalid(problems=[Problem("/name", "required", "expected a name")])
    return document.name, UUID(document.id) if document.id else None
