"""Commissioning events: the document as posted, and what is said, answered and signed about it."""

from typing import Any, Literal

from django.db import models
from django.db.models import Q
from django.utils import timezone

from calculations.findings import Severity
from calculations.inputs.event import AttachmentPurpose, EventKind
from records.errors import Conflict, Sealed, Stale, Withdrawn
from records.models.base import BLANK, Resource, Row
from records.models.fields import DocumentField, WordField
from records.models.people import Role, User
from records.models.pump_set import PumpSet
from records.models.site import Site

State = Literal["draft", "sealed", "withdrawn"]
Meaning = Literal["performed", "reviewed", "witnessed"]


class Event(Resource):
    """One visit's work on one pump set, or on some sensors of a site.

    It belongs for ever to the contractor that performed it. `document` is what was posted and
    changed, `snapshot` the nameplates it is judged against (frozen at the first signature),
    `judgement` what the catalogue said of both.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="events", db_index=False)
    pump_set = models.ForeignKey(PumpSet, on_delete=models.PROTECT, related_name="+", null=True)
    kind = WordField(EventKind)
    performed_at = models.DateTimeField()
    state = WordField(State, default="draft")
    document: Any = DocumentField()
    snapshot: Any = DocumentField()
    snapshot_frozen = models.BooleanField(default=False)
    catalogue = models.TextField()
    judgement: Any = DocumentField()
    created_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    said = models.PositiveIntegerField(
        default=0, help_text="Answers, traces, signatures, withdrawals and the seal so far."
    )
    withdrawal_reason = models.TextField(default="")
    withdrawn_at = models.DateTimeField(null=True)
    withdrawn_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", null=True)
    withdrawn_by_name = models.TextField(default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["contractor", "id"], name="event_id_in_contractor"),
            models.UniqueConstraint(
                fields=["row", "contractor", "client"], name="event_with_its_parties"
            ),
            models.CheckConstraint(
                condition=~Q(state="sealed") | Q(snapshot_frozen=True),
                name="sealed_event_has_a_frozen_snapshot",
            ),
            models.CheckConstraint(
                condition=~Q(state="withdrawn")
                | ~Q(withdrawal_reason__regex=BLANK)
                & Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False),
                name="withdrawn_event_says_by_whom_and_why",
            ),
        ]
        indexes = [
            models.Index(fields=["contractor", "-row"], name="event_newest_first"),
            models.Index(fields=["contractor", "state", "-row"], name="event_newest_of_state"),
            models.Index(fields=["contractor", "kind", "-row"], name="event_newest_of_kind"),
            models.Index(fields=["site", "-row"], name="event_newest_of_site"),
            models.Index(fields=["site", "performed_at"], name="event_by_site_and_time"),
            models.Index(fields=["site"], condition=Q(state="draft"), name="drafts_of_site"),
        ]

    @property
    def etag(self) -> str:
        """The revision, and how much has been said about it since."""
        return f"{self.revision}.{self.said}"

    def refuse_unless_draft(self) -> None:
        """Nothing is done with what is closed, or at a station that another looks after now."""
        self.refuse_closed()
        if self.site.contractor_id != self.contractor_id:
            raise Conflict(
                "another contractor looks after this station now: the draft stays as it is,"
                " and can be withdrawn"
            )

    def refuse_closed(self) -> None:
        """Nothing is done with what is sealed or withdrawn."""
        if self.state == "sealed":
            raise Sealed()
        if self.state == "withdrawn":
            raise Withdrawn()

    def refuse_unless_shown(self, etag: str | None) -> None:
        """Nothing is done to what is no longer as somebody was shown it; None: they do not say."""
        if etag is not None and etag != self.etag:
            raise Stale(revision=self.revision, etag=self.etag)

    def note_said(self, **values: Any) -> None:
        """Count an answer, a signature, a withdrawal or the seal, with what it changes."""
        for name, value in values.items():
            setattr(self, name, value)
        self.said, self.changed_at = self.said + 1, timezone.now()
        self.save(update_fields=["said", "changed_at", *values])


class EventPart(Row):
    """A row that belongs to one event, and to the same parties."""

    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    event = models.ForeignKey(
        Event, on_delete=models.PROTECT, related_name="%(class)ss", db_index=False
    )

    class Meta:
        abstract = True


class Finding(EventPart):
    """What a rule says about the event, while it says so."""

    rule = models.TextField()
    subject = models.TextField()
    severity = WordField(Severity)
    document: Any = DocumentField()
    # What was compared: an answer holds while this stays the same.
    compared_digest = models.BinaryField(max_length=32)
    present = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["event", "id"], name="finding_id_in_event"),
        ]


class Answer(EventPart):
    """What a responsible person wrote about a finding, and whether it is accepted."""

    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="answers")
    text = models.TextField()
    accepted = models.BooleanField(default=True)
    compared_digest = models.BinaryField(max_length=32)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    by_name = models.TextField()
    by_role = WordField(Role)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["event", "id"], name="answer_id_in_event"),
            models.CheckConstraint(condition=~Q(text=""), name="answer_has_a_text"),
        ]


class Signature(EventPart):
    """A person's signature with a stated meaning over the digest of exactly what was signed."""

    meaning = WordField(Meaning)
    digest = models.BinaryField(max_length=32)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    by_name = models.TextField()
    by_role = WordField(Role)
    by_organization = models.TextField()
    at = models.DateTimeField()
    device: Any = DocumentField(
        null=True, help_text="Where a device signed: statement, digest, signature, public key."
    )
    void_since = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["event", "id"], name="signature_id_in_event"),
            models.UniqueConstraint(
                fields=["event", "meaning", "by"],
                condition=Q(void_since=None),
                name="one_signature_a_person_and_meaning",
            ),
        ]


class Attachment(EventPart):
    """A photograph or document, stored under the digest of its bytes.

    A photograph is drawn anew: `sent_sha256` is that of the bytes that came.
    """

    purpose = WordField(AttachmentPurpose)
    name = models.TextField()
    content_type = models.TextField()
    size = models.PositiveBigIntegerField()
    sha256 = models.BinaryField(max_length=32)
    sent_sha256 = models.BinaryField(max_length=32)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["event", "id"], name="attachment_id_in_event"),
        ]


class Trace(EventPart):
    """A time series of the regulation, stored under the digest of its bytes."""

    name = models.TextField()
    columns: Any = models.JSONField()
    rows = models.PositiveIntegerField()
    sample_interval = models.FloatField(null=True, help_text="Seconds, where it is constant.")
    size = models.PositiveBigIntegerField()
    sha256 = models.BinaryField(max_length=32)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["event", "id"], name="trace_id_in_event"),
            models.CheckConstraint(condition=Q(rows__lte=1_000_000), name="trace_at_most_1e6_rows"),
        ]
