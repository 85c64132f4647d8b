"""The catalogue of rules for people."""

from django.http import HttpRequest, HttpResponse

from calculations.catalogue import RULES, VERSION
from records.pages.base import inside, show
from records.permissions import Actor


@inside
def rules(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Every rule with its condition, limits and source."""
    return show(request, actor, "rules", rules=RULES, version=VERSION)
