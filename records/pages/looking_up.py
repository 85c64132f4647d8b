"""One box that finds stations, tags, serial numbers and records."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from records.documents import shown
from records.models import Event, Site
from records.pages.base import inside, show
from records.permissions import Actor
from records.selectors import looking_up

LONGEST = 200
_WORK = dict(Event._meta.get_field("kind").flatchoices)
_KINDS = dict(Site._meta.get_field("kind").flatchoices)


@inside
def search(request: HttpRequest, actor: Actor) -> HttpResponse:
    """What has the text of the address in it, of one's own organization."""
    text = request.GET.get("q", "").replace("\0", "").strip()[:LONGEST]
    found = looking_up.look_up(actor, text, timezone.now().date())
    context = {
        "text": text,
        "found": found,
        "stations": [row | {"kind": _KINDS.get(row["kind"])} for row in found.stations],
        "pieces": [
            row | {"kind": row["kind"].replace("_", " ").capitalize()} for row in found.pieces
        ],
        "sealed": [
            row | {"kind": _WORK.get(row["kind"], ""), "zone": shown.zone(row["time_zone"])}
            for row in found.records
        ],
        "count": len(found.stations) + len(found.pieces) + len(found.records),
    }
    return show(request, actor, "search", **context)
