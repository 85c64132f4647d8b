"""What was entered in a form whose session had ended: kept at the browser until it is back.

A form that was left open over night would lose what its person wrote. The service keeps nothing
of strangers: it stands in cookies of that one page, signed, and is gone once it was shown.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect, QueryDict
from django.urls import reverse
from django.utils.http import urlencode

from records.ids import is_id
from records.pages.event_forms import Sent

Page = Callable[..., HttpResponseBase]
SECONDS = 60 * 60
# Browsers take about 4 kB a cookie, and the web server 8 kB of them all.
_NAME, _LENGTH, _MOST = "entered", 3600, 2
_SALT = "records.pages.kept"
_OURS = ("csrfmiddlewaretoken",)
_WORDS = (
    "Your session had ended, or was begun anew, after you opened the form. What you entered stands "
    "in it again: read it, then send it once more."
)


def keeping(page: Page) -> Page:
    """A page of an event's forms: whoever has to sign in first finds what they had entered."""

    @wraps(page)
    def view(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method == "POST" and request.user.is_anonymous and is_id(kwargs["id"]):
            return brought_back(request, kwargs["id"])
        return page(request, *args, **kwargs)

    view.keeps_entered = True  # type: ignore[attr-defined]
    return view


def brought_back(request: HttpRequest, event: str) -> HttpResponse:
    """To the form again, by the way of signing in where that is needed."""
    page = reverse("event", args=[UUID(event)])
    target = page
    if request.user.is_anonymous:
        target = f"{reverse('account_login')}?{urlencode({'next': page})}"
    answer = HttpResponseRedirect(target)
    _keep(answer, page, request.path, request.POST)
    return answer


def outdated(request: HttpRequest) -> HttpResponse | None:
    """The same for a form of ours that is older than the session; None for every other one.

    What comes from elsewhere is never kept: it would stand in a form as if its person wrote it.
    """
    match = request.resolver_match
    ours = request.headers.get("Origin") == f"{request.scheme}://{request.get_host()}"
    if not ours or match is None or not getattr(match.func, "keeps_entered", False):
        return None
    event = str(match.kwargs["id"])
    return brought_back(request, event) if is_id(event) else None


def entered(request: HttpRequest) -> Sent | None:
    """What was kept for this page, if anything can be read of it."""
    parts = (request.COOKIES.get(name, "") for name in _names())
    try:
        kept = signing.loads("".join(parts), salt=_SALT, max_age=SECONDS)
        return Sent(kept["to"], QueryDict(kept["form"]), (_WORDS,))
    except (signing.BadSignature, KeyError, TypeError):
        return None


def forget(request: HttpRequest, answer: HttpResponse, page: str) -> None:
    """It was shown: keep it no longer."""
    for name in _names():
        if name in request.COOKIES:
            answer.delete_cookie(name, path=page, samesite="Lax")


def _keep(answer: HttpResponse, page: str, to: str, form: QueryDict) -> None:
    fields = form.copy()
    for name in _OURS:
        fields.pop(name, None)
    text = signing.dumps({"to": to, "form": fields.urlencode()}, salt=_SALT, compress=True)
    if len(text) > _LENGTH * _MOST:
        return
    for number, name in enumerate(_names()):
        part = text[_LENGTH * number : _LENGTH * (number + 1)]
        answer.set_cookie(name, part, max_age=SECONDS, path=page, httponly=True, samesite="Lax",
                          secure=settings.SESSION_COOKIE_SECURE)  # fmt: skip


def _names() -> list[str]:
    return [f"{_NAME}-{number}" for number in range(_MOST)]
