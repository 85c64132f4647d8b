"""Organizations that the database shows: one's own and those it works with."""

from uuid import UUID

from django.db.models import QuerySet

from records.errors import NotFound
from records.models import Organization


def rows() -> QuerySet[Organization]:
    """All that are visible inside the wall, by name."""
    return Organization.objects.order_by("name", "id")


def get(identity: UUID) -> Organization:
    """One of them."""
    organization = rows().filter(id=identity).first()
    if organization is None:
        raise NotFound()
    return organization
