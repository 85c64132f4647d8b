"""The audit over the API: read by the office, written by nobody here."""

from datetime import date
from typing import Any
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records.api import audit_documents as told
from records.api.base import (
    PAGING,
    BookView,
    NewestFirst,
    day_filter,
    filters,
    id_filter,
    paged,
)
from records.api.schema import READ, page_of
from records.selectors import audit

IDS = {
    "site": "Id of the site.",
    "subject": "Id of what was changed: an event with all that was said of it, a pump, a token.",
    "person": "Id of the person.",
}
DAYS = {"since": "First day, in UTC.", "until": "Last day, in UTC."}
FILTERS = [
    *(OpenApiParameter(name, OpenApiTypes.UUID, description=about) for name, about in IDS.items()),
    *(OpenApiParameter(name, OpenApiTypes.DATE, description=about) for name, about in DAYS.items()),
    *PAGING,
]


class AuditList(BookView):
    """The audit of the caller's organization."""

    @extend_schema(
        operation_id="list_audit", tags=["people"], parameters=FILTERS,
        responses={200: page_of(told.AuditLine), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """A page of who did what, when, from where and why, newest first."""
        given = filters(request, *IDS, *DAYS)
        wanted: dict[str, Any] = {name: _read(name, value) for name, value in given.items()}
        return paged(self, audit.rows(self.actor, **wanted), audit.document, NewestFirst)


def _read(name: str, value: str) -> UUID | date:
    return id_filter(name, value) if name in IDS else day_filter(name, value)
