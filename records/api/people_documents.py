"""What the API answers of people, and of what speaks in their name."""

from typing import Literal

from pydantic import BaseModel, Field

from records.api.documents import Instant, Person, Uuid


class Me(BaseModel):
    """Who the caller is."""

    user: Person
    organization: Person
    role: Literal["office", "technician", "client"]
    scopes: list[str]
    may: list[str] = Field(description="What this role and token cover, in one word each.")


class Member(BaseModel):
    """Somebody in an organization."""

    id: Uuid
    name: str
    role: Literal["office", "technician", "client"]
    since: Instant
    second_factor: bool = Field(description="Whether an authenticator app is set up.")
    last_sign_in_at: Instant | None = Field(description="At a browser.")


class InvitationAnswer(BaseModel):
    """Somebody who was let in."""

    id: Uuid
    username: str
    role: Literal["office", "technician", "client"]
    link: str | None = Field(
        description="To be handed over: where a password is chosen. Null for whoever has one."
    )
    expires_at: Instant | None


class RoleAnswer(BaseModel):
    """The role that a member has now."""

    role: Literal["office", "technician"]


class TokenLine(BaseModel):
    """A token without its secret."""

    id: Uuid
    name: str
    user: Uuid
    role: str
    scopes: list[str]
    prefix: str
    created_at: Instant
    expires_at: Instant
    last_used_at: Instant | None
    revoked_at: Instant | None
    device: bool = Field(description="Whether a device has enrolled with a code.")
    signs_with: str | None = Field(
        description="Fingerprint of the key that the device signs with; it holds until the token"
        " is revoked."
    )


class DeviceKey(BaseModel):
    """The key that the calling device signs with."""

    kid: str = Field(description="Thumbprint (RFC 7638).")
    public_key: dict[str, str]
    since: Instant


class TokenMade(TokenLine):
    """A token with its secret, shown this once."""

    token: str
