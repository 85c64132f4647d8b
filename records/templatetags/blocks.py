"""Blocks of a document on a screen: texts and values with the same marks as on paper."""

import re
from typing import Any

from django import template
from django.utils.html import conditional_escape, escape, format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from records.documents import font, labels
from records.documents.shown import DASH
from records.documents.texts import is_steering

register = template.Library()

FIGURE_SPACE, PUNCTUATION_SPACE = "\N{FIGURE SPACE}", "\N{PUNCTUATION SPACE}"
_LINE_BREAK, _MAY_BREAK = mark_safe("<br>"), mark_safe("<wbr>")
# Tags, serial numbers, days and signals such as 4-20 mA: a hyphen in them ends no line, nor does
# the space between digits and their unit, which somebody typed.
_TOGETHER = re.compile(
    rf"(?<![\w.])(?:[0-9]+-)?(?:[0-9]*\.)?[0-9]*{labels.WITH_UNIT}"
    r"|\b(?:[0-9]{4}-[0-9]{2}-[0-9]{2}|[A-Za-z0-9]{1,5}-[0-9]{1,6}[A-Z]?)\b"
)
_NOTHING = mark_safe(f'<span class="unit">{DASH}</span>')  # noqa: S308


@register.filter
def runs(given: Any) -> SafeString:
    """A text; between two of its pieces a line may end."""
    if isinstance(given, str):
        return together(given)
    pieces = [_piece(piece) for piece in given]
    return format_html_join(_MAY_BREAK, "{}", ((piece,) for piece in pieces))


def _piece(piece: str | dict[str, str]) -> SafeString:
    if isinstance(piece, dict):
        return format_html_join("", "{}", ((_character(code),) for code in piece["u"].split()))
    return _LINE_BREAK if piece == "\n" else together(piece)


@register.filter
def together(given: str) -> SafeString:
    """A text whose tags, days, and digits with their unit stay on one line."""
    if "-" not in given and " " not in given:
        return conditional_escape(given)
    marked = _TOGETHER.sub(r'<span class="one">\g<0></span>', escape(given))
    return mark_safe(marked)  # noqa: S308


def _character(code: str) -> SafeString:
    """What paper shows as a code, a screen shows as itself; never what steers the writing."""
    character = chr(int(code.removeprefix("U+"), 16))
    if is_steering(character):
        return format_html('<span class="unit">‹{}›</span>', code)
    return conditional_escape(character)


@register.filter
def drawing(svg: str) -> SafeString:
    """A chart's SVG, all of whose texts were escaped when it was drawn."""
    return mark_safe(svg)  # noqa: S308


@register.filter
def plain(given: Any) -> str:
    """The same text without marks, for an attribute."""
    pieces = [given] if isinstance(given, str) else given
    return "".join(p if isinstance(p, str) else f"‹{p['u']}›" for p in pieces).replace("\n", " ")


@register.filter
def cell(given: dict[str, Any] | None) -> SafeString:
    """A value with its unit; spaces bring decimal signs under each other."""
    if given is None:
        return _NOTHING
    words = _number(given) if "n" in given else _marked(given, runs(given["t"]))
    if "note" not in given:
        return words
    return format_html('{} <span class="quiet">{}</span>', words, runs(given["note"]))


def _number(given: dict[str, Any]) -> SafeString:
    before, after = (_spaces(given.get(side, 0)) for side in ("before", "after"))
    digits = _marked(given, given["n"])
    unit = format_html('\u00a0<span class="unit">{}</span>', given["u"]) if given["u"] else ""
    return format_html('<span class="q">{}{}{}{}</span>', before, digits, after, unit)


def _marked(given: dict[str, Any], words: Any) -> SafeString:
    if "strong" in given:
        return format_html("<strong>{}</strong>", words)
    return format_html('<span class="quiet">{}</span>' if "light" in given else "{}", words)


def _spaces(width: float) -> str:
    """Figure spaces as wide as `width` [em], which is that of digits with or without a point."""
    digits, rest = divmod(width + 0.01, font.width("0"))
    return (PUNCTUATION_SPACE if rest > font.width(".") / 2 else "") + FIGURE_SPACE * int(digits)
