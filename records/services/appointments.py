"""Another contractor for a station: by whoever runs the service, on the client's word.

The register goes over to the new contractor. Events stay with the one that performed them, drafts
too: the new one never sees them. Sealed records stay with their contractor as well, and the client
may hand them on.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import F, Func, Q, UUIDField, Value
from django.utils import timezone

from records.errors import Conflict, NotFound
from records.models import (
    Appointment,
    Clientele,
    Event,
    Organization,
    PerformedTask,
    PumpSet,
    Record,
    RecordDocument,
    RecordedValue,
    RecordReadings,
    Site,
)
from records.models.audit import Action
from records.services import audit, holding, organizations, summaries
from records.services.times import day_at


@dataclass(frozen=True, slots=True)
class Change:
    """What is to be: whose station, whom it goes to, on whose word and why."""

    client: UUID
    code: str
    contractor: UUID
    operator: str
    reason: str
    hand_on_records: bool = False
    leave_drafts: bool = False


@dataclass(frozen=True, slots=True)
class Appointed:
    """What became of it."""

    site: Site
    before: str
    after: str
    records_handed_on: int
    drafts_left: int


def appoint(wanted: Change, using: str) -> Appointed:
    """Let another contractor look after a station, from the day it is there.

    `using` is the connection of the tables' owner.

    `Conflict` where it does already, where drafts are still open, or where an id is taken.
    """
    with transaction.atomic(using=using):
        site = _site(wanted, using)
        before, after = site.contractor, organizations.known(wanted.contractor, using)
        if before.id == after.id:
            raise Conflict(f"{after.name} looks after this station already")
        drafts = _drafts(wanted, site, using)
        today = day_at(timezone.now(), site.time_zone)
        _end_appointment(site, today, using)
        _hand_over(site, before, after, using)
        _begin_appointment(site, after, today, using)
        summaries.refresh(site.row, using)
        handed = _hand_on(site, after, using) if wanted.hand_on_records else 0
        _write_down(wanted, site, before, after, handed, using)
    return Appointed(site, before.name, after.name, handed, drafts)


def _site(wanted: Change, using: str) -> Site:
    rows = Site.objects.using(using).select_related("contractor").select_for_update(of=("self",))
    site = rows.filter(client=wanted.client, code=wanted.code).first()
    if site is None:
        raise NotFound("this client has no station of this code")
    return site


def _drafts(wanted: Change, site: Site, using: str) -> int:
    """How many are left over: they can be withdrawn from now on, and nothing else."""
    rows = Event.objects.using(using).filter(site=site, contractor=site.contractor_id)
    left = rows.filter(state="draft").count()
    if left and not wanted.leave_drafts:
        raise Conflict(
            f"visits at this station that are not sealed yet: {left}. Seal or withdraw them first,"
            " or leave them to be read and withdrawn alone"
        )
    return left


def _end_appointment(site: Site, today: date, using: str) -> None:
    Appointment.objects.using(using).filter(site=site, until_day=None).update(until_day=today)


def _begin_appointment(site: Site, after: Organization, today: date, using: str) -> None:
    parties: dict[str, Any] = {"contractor": after, "client_id": site.client_id}
    Appointment.objects.using(using).create(site=site, from_day=today, **parties)
    Clientele.objects.using(using).get_or_create(**parties)


def _hand_over(site: Site, before: Organization, after: Organization, using: str) -> None:
    """The register's rows follow the station: the database's foreign keys see to it."""
    former = _with("former_contractors", before.id, without=after.id)
    own = PumpSet.objects.using(using).filter(site=site)
    try:
        own.update(former_contractors=former)
        rows = Site.objects.using(using).filter(row=site.row)
        rows.update(contractor=after, former_contractors=former)
    except IntegrityError as error:
        raise Conflict(f"the new contractor has a row of the same id: {error}") from error


def _hand_on(site: Site, after: Organization, using: str) -> int:
    """Let the new contractor read the station's records that others have sealed.

    They are held first: whoever writes what is kept beside records holds many of them as well.
    """
    new = ~Q(contractor=after) & ~Q(handed_to__contains=[after.id])
    held = holding.records(Record.objects.using(using).filter(new, site=site).only("row"))
    sealed = [record.row for record in held]
    _read_by(after, Record.objects.using(using).filter(row__in=sealed))
    for model in (RecordDocument, RecordReadings, RecordedValue, PerformedTask):
        _read_by(after, model.objects.using(using).filter(record__in=sealed))
    return len(sealed)


def _read_by(after: Organization, rows: Any) -> None:
    rows.update(handed_to=_with("handed_to", after.id))


def _with(column: str, added: UUID, without: UUID | None = None) -> Func:
    """An array with one id more, and another one less."""
    kept: Any = F(column)
    for gone in filter(None, (added, without)):
        kept = Func(kept, _id(gone), function="array_remove")
    return Func(kept, _id(added), function="array_append")


def _id(identity: UUID) -> Value:
    return Value(identity, output_field=UUIDField())


def _write_down(
    wanted: Change,
    site: Site,
    before: Organization,
    after: Organization,
    handed: int,
    using: str,
) -> None:
    """In the audit of both: neither learns of the other's more than the name."""
    about = audit.About("site", site.id, site.code, site.row, site.client_id)
    told = audit.Change({"contractor": before.name}, {"contractor": after.name})
    more = audit.Change(told.before, {**told.after, "records_handed_on": handed})
    entries: tuple[tuple[UUID, Action, audit.Change], ...] = (
        (before.id, "appointment ended", told),
        (after.id, "contractor appointed", more),
    )
    for organization, action, change in entries:
        audit.write_by_operator(
            organization, wanted.operator, action, about,
            reason=wanted.reason, change=change, using=using,
        )  # fmt: skip
