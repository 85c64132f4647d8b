"""The stations on a map that is drawn from their own coordinates."""

from typing import Any

from django.http import HttpRequest, HttpResponse

from records import natural
from records.pages import asked as asking
from records.pages import mapping
from records.pages.base import inside, show
from records.pages.stations import clients, line, words_of
from records.permissions import Actor
from records.selectors import board
from records.selectors.board_sql import STATES

NAMED = 30  # so many points bear their codes
LABEL_AWAY = 13  # from the middle of its sign, in units of the drawing


@inside
def stations(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Each station, or those near each other, as a point; the same as a list below."""
    wish = asking.asked(request, actor)
    found = board.board(actor, wish.wanted(None))
    plan = mapping.plan(found.rows)
    points = [_told(wish, point, actor) for point in plan.points]
    context: dict[str, Any] = {
        "found": found,
        "plan": plan,
        # The gravest is drawn last, above what is near it, and listed first.
        "drawn": sorted(points, key=lambda each: -STATES.index(each["state"])),
        "listed": sorted(points, key=_in_order),
        "missing": [line(row, actor) for row in plan.missing],
        "placed": sum(len(point.rows) for point in plan.points),
        "named": len(points) <= NAMED,
        "legend": [
            (state, words_of(state, actor)) for state in STATES
            if any(each["state"] == state for each in points)
        ],
        "width": mapping.WIDTH,
        "height": mapping.HEIGHT,
        "clients": clients(actor),
        **asking.fields(wish, actor),
    }  # fmt: skip
    return show(request, actor, "map", **context)


def _told(wish: asking.Asked, point: mapping.Point, actor: Actor) -> dict[str, Any]:
    """A point with its name, its words and where it leads."""
    # At the right edge there is no room for a name but to the left.
    leftward = point.x > mapping.WIDTH * 3 / 4
    told: dict[str, Any] = {
        "x": f"{point.x:.1f}",
        "y": f"{point.y:.1f}",
        "label_at": f"{point.x + (-LABEL_AWAY if leftward else LABEL_AWAY):.1f}",
        "label_ends": leftward,
        "state": point.state,
        "words": words_of(point.state, actor),
        "count": len(point.rows),
    }
    if len(point.rows) == 1:
        [row] = point.rows
        return told | {"name": row["code"], "more": row["name"], "row": row}
    first = min((row["code"] for row in point.rows), key=natural.place)
    states = [row["state"] for row in point.rows]
    counts = [
        (states.count(state), words_of(state, actor).lower()) for state in STATES if state in states
    ]
    return told | {
        "name": f"{len(point.rows)} stations",
        "more": f"around {first}",
        "counts": ", ".join(f"{count} {words}" for count, words in counts),
        "query": wish.query(area=asking.written(_widened(point.area))),
    }


def _in_order(point: dict[str, Any]) -> tuple[int, tuple[str, str]]:
    return STATES.index(point["state"]), natural.place(point["name"])


def _widened(area: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """By what is lost in writing it: about a metre."""
    south, west, north, east = area
    return south - 1e-5, west - 1e-5, north + 1e-5, east + 1e-5
