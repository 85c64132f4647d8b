"""Who calls: a bearer token of a device or script, or a signed-in person's session."""

from typing import Any, cast

from django.http import HttpRequest, QueryDict
from rest_framework.authentication import BaseAuthentication, SessionAuthentication
from rest_framework.request import Request

from records import permissions
from records.addresses import address_of
from records.errors import NotSignedIn, SecondFactorNeeded
from records.permissions import Actor
from records.presence import presence_of
from records.services import tokens

LONGEST_TOKEN = 200


def bearer_of(request: Request | HttpRequest) -> str | None:
    """What stands in the place of a token; None without such a header."""
    scheme, _, secret = request.headers.get("Authorization", "").partition(" ")
    return secret.strip() if scheme.lower() == "bearer" else None


class BearerAuthentication(BaseAuthentication):
    """`Authorization: Bearer …`."""

    def authenticate(self, request: Request) -> tuple[Actor, Any] | None:
        """The token's actor; None without such a header."""
        secret = bearer_of(request)
        if secret is None:
            return None
        known = len(secret) <= LONGEST_TOKEN
        actor = tokens.actor_of(secret, address_of(request)) if known else None
        if actor is None:
            raise NotSignedIn("the token is not known, has expired or was revoked")
        return actor, actor.token_id

    def authenticate_header(self, request: Request) -> str:
        """What a 401 asks for."""
        return 'Bearer realm="stationbook"'


class PersonAuthentication(SessionAuthentication):
    """The session cookie of the pages, with CSRF protection."""

    def authenticate(self, request: Request) -> tuple[Actor, Any] | None:
        """The signed-in person's actor; None without a session."""
        user = getattr(request._request, "user", None)
        if user is None or not user.is_active or user.pk is None:
            return None
        self.enforce_csrf(request)
        actor = tokens.actor_of_person(
            user.pk, address=address_of(request), presence=presence_of(request._request)
        )
        if actor is None:
            raise NotSignedIn("you belong to no organization")
        if permissions.lacks_second_factor(actor):
            raise SecondFactorNeeded()
        return actor, None

    def enforce_csrf(self, request: Request) -> None:
        """By its header alone: the body is the view's to read, and may be a file."""
        asked = request._request
        asked._post = QueryDict()  # type: ignore[attr-defined]
        super().enforce_csrf(cast(Request, asked))
