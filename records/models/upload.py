"""Files that are under way: sent in parts by a device with a bad signal, kept until complete."""

from typing import Literal

from django.db import models
from django.db.models import F, Q

from calculations.inputs.event import AttachmentPurpose
from records.models.base import Row
from records.models.event import EventPart
from records.models.fields import WordField
from records.models.people import User

UploadKind = Literal["attachment", "trace"]


class Upload(EventPart):
    """What was announced of a file, and how much of it has come.

    Its id becomes that of the attachment or trace. A row that is complete stays for a while, so
    that whoever did not get the answer can ask again.
    """

    kind = WordField(UploadKind)
    purpose = WordField(AttachmentPurpose, null=True)
    name = models.TextField(default="")
    size = models.PositiveBigIntegerField(help_text="Bytes that were announced.")
    sha256 = models.BinaryField(max_length=32, help_text="As announced.")
    received = models.PositiveBigIntegerField(default=0)
    parts = models.PositiveIntegerField(default=0)
    created_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    completed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["event", "id"], name="upload_id_in_event"),
            models.UniqueConstraint(
                fields=["row", "contractor", "client"], name="upload_with_its_parties"
            ),
            models.CheckConstraint(
                condition=Q(received__lte=F("size")), name="upload_no_longer_than_announced"
            ),
            models.CheckConstraint(
                condition=Q(completed_at=None) | Q(received=F("size")),
                name="complete_upload_has_all_its_bytes",
            ),
            models.CheckConstraint(
                condition=Q(kind="trace") | Q(purpose__isnull=False),
                name="attachment_under_way_has_a_purpose",
            ),
        ]
        indexes = [
            models.Index(
                fields=["contractor"], condition=Q(completed_at=None), name="uploads_under_way"
            ),
            models.Index(fields=["changed_at"], name="upload_by_last_change"),
        ]


class UploadPart(Row):
    """Bytes of an upload from one place on; gone when the upload is complete or given up."""

    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    # The database's own key carries the parties along, and goes with the upload.
    upload = models.ForeignKey(
        Upload,
        on_delete=models.DO_NOTHING,
        related_name="+",
        db_constraint=False,
        db_index=False,
    )
    starts_at = models.PositiveBigIntegerField()
    content = models.BinaryField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["upload", "starts_at"], name="upload_part_once"),
        ]
