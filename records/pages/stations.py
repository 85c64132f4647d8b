"""Stations at a glance, and one station with what stands there and what was done."""

from functools import cache
from operator import itemgetter
from typing import Any

from django.db.models import OuterRef, Subquery, UUIDField
from django.db.models.fields.json import KT
from django.db.models.functions import Cast
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from records import natural, permissions
from records.documents import shown
from records.documents.contents.cautions import SHORT
from records.ids import identity
from records.models import Appointment, Event, Organization, Record, Site
from records.pages import asked as asking
from records.pages import plates
from records.pages.base import inside, show
from records.pages.due import line as due_line
from records.pages.paging import Listed, listed
from records.permissions import Actor
from records.selectors import board, due_items, open_findings, sealed
from records.selectors.beginning import BEGUN_BY
from records.services import register
from records.services.kinds import KINDS

WORDS = {
    "stop": "Stop",
    "overdue": "Overdue",
    "review": "Review",
    "nothing": "Nothing open",
    "out_of_service": "Out of service",
}


@inside
def stations(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Every station that the signed-in person's organization is a party to, in one line each."""
    wish = asking.asked(request, actor)
    found = board.board(actor, wish.wanted(board.AT_ONCE))
    by_code = Site.objects.order_by(*natural.order("code"), "row")
    former = permissions.formerly(by_code, actor)[: board.AT_ONCE]
    context = {
        "found": found,
        "lines": [line(row, actor) for row in found.rows],
        "next": wish.query(after=asking.place(found.after, actor)) if found.after else "",
        "clients": clients(actor),
        "former": former,
        **asking.fields(wish, actor),
    }
    return show(request, actor, "stations", **context)


def line(row: board.Row, actor: Actor) -> dict[str, Any]:
    """A station in one line, with its zone and its state in words."""
    kind = _KINDS.get(row["kind"], row["kind"])
    return row | {
        "href": f"{_beginning()}{row['id']}",
        "zone": shown.zone(row["time_zone"]),
        "kind": kind,
        "words": words_of(row["state"], actor),
    }


def words_of(state: str, actor: Actor) -> str:
    """A state in words; whoever reads no visits learns of nothing that is open."""
    if state == "nothing" and not permissions.may(actor, "events.read"):
        return "Nothing overdue"
    return WORDS[state]


@cache
def _beginning() -> str:
    """Of a station's address: asked once, and not for each of 200 lines."""
    return reverse("station", args=["-"]).removesuffix("-")


_KINDS = dict(Site._meta.get_field("kind").flatchoices)


def clients(actor: Actor) -> list[Organization]:
    """Those to choose from, for whoever works for several."""
    if actor.role == permissions.CLIENT:
        return []
    rows = permissions.acquainted(Organization.objects.all(), actor)
    return list(rows.exclude(id=actor.organization_id).order_by("name"))


@inside
def station(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """One station: what is open, visits, records, equipment with its plates."""
    former = permissions.formerly(Site.objects.filter(id=identity(id)), actor).first()
    if former is not None:
        return show(request, actor, "station", **_before(request, actor, former))
    row: Any = register.get(actor, KINDS["sites"], identity(id))
    found = plates.pieces(actor, row)
    standing = [piece for piece in found if not piece.until]
    gone = [piece for piece in found if piece.until]
    opened = request.GET.get("piece", "")
    context = {
        "site": row,
        "plate": plates.of_site(row),
        "zone": shown.zone(row.time_zone),
        "standing": _part(request, "in-service", standing, opened),
        "opened": opened,
        "gone": _part(request, "gone", gone, opened),
        "sheets": _few([piece for piece in standing if piece.kind == "Pump set"]),
        "moving": _few([piece for piece in standing if piece.kind in _TRENDS]),
        "trends": _TRENDS,
        "caution": SHORT,
        "cautions": plates.cautions_of(row, standing),
        "due": listed(request, "due", _due(actor, row)),
        "records": _records(request, actor, row),
        **(_work(request, actor, row) if permissions.may(actor, "events.read") else {}),
    }
    return show(request, actor, "station", **context)


_TRENDS = {"Pump set": "pump-set-trends", "Sensor": "sensor-trends"}
FEW = 30
"""Pieces whose links stand together in a line; of more, each has its own beside its plate."""


def _few(pieces: list[plates.Piece]) -> list[plates.Piece]:
    return pieces if len(pieces) <= FEW else []


def _part(request: HttpRequest, name: str, pieces: list[plates.Piece], opened: str) -> Listed:
    """Pieces one part at a time; at first the part with the one that is to be opened."""
    at = next((index for index, piece in enumerate(pieces) if piece.id == opened), 0)
    return listed(request, name, pieces, holding=at)


def _due(actor: Actor, site: Site) -> list[dict[str, Any]]:
    """What is to be verified again here: all that has a date, the oldest first."""
    items = due_items.items(actor, due_items.Wanted(site=site.id))
    dated = [(item.due_on, item) for item in items if item.due_on]
    return [due_line(item) for _, item in sorted(dated, key=itemgetter(0))]


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
    corrected = Cast(KT("document__corrects"), UUIDField())
    seen = permissions.visible(Record.objects.all(), actor)
    replaced = seen.filter(id=OuterRef("corrects")).values("number")
    newer = seen.filter(corrects__id=OuterRef("corrects")).values("number")
    visits = visits.annotate(
        corrects=corrected, replaces=Subquery(replaced), too_late_for=Subquery(newer),
        begun_by=BEGUN_BY,
    )  # fmt: skip
    return {
        "visits": listed(request, "visits", visits),
        "open": open_findings.of_site(actor, site),
    }
