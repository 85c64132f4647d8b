"""Stations at a glance, and one station with what is in service there."""

from typing import Any

from django.http import HttpRequest, HttpResponse

from records import permissions
from records.ids import identity
from records.models import (
    Drive,
    Event,
    Motor,
    Pump,
    PumpSet,
    Sensor,
    Site,
    SiteSummary,
    Vessel,
)
from records.pages.base import inside, show
from records.permissions import CLIENT, Actor
from records.selectors import sealed
from records.services import register
from records.services.kinds import KINDS

# What a client's role may read of a summary; drafts and their findings are the contractor's.
_FOR_CLIENT = ("site_id", "last_number", "last_sealed_at", "next_due_on", "overdue")
_FOR_OFFICE = (*_FOR_CLIENT, "open_stop", "open_review", "open_note", "drafts", "last_event_at")


@inside
def stations(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Every station that the signed-in person's organization is a party to."""
    rows = permissions.visible(Site.objects.all(), actor).order_by("code", "row")
    summaries = _summaries(actor)
    listed = [{"site": site, "summary": summaries.get(site.row, {})} for site in rows]
    waiting = sum(1 for summary in summaries.values() if summary.get("open_stop"))
    return show(request, actor, "stations", listed=listed, waiting=waiting)


def _summaries(actor: Actor) -> dict[int, dict[str, Any]]:
    columns = _FOR_CLIENT if actor.role == CLIENT else _FOR_OFFICE
    rows = permissions.visible(SiteSummary.objects.all(), actor).values(*columns)
    return {row["site_id"]: row for row in rows}


@inside
def station(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """One station: equipment in service, visits and records."""
    row = register.get(actor, KINDS["sites"], identity(id))
    pieces = [(name, list(_in_service(actor, model, row))) for name, model in _PIECES]
    events = [] if actor.role == CLIENT else list(_events(actor, row))
    records = sealed.rows(actor).filter(site=row).order_by("-number")
    context = {"site": row, "pieces": pieces, "events": events, "records": list(records)}
    return show(request, actor, "station", **context)


_PIECES: tuple[tuple[str, Any], ...] = (
    ("Pump set", PumpSet),
    ("Pump", Pump),
    ("Motor", Motor),
    ("Drive", Drive),
    ("Sensor", Sensor),
    ("Vessel", Vessel),
)


def _in_service(actor: Actor, model: Any, site: Any) -> Any:
    rows = model.objects.filter(site=site, out_of_service_on=None)
    return permissions.visible(rows, actor).order_by("tag")


def _events(actor: Actor, site: Any) -> Any:
    rows = permissions.visible(Event.objects.filter(site=site), actor)
    return rows.select_related("pump_set", "record").order_by("-performed_at", "-row")[:50]
