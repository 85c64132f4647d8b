"""The public keys that seals are checked with, as they are told."""

from collections.abc import Iterable
from typing import Any

from records.models import SigningKey
from records.services.times import instant


def document() -> dict[str, Any]:
    """Every key that a seal was ever made with, in their order."""
    return document_of(SigningKey.objects.order_by("valid_from", "kid"))


def document_of(rows: Iterable[SigningKey]) -> dict[str, Any]:
    """Some of them, in the same form."""
    return {"items": [_line(row) for row in rows], "next": None}


def _line(row: SigningKey) -> dict[str, Any]:
    return {
        "kid": row.kid,
        "algorithm": row.algorithm,
        "public_key": row.public_jwk,
        "valid_from": instant(row.valid_from),
        "valid_until": instant(row.valid_until) if row.valid_until else None,
        "endorsed_by": row.endorsed_by_id,
        "endorsement": row.endorsement,
        "origin": row.origin or None,
    }
