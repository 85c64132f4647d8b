"""What every view of the API shares: the walls, revisions, pages of lists."""

import re
from collections.abc import Callable, Iterable
from typing import Any, cast
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponseNotModified
from rest_framework import exceptions
from rest_framework.pagination import Cursor, CursorPagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Invalid, PreconditionRequired, Stale, Unreadable
from records.models import Organization
from records.models.base import Resource
from records.permissions import Actor

# A revision; after the dot, what was said of an event since.
_ETAG = re.compile(r'"([0-9]{1,9})(?:\.[0-9]{1,9})?"')
_KNOWN = re.compile(r'(?:W/)?("[^"]*")')


class BookView(APIView):
    """A view inside both walls: the actor's place in the database is taken before it runs."""

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Authenticate, then enter the actor's place."""
        super().initial(request, *args, **kwargs)
        permissions.enter(self.actor)

    @property
    def actor(self) -> Actor:
        """Who calls."""
        return cast(Actor, self.request.user)

    def body(self) -> dict[str, Any]:
        """The JSON object that was sent."""
        if not int(self.request.META.get("CONTENT_LENGTH") or 0):
            raise Unreadable("expected a JSON object, got no body")
        data = self.request.data
        if not isinstance(data, dict):
            raise Unreadable("expected a JSON object")
        return data

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        """304 where the caller has this very text already (RFC 9110, If-None-Match)."""
        answer = super().finalize_response(request, response, *args, **kwargs)
        if request.method not in ("GET", "HEAD") or answer.status_code != 200:
            return answer
        known, tag = request.headers.get("If-None-Match"), answer.headers.get("ETag")
        if tag is None or known is None or not _is_known(known, tag):
            return answer
        if hasattr(answer, "file_to_stream"):
            answer.file_to_stream.close()
        return HttpResponseNotModified(headers={"ETag": tag})

    def revision(self) -> int:
        """The revision that a change is meant for, from If-Match.

        What was said of an event since does not stand in the way of a change to it.
        """
        given = self.request.headers.get("If-Match")
        if given is None:
            raise PreconditionRequired()
        found = _ETAG.fullmatch(given.strip())
        if not found:
            raise Stale("expected the strong ETag that was read last")
        return int(found.group(1))


def etag(row: Resource | Organization) -> dict[str, str]:
    """The header that names what is told of a row."""
    return {"ETag": f'"{row.etag}"'}


def _is_known(known: str, tag: str) -> bool:
    return known.strip() == "*" or tag in _KNOWN.findall(known)


_POSITION = re.compile(r"[0-9]{1,18}")


def _not_a_cursor() -> Invalid:
    words = "expected the cursor of a page of this list"
    return Invalid(problems=[Problem("/cursor", "cursor", words)])


class Pages(CursorPagination):
    """Lists by cursor: stable while rows are added."""

    page_size = 50
    max_page_size = 200
    page_size_query_param = "limit"
    cursor_query_param = "cursor"
    ordering = "row"

    def decode_cursor(self, request: Request) -> Cursor | None:
        """Refuse a cursor that was not made here."""
        try:
            cursor: Cursor | None = super().decode_cursor(request)
        except exceptions.NotFound:
            raise _not_a_cursor() from None
        if cursor and cursor.position is not None and not _POSITION.fullmatch(str(cursor.position)):
            raise _not_a_cursor()
        return cursor

    def get_paginated_response(self, data: Any) -> Response:
        """The page, with the next one in the body and in Link (RFC 8288)."""
        following = self.get_next_link()
        headers = {"Link": f'<{following}>; rel="next"'} if following else {}
        return Response({"items": data, "next": following}, headers=headers)

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """What a page looks like."""
        return {
            "type": "object",
            "required": ["items", "next"],
            "properties": {
                "items": schema,
                "next": {"type": ["string", "null"], "format": "uri"},
            },
        }


class NewestFirst(Pages):
    """The same, newest first."""

    ordering = "-row"


def paged(
    view: APIView, rows: QuerySet[Any], show: Callable[[Any], Any], pages: type[Pages] = Pages
) -> Response:
    """One page of `rows`, each as `show` tells it."""
    paginator = pages()
    page = paginator.paginate_queryset(rows, view.request, view=view)
    return paginator.get_paginated_response([show(row) for row in page or []])


def filters(request: Request, *names: str) -> dict[str, str]:
    """Those query parameters that are given, refused where they hold what no column does."""
    given = {name: request.query_params[name] for name in names if name in request.query_params}
    for name, value in given.items():
        if "\0" in value or len(value) > 200:
            raise Invalid(problems=[Problem(f"/{name}", "filter", "expected a plain text")])
    return given


def choice_filter(name: str, value: str, words: Iterable[str]) -> str:
    """A query parameter that is one of a list of words."""
    if value not in words:
        detail = f"expected one of {', '.join(words)}"
        raise Invalid(problems=[Problem(f"/{name}", "choice", detail)])
    return value


def id_filter(name: str, value: str) -> UUID:
    """A query parameter that is an id."""
    try:
        return UUID(value)
    except ValueError:
        raise Invalid(problems=[Problem(f"/{name}", "id", "expected a UUID")]) from None
