"""Who the caller is, who belongs to the organization, and the tokens of devices and scripts."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records import permissions
from records.api import people_documents as told
from records.api.base import BookView
from records.api.schema import CREATE, READ, READ_OR_CONFLICT, page_of
from records.ids import identity
from records.models import Token
from records.selectors.members import members
from records.services import device_keys, people, tokens
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


class MyKey(BookView):
    """The key that the calling device signs with."""

    @extend_schema(
        operation_id="register_device_key", tags=["people"], request=device_keys.DeviceKeyInput,
        responses={200: told.DeviceKey, 201: told.DeviceKey, **CREATE},
    )  # fmt: skip
    def put(self, request: Request) -> Response:
        """Register the public key of a pair that this device has made and cannot give away.

        With the device's own token, which signs. One device has one key, as long as its token
        holds; the same again changes nothing.
        """
        row, created = device_keys.register(self.actor, self.body())
        answer = {"kid": row.kid, "public_key": row.public_jwk, "since": instant(row.created_at)}
        return Response(answer, status=201 if created else 200)


class MemberList(BookView):
    """People of the caller's organization."""

    @extend_schema(
        operation_id="list_members", tags=["people"],
        responses={200: page_of(told.Member), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Everybody in the caller's organization, with the id that a token is made for."""
        return Response({"items": members(self.actor), "next": None})

    @extend_schema(
        operation_id="invite_member", tags=["people"], request=people.InvitationInput,
        responses={201: told.InvitationAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Let a person in; the link to choose a password is shown this once.

        It is mailed as well where the service mails, good once and for a week. Inviting somebody
        again who has not used it ends the former link. A token needs the scopes manage and sign.
        """
        made = people.invite(self.actor, self.body(), request.build_absolute_uri)
        return Response(_invitation(made), status=201)


class MemberDetail(BookView):
    """One member."""

    @extend_schema(
        operation_id="end_membership", tags=["people"],
        responses={204: None, **READ_OR_CONFLICT},
    )  # fmt: skip
    def delete(self, request: Request, id: str) -> Response:  # noqa: A002
        """Let a member go, with effect on the next request of every session and token.

        The last person of the office stays.
        """
        people.end(self.actor, identity(id))
        return Response(status=204)


class MemberRole(BookView):
    """A member's role."""

    @extend_schema(
        operation_id="set_member_role", tags=["people"], request=people.RoleInput,
        responses={200: told.RoleAnswer, **CREATE},
    )  # fmt: skip
    def put(self, request: Request, id: str) -> Response:  # noqa: A002
        """Give a member a role; tokens of another one end with it.

        The last person of the office keeps it. A token needs the scopes manage and sign.
        """
        return Response({"role": people.give_role(self.actor, identity(id), self.body())})


class TokenList(BookView):
    """Tokens of the caller's organization."""

    @extend_schema(
        operation_id="list_tokens", tags=["people"],
        responses={200: page_of(told.TokenLine), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """What each is for, and when it was last used."""
        items = [token_line(each, _key_of(each)) for each in reversed(tokens.every(self.actor))]
        return Response({"items": items, "next": None})

    @extend_schema(
        operation_id="make_token", tags=["people"], request=tokens.TokenInput,
        responses={201: told.TokenMade, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Make a token; its text is shown this once."""
        token, secret = tokens.issue(self.actor, self.body())
        return Response({**token_line(token), "token": secret}, status=201)


class TokenDetail(BookView):
    """One token."""

    @extend_schema(operation_id="revoke_token", tags=["people"], responses={204: None, **READ})
    def delete(self, request: Request, id: str) -> Response:  # noqa: A002
        """Revoke it, with effect on the next request."""
        tokens.revoke(self.actor, identity(id))
        return Response(status=204)


def token_line(token: Token, signs_with: str | None = None) -> dict[str, Any]:
    """A token as the API tells it, without its text; one that was made just now has no key."""
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
        "device": token.device,
        "signs_with": signs_with,
    }


def _key_of(token: Token) -> str | None:
    found = getattr(token, "device_key", None)
    return found.kid if found else None


def _invitation(made: people.Invitation) -> dict[str, Any]:
    return {
        "id": str(made.user_id),
        "username": made.username,
        "role": made.role,
        "link": made.link,
        "expires_at": instant(made.expires_at) if made.expires_at else None,
    }
