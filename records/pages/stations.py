"""Stations at a glance, and one station with what stands there and what was done."""

from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse

from records import permissions
from records.documents import shown
from records.documents.contents.cautions import SHORT
from records.ids import identity
from records.models import Appointment, Event, Site, SiteSummary
from records.pages import plates
from records.pages.base import inside, show
from records.pages.paging import Listed, listed
from records.permissions import Actor
from records.selectors import open_findings, sealed
from records.services import register
from records.services.kinds import KINDS

STATIONS_AT_ONCE = 200
# What whoever reads no visits may read of a summary: drafts and their findings are left out.
_FOR_CLIENT = ("site_id", "last_number", "last_sealed_at", "next_due_on", "overdue")
_FOR_OFFICE = (*_FOR_CLIENT, "open_stop", "open_review", "open_note", "drafts", "last_event_at")


@inside
def stations(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Every station that the signed-in person's organization is a party to."""
    summaries = _summaries(actor)
    wanted = request.GET.get("q", "").replace("\0", "").strip()
    rows = _named(permissions.visible(Site.objects.all(), actor), wanted)
    part = listed(request, "page", rows.select_related("client"), STATIONS_AT_ONCE)
    lines = [_line(site, summaries.get(site.row, {})) for site in part.page]
    waiting = sum(1 for summary in summaries.values() if summary.get("open_stop"))
    former = permissions.formerly(Site.objects.order_by("code", "row"), actor)[:STATIONS_AT_ONCE]
    context = {"part": part, "lines": lines, "waiting": waiting, "wanted": wanted,
               "former": former}  # fmt: skip
    return show(request, actor, "stations", **context)


def _named(rows: QuerySet[Site], wanted: str) -> QuerySet[Site]:
    if wanted:
        rows = rows.filter(
            Q(code__icontains=wanted)
            | Q(name__icontains=wanted)
            | Q(client__name__icontains=wanted)
        )
    return rows.order_by("code", "row")


def _line(site: Site, summary: dict[str, Any]) -> dict[str, Any]:
    return {"site": site, "summary": summary, "zone": shown.zone(site.time_zone)}


def _summaries(actor: Actor) -> dict[int, dict[str, Any]]:
    columns = _FOR_OFFICE if permissions.may(actor, "events.read") else _FOR_CLIENT
    rows = permissions.visible(SiteSummary.objects.all(), actor).values(*columns)
    return {row["site_id"]: row for row in rows}


@inside
def station(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """One station: what is open, visits, records, equipment with its plates."""
    former = permissions.formerly(Site.objects.filter(id=identity(id)), actor).first()
    if former is not None:
        return show(request, actor, "station", **_before(request, actor, former))
    row: Any = register.get(actor, KINDS["sites"], identity(id))
    found = plates.pieces(actor, row)
    standing = [piece for piece in found if not piece.until]
    context = {
        "site": row,
        "plate": plates.of_site(row),
        "zone": shown.zone(row.time_zone),
        "standing": standing,
        "opened": request.GET.get("piece", ""),
        "gone": [piece for piece in found if piece.until],
        "sheets": [piece for piece in standing if piece.kind == "Pump set"],
        "measuring": [piece for piece in standing if piece.kind == "Sensor"],
        "caution": SHORT,
        "cautions": plates.cautions_of(row, standing),
        "records": _records(request, actor, row),
        **(_work(request, actor, row) if permissions.may(actor, "events.read") else {}),
    }
    return show(request, actor, "station", **context)


def _before(request: HttpRequest, actor: Actor, site: Site) -> dict[str, Any]:
    """What one keeps of a station that another looks after now: one's own visits and records."""
    ended = permissions.visible(Appointment.objects.filter(site=site), actor)
    return {
        "site": site,
        "until": ended.order_by("-until_day").values_list("until_day", flat=True).first(),
        "zone": shown.zone(site.time_zone),
        "caution": SHORT,
        "records": _records(request, actor, site),
        **_work(request, actor, site),
    }


def _records(request: HttpRequest, actor: Actor, site: Site) -> Listed:
    rows = sealed.rows(actor).filter(site=site).order_by("-number").defer("canonical")
    return listed(request, "records", rows)


def _work(request: HttpRequest, actor: Actor, site: Site) -> dict[str, Any]:
    """What the contractor alone sees: visits, and what is open of them."""
    events = permissions.visible(Event.objects.filter(site=site), actor)
    visits = events.select_related("pump_set", "record").order_by("-performed_at", "-row")
    visits = visits.defer("document", "snapshot", "judgement", "record__canonical")
    return {
        "visits": listed(request, "visits", visits),
        "open": open_findings.of_site(actor, site),
    }
