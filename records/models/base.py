"""What every row of the book has in common."""

import uuid
from typing import Any

import uuid_utils
from django.db import models
from django.db.models import F, Q

from records.models.fields import DocumentField

# Nothing but white space, as a regular expression of the database.
BLANK = r"^\s*$"


def new_id() -> uuid.UUID:
    """A UUIDv7 (RFC 9562): ordered by time, and a client may make its own."""
    return uuid.UUID(bytes=uuid_utils.uuid7().bytes)


def in_service_dates(kind: str) -> models.CheckConstraint:
    """Nothing goes out of service before it came in."""
    return models.CheckConstraint(
        condition=Q(out_of_service_on=None)
        | Q(in_service_from=None)
        | Q(out_of_service_on__gte=F("in_service_from")),
        name=f"{kind}_out_of_service_after_in_service",
    )


def ended_by_somebody(kind: str) -> models.CheckConstraint:
    """Whoever ended a row stands in it, with the moment."""
    return models.CheckConstraint(
        condition=Q(ended_at=None, ended_by=None)
        | Q(ended_at__isnull=False, ended_by__isnull=False),
        name=f"{kind}_is_ended_by_somebody",
    )


class Row(models.Model):
    """A row with an inner key, and an id that clients may have made.

    Ids are unique per contractor, so that another contractor's id tells nothing. The contractor
    and the client stand in every row: the database's policies look at nothing else. An index that
    begins with the contractor is the subclass's own, since most have one for other reasons.
    """

    row = models.BigAutoField(primary_key=True)
    id = models.UUIDField(default=new_id, editable=False)
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    client = models.ForeignKey("records.Organization", on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True


class InForce(models.Model):
    """A row that somebody sets and somebody ends; in between it is in force, and never changed."""

    created_digest = models.BinaryField(max_length=32)
    set_by = models.ForeignKey("records.User", on_delete=models.PROTECT, related_name="+")
    set_by_name = models.TextField()
    set_at = models.DateTimeField()
    ended_by = models.ForeignKey(
        "records.User", on_delete=models.PROTECT, related_name="+", null=True
    )
    ended_by_name = models.TextField(default="")
    ended_at = models.DateTimeField(null=True)

    class Meta:
        abstract = True


class Resource(Row):
    """A row that clients change: every change makes a new revision, stale changes are refused."""

    revision = models.PositiveIntegerField(default=1)
    created_digest = models.BinaryField(
        max_length=32, default=b"", help_text="SHA-256 of what it was first posted with."
    )
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True

    @property
    def etag(self) -> str:
        """Names what is told of the row: it changes when that changes."""
        return str(self.revision)


class Registered(Resource):
    """A row of the register: its document as it was entered, and columns made from it.

    The columns are for constraints, scope and filters; whoever wants the whole reads `plate`.
    One service writes both.
    """

    plate: Any = DocumentField(default=dict, help_text="As entered, without empty fields.")

    class Meta:
        abstract = True
