"""One's own organization and those it works with."""

from uuid import UUID

from django.db.models import QuerySet

from records import permissions
from records.errors import NotFound
from records.models import Organization
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
