"""Visits that are not sealed yet: what each waits for, and for whom."""

from typing import Any, get_args
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest, HttpResponse

from records.documents import shown
from records.ids import is_id
from records.models import Event
from records.pages.base import inside, show
from records.pages.paging import listed
from records.pages.stations import clients
from records.permissions import Actor
from records.selectors import unsealed
from records.selectors.beginning import BEGUN_BY
from records.selectors.unsealed import Step

STEPS: dict[Step, str] = {
    "withdrawal": "being withdrawn: another contractor looks after the station now",
    "findings": "an answer or a correction",
    "performed": "the signature that the work was performed",
    "reviewed": "a second person’s signature",
    "seal": "the seal",
}


@inside
def visits(request: HttpRequest, actor: Actor) -> HttpResponse:
    """All of them, or those that wait for one thing; what lies longest comes first."""
    chosen, step = request.GET.get("client", ""), request.GET.get("waits", "")
    client = UUID(chosen) if is_id(chosen) else None
    counts = unsealed.counts(actor, client)
    rows = unsealed.visits(actor, client).select_related("site", "pump_set")
    rows = rows.annotate(begun_by=BEGUN_BY).defer("document", "snapshot", "judgement")
    if step in STEPS:
        rows = rows.filter(step=step)
    part = listed(request, "visits", rows)
    steps = [each for each in get_args(Step) if each in counts]
    context = {
        "part": part,
        "lines": [_line(event) for event in part.page],
        "total": sum(counts.values()),
        "steps": [_step(each, counts[each], chosen if client else "") for each in steps],
        "step": step if step in STEPS else "",
        "words": STEPS,
        "clients": clients(actor),
        "client": client,
    }
    return show(request, actor, "unsealed", **context)


def _step(step: Step, count: int, client: str) -> dict[str, Any]:
    asked = {"waits": step} | ({"client": client} if client else {})
    return {"words": STEPS[step], "count": count, "query": "?" + urlencode(asked)}


def _line(event: Event) -> dict[str, Any]:
    told: Any = event  # with what the selector added
    return {
        "event": event,
        "zone": shown.zone(event.site.time_zone),
        "waits": STEPS[told.step],
    }
