"""Where the code on a label leads: to what stands at that tag now."""

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse

from records.ids import identity
from records.pages.base import inside
from records.permissions import Actor
from records.selectors import tags
from records.services import register
from records.services.kinds import KINDS


@inside
def tag(request: HttpRequest, actor: Actor, id: str, tag: str) -> HttpResponse:  # noqa: A002
    """On to the place of its pump set, or of the piece, on the station's page."""
    site: Any = register.get(actor, KINDS["sites"], identity(id))
    piece = tags.stands_at(actor, site, tag)
    return HttpResponseRedirect(f"{reverse('station', args=[site.id])}?piece={piece}#piece-{piece}")
