"""What goes wrong outside of a page, told in the look of the pages."""

import sys
from http import HTTPStatus
from uuid import UUID

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from records.errors import TooManyGuesses
from records.pages import kept
from records.permissions import Actor, Presence, allowed
from records.services.tokens import actor_of_person

_RETRY = {"Retry-After": "5"}

_WORDS = {
    400: ("This cannot be read", "The address or what was sent with it is not in a form that is "
          "read here."),
    403: ("This is not allowed", "Your role does not include it. The office of your organization "
          "can say who may do it."),
    404: ("There is no such page here", "The address may be misspelt, or it belongs to something "
          "that your organization is not a party to: the two look alike."),
    405: ("This cannot be done here", "The page can be read, not written to."),
    429: ("Tried too often", "Nothing was looked at."),
    500: ("Something went wrong on our side", "Nothing was changed. Try again; if it stays so, "
          "tell whoever runs this service the time and the address of the page."),
    503: ("The book cannot be reached at the moment", "Nothing was changed. Try again soon."),
}  # fmt: skip


_OUTDATED = (
    "The form was opened before you last signed in or out, or cookies are switched off. Nothing "
    "was changed. Go back, load the page again and send it once more."
)


def told(
    request: HttpRequest, status: int, words: str = "", actor: Actor | None = None
) -> HttpResponse:
    """A page that says what went wrong, and where to go from here."""
    title, usual = _WORDS.get(status, (HTTPStatus(status).phrase, ""))
    said = f"{(words or usual).rstrip('.')}."
    context = {"actor": actor, "may": allowed(actor), "title": title, "words": said,
               "status": status}  # fmt: skip
    return render(request, "pages/refused.html", context, status=status)


def too_many(request: HttpRequest, error: TooManyGuesses) -> HttpResponse:
    """429, and when to come back."""
    seconds = int(str(error.extra["retry_after"]))
    wait = f"{seconds} seconds" if seconds < 100 else f"{round(seconds / 60)} minutes"
    words = (
        "So that nobody guesses passwords and codes, they can be tried a few times only. "
        f"Nothing was looked at this time. Try again in {wait}."
    )
    answer = told(request, 429, words)
    answer["Retry-After"] = str(seconds)
    return answer


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400."""
    return told(request, 400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """403."""
    return told(request, 403, actor=_signed_in(request))


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404."""
    return told(request, 404, actor=_signed_in(request))


def outdated_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """403 for a form that was not sent from a page of ours, or from one that is too old."""
    back = kept.outdated(request)
    if back is not None:
        return back
    return told(request, 403, _OUTDATED)


def failed(request: HttpRequest) -> HttpResponse:
    """500; 503 where the database is away. Nothing here asks the database."""
    away = isinstance(sys.exc_info()[1], (OperationalError, InterfaceError))
    status = 503 if away else 500
    title, words = _WORDS[status]
    text = render_to_string("pages/refused.html", {"title": title, "words": words})
    return HttpResponse(text, status=status, headers=_RETRY if away else {})


def _signed_in(request: HttpRequest) -> Actor | None:
    user = getattr(request, "user", None)
    if not user or not user.is_authenticated:
        return None
    return actor_of_person(UUID(str(user.pk)), presence=Presence())
