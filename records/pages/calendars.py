"""A person's own calendars of due dates, and the calendar that a secret address leads to."""

from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from records import permissions
from records.addresses import address_of
from records.errors import BookError, TooManyGuesses
from records.ids import identity
from records.models import Clientele
from records.models.base import new_id
from records.pages.base import inside, show
from records.pages.sent import Sent, form_id
from records.permissions import Actor
from records.selectors import calendar_feed
from records.services import calendars, guessing

LABELS = {"/name": "What it is for", "/client": "Of"}
TYPE = "text/calendar; charset=utf-8"


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@inside
def own_calendars(request: HttpRequest, actor: Actor) -> HttpResponse:
    """List them; make one, whose address is shown this once."""
    if request.method != "POST":
        return _shown(request, actor)
    chosen = request.POST.get("client", "")
    try:
        with transaction.atomic():
            client = identity(chosen) if chosen else None
            row, secret = calendars.issue(
                actor, request.POST.get("name", ""), client, identity=form_id(request.POST)
            )
    except BookError as error:
        sent = Sent.refused(request.path, request.POST, error, LABELS)
        return _shown(request, actor, sent.status, sent=sent)
    address = request.build_absolute_uri(reverse("calendar-feed", args=[secret]))
    return _shown(request, actor, 201, made=row, address=address)


def _shown(request: HttpRequest, actor: Actor, status: int = 200, **more: Any) -> HttpResponse:
    pairs = permissions.visible(Clientele.objects.select_related("client"), actor)
    clients = [pair.client for pair in pairs.order_by("client__name")]
    named = {each.id: each.name for each in clients}
    held = [
        {"row": row, "of": named.get(row.client, "") if row.client else ""}
        for row in calendars.own(actor)
    ]
    shown = clients if actor.role != permissions.CLIENT else []
    answer = show(request, actor, "calendars", calendars=held, clients=shown, id=new_id(), **more)
    answer.status_code = status
    return answer


@require_POST
@inside
def revoke(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Make an address worthless from the next request on."""
    calendars.revoke(actor, identity(id))
    return redirect("calendars")


@transaction.non_atomic_requests
@require_safe
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """The calendar of whoever the address was made for; what is wrong is not there."""
    found = calendars.subscribed(secret)
    if found is None:
        return _unknown(request)
    with permissions.inside(found.actor):
        content = calendar_feed.feed(found.actor, found.client, found.actor.organization)
    tag = calendar_feed.tag(content)
    headers = {"ETag": tag}
    if tag in request.headers.get("If-None-Match", ""):
        return HttpResponseNotModified(headers=headers)
    answer = HttpResponse(content, content_type=TYPE, headers=headers)
    answer["Content-Disposition"] = 'inline; filename="due.ics"'
    return answer


def _unknown(request: HttpRequest) -> HttpResponse:
    try:
        guessing.take(guessing.TOKEN_BY_ADDRESS, guessing.source_of(address_of(request)))
    except TooManyGuesses as error:
        return HttpResponse(error.detail, status=429, content_type="text/plain; charset=utf-8")
    words = "There is no such calendar, or its address was revoked.\n"
    return HttpResponse(words, status=404, content_type="text/plain; charset=utf-8")
