"""Reports: asked for by hand, or of each period that is over; made once, whole or not at all.

What a report says follows from two moments, so that one that is made late, or again after a
process died, says the same.
"""

import logging
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction
from django.db.models import F, Q
from django.utils import timezone

from calculations import periods
from calculations.inputs.base import Day, Id, Part, Text
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Invalid
from records.models import Report, ReportMail, ReportSchedule, Site
from records.models.base import new_id
from records.permissions import Actor
from records.selectors import reports as selector
from records.services import audit, in_force, report_work
from records.services.content import quick_digest
from records.services.reading import read_input
from records.services.report_schedules import (
    SETTLED,
    address_problems,
    due_at,
    zone_problems,
)

log = logging.getLogger(__name__)

AT_ONCE = 500
EARLIEST = date(1970, 1, 2)
LATELY = timedelta(minutes=2)
"""A report of which progress was told so lately is in somebody's work."""


class ReportInput(Part):
    """A report of one client, or of all together, as a day ended: past days, and today so far."""

    id: Id | None = None
    client: Id | None = None
    day: Day
    since: Day | None = None
    time_zone: Text | None = None
    addresses: list[Text] = []


# -- by hand ------------------------------------------------------------------------------------


def ask(actor: Actor, given: Mapping[str, Any]) -> tuple[Report, bool]:
    """Ask for a report of any day; returns the row and whether it is new.

    The same id with the same content again changes nothing.
    """
    permissions.require(actor, "reports.write")
    wanted = read_input(ReportInput, given)
    digest = quick_digest(wanted.model_dump(mode="json"))
    identity = UUID(wanted.id) if wanted.id else new_id()
    existing = in_force.sent_before(selector.rows(actor), identity, digest)
    if existing is not None:
        return existing, False
    row = _wanted(actor, wanted)
    row.id, row.created_digest = identity, digest
    try:
        with transaction.atomic():
            row.save(force_insert=True)
            _address(row, wanted.addresses)
            _tell(actor, row)
    except IntegrityError:
        existing = in_force.sent_before(selector.rows(actor), identity, digest)  # and quicker
        if existing is None:
            raise
        return existing, False
    return row, True


def _tell(actor: Actor, row: Report) -> None:
    about = audit.About("report", row.id, f"of {row.as_of}", client=row.client_id)
    audit.write(actor, "report asked for", about, audit.Change(after={"as_of": str(row.as_of)}))


def _wanted(actor: Actor, wanted: ReportInput) -> Report:
    now = timezone.now()
    name = wanted.time_zone or usual_zone(actor, wanted.client)
    problems = [
        *in_force.client_problems(actor, wanted.client),
        *zone_problems(name),
        *address_problems(wanted.addresses),
    ]
    if problems:
        raise Invalid(problems=problems)
    day = date.fromisoformat(wanted.day)
    begins = date.fromisoformat(wanted.since) if wanted.since else _usual_beginning(day)
    zone = ZoneInfo(name)
    today = now.astimezone(zone).date()
    _refuse_days(day, begins, today)
    since = periods.over(begins - timedelta(days=1), zone)
    until = min(periods.over(day, zone), now)
    if since >= until:
        words = f"expected a day that there was in {name}: its clocks left this one out"
        raise Invalid(problems=[Problem("/day", "left_out", words)])
    return Report(
        contractor_id=actor.organization_id,
        client_id=UUID(wanted.client) if wanted.client else None,
        period="day",
        period_begins=begins,
        as_of=day,
        time_zone=name,
        since=since,
        until=until,
        asked_at=now,
        asked_by_id=actor.user_id,
        asked_by_name=actor.name,
    )


def _usual_beginning(day: date) -> date:
    """The first of the month: of the last day of one the report is that of the month."""
    return periods.begin(day, "month")


def _refuse_days(day: date, begins: date, today: date) -> None:
    problems = []
    if day > today:
        words = f"expected a day that has come: it is {today} there"
        problems.append(Problem("/day", "in_the_future", words))
    if begins > day:
        problems.append(Problem("/since", "out_of_range", f"expected {day} or a day before"))
    elif begins < EARLIEST:
        place = "/day" if day < EARLIEST else "/since"
        problems.append(Problem(place, "out_of_range", f"expected {EARLIEST} or a day after"))
    if problems:
        raise Invalid(problems=problems)


