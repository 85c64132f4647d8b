"""Keys of another service that come with a book: what it sealed is checked with them."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any

from records.models import SigningKey
from records.services.times import instant


class Coming:
    """The keys of a file, as `/keys` tells them, beside those that are known here."""

    def __init__(self, told: Sequence[dict[str, Any]], using: str) -> None:
        """Nothing is written yet."""
        self.told, self.rows = told, SigningKey.objects.using(using)

    def conflicts(self) -> Iterator[str]:
        """Keys that are known here, and otherwise."""
        for told in self.told:
            known = self.rows.filter(kid=told["kid"]).first()
            if known is not None and (differs := _differs(known, told)):
                yield f"keys: {told['kid']} has another {differs} here"

    def unasked(self, sealing: Iterable[str]) -> Iterator[str]:
        """Keys that nothing of the file was sealed with, nor endorsed for: they would stay here.

        `sealing`: fingerprints of the keys that the file's records were sealed with.
        """
        before = {each["kid"]: each["endorsed_by"] for each in self.told}
        wanted: set[str] = set()
        for kid in sealing:
            while kid in before and kid not in wanted:
                wanted.add(kid)
                kid = before[kid]
        for kid, by in before.items():
            if kid not in wanted:
                yield f"keys: {kid} sealed no record of the file, nor endorsed a key that did"
            if by is not None and by not in before:
                yield f"keys: {kid} names {by} as the key before it, which is not in the file"

    def write(self, service: str) -> None:
        """Each after the one that endorsed it; a key that has ended since then ends here, too."""
        for told in sorted(self.told, key=lambda each: datetime.fromisoformat(each["valid_from"])):
            known = self.rows.filter(kid=told["kid"]).first()
            if known is None:
                self.rows.create(**_columns(told), origin=told.get("origin") or service)
            elif known.origin and known.valid_until is None and told["valid_until"]:
                end = datetime.fromisoformat(told["valid_until"])
                self.rows.filter(kid=known.kid).update(valid_until=end)


def _columns(told: dict[str, Any]) -> dict[str, Any]:
    until = told["valid_until"]
    return {
        "kid": told["kid"],
        "public_jwk": told["public_key"],
        "algorithm": told["algorithm"],
        "valid_from": datetime.fromisoformat(told["valid_from"]),
        "valid_until": datetime.fromisoformat(until) if until else None,
        "endorsed_by_id": told["endorsed_by"],
        "endorsement": told["endorsement"],
    }


def _differs(known: SigningKey, told: dict[str, Any]) -> str:
    """What is told otherwise; an end that only one side knows is none."""
    here = {
        "public_key": known.public_jwk,
        "valid_from": instant(known.valid_from),
        "endorsed_by": known.endorsed_by_id,
        "endorsement": known.endorsement,
        "valid_until": instant(known.valid_until) if known.valid_until else told["valid_until"],
    }
    there = {**told, "valid_until": told["valid_until"] or here["valid_until"]}
    return next((name for name, value in here.items() if there[name] != value), "")
