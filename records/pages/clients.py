"""A client that the office begins to work for."""

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from records import permissions
from records.errors import BookError
from records.models.base import new_id
from records.pages import kept
from records.pages.base import inside, show
from records.pages.sent import Sent
from records.permissions import Actor
from records.services import organizations

LABELS = {"/name": "Name", "/units": "Units", "/paper": "Paper"}
UNITS = {
    "entered": "as they were entered",
    "si": "metric first, what was entered beside",
    "us": "US first, what was entered beside",
}
PAPERS = {"usual": "usual at the station", "a4": "A4", "letter": "Letter"}


def _page() -> str:
    return reverse("client-new")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page)
@inside
def new(request: HttpRequest, actor: Actor) -> HttpResponse:
    """A form for its name, and how its documents are printed."""
    permissions.require(actor, "organizations.write")
    if request.method != "POST":
        answer = _shown(request, actor, kept.entered(request))
        kept.forget(request, answer, _page())
        return answer
    given = {name: value for name in ("id", "name", "units", "paper")
             if (value := request.POST.get(name, "").strip())}  # fmt: skip
    try:
        with transaction.atomic():
            organizations.create(actor, given)
    except BookError as error:
        return _shown(request, actor, Sent.refused(_page(), request.POST, error, LABELS))
    return redirect(f"{reverse('register')}#clients")


def _shown(request: HttpRequest, actor: Actor, sent: Sent | None) -> HttpResponse:
    given = sent.form if sent else {}
    context = {"sent": sent, "given": given, "id": given.get("id") or new_id(),
               "units": UNITS, "papers": PAPERS}  # fmt: skip
    answer = show(request, actor, "register/client", **context)
    answer.status_code = sent.status if sent else 200
    return answer
