"""What is due to be verified again, by station: for the office and for clients."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.urls import reverse
from django.utils import timezone

from calculations import periods
from records import cursors, permissions
from records.documents import due_csv
from records.models import Clientele, Site
from records.pages.base import inside, show
from records.pages.errors import told
from records.permissions import Actor
from records.selectors import due_documents, due_items
from records.selectors.due_items import Wanted

AT_ONCE = 50
IN_A_FILE = 1000
"""Items that are held at a time."""
COUNTED_UNASKED = 1000
"""Stations: of more, to count takes longer than a page may, and is asked for."""
WORDS = {
    "overdue": "Overdue",
    "due_soon": "Due soon",
    "never_verified": "Never verified",
    "current": "Current",
    "not_possible": "Not possible at the last try",
    "proposed": "Another interval is proposed",
    "all": "All",
}


_CSV = "text/csv; charset=utf-8; header=present"  # RFC 4180, 3
_READ: Mapping[str, Callable[[str], Any]] = {
    "client": UUID, "site": UUID, "due_by": date.fromisoformat
}  # fmt: skip
_LABELS = {"client": "Client", "site": "Station", "due_by": "Due by"}


@inside
def due(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Due items of one state, one part at a time; what is overdue at first."""
    asked, wanted, unread = _asked(request, actor)
    given = cursors.shown(request.GET.get("after", ""), _list_of(actor, asked))
    after = due_items.place(given) if given is not None else None
    found = due_items.items(actor, replace(wanted, after=after, limit=AT_ONCE + 1))
    clients = _clients(actor)
    stations = 1 if wanted.site else _stations(actor, wanted.client)
    counted = stations <= COUNTED_UNASKED or "count" in request.GET
    context: dict[str, Any] = {
        "counts": due_items.counts(actor, _of_any_state(wanted)) if counted else None,
        "stations": stations,
        "count": "?" + urlencode(asked | {"count": ""}),
        "items": [
            line(item) | {"whose": clients.get(item.client_id, "")} for item in found[:AT_ONCE]
        ],
        "state": asked["state"],
        "words": WORDS,
        "clients": clients,
        "site": _site(actor, wanted.site) if wanted.site else None,
        "elsewhere": "?" + urlencode({n: v for n, v in asked.items() if n != "site"}),
        "asked": asked,
        "unread": unread,
        "next_month": "?" + urlencode(asked | {"state": "all", "due_by": _end_of_next_month()}),
        "first": "?" + urlencode(asked),
        "as_csv": f"{reverse('due-list')}?{urlencode(asked)}",
        "next": _next(actor, asked, found[AT_ONCE - 1]) if len(found) > AT_ONCE else "",
        "later": after is not None,
    }
    return show(request, actor, "due", **context)


@inside
def as_csv(request: HttpRequest, actor: Actor) -> HttpResponseBase:
    """The same list in one piece, however long: a file for a spreadsheet."""
    permissions.require(actor, "due.read")
    asked, wanted, unread = _asked(request, actor)
    if unread:
        return told(request, 400, " ".join(unread), actor)
    answer = StreamingHttpResponse(_lines(actor, wanted), content_type=_CSV)
    name = f"due-{asked['state'].replace('_', '-')}-{timezone.now():%Y-%m-%d}.csv"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _lines(actor: Actor, wanted: Wanted) -> Iterator[bytes]:
    """Some at a time, each time in the actor's place: the request's transaction is over by then."""
    yield due_csv.head()
    while True:
        with permissions.while_streaming(actor):
            found = due_items.items(actor, replace(wanted, limit=IN_A_FILE))
            clients = _clients(actor) or {str(actor.organization_id): actor.organization}
        yield due_csv.lines(map(line, found), clients)
        if len(found) < IN_A_FILE:
            return
        wanted = replace(wanted, after=due_items.place(due_items.written(found[-1])))


def _asked(request: HttpRequest, actor: Actor) -> tuple[dict[str, str], Wanted, list[str]]:
    """What is asked as an address says it and as it is looked for; what of it cannot be read."""
    chosen = request.GET.get("state", "")
    state = chosen if chosen in WORDS else "overdue"
    narrowed, unread = _narrowed(request)
    if "site" in narrowed and _site(actor, narrowed["site"]) is None:
        del narrowed["site"]
        unread.append("Station: there is none of this id here.")
    if chosen not in ("", *WORDS):
        unread.append(f"State: expected one of {', '.join(WORDS)}.")
    asked = {"state": state, **{name: str(value) for name, value in narrowed.items()}}
    return asked, replace(_of_state(state), **narrowed), unread


def _narrowed(request: HttpRequest) -> tuple[dict[str, Any], list[str]]:
    """What the list is narrowed to, and in words what of it cannot be read."""
    narrowed: dict[str, Any] = {}
    unread = []
    for name, read in _READ.items():
        given = request.GET.get(name, "").strip()
        try:
            if given:
                narrowed[name] = read(given)
        except ValueError:
            expected = "an id" if read is UUID else "a day such as 2026-11-25"
            unread.append(f"{_LABELS[name]}: expected {expected}.")
    return narrowed, unread


def _of_any_state(wanted: Wanted) -> Wanted:
    return Wanted(client=wanted.client, site=wanted.site)


def _site(actor: Actor, identity: UUID) -> Site | None:
    """The station of an id, if one sees it."""
    return permissions.visible(Site.objects.filter(id=identity), actor).first()


def _stations(actor: Actor, client: UUID | None) -> int:
    sites = permissions.visible(Site.objects.all(), actor)
    return (sites.filter(client=client) if client else sites).count()


def _clients(actor: Actor) -> dict[str, str]:
    """Names of those that one works for, by their ids; of a client's own people none."""
    if actor.role == permissions.CLIENT:
        return {}
    pairs = permissions.visible(Clientele.objects.select_related("client"), actor)
    return {str(pair.client.id): pair.client.name for pair in pairs.order_by("client__name")}


def _end_of_next_month() -> str:
    following = periods.following(periods.begin(timezone.now().date(), "month"), "month")
    return str(periods.last_day(following, "month"))


def _of_state(state: str) -> Wanted:
    if state == "all":
        return Wanted()
    if state == "proposed":
        return Wanted(proposed=True)
    return Wanted(not_possible=True) if state == "not_possible" else Wanted(state=state)


def line(item: due_items.Item) -> dict[str, Any]:
    """A due item as it is listed."""
    known = due_documents.document(item)
    return known | {"due_on": item.due_on, "state": WORDS[item.state]}


def _next(actor: Actor, asked: Mapping[str, str], last: due_items.Item) -> str:
    after = cursors.hidden(due_items.written(last), _list_of(actor, asked))
    return "?" + urlencode({**asked, "after": after})


def _list_of(actor: Actor, asked: Mapping[str, str]) -> str:
    return f"due {urlencode(asked)} {actor.organization_id}"
