"""Background tasks: they take ids, and are safe to run twice."""

from uuid import UUID

from celery import shared_task

from records.services import documents, report_mails, reports
from records.services.importing import imports

REPORT_SECONDS = 3600  # the longest that a report of a whole contractor may take
IMPORT_SECONDS = 3600  # the same of a spreadsheet with as many rows as one may have
MAIL_SECONDS = 600  # the longest that a mail server may keep somebody busy


@shared_task(name="records.make_document")  # type: ignore[untyped-decorator]
def make_document(identity: str) -> bool:
    """Make one document of a sealed record."""
    return documents.make(UUID(identity))


@shared_task(name="records.make_report", time_limit=REPORT_SECONDS)  # type: ignore[untyped-decorator]
def make_report(row: int) -> bool:
    """Make one report that was asked for."""
    return reports.make(row)


@shared_task(name="records.send_report", time_limit=MAIL_SECONDS)  # type: ignore[untyped-decorator]
def send_report(row: int) -> bool:
    """Send one report to one address."""
    return report_mails.send(row)


@shared_task(name="records.go_on_with_import", time_limit=IMPORT_SECONDS)  # type: ignore[untyped-decorator]
def go_on_with_import(identity: str) -> bool:
    """Check a spreadsheet that came in, or write it."""
    return imports.go_on(UUID(identity))
