"""The keys that seals are made and checked with (Ed25519; JWK, RFC 7517)."""

from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone
from joserfc.jwk import OKPKey

from records.errors import NoSigningKey
from records.models import SigningKey


def signing_key() -> OKPKey:
    """The private key that this service seals with; `NoSigningKey` without one."""
    path = Path(settings.SIGNING_KEY_FILE)
    try:
        return _load(path, path.stat().st_mtime_ns)
    except OSError as error:
        raise NoSigningKey() from error


@cache
def _load(path: Path, changed: int) -> OKPKey:
    return OKPKey.import_key(path.read_bytes())


def key_id(key: OKPKey) -> str:
    """Thumbprint of a key (RFC 7638), which names it."""
    return key.thumbprint()


def public_jwk(key: OKPKey) -> dict[str, Any]:
    """What everybody may know of a key."""
    return {**key.as_dict(private=False), "alg": "Ed25519", "use": "sig", "kid": key_id(key)}


def register(key: OKPKey, using: str = "default") -> tuple[SigningKey, bool]:
    """Make a key known, so that its seals can be checked; returns it, and whether it is new."""
    return SigningKey.objects.using(using).get_or_create(
        kid=key_id(key),
        defaults={"public_jwk": public_jwk(key), "valid_from": timezone.now()},
    )


def known(key: OKPKey) -> SigningKey:
    """The row of the key that is sealed with; `NoSigningKey` if it was never registered."""
    row = SigningKey.objects.filter(kid=key_id(key)).first()
    if row is None:
        raise NoSigningKey("the signing key is not registered: run manage.py register_signing_key")
    return row
