"""Organizations, the people in them, and the tokens of devices and scripts."""

from datetime import timedelta
from typing import Literal

from django.contrib.auth.models import AbstractUser
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac

from records.document_style import Paper, Style, Units
from records.models.base import BLANK, new_id
from records.models.fields import WordField

LONGEST_ADMISSION = timedelta(days=3)
LONGEST_ENROLMENT = timedelta(minutes=11)  # ten, and clocks of two machines

Role = Literal["office", "technician", "client"]
Scope = Literal["read", "write", "sign", "manage"]


class Organization(models.Model):
    """A company or a utility; contractor or client is what it is at a site."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    name = models.TextField()
    revision = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(name__regex=BLANK), name="organization_has_a_name")
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def etag(self) -> str:
        """Names what is told of the row: it changes when that changes."""
        return str(self.revision)


class User(AbstractUser):
    """A person who signs in; what they may see follows from their memberships."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    full_name = models.TextField(blank=True)
    sessions_ended_at = models.DateTimeField(null=True, editable=False)

    class Meta(AbstractUser.Meta):
        constraints = [
            models.UniqueConstraint(Lower("username"), name="one_person_a_user_name"),
            models.UniqueConstraint(
                Lower("email"), condition=~Q(email=""), name="one_person_an_address"
            ),
        ]

    def __str__(self) -> str:
        return self.full_name or self.username

    def _get_session_auth_hash(self, secret: str | bytes | None = None) -> str:
        """A session goes on while this stays: until another password, or the end of all."""
        digest: str = super()._get_session_auth_hash(secret)  # type: ignore[misc]
        if self.sessions_ended_at is None:
            return digest
        words = f"{digest} {self.sessions_ended_at.isoformat()}"
        return salted_hmac("sessions ended", words, secret=secret, algorithm="sha256").hexdigest()


class Membership(models.Model):
    """A person's role in an organization; it ends and is never deleted."""

    user = models.ForeignKey(
        User, on_delete=models.PROTECT, related_name="memberships", db_index=False
    )
    organization = models.ForeignKey(
        Organization, on_delete=models.PROTECT, related_name="memberships"
    )
    role = WordField(Role)
    since = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["user", "organization"], name="one_role_a_person")
        ]


class Admission(models.Model):
    """Somebody who runs the service, let into an organization to look, for a time and a reason."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    organization = models.ForeignKey(Organization, on_delete=models.PROTECT, related_name="+")
    reason = models.TextField()
    admitted_by = models.TextField()
    since = models.DateTimeField()
    until = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(reason__regex=BLANK) & ~Q(admitted_by__regex=BLANK),
                name="admission_says_by_whom_and_why",
            ),
            models.CheckConstraint(
                condition=Q(until__gt=F("since"), until__lte=F("since") + LONGEST_ADMISSION),
                name="admission_is_for_three_days_at_most",
            ),
            models.UniqueConstraint(
                fields=["user"], condition=Q(ended_at=None), name="one_admission_a_person"
            ),
        ]


class Token(models.Model):
    """A device's or script's key: only its digest is kept."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    name = models.TextField()
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="tokens")
    organization = models.ForeignKey(Organization, on_delete=models.PROTECT, related_name="tokens")
    role = WordField(Role)
    scopes = ArrayField(WordField(Scope))
    prefix = models.CharField(max_length=12)
    digest = models.BinaryField(max_length=32, unique=True)
    device = models.BooleanField(default=False, db_default=False)  # enrolled with a code
    created_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(expires_at__gt=F("created_at")), name="token_expires_after_creation"
            ),
            models.CheckConstraint(condition=~Q(name__regex=BLANK), name="token_has_a_name"),
            # Who holds the text of a token that signs can sign as its person.
            models.CheckConstraint(
                condition=~Q(scopes__contains=["sign"]) | Q(created_by=F("user")),
                name="token_that_signs_is_made_by_its_person",
            ),
            models.CheckConstraint(
                condition=~Q(role="client") | Q(scopes__contained_by=["read"]),
                name="token_of_a_client_reads",
            ),
        ]


class DeviceKey(models.Model):
    """The public key that a device signs with; the private one stays there. Written once.

    It has no end of its own: once its token is revoked, nothing is taken that it signed.
    """

    token = models.OneToOneField(
        Token, on_delete=models.PROTECT, primary_key=True, related_name="device_key"
    )
    organization = models.ForeignKey(
        Organization, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    kid = models.TextField(help_text="RFC 7638 thumbprint.")
    public_jwk = models.JSONField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["organization", "kid"], name="device_key_is_one_devices"
            )
        ]


class Enrolment(models.Model):
    """A code that makes one device's token, once and within minutes: only its digest is kept."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    organization = models.ForeignKey(Organization, on_delete=models.PROTECT, related_name="+")
    role = WordField(Role)
    scopes = ArrayField(WordField(Scope))
    digest = models.BinaryField(max_length=32, unique=True)
    created_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField(db_index=True)
    used_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    expires_at__gt=F("created_at"),
                    expires_at__lte=F("created_at") + LONGEST_ENROLMENT,
                ),
                name="enrolment_is_for_minutes",
            ),
            models.CheckConstraint(
                condition=Q(scopes__contained_by=["read", "write"])
                | Q(created_by=F("user"), scopes__contained_by=["read", "write", "sign"]),
                name="enrolment_that_signs_is_made_by_its_person",
            ),
        ]


class Clientele(models.Model):
    """Which clients a contractor works for: each may know the other's name."""

    contractor = models.ForeignKey(
        Organization, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    client = models.ForeignKey(Organization, on_delete=models.PROTECT, related_name="+")
    since = models.DateTimeField(auto_now_add=True)
    units = WordField(Units, default="entered", db_default="entered")
    paper = WordField(Paper, default="usual", db_default="usual")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["contractor", "client"], name="one_clientele_a_pair")
        ]

    @property
    def style(self) -> Style:
        """How the client wants its documents printed by this contractor."""
        return Style(self.units, self.paper)


class Appointment(models.Model):
    """From when to when a contractor looks after a site."""

    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="appointments")
    contractor = models.ForeignKey(Organization, on_delete=models.PROTECT, related_name="+")
    client = models.ForeignKey(Organization, on_delete=models.PROTECT, related_name="+")
    from_day = models.DateField()
    until_day = models.DateField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site"], condition=Q(until_day=None), name="one_contractor_a_site"
            ),
            models.CheckConstraint(
                condition=Q(until_day=None) | Q(until_day__gte=F("from_day")),
                name="appointment_ends_after_it_begins",
            ),
        ]
