"""When reports are wanted, and whom they are mailed to: set and ended by the office."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import IntegrityError, transaction
from django.utils import timezone
from pydantic import Field

from calculations import periods
from calculations.inputs.base import Id, Part, Text
from calculations.inputs.reading import Problem
from calculations.periods import Period
from records import permissions
from records.errors import Conflict, Invalid
from records.models import ReportSchedule
from records.models.base import new_id
from records.models.report import MOST_ADDRESSES
from records.permissions import Actor
from records.selectors import reports as selector
from records.services import audit, in_force
from records.services.content import quick_digest
from records.services.reading import read_input
from records.services.register_checks import time_zones

SETTLED = timedelta(minutes=15)
"""After a period is over: what was sealed in its last seconds has been committed by then."""


class ReportScheduleInput(Part):
    """That a report is wanted of one client, or of all together where none is named."""

    id: Id | None = None
    client: Id | None = None
    period: Period
    time_zone: Text = Field(description="IANA name, by which a period begins and ends.")
    addresses: list[Text] = Field(default=[], description="Whom it is mailed to; nobody if empty.")


def put(actor: Actor, given: Mapping[str, Any]) -> tuple[ReportSchedule, bool]:
    """Set a schedule in place of what was set before; returns the row and whether it is new.

    The same id with the same content again changes nothing.
    """
    permissions.require(actor, "reports.write")
    wanted = read_input(ReportScheduleInput, given)
    problems = [
        *in_force.client_problems(actor, wanted.client),
        *zone_problems(wanted.time_zone),
        *address_problems(wanted.addresses),
    ]
    if problems:
        raise Invalid(problems=problems)
    digest = quick_digest(wanted.model_dump(mode="json"))
    identity = UUID(wanted.id) if wanted.id else new_id()
    existing = in_force.sent_before(selector.schedules(actor), identity, digest)
    if existing is not None:
        return existing, False
    return _keep(actor, wanted, identity, digest)


def end(actor: Actor, identity: UUID) -> None:
    """Want no more reports; what was over before is still made. Again changes nothing."""
    permissions.require(actor, "reports.write")
    row = selector.schedule(actor, identity)
    if in_force.end(actor, selector.schedules(actor).filter(row=row.row), timezone.now()):
        audit.write(actor, "report schedule ended", _about(row), audit.Change(before=_told_of(row)))


def zone_problems(name: str) -> list[Problem]:
    """What is wrong with the name of a time zone."""
    if name in time_zones():
        return []
    words = f"there is no time zone {name!r}: expected a name such as Europe/Berlin"
    return [Problem("/time_zone", "time_zone", words)]


def address_problems(addresses: list[str]) -> list[Problem]:
    """What is wrong with mail addresses."""
    problems = []
    if len(addresses) > MOST_ADDRESSES:
        words = f"expected at most {MOST_ADDRESSES} addresses"
        problems.append(Problem("/addresses", "too_many", words))
    for index, address in enumerate(addresses):
        if not _is_address(address):
            words = f"expected a mail address such as office@example.org, got {address!r}"
            problems.append(Problem(f"/addresses/{index}", "address", words))
        elif address.casefold() in map(str.casefold, addresses[:index]):
            problems.append(Problem(f"/addresses/{index}", "doubled", "expected each address once"))
    return problems


def _is_address(address: str) -> bool:
    try:
        validate_email(address)
    except ValidationError:
        return False
    return len(address) <= 254  # RFC 5321, 4.5.3.1.3


def _keep(
    actor: Actor, wanted: ReportScheduleInput, identity: UUID, digest: bytes
) -> tuple[ReportSchedule, bool]:
    try:
        with transaction.atomic():
            now = timezone.now()
            before = _in_force(actor, wanted.client)
            row = _row(actor, wanted, before, now)
            row.id, row.created_digest = identity, digest
            if before is not None:
                in_force.end(actor, selector.schedules(actor).filter(row=before.row), now)
            row.save(force_insert=True)
            change = audit.Change(_told_of(before) if before else None, _told_of(row))
            audit.write(actor, "report schedule set", _about(row), change)
    except IntegrityError as error:
        existing = in_force.sent_before(selector.schedules(actor), identity, digest)  # and quicker
        if existing is not None:
            return existing, False
        if "one_schedule_in_force" not in str(error):
            raise
        words = "somebody has just set this schedule: read it again"
        raise Conflict(words, [Problem("/client", "taken", words)]) from error
    return row, True


def _in_force(actor: Actor, client: str | None) -> ReportSchedule | None:
    rows = selector.schedules(actor).select_for_update(of=("self",))
    return rows.filter(client_id=UUID(client) if client else None, ended_at=None).first()


def _row(
    actor: Actor, wanted: ReportScheduleInput, before: ReportSchedule | None, now: datetime
) -> ReportSchedule:
    zone = ZoneInfo(wanted.time_zone)
    if before is not None and before.period == wanted.period:
        begins = _left_by(before, now)
    else:
        begins = periods.begin(now.astimezone(zone).date(), wanted.period)
    return ReportSchedule(
        contractor_id=actor.organization_id,
        client_id=UUID(wanted.client) if wanted.client else None,
        period=wanted.period,
        time_zone=wanted.time_zone,
        addresses=list(wanted.addresses),
        next_begins=begins,
        due_at=due_at(begins, wanted.period, zone),
        **in_force.set_by(actor, now),
    )


def _left_by(before: ReportSchedule, now: datetime) -> Any:
    """The first period that a schedule that ends now leaves to the next: none is lost between."""
    zone, begins = ZoneInfo(before.time_zone), before.next_begins
    while periods.over(periods.last_day(begins, before.period), zone) <= now:
        begins = periods.following(begins, before.period)
    return begins


def due_at(begins: Any, period: Period, zone: ZoneInfo) -> datetime:
    """When the report of a period is asked for."""
    return periods.over(periods.last_day(begins, period), zone) + SETTLED


def _about(row: ReportSchedule) -> audit.About:
    name = f"every {row.period}"
    return audit.About("report schedule", row.id, name, client=row.client_id)


def _told_of(row: ReportSchedule) -> dict[str, Any]:
    names = ("period", "time_zone", "addresses")
    return {name: getattr(row, name) for name in names}
