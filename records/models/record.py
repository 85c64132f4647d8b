"""Sealed records: canonical text, link to the one before, signature; and what is made of them."""

from typing import Any, Literal

from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.indexes import GinIndex
from django.db import models
from django.db.models import F, Q

from calculations.inputs.event import EventKind
from records.models.base import new_id
from records.models.event import Event
from records.models.fields import WordField
from records.models.pump_set import PumpSet
from records.models.site import Site

DocumentKind = Literal["pdf"]


def _handed_to() -> Any:
    """Contractors that the client has handed a record on to: they read it like their own."""
    return ArrayField(models.UUIDField(), default=list)


class SigningKey(models.Model):
    """A public key that seals are checked with; each new one is endorsed by the one before.

    The database refuses a seal outside of its key's time, and any change of a key but its end.
    Keys of other services came with a client's book: what was sealed there is checked with them,
    and nothing is sealed with them here.
    """

    kid = models.TextField(primary_key=True, help_text="RFC 7638 thumbprint.")
    public_jwk = models.JSONField()
    algorithm = models.TextField(default="Ed25519")
    valid_from = models.DateTimeField(help_text="First second that it seals in.")
    valid_until = models.DateTimeField(null=True, help_text="Last second that it seals in.")
    endorsed_by = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, related_name="endorsed", db_index=False
    )
    endorsement = models.TextField(default="", help_text="Detached JWS by the key before.")
    origin = models.TextField(
        default="", db_default="", help_text="The service that it sealed for; empty: this one."
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["endorsed_by"], name="key_endorses_one"),
            models.CheckConstraint(
                condition=Q(valid_until=None) | Q(valid_until__gte=F("valid_from")),
                name="key_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=Q(endorsed_by=None, endorsement="")
                | (Q(endorsed_by__isnull=False) & ~Q(endorsement="")),
                name="endorsed_key_has_its_endorsement",
            ),
        ]


class Record(models.Model):
    """A sealed event: signed, numbered without gaps at its site, unchangeable.

    The database refuses a wrong number, digest or link, and any change or deletion.
    """

    row = models.BigAutoField(primary_key=True)
    id = models.UUIDField(default=new_id, editable=False, unique=True)
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    client = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+", db_index=False
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="records", db_index=False)
    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="record")
    pump_set = models.ForeignKey(PumpSet, on_delete=models.PROTECT, related_name="+", null=True)
    number = models.PositiveIntegerField()
    kind = WordField(EventKind)
    performed_at = models.DateTimeField()
    sealed_at = models.DateTimeField()
    format = models.PositiveSmallIntegerField()
    canonical = models.BinaryField(help_text="Canonical JSON (RFC 8785), verbatim.")
    digest = models.BinaryField(max_length=32, help_text="SHA-256 of the canonical text.")
    previous_digest = models.BinaryField(max_length=32, null=True)
    signature = models.TextField(help_text="Detached JWS over the canonical text (RFC 7797).")
    key = models.ForeignKey(SigningKey, on_delete=models.PROTECT, related_name="+")
    corrects = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, related_name="corrections", db_index=False
    )
    handed_to: Any = _handed_to()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "number"], name="record_number_in_site"),
            # What the composite foreign keys of all that is made of it refer to.
            models.UniqueConstraint(
                fields=["row", "contractor", "client"], name="record_of_its_parties"
            ),
            models.CheckConstraint(
                condition=Q(number=1, previous_digest=None)
                | Q(number__gt=1, previous_digest__isnull=False),
                name="only_the_first_record_has_no_predecessor",
            ),
            models.UniqueConstraint(fields=["corrects"], name="record_is_corrected_once"),
        ]
        indexes = [
            models.Index(fields=["client", "-row"], name="record_newest_of_client"),
            models.Index(fields=["contractor", "-row"], name="record_newest_of_contractor"),
            GinIndex(fields=["handed_to"], name="record_handed_to"),
            models.Index(fields=["client", "number"], name="record_number_of_client"),
            models.Index(fields=["contractor", "number"], name="record_number_of_contractor"),
        ]


class RecordDocument(models.Model):
    """A document made of a record after sealing: asked for while `sha256` is empty."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    record = models.ForeignKey(
        Record, on_delete=models.PROTECT, related_name="documents", db_index=False
    )
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    client = models.ForeignKey("records.Organization", on_delete=models.PROTECT, related_name="+")
    kind = WordField(DocumentKind)
    sha256 = models.BinaryField(max_length=32, null=True)
    size = models.PositiveBigIntegerField(null=True)
    crc32 = models.PositiveBigIntegerField(
        null=True, help_text="Of the same bytes, as a ZIP lists it; of older documents not kept."
    )
    made_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.TextField(default="")
    asked_at = models.DateTimeField(auto_now_add=True)
    handed_to: Any = _handed_to()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["record", "kind"], name="one_document_a_kind")
        ]
        indexes = [
            models.Index(
                fields=["asked_at"], condition=Q(sha256=None), name="document_still_to_be_made"
            )
        ]


class RecordReadings(models.Model):
    """The lines of a record's readings as CSV, as they go out; made anew from its text at will.

    One row a record, not one a line: exports read them whole, in order, and nothing else does.
    """

    record = models.OneToOneField(
        Record, on_delete=models.PROTECT, primary_key=True, related_name="readings"
    )
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    client = models.ForeignKey("records.Organization", on_delete=models.PROTECT, related_name="+")
    edition = models.PositiveSmallIntegerField(help_text="Of columns and words: EDITION then.")
    lines = models.BinaryField()
    handed_to: Any = _handed_to()


class RecordedValue(models.Model):
    """A value of a record that trends, due dates and intervals need; rebuilt from its text."""

    row = models.BigAutoField(primary_key=True)
    record = models.ForeignKey(
        Record, on_delete=models.PROTECT, related_name="values", db_index=False
    )
    contractor = models.ForeignKey(
        "records.Organization", on_delete=models.PROTECT, related_name="+"
    )
    client = models.ForeignKey("records.Organization", on_delete=models.PROTECT, related_name="+")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+", db_index=False)
    tag = models.TextField()
    serial = models.TextField(default="")
    name = models.TextField(help_text="Id of the derived value, or of the task performed.")
    subject = models.TextField()
    si = models.FloatField(null=True)
    word = models.TextField(default="")
    at = models.DateTimeField()
    handed_to: Any = _handed_to()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["record", "name", "subject"], name="one_value_a_name_and_subject"
            )
        ]
        indexes = [models.Index(fields=["site", "tag", "name", "at"], name="value_history")]
