"""Reports by mail: to each address at least once, under one Message-ID, until the server takes it.

One message for all addresses of a report, given to the server for each by itself: one address
that is refused keeps no other from its report.
"""

import logging
from collections.abc import Iterator
from itertools import islice
from smtplib import SMTPException, SMTPServerDisconnected

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.mail import EmailMessage, get_connection
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
TAKING = 120.0
"""Seconds that a server may take over a message. It looks through it first, and whoever gives up
before its answer sends it again (RFC 5321, 4.5.3.2, asks for three to ten minutes of patience)."""
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
        made = message(mail)
    except Exception:  # a storage has errors of its own
        log.exception("the files of report %s could not be read", mail.report.id)
        return "the files of the report cannot be read"
    try:
        _hand_in(made)
    except (OSError, SMTPException, ValueError) as error:
        return _in_words(error)
    return ""


def _hand_in(made: EmailMessage) -> None:
    """One that does not even greet is given up soon, so that other work goes on."""
    with get_connection() as server:
        door = getattr(getattr(server, "connection", None), "sock", None)
        if door is not None:
            door.settimeout(TAKING)
        made.connection = server
        made.send()


def _in_words(error: Exception) -> str:
    if isinstance(error, SMTPServerDisconnected):
        return f"the mail server does not answer: {error}"
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
    heads = list(islice(_heads(report), MOST_HEADS + 1))
    told = {
        "title": title(head),
        "contractor": head["contractor"]["name"],
        "whom": of_whom(head),
        "time": time_of(head),
        "counts": report.summary["counts"],
        "changes": [(changed(name), report.summary["changes"][name]) for name in _CHANGES],
        "heads": heads[:MOST_HEADS],
        "more": len(heads) > MOST_HEADS,
        "cautions": DEFERENCE,
    }
    text = render_to_string("records/mails/report.txt", told).strip() + "\n"
    return " ".join(told["title"].split()), text


def _heads(report: Report) -> Iterator[dict[str, str]]:
    for head in reported.heads(report_work.window_of(report)):
        if head["number"]:
            yield head
