"""One event: what was found, with the arithmetic."""

from django.http import HttpRequest, HttpResponse

from records.ids import identity
from records.pages.base import inside, show
from records.permissions import Actor
from records.selectors.event_documents import event_document
from records.services import events, sealing


@inside
def event(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """What the catalogue says of one event, and what is still in the way of sealing."""
    row = events.get(actor, identity(id))
    obstacles = sealing.obstacles(row) if row.state == "draft" else []
    context = {"event": row, "document": event_document(row), "obstacles": obstacles}
    return show(request, actor, "event", **context)
