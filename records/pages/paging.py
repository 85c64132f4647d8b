"""Long lists on pages: one part at a time, with links that keep everything else as it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest

AT_ONCE = 50


@dataclass(frozen=True)
class Listed:
    """One part of a list, and the addresses of those beside it."""

    page: "Page[Any]"
    total: int
    before: str
    after: str


class OneAfterAnother:
    """Several lists as one, of which the part that is shown is read, and no more."""

    def __init__(self, lists: Sequence[QuerySet[Any]]) -> None:
        self.lists = lists
        self.counts = [rows.count() for rows in lists]

    def __len__(self) -> int:
        return sum(self.counts)

    def __getitem__(self, part: slice) -> list[tuple[int, Any]]:
        """Rows, each with the number of its list."""
        found: list[tuple[int, Any]] = []
        begin, end = part.start, part.stop
        for index, count in enumerate(self.counts):
            if begin < count and end > 0:
                found += [(index, row) for row in self.lists[index][max(begin, 0) : end]]
            begin, end = begin - count, end - count
        return found


def listed(
    request: HttpRequest,
    name: str,
    rows: QuerySet[Any] | OneAfterAnother | Sequence[Any],
    size: int = AT_ONCE,
    *,
    holding: int = 0,
) -> Listed:
    """The part of a list that the query parameter `name` asks for; the nearest where it is none.

    Where nothing is asked for, the part that holds the element of that index.
    """
    within: Any = rows  # what has a length and parts will do
    paginator = Paginator(within, size)
    page = paginator.get_page(request.GET.get(name, holding // size + 1))
    before = _address(request, name, page.number - 1) if page.has_previous() else ""
    after = _address(request, name, page.number + 1) if page.has_next() else ""
    return Listed(page, paginator.count, before, after)


def _address(request: HttpRequest, name: str, number: int) -> str:
    query = request.GET.copy()
    query[name] = str(number)
    return f"?{query.urlencode()}#{name}"
