"""What whoever runs the service watches: how much is still to be done, what is due, what came last.

Counts alone, of the whole book, read in the place of the background tasks.
"""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection, transaction
from django.db.models import Count, Max, Min, Q

from records import permissions
from records.models import RecordDocument, Report, Site
from records.permissions import OFFICE, Actor
from records.selectors import due_items
from records.selectors.due_items import STATES, Wanted

NOBODY = UUID(int=0)
LONGEST_COUNT = 20_000  # ms that the database may count what is due


@dataclass(frozen=True)
class Waiting:
    """Documents that were asked for and are not made yet."""

    documents: int
    failed: int
    asked_at: datetime | None
    """When the oldest of them was asked for."""


def waiting() -> Waiting:
    """What the background tasks still have to do."""
    with transaction.atomic():
        permissions.enter_as_worker()
        found = RecordDocument.objects.filter(sha256=None).aggregate(
            documents=Count("id"), failed=Count("id", filter=Q(attempts__gt=0)),
            asked_at=Min("asked_at"),
        )  # fmt: skip
    return Waiting(**found)


def last_report() -> datetime | None:
    """When the last report was made."""
    with transaction.atomic():
        permissions.enter_as_worker()
        made: datetime | None = Report.objects.aggregate(made=Max("made_at"))["made"]
    return made


def due_counts() -> dict[str, int]:
    """Due items of all contractors by state: seconds in a large book, so to be asked seldom."""
    found = dict.fromkeys(STATES, 0)
    with transaction.atomic():
        permissions.enter_as_worker()
        with connection.cursor() as cursor:
            cursor.execute(f"SET LOCAL statement_timeout = {LONGEST_COUNT}")
        for contractor in Site.objects.values_list("contractor_id", flat=True).distinct():
            counted = due_items.counts(_of(contractor), Wanted())
            found = {state: found[state] + counted[state] for state in STATES}
    return found


def _of(contractor: UUID) -> Actor:
    """Whose items are counted: the database's role stays that of the background tasks."""
    return Actor(NOBODY, "", contractor, "", OFFICE, frozenset({"read"}))
