"""The key that a device signs with: made there, never given away; its public part is kept here."""

from collections.abc import Mapping
from typing import Any, Literal

from django.db import IntegrityError, transaction
from pydantic import Field

from calculations.inputs.base import Part, Text
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Conflict, Forbidden, Invalid
from records.models import DeviceKey, Token
from records.permissions import Actor
from records.services import audit, tokens
from records.services.reading import read_input
from records.verifier.devices import device_key
from records.verifier.telling import MALFORMED, Wrong


class PublicKey(Part):
    """A public key as a JWK (RFC 7517, RFC 8037): Ed25519, or ECDSA over P-256."""

    kty: Literal["OKP", "EC"]
    crv: Literal["Ed25519", "P-256"]
    x: Text
    y: Text | None = Field(default=None, description="Of P-256 alone.")
    alg: Literal["Ed25519", "ES256"]
    use: Literal["sig"]
    kid: Text = Field(description="Its thumbprint (RFC 7638).")


class DeviceKeyInput(Part):
    """The key that the calling device will sign with."""

    public_key: PublicKey


def register(actor: Actor, given: Mapping[str, Any]) -> tuple[DeviceKey, bool]:
    """Keep the public key of the device that calls; the same again changes nothing.

    The person proved who they are when the device's token was made, with the right to sign. One
    device, one key: another one comes with another token.
    """
    permissions.require(actor, "events.sign")
    if actor.token_id is None:
        raise Forbidden("a key is registered by the device that holds it, with its own token")
    wanted = read_input(DeviceKeyInput, given).public_key.model_dump(exclude_none=True)
    try:
        device_key(wanted)
    except (Wrong, *MALFORMED):
        raise Invalid(problems=[Problem("/public_key", "no_key", _NO_KEY)]) from None
    token = Token.objects.get(id=actor.token_id)
    row = _held(token, wanted)
    if row is not None:
        return row, False
    try:
        return _keep(actor, token, wanted), True
    except IntegrityError:
        row = _held(token, wanted)  # the same device, and quicker
        if row is None:
            raise Conflict(_TAKEN, [Problem("/public_key", "taken", _TAKEN)]) from None
        return row, False


def _held(token: Token, public: dict[str, Any]) -> DeviceKey | None:
    """The key of a device, if it has one; `Conflict` where that is another."""
    row = DeviceKey.objects.filter(token=token).first()
    if row is not None and row.public_jwk != public:
        raise Conflict(_ANOTHER, [Problem("/public_key", "taken", _ANOTHER)])
    return row


def _keep(actor: Actor, token: Token, public: dict[str, Any]) -> DeviceKey:
    with transaction.atomic():
        row = DeviceKey.objects.create(
            token=token,
            organization_id=actor.organization_id,
            user_id=actor.user_id,
            kid=public["kid"],
            public_jwk=public,
        )
    change = audit.Change(after={"signs_with": row.kid})
    audit.write(actor, "changed", tokens.about(token), change)
    return row


_NO_KEY = "expected a public key of Ed25519 or P-256 as a JWK, with its thumbprint as kid"
_ANOTHER = "this device signs with another key already: let it come in again with a new code"
_TAKEN = "this key is another device's: expected one that this device has made itself"
