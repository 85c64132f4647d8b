"""Visits that are not sealed yet, each with what it waits for next."""

from typing import Any, Literal
from uuid import UUID

from django.db.models import (
    BooleanField,
    Case,
    Count,
    Exists,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from calculations.findings import Severity
from records import permissions
from records.models import Answer, Event, Finding, Signature
from records.models.event import Meaning
from records.permissions import Actor

Step = Literal["withdrawal", "findings", "performed", "reviewed", "seal"]
"""In the order of the work; withdrawal, where another contractor looks after the station by now."""


def visits(actor: Actor, client: UUID | None = None) -> QuerySet[Any]:
    """Drafts with `open_stop`, `open_review` and their `step`; those that lie longest first.

    The seal itself looks at more (files that did not come, a record that was corrected before).
    """
    permissions.require(actor, "events.read")
    rows = permissions.visible(Event.objects.filter(state="draft"), actor)
    if client is not None:
        rows = rows.filter(client__id=client)
    told = rows.annotate(
        open_stop=_open("stop"), open_review=_open("review"),
        is_performed=Exists(_signed("performed")), is_reviewed=Exists(_reviewed_by_another()),
    )  # fmt: skip
    return told.annotate(step=_STEP).order_by("performed_at", "row")


def counts(actor: Actor, client: UUID | None = None) -> dict[Step, int]:
    """How many wait for each step; a step that nothing waits for is left out."""
    rows = visits(actor, client).order_by().values("step").annotate(visits=Count("row"))
    return {row["step"]: row["visits"] for row in rows}


def _open(severity: Severity) -> Coalesce:
    """Findings that no answer to the same comparison accepts."""
    latest = Answer.objects.filter(
        finding=OuterRef("pk"), compared_digest=OuterRef("compared_digest")
    ).order_by("-row")
    found = Finding.objects.filter(event=OuterRef("pk"), severity=severity, present=True)
    accepted = Coalesce(Subquery(latest.values("accepted")[:1]), False, output_field=_BOOLEAN)
    wanting = found.annotate(accepted=accepted).filter(accepted=False).order_by()
    counted = wanting.values("event").annotate(count=Count("pk")).values("count")
    return Coalesce(Subquery(counted), 0, output_field=IntegerField())


def _signed(meaning: Meaning) -> QuerySet[Signature]:
    return Signature.objects.filter(event=OuterRef("pk"), meaning=meaning, void_since=None)


def _reviewed_by_another() -> QuerySet[Signature]:
    """Whoever signed as well that the work was performed is no second person."""
    same = Signature.objects.filter(
        event=OuterRef("event"), by=OuterRef("by"), meaning="performed", void_since=None
    )
    return _signed("reviewed").exclude(Exists(same))


_BOOLEAN = BooleanField()
_STEP = Case(
    When(~Q(site__contractor=F("contractor")), then=Value("withdrawal")),
    When(open_stop__gt=0, then=Value("findings")),
    When(open_review__gt=0, then=Value("findings")),
    When(is_performed=False, then=Value("performed")),
    When(is_reviewed=False, then=Value("reviewed")),
    default=Value("seal"),
)
