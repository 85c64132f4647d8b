"""For who watches the service: each request's id, time and line; whether it lives, and is ready."""

import logging
import os
import re
import secrets
import time
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import Error, connection
from django.db.migrations.executor import MigrationExecutor
from django.db.transaction import non_atomic_requests
from django.http import Http404, HttpRequest, HttpResponse

from deploy import logs
from deploy.login_role import RestoringError, refuse_half_a_book

METHODS = {"GET", "HEAD", "POST", "PATCH", "PUT", "DELETE", "OPTIONS"}
OF_A_PROXY = re.compile(r"[A-Za-z0-9-]{8,64}")
EVENT = re.compile(r"/events/([0-9a-fA-F-]{36})(?:/|$)")
TEXT = "text/plain; charset=utf-8"

log = logging.getLogger("stationbook.requests")


class RequestsMiddleware:
    """The outermost: what it measures is what a caller waits for."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        from deploy.numbers import SECONDS  # where the folder of numbers is there

        self._seconds = SECONDS

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer with the request's id; count it by its route, never by its address."""
        begun = time.perf_counter()
        identity = _id(request)
        # They stay until the thread's next request: the framework logs once more after us.
        logs.request_id.set(identity)
        logs.event_id.set(_event(request.path))
        answer = self.get_response(request)
        answer.headers["X-Request-Id"] = identity
        self._note(request, answer, time.perf_counter() - begun)
        return answer

    def _note(self, request: HttpRequest, answer: HttpResponse, seconds: float) -> None:
        method = request.method if request.method in METHODS else "other"
        route = request.resolver_match.route if request.resolver_match else "none"
        self._seconds.labels(route, method, f"{answer.status_code // 100}xx").observe(seconds)
        if not settings.LOG_REQUESTS:
            return
        if made := _event(answer.headers.get("Location", "")):
            logs.event_id.set(made)
        told: dict[str, Any] = {
            "method": method, "route": route, "status": answer.status_code,
            "ms": round(seconds * 1000, 1),
        }  # fmt: skip
        words = "%(method)s %(route)s %(status)d in %(ms).1f ms"
        log.info(words, told, extra={"told": told})


def _id(request: HttpRequest) -> str:
    """The proxy's own word where one is believed, else a new one."""
    given = request.META.get("HTTP_X_REQUEST_ID", "") if settings.BEHIND_PROXY else ""
    return given if OF_A_PROXY.fullmatch(given) else uuid.uuid4().hex


def _event(path: str) -> str:
    found = EVENT.search(path)
    return found[1].lower() if found else ""


@non_atomic_requests
def livez(request: HttpRequest) -> HttpResponse:
    """The process answers: one that does not is to be started anew. Asks nothing else."""
    return HttpResponse("ok\n", content_type=TEXT)


@non_atomic_requests
def readyz(request: HttpRequest) -> HttpResponse:
    """Requests may come: else 503, with a sentence for each reason."""
    found = list(_reasons())
    words = "\n".join(found) or "ok"
    return HttpResponse(f"{words}\n", status=503 if found else 200, content_type=TEXT)


def _reasons() -> Iterator[str]:
    try:
        refuse_half_a_book(connection)
        if missing := _migrations_missing():
            yield f"The database lacks {missing} migrations: run manage.py migrate as the owner."
    except RestoringError as error:
        yield str(error)
    except Error:
        yield "The database does not answer."
    root: Path = settings.FILES_ROOT
    if not os.getenv("FILES_S3_BUCKET") and root.exists() and not os.access(root, os.W_OK):
        yield "The folder of files cannot be written to."


_complete: set[str] = set()


def _migrations_missing() -> int:
    """How many; once none is missing it is not asked again, since code and tables then agree."""
    if "yes" in _complete:
        return 0
    executor = MigrationExecutor(connection)
    missing = len(executor.migration_plan(executor.loader.graph.leaf_nodes()))
    if not missing:
        _complete.add("yes")
    return missing


@non_atomic_requests
def metrics(request: HttpRequest) -> HttpResponse:
    """The numbers, for whoever has the token; without one there is no such page."""
    wanted = settings.METRICS_TOKEN
    given = request.headers.get("Authorization", "").removeprefix("Bearer ")
    if not wanted or not secrets.compare_digest(given.encode(), wanted.encode()):
        raise Http404
    from deploy.numbers import written

    return HttpResponse(written(), content_type="text/plain; version=0.0.4; charset=utf-8")
