"""One's own organization and those it works with."""

from uuid import UUID

from django.db.models import QuerySet

from records import permissions
from records.errors import NotFound
from records.models import Clientele, Organization
from records.permissions import Actor


def rows(actor: Actor) -> QuerySet[Organization]:
    """All of them, by name."""
    return permissions.acquainted(Organization.objects.order_by("name", "id"), actor)


def get(actor: Actor, identity: UUID) -> Organization:
    """One of them."""
    organization = rows(actor).filter(id=identity).first()
    if organization is None:
        raise NotFound()
    return organization


def pairs(actor: Actor) -> dict[UUID, Clientele]:
    """By client, what a contractor has agreed with it; nothing for a client."""
    if actor.role == permissions.CLIENT:
        return {}
    rows = permissions.visible(Clientele.objects.all(), actor)
    return {row.client_id: row for row in rows}


def pair(actor: Actor, organization: Organization) -> Clientele | None:
    """The same of one organization; None where it is not a client of the actor's."""
    return pairs(actor).get(organization.id)
