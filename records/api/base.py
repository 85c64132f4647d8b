"""What every view of the API shares: the walls, revisions, pages of lists."""

import hashlib
import re
from collections.abc import Callable, Iterable
from datetime import date
from typing import Any, cast
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponseNotModified
from drf_spectacular.utils import OpenApiParameter
from rest_framework.pagination import Cursor, CursorPagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param
from rest_framework.views import APIView

from calculations.inputs.reading import Problem, pointer
from records import cursors, permissions
from records.api.problems import tell
from records.api.raw_bodies import length_of
from records.errors import Invalid, PreconditionRequired, Stale, Unreadable
from records.models import Organization
from records.models.base import Resource
from records.permissions import Actor
from records.planning import planned_for_what_is_asked
from records.services import operators

_LONGEST_FILTER = 200
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
# A revision; after the dot, what was said of an event since.
_ETAG = re.compile(r'"([0-9]{1,9})(?:\.[0-9]{1,9})?"')
# What a 304 says as the 200 in its place would (RFC 9110, 15.4.5).
_TOLD_AGAIN = ("ETag", "Cache-Control", "Vary")
_KNOWN = re.compile(r'(?:W/)?("[^"]*")')


class BookView(APIView):
    """A view inside both walls: the actor's place in the database is taken before it runs."""

    makes_its_own_transactions = False
    is_for_nobody_known = False  # who calls is learnt from what is sent

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Authenticate, then enter the actor's place."""
        super().initial(request, *args, **kwargs)
        _refuse_unknown_parameters(request, declared(self, request.method or ""))
        if self.is_for_nobody_known:
            return
        if not self.makes_its_own_transactions:
            permissions.enter(self.actor)
        asked = f"{request.method} {request.path}"
        operators.note(self.actor, asked, inside=not self.makes_its_own_transactions)

    def get_exception_handler(self) -> Any:
        """Problem documents; there is nothing to undo where a view makes its own transactions."""
        return tell if self.makes_its_own_transactions else super().get_exception_handler()

    @property
    def actor(self) -> Actor:
        """Who calls."""
        return cast(Actor, self.request.user)

    def body(self) -> dict[str, Any]:
        """The JSON object that was sent."""
        if not length_of(self.request):
            raise Unreadable("expected a JSON object, got no body")
        data = self.request.data
        if not isinstance(data, dict):
            raise Unreadable("expected a JSON object")
        return data

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        """A strong ETag on all that is read, and 304 where the caller has this very text already.

        RFC 9110, If-None-Match. What has no tag of its own has the digest of its text.
        """
        answer = super().finalize_response(request, response, *args, **kwargs)
        if isinstance(answer, Response):
            answer.add_post_render_callback(self._part_from)
        if request.method not in ("GET", "HEAD") or answer.status_code != 200:
            return answer
        if isinstance(answer, Response) and "ETag" not in answer.headers:
            answer.add_post_render_callback(lambda written: _unless_known(request, written))
            return answer
        return _unless_known(request, answer)

    def _part_from(self, answer: Response) -> None:
        """End with the request: view, request and answer name each other, and hold whole documents.

        Only the collector of garbage finds such a circle.
        """
        self.request.parser_context = {}
        answer.renderer_context = {}  # type: ignore[attr-defined]
        vars(self).clear()

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


def _unless_known(request: Request, answer: Any) -> Any:
    """The answer with its tag; or 304 in its place."""
    if "ETag" not in answer.headers:
        answer["ETag"] = digest_tag(answer.content)
    known = request.headers.get("If-None-Match")
    if known is None or not _is_known(known, answer["ETag"]):
        return answer
    if hasattr(answer, "file_to_stream"):
        answer.file_to_stream.close()
    told = {name: answer.headers[name] for name in _TOLD_AGAIN if name in answer.headers}
    return HttpResponseNotModified(headers=told)


def digest_tag(content: bytes) -> str:
    """A strong tag of bytes: their digest."""
    return f'"{hashlib.sha256(content).hexdigest()}"'


def _is_known(known: str, tag: str) -> bool:
    return known.strip() == "*" or tag in _KNOWN.findall(known)


_DECLARED: dict[tuple[type[APIView], str], tuple[str, ...]] = {}


def declared(view: APIView, method: str) -> tuple[str, ...]:
    """Query parameters that an operation is described with: it takes no others."""
    operation = (type(view), "GET" if method == "HEAD" else method)
    if operation not in _DECLARED:
        _DECLARED[operation] = _declared(view, operation[1])
    return _DECLARED[operation]


