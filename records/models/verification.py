"""What must be verified again, and the periodic reports about it."""

from typing import Any, Literal

from django.db import models
from django.db.models import F, Q

from records.models.base import Resource, new_id
from records.models.fields import WordField
from records.models.site import Site

Period = Literal["week", "month"]


class VerificationTask(Resource):
    """What must be verified again for a piece of equipment, and how often."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="verification_tasks")
    tag = models.TextField()
    task = models.TextField()
    interval_months = models.PositiveSmallIntegerField()
    reason = models.TextField(default="", help_text="Why the interval differs from the default.")
    from_day = models.DateField()
    until_day = models.DateField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["contractor", "id"], name="verification_task_id_in_contractor"
            ),
            models.UniqueConstraint(
                fields=["site", "tag", "task"],
                condition=Q(until_day=None),
                name="one_task_in_force_at_a_tag",
            ),
            models.CheckConstraint(
                condition=Q(interval_months__gte=1, interval_months__lte=120),
                name="interval_from_1_to_120_months",
            ),
            models.CheckConstraint(
                condition=Q(until_day=None) | Q(until_day__gte=F("from_day")),
                name="task_ends_after_it_begins",
            ),
        ]


class Report(models.Model):
    """The periodic list of due items of one client, or of the whole contractor."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    client = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", null=True
    )
    period = WordField(Period)
    period_begins = models.DateField()
    document: Any = models.JSONField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["contractor", "client", "period", "period_begins"],
                nulls_distinct=False,
                name="one_report_a_period",
            )
        ]
