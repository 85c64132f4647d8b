"""Limits on guessing tokens: an address that gives many wrong ones is told to wait.

Wrong ones alone are counted. A good token passes whatever others at the same address do, and costs
nothing more: 256 random bits are guessed by nobody, and a whole office may share an address.

That a good one was used is noted here where its request was refused, which undid it: whoever only
looks around with a stolen one is seen, too.
"""

from collections.abc import Callable
from contextlib import suppress

from django.db import InterfaceError, OperationalError, transaction
from django.http import HttpRequest, HttpResponse

from records import permissions
from records.addresses import address_of
from records.api.authentication import LONGEST_TOKEN, bearer_of
from records.api.problems import API, response
from records.errors import TooManyGuesses, Unavailable
from records.services import guessing, tokens


class TokenGuessesMiddleware:
    """Counts outside of the request's transaction, which a refusal undoes."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if not 400 <= answer.status_code < 500 or not request.path.startswith(API):
            return answer
        if "Authorization" not in request.headers:
            return answer
        if answer.status_code != 401:
            _note_use(bearer_of(request) or "")
            return answer
        try:
            guessing.take(guessing.TOKEN_BY_ADDRESS, guessing.source_of(address_of(request)))
        except TooManyGuesses as error:
            return response(error)
        except (OperationalError, InterfaceError):
            return response(Unavailable())
        return answer


def _note_use(secret: str) -> None:
    if not 0 < len(secret) <= LONGEST_TOKEN:
        return
    with suppress(OperationalError, InterfaceError), transaction.atomic():
        permissions.leave()
        tokens.actor_of(secret)
