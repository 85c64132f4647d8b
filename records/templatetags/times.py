"""Times of a station: in its own zone, to the minute, with the exact time for machines."""

from datetime import UTC, date, datetime, tzinfo
from functools import lru_cache
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from records.documents.shown import DASH, NO_BREAK, offset

register = template.Library()


@register.filter
def at(moment: datetime | None, zone: tzinfo | None) -> SafeString | str:
    """Day, time and offset, as `2026-11-17 07:40 UTC−08:00`."""
    if moment is None:
        return DASH
    local = _local(moment, zone)
    words = f"{local:%Y-%m-%d}{NO_BREAK}{local:%H:%M}"
    return format_html(
        '<time datetime="{}"><span class="one">{}</span> <span class="unit">{}</span></time>',
        local.isoformat(timespec="seconds"), words, offset(local),
    )  # fmt: skip


@register.filter
def on(moment: datetime | None, zone: tzinfo | None) -> SafeString | str:
    """The day at the station."""
    return _day(_local(moment, zone).date()) if moment else DASH


@register.filter
def day(given: date | None) -> SafeString | str:
    """A day as it was entered."""
    return _day(given) if given else DASH


@lru_cache(maxsize=4096)
def _day(given: Any) -> SafeString:
    return format_html('<time datetime="{0}" class="one">{0}</time>', given.isoformat())


def _local(moment: datetime, zone: tzinfo | None) -> datetime:
    return moment.astimezone(zone or UTC)
