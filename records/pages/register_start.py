"""Where registering begins: by hand, or from a spreadsheet."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from records import permissions
from records.pages.base import inside, show
from records.pages.stations import clients
from records.permissions import Actor


@require_safe
@inside
def start(request: HttpRequest, actor: Actor) -> HttpResponse:
    """The ways in."""
    permissions.require(actor, "equipment.write")
    return show(request, actor, "register/start", clients=clients(actor))
