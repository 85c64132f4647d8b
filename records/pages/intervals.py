"""How often a task is due for a client, its stations of a kind, or one piece; for the office."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from calculations.due_dates import LONGEST, SHORTEST
from calculations.tasks.catalogue import BY_ID
from records import permissions
from records.errors import BookError, NotFound
from records.ids import identity, is_id
from records.models import Site
from records.models.base import new_id
from records.pages import kept
from records.pages.base import inside, show
from records.pages.sent import Sent, text_of
from records.permissions import Actor
from records.selectors import due_documents, due_items, rule_settings
from records.selectors import interval_settings as selector
from records.services import interval_settings

LABELS = {"/months": "Months", "/reason": "Reason", "/piece": "For", "/station_kind": "For"}
KINDS = dict(Site._meta.get_field("kind").flatchoices)


def _page_of(id: str, task: str) -> str:  # noqa: A002
    return reverse("interval", args=[identity(id), task])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of)
@inside
def interval(request: HttpRequest, actor: Actor, id: str, task: str) -> HttpResponse:  # noqa: A002
    """What is set of a task for a client, and a form to set it, with the reason."""
    permissions.require(actor, "intervals.write")
    client = rule_settings.client(actor, identity(id))
    if task not in BY_ID or BY_ID[task].once:
        raise NotFound()
    page = _page_of(str(client.id), task)
    if request.method != "POST":
        answer = _shown(request, actor, client, task, kept.entered(request))
        kept.forget(request, answer, page)
        return answer
    try:
        with transaction.atomic():
            interval_settings.put(actor, _given(request.POST) | {"client": id, "task": task})
    except BookError as error:
        sent = Sent.refused(page, request.POST, error, LABELS)
        return _shown(request, actor, client, task, sent)
    scope = request.POST.get("scope", "")
    return redirect(f"{page}{f'?piece={scope}' if is_id(scope) else ''}#set")


def _given(form: Any) -> dict[str, Any]:
    """The document of a form; `scope` names a piece or a kind of station, or is empty."""
    months, scope = form.get("months", "").strip(), form.get("scope", "")
    given: dict[str, Any] = {
        "months": int(months) if months.isdecimal() and len(months) < 6 else months,
        "reason": text_of(form, "reason"),
    }
    if scope:
        given["piece" if is_id(scope) else "station_kind"] = scope
    return given | ({"id": form["id"]} if form.get("id") else {})


def _shown(
    request: HttpRequest, actor: Actor, client: Any, task: str, sent: Sent | None
) -> HttpResponse:
    form: Any = sent.form if sent else {}
    scope = form.get("scope") or request.GET.get("piece", "")
    rows = selector.rows(actor).filter(client_id=client.id, task=task).order_by("-row")
    context = {
        "client": client, "task": BY_ID[task], "sent": sent, "given": form, "scope": scope,
        "piece": _piece(actor, client.id, task, scope), "kinds": KINDS, "id": new_id(),
        "proposal": _proposal(actor, client.id, task, scope),
        "rows": [(row, KINDS.get(row.station_kind or "")) for row in rows],
        "shortest": SHORTEST, "longest": LONGEST,
    }  # fmt: skip
    answer = show(request, actor, "interval", **context)
    answer.status_code = sent.status if sent else 200
    return answer


def _piece(actor: Actor, client: UUID, task: str, text: str) -> dict[str, Any] | None:
    """The piece that the page was opened for, with what is due of it."""
    found = _due(actor, client, task, text)
    return due_documents.document(found[0]) if found else None


def _proposal(actor: Actor, client: UUID, task: str, text: str) -> dict[str, Any] | None:
    """What the history of that piece proposes."""
    found = _due(actor, client, task, text, proposed=True)
    return due_documents.proposal_document(found[0]) if found else None


def _due(
    actor: Actor, client: UUID, task: str, text: str, *, proposed: bool = False
) -> list[due_items.Item]:
    if not is_id(text):
        return []
    wanted = due_items.Wanted(piece=UUID(text), task=task, client=client, proposed=proposed)
    return due_items.items(actor, wanted)


@require_POST
@inside
def accept(
    request: HttpRequest,
    actor: Actor,
    id: str,  # noqa: A002
    proposal: str,
) -> HttpResponse:
    """Set what the history of a piece proposes; its arithmetic is kept as the reason."""
    permissions.require(actor, "intervals.write")
    client = rule_settings.client(actor, identity(id))
    said = text_of(request.POST, "reason")
    with transaction.atomic():
        row, _ = interval_settings.accept(actor, identity(proposal), {"reason": said})
        if row.client_id != client.id:
            raise NotFound()
    return redirect(f"{_page_of(id, row.task)}?piece={row.piece}#set")


@require_POST
@inside
def remove(
    request: HttpRequest,
    actor: Actor,
    id: str,  # noqa: A002
    setting: str,
) -> HttpResponse:
    """Let the interval count again that would without it."""
    permissions.require(actor, "intervals.write")
    row = selector.get(actor, identity(setting))
    if row.client_id != identity(id):
        raise NotFound()
    with transaction.atomic():
        interval_settings.remove(actor, row.id)
    return redirect(f"{_page_of(id, row.task)}#set")
