"""Units as they are printed, not as they are sent."""

from typing import Any

from django import template
from django.utils.safestring import SafeString

from records.documents import labels, shown
from records.templatetags.blocks import together

register = template.Library()
register.filter("symbol", labels.unit)
register.filter("word", labels.word)


@register.filter
def quantity(held: Any) -> str:
    """Digits and unit of what holds both, on one line."""
    return shown.quantity({"value": held.value, "unit": held.unit})


@register.filter
def printed(given: object) -> SafeString:
    """Digits and unit on one line: 95 degC as 95 °C."""
    return together(labels.with_units(str(given)))
