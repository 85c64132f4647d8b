"""Clients that the office works for: a new one, and what is said of one that is there."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from records import permissions
from records.errors import BookError, NotFound, Stale
from records.ids import identity
from records.models import Clientele
from records.models.base import new_id
from records.pages import kept
from records.pages.base import inside, show
from records.pages.sent import Sent
from records.permissions import Actor
from records.selectors import organizations as selected
from records.services import organizations

LABELS = {"/name": "Name", "/units": "Units", "/paper": "Paper"}
UNITS = {
    "entered": "as they were entered",
    "si": "metric first, what was entered beside",
    "us": "US first, what was entered beside",
}
PAPERS = {"usual": "usual at the station", "a4": "A4", "letter": "Letter"}


def _page_of_new() -> str:
    return reverse("client-new")


def _page_of(id: str) -> str:  # noqa: A002
    return reverse("client-change", args=[identity(id)])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of_new)
@inside
def new(request: HttpRequest, actor: Actor) -> HttpResponse:
    """A form for its name, and how its documents are printed."""
    permissions.require(actor, "organizations.write")
    page = _page_of_new()
    if request.method != "POST":
        return _opened(request, actor, page)
    try:
        with transaction.atomic():
            organizations.create(actor, _given(request, "id"))
    except BookError as error:
        return _shown(request, actor, Sent.refused(page, request.POST, error, LABELS))
    return redirect(f"{reverse('register')}#clients")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of)
@inside
def change(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """The same with what stands in the book; what another wrote meanwhile is told, not lost."""
    permissions.require(actor, "organizations.write")
    client, page = _client(actor, identity(id)), _page_of(id)
    if request.method != "POST":
        return _opened(request, actor, page, client)
    try:
        with transaction.atomic():
            organizations.change(actor, client.client_id, _given(request), _revision(request))
    except Stale:
        now = client.client.revision
        return _shown(request, actor, _overtaken(page, request, client), client, now)
    except BookError as error:
        return _shown(request, actor, Sent.refused(page, request.POST, error, LABELS), client)
    return redirect(f"{reverse('register')}#clients")


def _client(actor: Actor, wanted: UUID) -> Clientele:
    pair = selected.pair(actor, selected.get(actor, wanted))
    if pair is None:
        raise NotFound()
    return pair


def _given(request: HttpRequest, *more: str) -> dict[str, str]:
    return {name: request.POST.get(name, "").strip() for name in (*more, "name", "units", "paper")}


def _revision(request: HttpRequest) -> int:
    """The one that the form was made of; 0, which none has, where it does not say."""
    shown = request.POST.get("shown", "")
    return int(shown) if shown.isascii() and shown.isdigit() and len(shown) < 10 else 0


def _overtaken(page: str, request: HttpRequest, client: Clientele) -> Sent:
    there = _held(client)
    words = (
        "Somebody changed it while this form was open. In the book stands now:"
        f" {there['name']}; values {UNITS[there['units']]}; paper {PAPERS[there['paper']]}."
        " Send the form again to put what you entered in its place."
    )
    return Sent(page, request.POST, (words,), 412)


def _held(client: Clientele) -> dict[str, str]:
    return {"name": client.client.name, "units": client.units, "paper": client.paper}


def _opened(
    request: HttpRequest, actor: Actor, page: str, client: Clientele | None = None
) -> HttpResponse:
    answer = _shown(request, actor, kept.entered(request), client)
    kept.forget(request, answer, page)
    return answer


def _shown(
    request: HttpRequest,
    actor: Actor,
    sent: Sent | None,
    client: Clientele | None = None,
    told: int | None = None,
) -> HttpResponse:
    """The form; it stays one of the revision it was opened with, unless a later one is `told`."""
    given = sent.form if sent and sent.form else _held(client) if client else {}
    opened_with = given.get("shown") or (client.client.revision if client else "")
    context: dict[str, Any] = {
        "sent": sent, "given": given, "client": client, "units": UNITS, "papers": PAPERS,
        "id": given.get("id") or new_id(), "shown": told or opened_with,
    }  # fmt: skip
    answer = show(request, actor, "register/client", **context)
    answer.status_code = sent.status if sent else 200
    return answer
