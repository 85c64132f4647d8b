"""A code for a device, as a picture and as text: shown once, to whoever made it."""

import base64
from uuid import UUID

import qrcode
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST
from qrcode.image.svg import SvgPathImage

from records.ids import identity
from records.pages.base import inside, show
from records.permissions import Actor
from records.services import enrolments


@require_POST
@never_cache
@inside
def own_device(request: HttpRequest, actor: Actor) -> HttpResponse:
    """For a device of whoever is signed in."""
    signs = "sign" in request.POST.getlist("scopes")
    return _shown(request, actor, actor.user_id, signs=signs)


@require_POST
@never_cache
@inside
def device_of(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """For a device of a member: the office hands it over."""
    return _shown(request, actor, identity(id), signs=False)


def _shown(request: HttpRequest, actor: Actor, user_id: UUID, *, signs: bool) -> HttpResponse:
    own = user_id == actor.user_id
    code = enrolments.make_code(actor, user_id, signs=signs)
    address = request.build_absolute_uri("/").rstrip("/")
    context = {
        "code": code,
        "picture": picture(enrolments.in_picture(code, address)),
        "address": address,
        "minutes": enrolments.MINUTES,
        "days": enrolments.DEVICE_DAYS,
        "signs": signs,
        "own": own,
        "back": reverse("tokens") if own else reverse("person", args=[user_id]),
    }
    answer = show(request, actor, "device", **context)
    answer.status_code = 201
    return answer


def picture(text: str) -> str:
    """A text as a QR code (ISO/IEC 18004), for an `img`."""
    drawn: bytes = qrcode.make(text, image_factory=SvgPathImage).to_string()
    return "data:image/svg+xml;base64," + base64.b64encode(drawn).decode()
