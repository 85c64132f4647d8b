"""Who the caller is, and the tokens of devices and scripts."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records import permissions
from records.api import documents as told
from records.api.base import BookView
from records.api.schema import CREATE, READ, page_of
from records.ids import identity
from records.models import Token
from records.selectors.members import members
from records.services import tokens
from records.services.times import instant


class Me(BookView):
    """The caller."""

    @extend_schema(operation_id="read_me", tags=["people"], responses={200: told.Me, **READ})
    def get(self, request: Request) -> Response:
        """Who the caller is, in which organization and role."""
        actor = self.actor
        return Response(
            {
                "user": {"id": str(actor.user_id), "name": actor.name},
                "organization": {"id": str(actor.organization_id), "name": actor.organization},
                "role": actor.role,
                "scopes": sorted(actor.scopes),
                "may": [each for each in permissions.ACTIONS if permissions.may(actor, each)],
            }
        )


class MemberList(BookView):
    """People of the caller's organization."""

    @extend_schema(
        operation_id="list_members", tags=["people"],
        responses={200: page_of(told.Member), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Everybody in the caller's organization, with the id that a token is made for."""
        return Response({"items": members(self.actor), "next": None})


class TokenList(BookView):
    """Tokens of the caller's organization."""

    @extend_schema(
        operation_id="list_tokens", tags=["people"],
        responses={200: page_of(told.TokenLine), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """What each is for, and when it was last used."""
        permissions.require(self.actor, "tokens.read")
        rows = Token.objects.filter(organization_id=self.actor.organization_id)
        items = [_line(row) for row in rows.order_by("created_at", "id")]
        return Response({"items": items, "next": None})

    @extend_schema(
        operation_id="make_token", tags=["people"], request=tokens.TokenInput,
        responses={201: told.TokenMade, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Make a token; its text is shown this once."""
        token, secret = tokens.issue(self.actor, self.body())
        return Response({**_line(token), "token": secret}, status=201)


class TokenDetail(BookView):
    """One token."""

    @extend_schema(operation_id="revoke_token", tags=["people"], responses={204: None, **READ})
    def delete(self, request: Request, id: str) -> Response:  # noqa: A002
        """Revoke it, with effect on the next request."""
        tokens.revoke(self.actor, identity(id))
        return Response(status=204)


def _line(token: Token) -> dict[str, Any]:
    return {
        "id": str(token.id),
        "name": token.name,
        "user": str(token.user_id),
        "role": token.role,
        "scopes": token.scopes,
        "prefix": token.prefix,
        "created_at": instant(token.created_at),
        "expires_at": instant(token.expires_at),
        "last_used_at": instant(token.last_used_at) if token.last_used_at else None,
        "revoked_at": instant(token.revoked_at) if token.revoked_at else None,
    }