def _declared(view: APIView, method: str) -> tuple[str, ...]:
    handler = getattr(view, method.lower(), None)
    description = getattr(handler, "kwargs", {}).get("schema")
    if description is None:
        return ()
    schema = description()
    schema.view, schema.method = view, method
    return tuple(each.name for each in schema.get_override_parameters() if each.location == "query")


def _refuse_unknown_parameters(request: Request, known: tuple[str, ...]) -> None:
    given = request.query_params
    listed = f"expected one of {', '.join(known)}" if known else "expected none at this address"
    problems = [
        Problem(pointer(name), "unknown_parameter", f"there is no such parameter: {listed}")
        for name in given
        if name not in known
    ]
    problems += [
        Problem(pointer(name), "doubled", "expected this parameter once")
        for name in given
        if name in known and len(given.getlist(name)) > 1
    ]
    if problems:
        raise Invalid(problems=problems)


PAGING = [
    OpenApiParameter(
        "cursor", str, description="Where a page begins: as `next` of the page before says it."
    ),
    OpenApiParameter("limit", int, description="Items on a page: 1 to 200; 50 if left out."),
]


class Pages(CursorPagination):
    """Lists by cursor: stable while rows are added. A cursor belongs to one list."""

    page_size = 50
    max_page_size = 200
    cursor_query_param = "cursor"
    ordering = "row"

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> Any:
        """One page of the list at this address."""
        self._list = self._name(request, view)
        with planned_for_what_is_asked():
            return super().paginate_queryset(queryset, request, view)

    def _name(self, request: Request, view: Any) -> str:
        return f"{request.path} {self.ordering} {view.actor.organization_id}"

    def get_page_size(self, request: Request) -> int:
        """How many items were asked for."""
        given = request.query_params.get("limit", str(self.page_size))
        if not re.fullmatch(r"[0-9]{1,3}", given) or not 1 <= int(given) <= self.max_page_size:
            words = f"expected a whole number from 1 to {self.max_page_size}"
            raise Invalid(problems=[Problem("/limit", "out_of_range", words)])
        return int(given)

    def encode_cursor(self, cursor: Cursor) -> str:
        """The address of the page that begins after a row; rows are unique in every order."""
        text = cursors.written(int(cursor.position or 0), self._list)
        return replace_query_param(str(self.base_url), self.cursor_query_param, text)

    def decode_cursor(self, request: Request) -> Cursor | None:
        """Refuse a cursor that was not made here, or for another list."""
        given = request.query_params.get(self.cursor_query_param)
        if given is None:
            return None
        row = cursors.read(given, self._list)
        if row is None:
            raise no_cursor_of_this_list()
        return Cursor(offset=0, reverse=False, position=row)

    def get_paginated_response(self, data: Any) -> Response:
        """The page, with the next one in the body and in Link (RFC 8288)."""
        following = self.get_next_link()
        headers = {"Link": f'<{following}>; rel="next"'} if following else {}
        return Response({"items": data, "next": following}, headers=headers)


def no_cursor_of_this_list() -> Invalid:
    """What is told of a cursor that was not made here, or for another list."""
    words = "expected the cursor of a page of this list"
    return Invalid(problems=[Problem("/cursor", "cursor", words)])


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
        if "\0" in value or len(value) > _LONGEST_FILTER:
            words = f"expected at most {_LONGEST_FILTER} characters without NUL"
            raise Invalid(problems=[Problem(f"/{name}", "filter", words)])
    return given


def settings_asked(request: Request, rows: QuerySet[Any], of: str) -> QuerySet[Any]:
    """What was set for clients, by `client`, by what it is set `of`, and whether it is in force."""
    given = filters(request, "client", of, "in_force")
    if "client" in given:
        rows = rows.filter(client_id=id_filter("client", given["client"]))
    if of in given:
        rows = rows.filter(**{of: given[of]})
    if "in_force" in given:
        word = choice_filter("in_force", given["in_force"], ("true", "false"))
        rows = rows.filter(ended_at__isnull=word == "true")
    return rows


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


def day_filter(name: str, value: str) -> date:
    """A query parameter that is a day (RFC 3339, full-date)."""
    try:
        if _DAY.fullmatch(value):
            return date.fromisoformat(value)
    except ValueError:
        pass
    words = "expected a day such as 2026-03-14"
    raise Invalid(problems=[Problem(f"/{name}", "day", words)])
