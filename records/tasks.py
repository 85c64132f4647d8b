"""Background tasks: they take ids, and are safe to run twice."""

from uuid import UUID

from celery import shared_task

from records.services import documents


@shared_task(name="records.make_document")  # type: ignore[untyped-decorator]
def make_document(identity: str) -> bool:
    """Make one document of a sealed record."""
    return documents.make(UUID(identity))
