"""Where a part of a list begins, as text that tells its caller nothing.

Rows are numbered through the whole book: a number, or the distance of two of them, would tell how
much others write. So it is encrypted, for one list of one organization (AES-SIV, RFC 5297): the
same place is the same text, and a text that was not made here opens nothing.
"""

import hashlib
from base64 import urlsafe_b64decode, urlsafe_b64encode
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESSIV
from django.conf import settings

_BYTES = 8  # of a row's number
_TAG = 16
_BEGINNING = datetime(1970, 1, 1, tzinfo=UTC)


def written(row: int, whose: str) -> str:
    """The text for a row's number (0 to 2⁶³ - 1), for `whose` list."""
    return hidden(row.to_bytes(_BYTES), whose)


def read(text: str, whose: str) -> int | None:
    """The row's number; None for what was not written for this list."""
    opened = shown(text, whose)
    return int.from_bytes(opened) if opened is not None and len(opened) == _BYTES else None


def written_at(at: datetime, row: int, whose: str) -> str:
    """The text for a row of a list by time."""
    since = (at - _BEGINNING) // timedelta(microseconds=1)
    return hidden(since.to_bytes(_BYTES, signed=True) + row.to_bytes(_BYTES), whose)


def read_at(text: str, whose: str) -> tuple[datetime, int] | None:
    """The row's time and number; None for what was not written for this list."""
    opened = shown(text, whose)
    if opened is None or len(opened) != 2 * _BYTES:
        return None
    since = timedelta(microseconds=int.from_bytes(opened[:_BYTES], signed=True))
    return _BEGINNING + since, int.from_bytes(opened[_BYTES:])


def hidden(place: bytes, whose: str) -> str:
    """The text for a place in `whose` list that is no row's number."""
    sealed = _cipher(settings.SECRET_KEY).encrypt(place, [whose.encode()])
    return urlsafe_b64encode(sealed).decode()


def shown(text: str, whose: str) -> bytes | None:
    """The place; None for what was not hidden for this list."""
    try:
        sealed = urlsafe_b64decode(text.encode("ascii"))
    except ValueError:
        return None
    if len(sealed) <= _TAG:
        return None
    try:
        return _cipher(settings.SECRET_KEY).decrypt(sealed, [whose.encode()])
    except InvalidTag:
        return None


@lru_cache(maxsize=2)
def _cipher(secret: str) -> AESSIV:
    return AESSIV(hashlib.sha512(b"records.api.cursors" + secret.encode()).digest())
