"""What is due to be verified again, by station: for the office and for clients."""

from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse

from records import cursors
from records.pages.base import inside, show
from records.permissions import Actor
from records.selectors import due_documents, due_items
from records.selectors.due_items import Wanted

AT_ONCE = 50
WORDS = {
    "overdue": "Overdue",
    "due_soon": "Due soon",
    "never_verified": "Never verified",
    "current": "Current",
    "not_possible": "Not possible at the last try",
    "all": "All",
}


@inside
def due(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Due items of one state, one part at a time; what is overdue at first."""
    chosen = request.GET.get("state", "")
    state = chosen if chosen in WORDS else "overdue"
    wanted = _of_state(state)
    given = cursors.shown(request.GET.get("after", ""), _list_of(actor, state))
    after = due_items.place(given) if given is not None else None
    found = due_items.items(actor, replace(wanted, after=after, limit=AT_ONCE + 1))
    context: dict[str, Any] = {
        "counts": due_items.counts(actor, Wanted()),
        "items": [line(item) for item in found[:AT_ONCE]],
        "state": state,
        "words": WORDS,
        "next": _next(actor, state, found[AT_ONCE - 1]) if len(found) > AT_ONCE else "",
        "later": after is not None,
    }
    return show(request, actor, "due", **context)


def _of_state(state: str) -> Wanted:
    if state == "all":
        return Wanted()
    return Wanted(not_possible=True) if state == "not_possible" else Wanted(state=state)


def line(item: due_items.Item) -> dict[str, Any]:
    """A due item as it is listed."""
    known = due_documents.document(item)
    return known | {"due_on": item["due_on"], "state": WORDS[item["state"]]}


def _next(actor: Actor, state: str, last: due_items.Item) -> str:
    after = cursors.hidden(due_items.written(last), _list_of(actor, state))
    return "?" + urlencode({"state": state, "after": after})


def _list_of(actor: Actor, state: str) -> str:
    return f"due {state} {actor.organization_id}"
