"""The keys that seals are made and checked with (Ed25519; JWK, RFC 7517), one after the other.

A key seals from `valid_from` to `valid_until`, both whole seconds and both included. The next one
is endorsed by it, and its first second is the last one of the key before.
"""

from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from joserfc import jws
from joserfc.errors import JoseError
from joserfc.jwk import OKPKey

from records.errors import Conflict, NoSigningKey
from records.models import Record, SigningKey
from records.services.content import canonical
from records.services.times import instant


def signing_key() -> OKPKey:
    """The private key that this service seals with; `NoSigningKey` without one."""
    path = Path(settings.SIGNING_KEY_FILE)
    try:
        return _load(path, path.stat().st_mtime_ns)
    except (OSError, ValueError, JoseError) as error:
        raise NoSigningKey() from error


@lru_cache(maxsize=1)  # a key that was exchanged does not stay in memory
def _load(path: Path, changed: int) -> OKPKey:
    return OKPKey.import_key(path.read_bytes())


def key_id(key: OKPKey) -> str:
    """Thumbprint of a key (RFC 7638), which names it."""
    return key.thumbprint()


def public_jwk(key: OKPKey) -> dict[str, Any]:
    """What everybody may know of a key."""
    return {**key.as_dict(private=False), "alg": "Ed25519", "use": "sig", "kid": key_id(key)}


def sign(text: bytes, key: OKPKey) -> str:
    """Detached JWS over a text as it stands (RFC 7797)."""
    header = {"alg": "Ed25519", "kid": key_id(key), "b64": False, "crit": ["b64"]}
    return jws.serialize_compact(header, text, key, algorithms=["Ed25519"])


def register(
    key: OKPKey, using: str = "default", *, last_is_lost: bool = False
) -> tuple[SigningKey, bool]:
    """Make a key known, so that its seals can be checked; returns it, and whether it is new.

    A key after the first is `rotate`d in, unless the one before is lost and cannot endorse it:
    then whoever checks a record has to be given its fingerprint anew. Else `Conflict`.
    """
    with transaction.atomic(using=using):
        rows = SigningKey.objects.using(using)
        known = rows.filter(kid=key_id(key)).first()
        if known is not None:
            _refuse_of_another_service(known)
            return known, False
        own = rows.filter(origin="").select_for_update()
        last = own.order_by("valid_from", "created_at").last()
        if last is not None and not last_is_lost:
            raise Conflict(f"there is a key already, {last.kid}: let that one endorse this one")
        start = _this_second() if last is None else _last_second(last, using)
        row = rows.create(kid=key_id(key), public_jwk=public_jwk(key), valid_from=start)
        if last is not None and last.valid_until is None:
            _end(last, start, using)
        return row, True


def rotate(old: OKPKey, new: OKPKey, using: str = "default") -> SigningKey:
    """Let a new key seal in place of `old`, which endorses it and seals no more.

    The same again changes nothing. `Conflict` where `old` seals no more already, `NoSigningKey`
    where it was never registered.
    """
    with transaction.atomic(using=using):
        rows = SigningKey.objects.using(using)
        # Waits for seals under way, which hold this row (a trigger sees to it).
        last = rows.select_for_update().filter(kid=key_id(old)).first()
        if last is None:
            raise NoSigningKey(
                "the signing key is not registered: run manage.py register_signing_key"
            )
        _refuse_of_another_service(last)
        done = rows.filter(kid=key_id(new)).first()
        if done is not None and done.endorsed_by_id == last.kid:
            return done
        if done is not None or last.valid_until is not None:
            raise Conflict(f"{(done or last).kid} was exchanged for another already")
        start = _last_second(last, using)
        row = rows.create(
            kid=key_id(new),
            public_jwk=public_jwk(new),
            valid_from=start,
            endorsed_by=last,
            endorsement=sign(endorsed(last.kid, public_jwk(new), start), old),
        )
        _end(last, start, using)
        return row


def endorsed(by: str, public: dict[str, Any], valid_from: datetime) -> bytes:
    """What an endorsement signs: canonical text (RFC 8785) that `/keys` has every part of."""
    return canonical({"endorsed_by": by, "public_key": public, "valid_from": instant(valid_from)})


def _refuse_of_another_service(key: SigningKey) -> None:
    """What it sealed came with a client's book; who has it is not known here."""
    if key.origin:
        raise Conflict(_ELSEWHERE.format(kid=key.kid, origin=key.origin))


def _this_second() -> datetime:
    return timezone.now().replace(microsecond=0)


def _last_second(key: SigningKey, using: str) -> datetime:
    """The last second of a key: now, or that of its last seal where a clock ran ahead."""
    sealed = Record.objects.using(using).filter(key=key).aggregate(last=Max("sealed_at"))["last"]
    return max(each for each in (_this_second(), key.valid_from, sealed) if each is not None)


def _end(key: SigningKey, at: datetime, using: str) -> None:
    SigningKey.objects.using(using).filter(kid=key.kid).update(valid_until=at)


def known(key: OKPKey, at: datetime) -> SigningKey:
    """The row of the key that is sealed with; `NoSigningKey` unless it is valid at that time."""
    row = SigningKey.objects.filter(kid=key_id(key)).first()
    if row is None:
        raise NoSigningKey("the signing key is not registered: run manage.py register_signing_key")
    if row.origin:
        raise NoSigningKey(_ELSEWHERE.format(kid=row.kid, origin=row.origin))
    if row.valid_until is not None and row.valid_until < at:
        raise NoSigningKey(_RETIRED.format(kid=row.kid, until=instant(row.valid_until)))
    if at < row.valid_from:
        raise NoSigningKey(f"the signing key {row.kid} is valid from {instant(row.valid_from)} on")
    return row


_RETIRED = (
    "the signing key {kid} seals no more since {until}: this process has to be given the one that"
    " was made in its place (SIGNING_KEY_FILE)"
)
_ELSEWHERE = (
    "the signing key {kid} is another service's ({origin}), taken in with a client's book: make one"
    " of your own"
)
