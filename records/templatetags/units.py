"""Units as they are printed, not as they are sent."""

from django import template

from records.documents import labels

register = template.Library()
register.filter("symbol", labels.unit)


@register.filter
def printed(given: object) -> str:
    """Digits and unit: 95 degC as 95 °C."""
    return labels.with_units(str(given))
