"""Report schedules and reports, as they are told."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from records import permissions
from records.errors import NotFound
from records.models import Report, ReportMail, ReportSchedule
from records.permissions import Actor
from records.services.times import instant

Document = dict[str, Any]

MADE, WAITING, WORKING, FAILING = "made", "waiting", "in work", "failing"
MOST_ATTEMPTS = 100
"""After so many a mail is given up: some four days."""


def schedules(actor: Actor) -> QuerySet[ReportSchedule]:
    """Every schedule that the actor's organization is a party to, ended ones too."""
    permissions.require(actor, "reports.read")
    return permissions.visible(ReportSchedule.objects.select_related("client"), actor)


def schedule(actor: Actor, identity: UUID) -> ReportSchedule:
    """The schedule of this id."""
    row = schedules(actor).filter(id=identity).first()
    if row is None:
        raise NotFound()
    return row


def rows(actor: Actor) -> QuerySet[Report]:
    """Every report that the actor's organization is a party to."""
    permissions.require(actor, "reports.read")
    found = Report.objects.select_related("client", "schedule").prefetch_related("mails")
    return permissions.visible(found, actor)


def get(actor: Actor, identity: UUID) -> Report:
    """The report of this id."""
    row = rows(actor).filter(id=identity).first()
    if row is None:
        raise NotFound()
    return row


def schedule_document(row: ReportSchedule) -> Document:
    """A schedule as it is told."""
    in_force = row.ended_at is None
    return {
        "id": str(row.id),
        "client": str(row.client_id) if row.client_id else None,
        "period": row.period,
        "time_zone": row.time_zone,
        "addresses": row.addresses,
        "next_begins": str(row.next_begins) if in_force else None,
        "next_at": instant(row.due_at) if in_force else None,
        "set_by": row.set_by_name,
        "set_at": instant(row.set_at),
        "ended_by": row.ended_by_name or None,
        "ended_at": instant(row.ended_at) if row.ended_at else None,
    }


def state(row: Report) -> str:
    """Where the making of a report stands."""
    if row.made_at is not None:
        return MADE
    if row.last_error:
        return FAILING
    return WAITING if row.worked_at is None else WORKING


def document(row: Report) -> Document:
    """A report as it is told."""
    return {
        "id": str(row.id),
        "client": str(row.client_id) if row.client_id else None,
        "period": row.period,
        "period_begins": str(row.period_begins),
        "as_of": str(row.as_of),
        "time_zone": row.time_zone,
        "since": instant(row.since),
        "until": instant(row.until),
        "schedule": str(row.schedule.id) if row.schedule else None,
        "asked_by": row.asked_by_name or None,
        "asked_at": instant(row.asked_at),
        "state": state(row),
        "detail": _detail(row),
        "stations_done": row.done,
        "stations": row.total,
        "made_at": instant(row.made_at) if row.made_at else None,
        "counts": (row.summary or {}).get("counts"),
        "changes": (row.summary or {}).get("changes"),
        "files": [_file(row, name) for name in FILES] if row.made_at else [],
        "mails": [mail_document(each) for each in row.mails.all()],
    }


def _detail(row: Report) -> str:
    if row.made_at is None and row.last_error:
        return "the report could not be made so far, and is tried again"
    return ""


FILES = {
    "pdf": ("document.pdf", "application/pdf"),
    "xlsx": (
        "workbook.xlsx",
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ),
    "json": ("data.json", "application/json"),
}
"""What a report is kept as: its columns, by which name, of which type."""


def _file(row: Report, name: str) -> Document:
    file, media = FILES[name]
    return {
        "name": file,
        "content_type": media,
        "size": getattr(row, f"{name}_size"),
        "sha256": bytes(getattr(row, f"{name}_sha256")).hex(),
    }


def kept(row: Report, name: str) -> Document:
    """A file of a report, as it is downloaded; `NotFound` while it is not made."""
    if row.made_at is None:
        raise NotFound("the report is not made yet")
    stem = f"report-{row.as_of}" if row.period == "day" else f"report-{row.period}-{row.as_of}"
    return _file(row, name) | {"name": f"{stem}.{name}"}


def mail_document(mail: ReportMail) -> Document:
    """A mail as it is told."""
    return {
        "address": mail.address,
        "state": _mail_state(mail),
        "sent_at": instant(mail.sent_at) if mail.sent_at else None,
        "attempts": mail.attempts,
        "detail": "" if mail.sent_at else mail.last_error,
    }


def _mail_state(mail: ReportMail) -> str:
    if mail.sent_at is not None:
        return "sent"
    if mail.attempts >= MOST_ATTEMPTS:
        return "given up"
    return "tried again" if mail.attempts else "waiting"
