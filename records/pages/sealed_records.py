"""One sealed record: its content, who signed it, and how anybody can check it."""

import json
from collections.abc import Iterator
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.cache import never_cache

from records import permissions
from records.documents.blocks import Block, pairs
from records.documents.contents import leftovers, sealed, summary
from records.documents.contents.cautions import SHORT
from records.documents.contents.installed import installed
from records.documents.contents.sections import ANNEX, CLOSING, JUDGED, ON_SITE
from records.documents.contents.source import Source
from records.ids import identity
from records.models import Record
from records.models.base import new_id
from records.pages import kept
from records.pages.base import inside, show
from records.pages.sent import Sent
from records.pages.sheets import sheet
from records.permissions import Actor
from records.selectors import plotted
from records.selectors import sealed as records
from records.services import replacements

REPLACING = "replace"
"""Where on the page a replacement is begun."""


@never_cache
@inside
def record(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """The record as it was sealed, its digest, and its forms to take along."""
    row = records.get(actor, identity(id))
    sent = kept.entered(request)
    answer = shown(request, actor, row, sent)
    kept.forget(request, answer, request.path)
    return answer


def shown(request: HttpRequest, actor: Actor, row: Record, sent: Sent | None) -> HttpResponse:
    """The page, with the form that came back as it was sent."""
    content = json.loads(bytes(row.canonical))
    beside = plotted.of_record_on_page(actor, row, content, long="long" in request.GET)
    source = Source.of(content, records.seal(row), beside=beside)
    [pdf] = [document for document in row.documents.all() if document.kind == "pdf"]
    replacing = _replacing(actor, row, sent)
    context = {
        "record": row,
        "digest": bytes(row.digest).hex(),
        "pdf_made": pdf.sha256 is not None,
        "pdf_failed": bool(pdf.last_error),
        "beside": _beside(actor, row),
        "reason": source.record.part("corrects").see("reason"),
        "event": _event_of(source) if _performed(actor, row) else None,
        "title": f"Record {row.number}: {summary.what(source)}",
        "where": summary.where(source),
        "lead": " ".join(
            words(source) for words in (summary.who_and_when, summary.result, summary.undone)
        ),
        "caution": SHORT,
        "zone": source.shown.zone,
        "sent": sent,
        "sent_at": REPLACING if "form" in replacing else "",
        "replacing": replacing,
        "drawn_up_to": plotted.not_drawn_beyond(content, beside),
        "sheet": sheet(_blocks(source)),
    }
    answer = show(request, actor, "record", **context)
    answer.status_code = sent.status if sent else 200
    return answer


def _replacing(actor: Actor, row: Record, sent: Sent | None) -> dict[str, Any]:
    """The form that begins a replacement, or the drafts that are one; nothing where none may be."""
    if row.corrections.all() or not replacements.is_open_to(actor, row):
        return {}
    if drafts := replacements.drafts_of(actor, row):
        return {"drafts": drafts}
    action = f"{reverse('replace-record', args=[row.id])}#{REPLACING}"
    given = sent.form if sent else {}
    return {"form": {"action": action, "id": new_id(), "back": sent, "given": given}}


def _performed(actor: Actor, row: Record) -> bool:
    """Whether the visit is the actor's organization's own: a record may have been handed on."""
    own = row.contractor_id == actor.organization_id
    return own and permissions.may(actor, "events.read")


def _event_of(source: Source) -> str:
    return str(source.event.see("id"))


def _beside(actor: Actor, row: Record) -> dict[str, str]:
    """Ids of the records of the station before and after this one."""
    numbers = {row.number - 1: "before", row.number + 1: "after"}
    rows = permissions.visible(Record.objects.filter(site=row.site, number__in=numbers), actor)
    return {numbers[number]: str(identity) for number, identity in rows.values_list("number", "id")}


def _blocks(source: Source) -> Iterator[Block]:
    yield pairs(summary.facts(source))
    yield from installed(source)
    for section in (*JUDGED, *ON_SITE, *CLOSING, sealed.signatures, sealed.seal, *ANNEX):
        yield from section(source)
    yield from leftovers.leftovers(source)
