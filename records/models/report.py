"""Periodic reports: when they are wanted, each one as it was made, and its mails."""

from typing import Any, Literal

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from calculations.periods import Period
from records.models.base import InForce, ended_by_somebody, new_id
from records.models.fields import WordField
from records.models.people import User

Span = Literal["week", "month", "day"]
MOST_ADDRESSES = 20


class _Told(models.Model):
    """A row about one client, or about all that a contractor works for."""

    row = models.BigAutoField(primary_key=True)
    id = models.UUIDField(default=new_id, editable=False)
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    client = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", null=True
    )

    class Meta:
        abstract = True


class ReportSchedule(InForce, _Told):
    """That a report is wanted every week or month, and to whom it is mailed; none is the default.

    Rows are ended, never changed, but for the period that is asked for next: `due_at` is the
    moment at which it is. The one in force is a client's, or the contractor's own.
    """

    period = WordField(Period)
    time_zone = models.TextField()
    addresses: Any = ArrayField(models.TextField(), default=list)
    next_begins = models.DateField(help_text="First day of the period that comes next.")
    due_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["contractor", "id"], name="schedule_id_in_contractor"),
            models.UniqueConstraint(
                fields=["contractor", "client"],
                condition=Q(ended_at=None),
                nulls_distinct=False,
                name="one_schedule_in_force",
            ),
            models.CheckConstraint(
                condition=Q(addresses__len__lte=MOST_ADDRESSES), name="schedule_mails_to_few"
            ),
            ended_by_somebody("schedule"),
        ]
        indexes = [
            models.Index(fields=["due_at"], name="schedules_by_next_period"),
            models.Index(fields=["contractor", "-row"], name="schedules_of_contractor"),
        ]


class Report(_Told):
    """What was due as a day ended, and what had changed since another one: asked for, then made.

    It is asked for while `made_at` is empty. What it says follows from the two moments alone, so
    that it says the same whenever it is made. Its three files are kept under their digests.
    """

    client = models.ForeignKey(
        "records.Organization",
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        db_index=False,
    )
    schedule = models.ForeignKey(
        ReportSchedule, on_delete=models.PROTECT, related_name="+", null=True
    )
    period = WordField(Span)
    period_begins = models.DateField(help_text="First day of what it tells changes of.")
    as_of = models.DateField(help_text="The last day.")
    time_zone = models.TextField()
    since = models.DateTimeField(help_text="The moment at which the first day began.")
    until = models.DateTimeField(help_text="The moment at which the last day was over.")
    created_digest = models.BinaryField(max_length=32, default=b"")
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", null=True)
    asked_by_name = models.TextField(default="", help_text="Empty: by its schedule.")

    done = models.PositiveIntegerField(default=0, help_text="Stations read so far.")
    total = models.PositiveIntegerField(null=True)
    worked_at = models.DateTimeField(null=True, help_text="When that was told last.")
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.TextField(default="")

    made_at = models.DateTimeField(null=True)
    summary: Any = models.JSONField(null=True)
    pdf_sha256 = models.BinaryField(max_length=32, null=True)
    pdf_size = models.PositiveBigIntegerField(null=True)
    xlsx_sha256 = models.BinaryField(max_length=32, null=True)
    xlsx_size = models.PositiveBigIntegerField(null=True)
    json_sha256 = models.BinaryField(max_length=32, null=True)
    json_size = models.PositiveBigIntegerField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["contractor", "id"], name="report_id_in_contractor"),
            models.UniqueConstraint(
                fields=["contractor", "client", "period", "period_begins"],
                condition=~Q(period="day"),
                nulls_distinct=False,
                name="one_report_a_period",
            ),
            models.CheckConstraint(condition=Q(since__lt=F("until")), name="report_has_a_time"),
            models.CheckConstraint(
                condition=Q(
                    made_at=None, summary__isnull=True, pdf_sha256=None, xlsx_sha256=None,
                    json_sha256=None,
                )
                | Q(
                    made_at__isnull=False, summary__isnull=False, pdf_sha256__isnull=False,
                    xlsx_sha256__isnull=False, json_sha256__isnull=False,
                ),
                name="report_is_made_whole",
            ),
        ]  # fmt: skip
        indexes = [
            models.Index(
                fields=["asked_at"], condition=Q(made_at=None), name="report_still_to_be_made"
            ),
            models.Index(fields=["contractor", "-row"], name="reports_of_contractor"),
            models.Index(fields=["client", "-row"], name="reports_of_client"),
        ]


class ReportMail(models.Model):
    """A report for one address: owed until `sent_at`."""

    row = models.BigAutoField(primary_key=True)
    report = models.ForeignKey(
        Report, on_delete=models.PROTECT, related_name="mails", db_index=False
    )
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    client = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", null=True
    )
    address = models.TextField()
    sent_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.TextField(default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["report", "address"], name="one_mail_an_address")
        ]
        indexes = [
            models.Index(fields=["row"], condition=Q(sent_at=None), name="mail_still_to_be_sent")
        ]


class Calendar(models.Model):
    """A secret address at which a person's due dates are read as a calendar: its digest alone."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    name = models.TextField()
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", db_index=False)
    organization = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    role = models.TextField()
    client = models.UUIDField(null=True, help_text="Of this client alone.")
    digest = models.BinaryField(max_length=32, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    last_used_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(fields=["user"], name="calendars_of_person")]
