"""What was entered in a form whose session had ended: kept at the browser until it is back.

A form that was left open over night would lose what its person wrote. The service keeps nothing
of strangers: it stands in cookies of that one page, signed, and is gone once it was shown. It is
shown to the person alone to whom the form was: a browser may be another's by then.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect, QueryDict
from django.urls import reverse
from django.utils.http import urlencode

from records.errors import NotFound
from records.pages.sent import Sent

Page = Callable[..., HttpResponseBase]
SECONDS = 60 * 60
# Browsers take about 4 kB a cookie, and the web server 8 kB of them all.
_NAME, _LENGTH, _MOST = "entered", 3600, 2
_SALT = "records.pages.kept"
_PERSON = "person"  # the field of a form that says to whom it was shown
_OURS = ("csrfmiddlewaretoken", _PERSON)
_WORDS = (
    "Your session had ended, or was begun anew, after you opened the form. What you entered stands "
    "in it again: read it, then send it once more."
)
_TOO_LONG = (
    "Your session had ended, or was begun anew, after you opened the form. What you entered was "
    "too long to be kept meanwhile: it has to be entered again."
)


def keeping(page_of: Callable[..., str]) -> Callable[[Page], Page]:
    """For pages that forms are sent to: whoever has to sign in first finds what they had entered.

    `page_of` says on which page the form is, by the names in its address.
    """

    def decorate(page: Page) -> Page:
        @wraps(page)
        def view(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if request.method == "POST" and request.user.is_anonymous:
                return _brought_back(request, page_of, kwargs) or page(request, *args, **kwargs)
            return page(request, *args, **kwargs)

        view.page_of = page_of  # type: ignore[attr-defined]
        return view

    return decorate


def outdated(request: HttpRequest) -> HttpResponse | None:
    """The same for a form of ours that is older than the session; None for every other one.

    What comes from elsewhere is never kept: it would stand in a form as if its person wrote it.
    """
    match = request.resolver_match
    ours = request.headers.get("Origin") == f"{request.scheme}://{request.get_host()}"
    page_of = getattr(match.func, "page_of", None) if match else None
    if not ours or match is None or page_of is None:
        return None
    return _brought_back(request, page_of, match.kwargs)


def _brought_back(
    request: HttpRequest, page_of: Callable[..., str], names: dict[str, Any]
) -> HttpResponse | None:
    """To the form again, by the way of signing in where that is needed."""
    try:
        page = target = page_of(**names)
    except NotFound:
        return None
    if request.user.is_anonymous:
        target = f"{reverse('account_login')}?{urlencode({'next': page})}"
    answer = HttpResponseRedirect(target)
    _keep(answer, page, request.path, request.POST)
    return answer


def entered(request: HttpRequest) -> Sent | None:
    """What was kept for this page of who is signed in, if anything can be read of it."""
    parts = (request.COOKIES.get(name, "") for name in _names())
    try:
        kept = signing.loads("".join(parts), salt=_SALT, max_age=SECONDS)
        if kept["person"] != str(request.user.pk):
            return None
        words = _TOO_LONG if kept["form"] is None else _WORDS
        return Sent(kept["to"], QueryDict(kept["form"] or ""), (words,))
    except (signing.BadSignature, KeyError, TypeError):
        return None


def forget(request: HttpRequest, answer: HttpResponse, page: str) -> None:
    """It was shown, or is another person's: keep it no longer."""
    for name in _names():
        if name in request.COOKIES:
            answer.delete_cookie(name, path=page, samesite="Lax")


def _keep(answer: HttpResponse, page: str, to: str, form: QueryDict) -> None:
    """In place of what was kept of that page before, whatever its length."""
    fields = form.copy()
    for name in _OURS:
        fields.pop(name, None)
    told = {"to": to, "person": form.get(_PERSON, "")}
    text = _signed(told | {"form": fields.urlencode()})
    if len(text) > _LENGTH * _MOST:
        text = _signed(told | {"form": None})
    for number, name in enumerate(_names()):
        part = text[_LENGTH * number : _LENGTH * (number + 1)]
        answer.set_cookie(name, part, max_age=SECONDS, path=page, httponly=True, samesite="Lax",
                          secure=settings.SESSION_COOKIE_SECURE)  # fmt: skip


def _signed(told: dict[str, Any]) -> str:
    return signing.dumps(told, salt=_SALT, compress=True)


def _names() -> list[str]:
    return [f"{_NAME}-{number}" for number in range(_MOST)]
