"""The audit over the API: read by the office, written by nobody here."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from records import cursors
from records.api import audit_documents as told
from records.api.base import (
    PAGING,
    BookView,
    NewestFirst,
    Pages,
    day_filter,
    filters,
    id_filter,
    no_cursor_of_this_list,
    paged,
)
from records.api.schema import READ, page_of
from records.planning import planned_for_what_is_asked
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
        pages = ByTime if audit.is_by_time(wanted) else NewestFirst
        return paged(self, audit.rows(self.actor, **wanted), audit.document, pages)


class ByTime(Pages):
    """Entries by their time, the latest first."""

    ordering = "-at"

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> Any:
        """One page of the list at this address."""
        self._list, self.base_url = self._name(request, view), request.build_absolute_uri()
        size = self.get_page_size(request)
        part = audit.latest_first(queryset, self._place(request))
        with planned_for_what_is_asked():
            found = list(part[: size + 1])
        self._last = found[size - 1] if len(found) > size else None
        return found[:size]

    def _place(self, request: Request) -> tuple[datetime, int] | None:
        given = request.query_params.get(self.cursor_query_param)
        place = cursors.read_at(given, self._list) if given is not None else None
        if given is not None and place is None:
            raise no_cursor_of_this_list()
        return place

    def get_next_link(self) -> str | None:
        """The address of the page after this one."""
        if self._last is None:
            return None
        text = cursors.written_at(self._last["at"], self._last["row"], self._list)
        return replace_query_param(str(self.base_url), self.cursor_query_param, text)


def _read(name: str, value: str) -> UUID | date:
    return id_filter(name, value) if name in IDS else day_filter(name, value)
