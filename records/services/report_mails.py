"""Reports by mail: to each address at least once, under one Message-ID, until the server takes it.

One message for all addresses of a report, given to the server for each by itself: one address
that is refused keeps no other from its report.
"""

import logging
from collections.abc import Iterator
from itertools import islice
from smtplib import SMTPException

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import F
from django.template.loader import render_to_string
from django.utils import timezone

from records import permissions
from records.documents.contents.cautions import DEFERENCE
from records.documents.report.gathered import CHANGES
from records.documents.report.words import changed, of_whom, time_of, title
from records.models import Report, ReportMail
from records.selectors import reported
from records.selectors.reports import FILES, MOST_ATTEMPTS, kept
from records.services import report_work
from records.services.files import stored_name

log = logging.getLogger(__name__)

MOST_ATTACHED = 8_000_000
"""Bytes of the files that go along; most servers take ten million with what encoding adds."""
MOST_HEADS = 500
_CHANGES = ("became_overdue", *CHANGES)


def missing() -> list[tuple[int, int]]:
    """Mails of reports that are made and not sent yet, oldest first, with the attempts so far."""
    with transaction.atomic():
        permissions.enter_as_worker()
        rows = ReportMail.objects.filter(sent_at=None, attempts__lt=MOST_ATTEMPTS)
        rows = rows.filter(report__made_at__isnull=False).order_by("attempts", "row")
        return list(rows.values_list("row", "attempts")[:1000])


def send(row: int) -> bool:
    """Send one mail; False if it was sent already, is being sent, or was not taken.

    Where a process dies between the server's word and ours it is sent again, as the same message.
    """
    with transaction.atomic():
        permissions.enter_as_worker()
        rows = ReportMail.objects.select_for_update(of=("self",), skip_locked=True)
        mail = rows.filter(row=row, sent_at=None, report__made_at__isnull=False).first()
        if mail is None:
            return False
        refusal = _given_to_server(mail)
        if refusal:
            log.warning("report %s was not mailed: %s", mail.report.id, refusal)
            ReportMail.objects.filter(row=row).update(
                attempts=F("attempts") + 1, last_error=refusal[:500]
            )
            return False
        ReportMail.objects.filter(row=row).update(sent_at=timezone.now(), last_error="")
        return True


def _given_to_server(mail: ReportMail) -> str:
    """Empty where the server took it, else why it did not, in words."""
    if settings.EMAIL_BACKEND == settings.NO_MAIL:
        return "no mail server is set up here"
    try:
        message(mail).send()
    except (OSError, SMTPException, ValueError) as error:
        return _in_words(error)
    return ""


def _in_words(error: Exception) -> str:
    if isinstance(error, SMTPException):
        return f"the mail server refused it: {error}"
    if isinstance(error, OSError):
        return f"the mail server cannot be reached: {error.strerror or type(error).__name__}"
    return f"the address cannot be used: {error}"


def message(mail: ReportMail) -> EmailMessage:
    """The message, the same for every address of a report."""
    report = mail.report
    everybody = ReportMail.objects.filter(report=report).order_by("row")
    made = EmailMessage(
        *_words(report),
        to=[mail.address],
        headers={
            "To": ", ".join(everybody.values_list("address", flat=True)),
            "Message-ID": f"<report-{report.id}@stationbook.invalid>",
            "Auto-Submitted": "auto-generated",  # RFC 3834: nobody's absence answers it
        },
    )
    left = MOST_ATTACHED
    for name in ("pdf", "xlsx", "json"):
        size = getattr(report, f"{name}_size")
        if size <= left:
            left -= size
            _attach(made, report, name)
    return made


def _attach(made: EmailMessage, report: Report, name: str) -> None:
    file = kept(report, name)
    with default_storage.open(stored_name(bytes.fromhex(file["sha256"])), "rb") as content:
        made.attach(file["name"], content.read(), FILES[name][1])


def _words(report: Report) -> tuple[str, str]:
    window = report_work.window_of(report)
    head = report_work.head_of(report, reported.names(window))
    told = {
        "title": title(head),
        "contractor": head["contractor"]["name"],
        "whom": of_whom(head),
        "time": time_of(head),
        "counts": report.summary["counts"],
        "changes": [(changed(name), report.summary["changes"][name]) for name in _CHANGES],
        "heads": list(islice(_heads(report), MOST_HEADS)),
        "more": max(0, (report.total or 0) - MOST_HEADS),
        "cautions": DEFERENCE,
    }
    text = render_to_string("records/mails/report.txt", told).strip() + "\n"
    return " ".join(told["title"].split()), text


def _heads(report: Report) -> Iterator[dict[str, str]]:
    for head in reported.heads(report_work.window_of(report)):
        if head["number"]:
            yield head
