"""Who did what, when, from where, and why: written once, beside what was changed."""

from typing import Any, Literal

from django.db import models
from django.db.models.functions import Now

from records.models.base import new_id
from records.models.fields import WordField
from records.models.people import Organization, Token, User
from records.models.site import Site

Action = Literal[
    "added",
    "changed",
    "taken out of service",
    "finding answered",
    "file added",
    "file removed",
    "signed",
    "signature withdrawn",
    "signature void",
    "withdrawn",
    "sealed",
    "limit set",
    "limit removed",
    "interval set",
    "interval removed",
    "report schedule set",
    "report schedule ended",
    "report asked for",
    "calendar made",
    "calendar revoked",
    "token made",
    "token revoked",
    "enrolment code made",
    "device enrolled",
    "person invited",
    "role changed",
    "person removed",
    "second factor removed",
    "operator admitted",
    "operator dismissed",
    "operator looked",
    "contractor appointed",
    "appointment ended",
    "book taken out",
    "book taken in",
    "spreadsheet imported",
]

Subject = Literal[
    "site",
    "pump",
    "motor",
    "drive",
    "sensor",
    "vessel",
    "pump set",
    "instrument",
    "organization",
    "event",
    "rule setting",
    "interval setting",
    "report schedule",
    "report",
    "calendar",
    "token",
    "person",
    "spreadsheet",
]


class AuditEntry(models.Model):
    """One thing that somebody did, as the contractor's office reads it.

    `before` and `after` are merge patches (RFC 7396) that lead to either side: they hold what
    changed alone, with the digits as entered. A person who is none of ours, as the operator
    who runs a command, stands there by name alone. Without a token it was a session.
    """

    row = models.BigAutoField(primary_key=True)
    id = models.UUIDField(default=new_id, editable=False)
    at = models.DateTimeField(db_default=Now())
    contractor = models.ForeignKey(
        Organization, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    client = models.ForeignKey(
        Organization, on_delete=models.PROTECT, related_name="+", null=True, db_index=False
    )
    site = models.ForeignKey(
        Site, on_delete=models.PROTECT, related_name="+", null=True, db_index=False
    )
    person = models.ForeignKey(
        User, on_delete=models.PROTECT, related_name="+", null=True, db_index=False
    )
    person_name = models.TextField()
    role = models.TextField(default="")
    token = models.ForeignKey(
        Token, on_delete=models.PROTECT, related_name="+", null=True, db_index=False
    )
    address = models.GenericIPAddressField(null=True)
    action = WordField(Action)
    kind = WordField(Subject)
    subject = models.UUIDField()
    name = models.TextField(help_text="What people call the subject: its tag, code or serial.")
    before: Any = models.JSONField(null=True)
    after: Any = models.JSONField(null=True)
    reason = models.TextField(default="")

    class Meta:
        indexes = [
            models.Index(fields=["contractor", "-row"], name="audit_newest_first"),
            models.Index(fields=["contractor", "subject", "-row"], name="audit_of_subject"),
            models.Index(fields=["contractor", "person", "-row"], name="audit_of_person"),
            models.Index(fields=["contractor", "at"], name="audit_by_time"),
            models.Index(
                fields=["site", "-row"],
                condition=models.Q(site__isnull=False),
                name="audit_of_site",
            ),
        ]
