"""The audit as a page: who changed what, when, from where, and why."""

from datetime import date
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from records import cursors
from records.documents.shown import Shown
from records.pages import changes
from records.pages.base import inside, show
from records.permissions import Actor
from records.planning import planned_for_what_is_asked
from records.selectors import audit as selector

AT_ONCE = 50
AT_A_GLANCE = 6
"""Lines of a change that stand open; more are folded."""

_READ: dict[str, Any] = {
    "site": UUID,
    "subject": UUID,
    "person": UUID,
    "since": date.fromisoformat,
    "until": date.fromisoformat,
}

# What the form calls them; the others come from links.
_LABELS = {"since": "From", "until": "Until"}


@inside
def audit(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Entries of the organization, newest first, one part at a time."""
    wanted, unread = _wanted(request)
    part, later = _part(actor, wanted, request.GET.get("before", ""))
    with planned_for_what_is_asked():
        found = list(part[: AT_ONCE + 1])
    printed = Shown(names=selector.names(actor, found[:AT_ONCE]))
    context = {
        "entries": [_entry(row, printed) for row in found[:AT_ONCE]],
        "wanted": {name: str(value) for name, value in wanted.items()},
        "narrowed": {n: v for n, v in wanted.items() if n in ("site", "subject", "person")},
        "unread": unread,
        "older": _older(actor, wanted, found[AT_ONCE - 1]) if len(found) > AT_ONCE else "",
        "later": later,
        "newest": "?" + urlencode(wanted),
    }
    return show(request, actor, "audit", **context)


def _part(actor: Actor, wanted: dict[str, Any], before: str) -> tuple[Any, bool]:
    """Entries from where a part begins, newest first, and whether that is later than the first."""
    rows = selector.rows(actor, **wanted)
    if selector.is_by_time(wanted):
        place = cursors.read_at(before, _list_of(actor))
        return selector.latest_first(rows, place), place is not None
    row = cursors.read(before, _list_of(actor))
    part = rows.filter(row__lt=row) if row is not None else rows
    return part.order_by("-row"), row is not None


def _wanted(request: HttpRequest) -> tuple[dict[str, Any], list[dict[str, str]]]:
    """What the list is narrowed to, and what of it cannot be read."""
    wanted: dict[str, Any] = {}
    unread = []
    for name, read in _READ.items():
        given = request.GET.get(name, "").strip()
        try:
            if given:
                wanted[name] = read(given)
        except ValueError:
            expected = "an id" if read is UUID else "a day as 2026-11-25"
            unread.append({"label": _LABELS.get(name, name), "expected": expected})
    return wanted, unread


def _list_of(actor: Actor) -> str:
    return f"page of the audit of {actor.organization_id}"


def _older(actor: Actor, wanted: dict[str, Any], last: dict[str, Any]) -> str:
    if selector.is_by_time(wanted):
        before = cursors.written_at(last["at"], last["row"], _list_of(actor))
    else:
        before = cursors.written(last["row"], _list_of(actor))
    return "?" + urlencode({**wanted, "before": before})


def _entry(row: dict[str, Any], printed: Shown) -> dict[str, Any]:
    lines = changes.lines(row["before"], row["after"], printed)
    narrowed = {"subject": row["subject"]}
    return {
        **row,
        "called": row["name"] if row["kind"] == "event" else f"{row['kind']} {row['name']}",
        "lines": lines,
        "folded": len(lines) > AT_A_GLANCE,
        "address_of": _page_of(row),
        "all_of_it": "?" + urlencode(narrowed),
        "all_of_person": "?" + urlencode({"person": row["person_id"]}) if row["person_id"] else "",
    }


def _page_of(row: dict[str, Any]) -> str:
    """Where the subject can be read, if it has a page of its own or stands at a station."""
    if row["kind"] == "event":
        return reverse("event", args=[row["subject"]])
    if row["kind"] == "rule setting":
        return reverse("rules") + "#" + str(row["name"]).partition(",")[0]
    return reverse("station", args=[row["site__id"]]) if row["site__id"] else ""
