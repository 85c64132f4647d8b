"""Uses of tokens: that a good one was used is noted, and who guesses wrong ones is told to wait.

Wrong ones alone are counted. A good token passes whatever others at the same address do: 256
random bits are guessed by nobody, and a whole office may share an address.

A refused use is noted like any other: whoever only looks around with a stolen one is seen, too.
"""

from collections.abc import Callable
from contextlib import suppress

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse

from records.addresses import address_of
from records.api.authentication import LONGEST_TOKEN, bearer_of
from records.api.problems import API, response
from records.errors import TooManyGuesses, Unavailable
from records.permissions import Actor
from records.services import guessing, tokens


class TokenUsesMiddleware:
    """Counts and notes once the request's transaction is over.

    A refusal would undo it, and a long request would hold the row of its token against whoever
    revokes that one.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if not request.path.startswith(API) or "Authorization" not in request.headers:
            return answer
        if answer.status_code != 401:
            if not _is_noted(request):
                _note_use(bearer_of(request) or "")
            return answer
        try:
            guessing.take(guessing.TOKEN_BY_ADDRESS, guessing.source_of(address_of(request)))
        except TooManyGuesses as error:
            return response(error)
        except (OperationalError, InterfaceError):
            return response(Unavailable())
        return answer


def _is_noted(request: HttpRequest) -> bool:
    """Whether it was when the token was looked at; nobody else is looked up to tell."""
    actor = vars(request).get("user")
    return type(actor) is Actor and actor.use_is_noted


def _note_use(secret: str) -> None:
    if 0 < len(secret) <= LONGEST_TOKEN:
        with suppress(OperationalError, InterfaceError):
            tokens.note_use(secret)
