"""Checking records offline: the program, for whoever wants it, and how it is done."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from records import permissions
from records.pages.base import inside, show
from records.permissions import Actor
from records.verifier import joined


@require_safe
def program(request: HttpRequest) -> HttpResponse:
    """The one file, to be saved."""
    answer = HttpResponse(joined.program(), content_type="text/x-python; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{joined.NAME}"'
    return answer


@require_safe
@inside
def how(request: HttpRequest, actor: Actor) -> HttpResponse:
    """How to check a record offline, with what it takes."""
    permissions.require(actor, "records.read")
    return show(request, actor, "verifying", program=joined.NAME)
