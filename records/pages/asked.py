"""Which stations a page is asked for in its address: filters, order and place in the list."""

import json
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest

from records import cursors, permissions
from records.ids import is_id
from records.permissions import Actor
from records.selectors.board import Wanted
from records.selectors.board_sql import SORT

# What may be shown, in the words of the page; a client sees no visits, and so no findings.
SHOW = {
    "all": "All stations",
    "attention": "Those that need attention",
    "stop": "With a finding to stop for",
    "review": "With a finding to answer",
    "overdue": "With something overdue",
    "nothing": "With nothing open or overdue",
}
FOR_CLIENTS = ("all", "overdue", "nothing")
SORTED = {
    "attention": "What needs attention first",
    "code": "Code",
    "client": "Client",
    "due": "Due date",
    "overdue": "Most overdue",
    "visit": "Last visit",
    "sealed": "Last sealed",
}
FOR_CLIENTS_SORTED = ("attention", "code", "due", "overdue", "sealed")
LONGEST = 200


@dataclass(frozen=True)
class Asked:
    """What was asked for; what is not known was left out."""

    text: str
    client: UUID | None
    show: str
    sort: str
    area: tuple[float, float, float, float] | None
    after: tuple[str, str, int] | None

    def wanted(self, limit: int | None) -> Wanted:
        """The same as the selector takes it."""
        return Wanted(self.text, self.client, self.show, self.sort, self.area, self.after, limit)

    def query(self, **changes: str) -> str:
        """The address's query with some of it changed, from the beginning of the list."""
        told = {
            "q": self.text,
            "client": str(self.client) if self.client else "",
            "show": "" if self.show == "all" else self.show,
            "sort": "" if self.sort == "attention" else self.sort,
            "area": written(self.area) if self.area else "",
        }
        return "?" + urlencode({name: value for name, value in (told | changes).items() if value})

    @property
    def narrowed(self) -> bool:
        """Whether some stations are left out."""
        return bool(self.text or self.client or self.area or self.show != "all")


def asked(request: HttpRequest, actor: Actor) -> Asked:
    """Read the address."""
    given = request.GET
    show, sort = given.get("show", ""), given.get("sort", "")
    client = given.get("client", "")
    text = given.get("q", "").replace("\0", "").strip()[:LONGEST]
    return Asked(
        text,
        UUID(client) if is_id(client) else None,
        show if show in shows(actor) else "all",
        sort if sort in sorts(actor) else "attention",
        _area(given.get("area", "")),
        _place(given.get("after", ""), actor),
    )


def shows(actor: Actor) -> dict[str, str]:
    """What somebody may choose to see."""
    works = permissions.may(actor, "events.read")
    if works:
        return dict(SHOW)
    return {name: SHOW[name] for name in FOR_CLIENTS} | {"nothing": "With nothing overdue"}


def sorts(actor: Actor) -> dict[str, str]:
    """In which orders."""
    works = permissions.may(actor, "events.read")
    names = [name for name in SORT if works or name in FOR_CLIENTS_SORTED]
    return {name: SORTED[name] for name in names}


def place(after: tuple[str, str, int], actor: Actor) -> str:
    """Where the next part begins, as addresses hide it."""
    return cursors.hidden(json.dumps(after).encode(), _whose(actor))


def _place(text: str, actor: Actor) -> tuple[str, str, int] | None:
    given = cursors.shown(text, _whose(actor)) if text else None
    if given is None:
        return None
    key, code, row = json.loads(given)
    return str(key), str(code), int(row)


def _whose(actor: Actor) -> str:
    return f"stations {actor.organization_id}"


def written(area: tuple[float, float, float, float]) -> str:
    """South, west, north and east in degrees, as an address has them."""
    return ",".join(f"{each:.5f}" for each in area)


def _area(text: str) -> tuple[float, float, float, float] | None:
    try:
        south, west, north, east = (float(each) for each in text.split(","))
    except ValueError:
        return None
    inside = -90 <= south <= north <= 90 and -360 <= west <= east <= 360
    return (south, west, north, east) if inside else None


def fields(asked: Asked, actor: Actor) -> dict[str, Any]:
    """What the form of a page shows of it."""
    return {"asked": asked, "shows": shows(actor), "sorts": sorts(actor)}
