"""Long lists on pages: one part at a time, with links that keep everything else as it is."""

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


def listed(request: HttpRequest, name: str, rows: QuerySet[Any], size: int = AT_ONCE) -> Listed:
    """The part of a list that the query parameter `name` asks for; the nearest where it is none."""
    paginator = Paginator(rows, size)
    page = paginator.get_page(request.GET.get(name))
    before = _address(request, name, page.number - 1) if page.has_previous() else ""
    after = _address(request, name, page.number + 1) if page.has_next() else ""
    return Listed(page, paginator.count, before, after)


def _address(request: HttpRequest, name: str, number: int) -> str:
    query = request.GET.copy()
    query[name] = str(number)
    return f"?{query.urlencode()}#{name}"
