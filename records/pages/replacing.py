"""The form on a sealed record's page that begins the visit which replaces it."""

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from records import permissions
from records.errors import BookError, NotFound
from records.ids import identity
from records.pages.base import inside
from records.pages.kept import keeping
from records.pages.sealed_records import shown
from records.pages.sent import Sent, given_by, text_of
from records.permissions import Actor
from records.selectors import sealed
from records.services import replacements

# What the form calls its field; the document of an event calls it otherwise.
LABELS = {"/reason": "What is wrong in it", "/correction_reason": "What is wrong in it"}


def _page_of(id: str) -> str:  # noqa: A002
    return reverse("record", args=[identity(id)])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@keeping(_page_of)
@inside
def replace(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Sent it leads to the draft; opened, to the record."""
    permissions.require(actor, "events.write")
    record = sealed.get(actor, identity(id))
    if request.method != "POST":
        return redirect("record", id=record.id)
    try:
        with transaction.atomic():
            given = given_by(request.POST, reason=text_of(request.POST, "reason"))
            draft = replacements.begin(actor, record.id, given)
    except NotFound:
        raise
    except BookError as error:
        to = reverse("replace-record", args=[record.id])
        sent = Sent.refused(to, request.POST, error, LABELS)
        return shown(request, actor, sealed.get(actor, record.id), sent)
    return redirect(f"{reverse('event', args=[draft.id])}#content")  # not where the form stood
