"""What every page shares: who is signed in, and that person's place in the database."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse

from records import permissions
from records.addresses import address_of
from records.errors import BookError, ConfirmationNeeded, NotFound, SecondFactorNeeded
from records.pages.entrance.ways import to_second_factor, to_show_more
from records.pages.errors import told
from records.permissions import Actor
from records.presence import presence_of
from records.services import operators
from records.services.tokens import actor_of_person

Page = Callable[..., HttpResponseBase]


def inside(page: Page) -> Page:
    """A page for people of an organization; errors of the book are told in words."""

    @wraps(page)
    def view(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return redirect_to_login(_page_of(request))
        actor = actor_of_person(
            UUID(str(request.user.pk)), address=address_of(request), presence=presence_of(request)
        )
        if actor is None:
            return told(request, 403, "You belong to no organization yet: ask an office for it.")
        if permissions.lacks_second_factor(actor):
            return to_second_factor(_page_of(request))
        permissions.enter(actor)
        operators.note(actor, f"{request.method} {request.path}")
        try:
            return page(request, actor, *args, **kwargs)
        except (ConfirmationNeeded, SecondFactorNeeded) as error:
            return to_show_more(error, _page_of(request))
        except BookError as error:
            words = "" if isinstance(error, NotFound) else error.detail
            return told(request, error.status, words, actor)

    return view


def _page_of(request: HttpRequest) -> str:
    """The page to come back to: of what was sent from a form, the page that the form is on."""
    if request.method in ("GET", "HEAD"):
        return request.get_full_path()
    sent_from = urlsplit(request.headers.get("Referer", ""))
    if sent_from.netloc != request.get_host() or not sent_from.path:
        return reverse("stations")
    return sent_from.path + (f"?{sent_from.query}" if sent_from.query else "")


def show(request: HttpRequest, actor: Actor, template: str, **context: Any) -> HttpResponse:
    """Render a page with who is signed in, and what that person `may`."""
    told = {"actor": actor, "may": permissions.allowed(actor), **context}
    return render(request, f"pages/{template}.html", told)
