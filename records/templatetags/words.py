"""Names of fields as people read them."""

from django import template

register = template.Library()


@register.filter
def words(name: str) -> str:
    """`range_low` as `range low`."""
    return name.replace("_", " ")
