"""Every error of the API as a problem document (RFC 9457), with a pointer to every bad value."""

import errno
import logging
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import psycopg
from django.core.exceptions import RequestDataTooBig, SuspiciousOperation
from django.db import InterfaceError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, UnreadablePostError
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from records.api.json_bodies import JsonRenderer
from records.errors import (
    BookError,
    Failed,
    Forbidden,
    MethodNotAllowed,
    NoSpace,
    NotFound,
    NotSignedIn,
    TooLarge,
    Unavailable,
    Unreadable,
    UnsupportedMediaType,
)
from records.limits import LONGEST_LET_PASS

MEDIA_TYPE = "application/problem+json"
API = "/api/"
RETRY_SECONDS = 5
MOST_ERRORS = 500
_CHUNK = 64 * 1024

log = logging.getLogger(__name__)


def document(error: BookError) -> dict[str, Any]:
    """The problem document of an error."""
    problem: dict[str, Any] = {
        "type": f"/problems/{error.code}",
        "title": error.title,
        "status": error.status,
        "detail": error.detail,
    }
    if error.problems:
        problem["errors"] = [
            {"pointer": each.pointer, "code": each.code, "detail": each.detail}
            for each in error.problems[:MOST_ERRORS]
        ]
    if len(error.problems) > MOST_ERRORS:
        problem["detail"] += f"; the first {MOST_ERRORS} of {len(error.problems)} are listed"
    return problem | {name: str(value) for name, value in error.extra.items()}


def headers(error: BookError) -> dict[str, str]:
    """Headers that belong to an error."""
    if error.status == 401:
        return {"WWW-Authenticate": 'Bearer realm="stationbook"'}
    if error.status in (429, 503):
        return {"Retry-After": str(error.extra.get("retry_after", RETRY_SECONDS))}
    if "expected_offset" in error.extra:
        return {"Upload-Offset": str(error.extra["expected_offset"])}
    if "max_size" in error.extra:
        return {"Upload-Limit": f"max-size={error.extra['max_size']}"}
    if "revision" in error.extra:
        return {"ETag": f'"{error.extra.get("etag", error.extra["revision"])}"'}
    return {}


def handle(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's exception handler; None for what is nobody's known error."""
    known = tell(error, context)
    if known is not None:
        set_rollback()
    return known


def tell(error: Exception, context: dict[str, Any]) -> Response | None:
    """The same where there is nothing to undo: for views that make their own transactions."""
    known = as_book_error(error)
    if known is None:
        return None
    return Response(
        document(known), status=known.status, headers=headers(known), content_type=MEDIA_TYPE
    )


def as_book_error(error: Exception) -> BookError | None:
    """What an exception of a library means here; None if that is not known."""
    if isinstance(error, BookError):
        return error
    if isinstance(error, UnreadablePostError):
        return Unreadable("the body broke off")
    if _is_of_a_full_disk(error):
        return NoSpace()
    if isinstance(error, (OperationalError, InterfaceError)):
        return Unavailable()
    if isinstance(error, RequestDataTooBig):
        return TooLarge()
    if isinstance(error, Http404):
        return NotFound()
    if isinstance(error, exceptions.APIException):
        return _of_framework(error)
    if isinstance(error, SuspiciousOperation):
        return Unreadable(str(error))
    return None


def _is_of_a_full_disk(error: Exception) -> bool:
    """Of the files, of what is spooled to disk, or of the database."""
    if isinstance(error, OperationalError):
        return isinstance(error.__cause__, psycopg.errors.DiskFull)
    return isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT)


# What the framework refuses before our code is reached.
_BY_STATUS: dict[int, type[BookError]] = {
    404: NotFound, 405: MethodNotAllowed, 413: TooLarge, 415: UnsupportedMediaType, 500: Failed,
}  # fmt: skip


def _of_framework(error: exceptions.APIException) -> BookError:
    if isinstance(error, (exceptions.NotAuthenticated, exceptions.AuthenticationFailed)):
        return NotSignedIn()
    if isinstance(error, exceptions.PermissionDenied):
        return Forbidden(str(error.detail))
    if isinstance(error, exceptions.NotFound):
        return NotFound()
    return _BY_STATUS.get(error.status_code, BookError)(str(error.detail))


def response(error: BookError) -> HttpResponse:
    """A problem as a plain Django response, outside of the framework's views."""
    answer = HttpResponse(
        JsonRenderer().render(document(error)), status=error.status, content_type=MEDIA_TYPE
    )
    for name, value in headers(error).items():
        answer[name] = value
    return answer


def _let_pass(request: HttpRequest) -> None:
    """Take in what is still on its way: many callers read no answer while they are sending."""
    with suppress(OSError):
        for _ in range(LONGEST_LET_PASS // _CHUNK):
            if not request.read(_CHUNK):
                return


class ProblemsMiddleware:
    """What goes wrong outside the API's views, under the API's path, is a problem as well."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if answer.status_code >= 400:
            _let_pass(request)
        if answer.status_code < 400 or not f"{request.path}/".startswith(API):
            return answer
        if answer.headers.get("Content-Type") == MEDIA_TYPE:
            return answer
        return response(_BY_STATUS.get(answer.status_code, BookError)())

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Answer in the API's own form; pages have theirs."""
        if not request.path.startswith(API):
            return None
        known = as_book_error(error)
        if known is None:
            log.exception("unexpected error")
            known = Failed()
        return response(known)
