"""What was verified, and how often it is to be verified again."""

from typing import Any, Literal

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from calculations.due_dates import LONGEST, SHORTEST
from calculations.inputs.site import SiteKind
from calculations.tasks.performed import AsFound, Result
from calculations.tasks.task import Piece
from records.models.base import BLANK, InForce, Row, ended_by_somebody, new_id
from records.models.fields import WordField
from records.models.record import Record
from records.models.site import Site

Standing = Literal["site", "pump_set", "pump", "motor", "drive", "sensor", "vessel"]


def _looked_for(column: str) -> list[models.Index]:
    return [
        models.Index(
            fields=[party, column],
            opclasses=["uuid_ops", "text_pattern_ops"],
            condition=Q(known_until=None),
            name=f"{column}s_of_{party}",
        )
        for party in ("contractor", "client")
    ]


class PieceStanding(models.Model):
    """A piece of the register as it was known for a time: what due dates of any day go by.

    The database writes a row whenever what stands at a site, or what is known of it, changes; the
    one before ends. Nothing else writes here. A station that goes to another contractor leaves
    the rows of until then with the old one.
    """

    row = models.BigAutoField(primary_key=True)
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    client = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+", db_index=False)
    kind = WordField(Standing)
    piece = models.UUIDField(help_text="Id of the piece.")
    tag = models.TextField()
    serial = models.TextField()
    firmware = models.TextField()
    pump = models.UUIDField(null=True, help_text="Of a pump set; so are motor and drive.")
    motor = models.UUIDField(null=True)
    drive = models.UUIDField(null=True)
    traits: Any = ArrayField(models.TextField(), help_text="Words that tasks ask for.")
    time_zone = models.TextField(help_text="Of a site.")
    in_service_from = models.DateField(null=True)
    out_of_service_on = models.DateField(null=True)
    registered_on = models.DateField()
    known_from = models.DateTimeField()
    known_until = models.DateTimeField(null=True, help_text="Null: it is so now.")
    rewound_on = models.DateField(null=True, help_text="Of a motor.")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site", "kind", "piece"],
                condition=Q(known_until=None),
                name="piece_stands_in_one_way",
            ),
            models.CheckConstraint(
                condition=Q(known_until=None) | Q(known_until__gte=F("known_from")),
                name="standing_ends_after_it_begins",
            ),
        ]
        indexes = [
            models.Index(fields=["site", "kind", "tag"], name="standing_at_site"),
            models.Index(
                fields=["contractor", "site"], condition=Q(kind="site"), name="sites_of_contractor"
            ),
            models.Index(
                fields=["client", "site"], condition=Q(kind="site"), name="sites_of_client"
            ),
            # What is looked for by its beginning: a policy lets an index help `starts_with` alone.
            *_looked_for("tag"),
            *_looked_for("serial"),
        ]


class PerformedTask(models.Model):
    """What a record did of one verification task of one piece, written when it is sealed.

    It follows from the record's text and is kept as it is. `piece` and `serial` say which thing
    stood at the tag, `drive` and `drive_serial` which drive the result rests on, where it does.
    """

    row = models.BigAutoField(primary_key=True)
    id = models.UUIDField(default=new_id, editable=False, unique=True)
    record = models.ForeignKey(
        Record, on_delete=models.PROTECT, related_name="performed", db_index=False
    )
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    client = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+", db_index=False)
    task = models.TextField()
    kind = WordField(Piece)
    tag = models.TextField()
    piece = models.UUIDField(null=True)
    serial = models.TextField()
    firmware = models.TextField()
    drive = models.UUIDField(null=True)
    drive_serial = models.TextField()
    place = models.TextField(help_text="JSON Pointer into what was judged.")
    performed_on = models.DateField(help_text="By the clock of the site.")
    sealed_at = models.DateTimeField()
    result = WordField(Result)
    as_found = WordField(AsFound, null=True)
    ratio = models.FloatField(null=True, help_text="Worst error as found over the tolerance.")
    reason = models.TextField(help_text="Why it was not possible.")
    handed_to: Any = ArrayField(models.UUIDField(), default=list)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["record", "task", "tag", "serial"], name="task_is_performed_once_a_record"
            ),
            models.CheckConstraint(
                condition=~Q(result="not_possible") | ~Q(reason__regex=BLANK),
                name="not_possible_says_why",
            ),
        ]
        indexes = [
            # In the order of "what was done last", so that one row is read for each item.
            models.Index(
                fields=["site", "task", "tag", "-performed_on", "-sealed_at", "-row"],
                name="performed_newest",
            ),
            models.Index(fields=["contractor", "-row"], name="performed_of_contractor"),
            models.Index(fields=["client", "-row"], name="performed_of_client"),
        ]


class IntervalSetting(InForce, Row):
    """How often a task is due, for a client, its stations of one kind, or one piece, with why.

    Rows are ended, never changed or deleted: who set what, and when, stays readable. Of those in
    force that of the piece counts before that of the kind, and that before the client's. The
    catalogue's own interval stands beside it: none of a safety task is longer.
    """

    task = models.TextField()
    station_kind = WordField(SiteKind, null=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+", null=True)
    piece = models.UUIDField(null=True)
    tag = models.TextField(default="", help_text="Of the piece, when this was set.")
    months = models.PositiveSmallIntegerField()
    catalogue_months = models.PositiveSmallIntegerField()
    safety = models.BooleanField()
    reason = models.TextField()
    proposal = models.ForeignKey(
        PerformedTask,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        help_text="What was found, where a proposal of it was accepted.",
    )

    class Meta:
        indexes = [
            # What was in force on a day is asked of every due item.
            models.Index(fields=["contractor", "client", "task"], name="intervals_of_a_task"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["contractor", "id"], name="interval_setting_id_in_contractor"
            ),
            models.UniqueConstraint(
                fields=["contractor", "client", "task", "station_kind", "site", "piece"],
                condition=Q(ended_at=None),
                nulls_distinct=False,
                name="one_interval_in_force",
            ),
            models.CheckConstraint(
                condition=Q(months__gte=SHORTEST, months__lte=LONGEST),
                name="interval_from_1_to_120_months",
            ),
            models.CheckConstraint(
                condition=Q(safety=False) | Q(months__lte=F("catalogue_months")),
                name="interval_of_safety_is_not_lengthened",
            ),
            models.CheckConstraint(condition=~Q(reason__regex=BLANK), name="interval_has_a_reason"),
            models.CheckConstraint(
                condition=Q(site=None, piece=None)
                | Q(site__isnull=False, piece__isnull=False, station_kind=None),
                name="interval_of_a_kind_or_of_a_piece",
            ),
            ended_by_somebody("interval_setting"),
        ]