def usual_zone(actor: Actor, client: str | None) -> str:
    """The time zone of the schedule in force, else that of the client's first station, else UTC."""
    whose = UUID(client) if client else None
    held = selector.schedules(actor).filter(client_id=whose, ended_at=None).first()
    if held is not None:
        return str(held.time_zone)
    sites = permissions.visible(Site.objects.order_by("row"), actor)
    site = (sites.filter(client_id=whose) if whose else sites).first()
    return str(site.time_zone) if site else "UTC"


def _address(row: Report, addresses: list[str]) -> None:
    parties = {"contractor_id": row.contractor_id, "client_id": row.client_id}
    mails = [ReportMail(report=row, address=address, **parties) for address in addresses]
    ReportMail.objects.bulk_create(mails)


# -- of each period that is over ----------------------------------------------------------------


def ask_for_what_is_over(now: datetime | None = None) -> int:
    """Ask for the report of every period that is over by its schedule; returns how many.

    A schedule counts on in the transaction in which the report is asked for, and a constraint
    keeps a second one out: so of many that do this at once, or die in it, each period has one.
    """
    moment = now or timezone.now()
    with transaction.atomic():
        permissions.enter_as_worker()
        return sum(_count_on(row, moment) for row in _over(moment))


def _over(moment: datetime) -> list[ReportSchedule]:
    rows = ReportSchedule.objects.select_for_update(of=("self",), skip_locked=True)
    in_force = Q(ended_at=None) | Q(due_at__lte=F("ended_at") + SETTLED)
    return list(rows.filter(in_force, due_at__lte=moment).order_by("due_at")[:AT_ONCE])


def _count_on(row: ReportSchedule, moment: datetime) -> int:
    zone, asked = ZoneInfo(row.time_zone), 0
    last = moment if row.ended_at is None else min(moment, row.ended_at + SETTLED)
    while row.due_at <= last:
        asked += _ask_for_period(row, zone, moment)
        row.next_begins = periods.following(row.next_begins, row.period)
        row.due_at = due_at(row.next_begins, row.period, zone)
    row.save(update_fields=["next_begins", "due_at"])
    return asked


def _ask_for_period(row: ReportSchedule, zone: ZoneInfo, moment: datetime) -> int:
    begins, last = row.next_begins, periods.last_day(row.next_begins, row.period)
    report = Report(
        contractor_id=row.contractor_id,
        client_id=row.client_id,
        schedule=row,
        period=row.period,
        period_begins=begins,
        as_of=last,
        time_zone=row.time_zone,
        since=periods.over(begins - timedelta(days=1), zone),
        until=periods.over(last, zone),
        asked_at=moment,
    )
    Report.objects.bulk_create([report], ignore_conflicts=True)
    kept = Report.objects.filter(contractor=row.contractor_id, id=report.id).first()
    if kept is None:  # another schedule has asked for it before
        return 0
    _address(kept, list(row.addresses))
    return 1


# -- making -------------------------------------------------------------------------------------


def missing() -> list[tuple[int, int]]:
    """Reports that are asked for and not made yet, oldest first, with the attempts so far."""
    with transaction.atomic():
        permissions.enter_as_worker()
        idle = Q(worked_at=None) | Q(worked_at__lt=timezone.now() - LATELY)
        rows = Report.objects.filter(idle, made_at=None).order_by("asked_at", "row")
        return list(rows.values_list("row", "attempts")[:1000])


def make(row: int) -> bool:
    """Make one report; False if it was made already, or is being made. Safe to run twice."""
    with transaction.atomic():
        permissions.enter_as_worker()
        if not report_work.taken(row):
            return False
        report = Report.objects.filter(row=row, made_at=None).first()
        if report is None:
            return False
        try:
            with transaction.atomic(), TemporaryDirectory(prefix="report-") as folder:
                made = report_work.work(report, Path(folder))
        except Exception as error:
            log.exception("report %s could not be made", report.id)
            failed = f"{type(error).__name__}: {error}"[:500]
            rows = Report.objects.filter(row=row)
            rows.update(attempts=F("attempts") + 1, last_error=failed, worked_at=None)
            return False
        Report.objects.filter(row=row).update(**made, made_at=timezone.now(), last_error="")
        return True
