"""Keys, which of them are trusted, and what they sign."""

import base64
import hashlib
import json
from datetime import datetime
from functools import cache
from typing import Any, NamedTuple

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from records.verifier.canonical import canonical
from records.verifier.telling import MALFORMED, Told, Unusable, Wrong, shown, why

# Ed25519's field, and the y of its eight points of small order (RFC 8032, 5.1): with one of them
# as a key, a signature that anybody writes down passes for many texts, or for all.
_FIELD = 2**255 - 19
_OF_ORDER_8 = 0x7A03AC9277FDC74EC6CC392CFA53202A0F67100D760B3CBA4FD84D3D706A17C7
_SMALL = {0, 1, _FIELD - 1, _OF_ORDER_8, _FIELD - _OF_ORDER_8}


class Key(NamedTuple):
    """A public key, and the seconds in which it sealed."""

    public: dict[str, str]
    first: datetime | None
    last: datetime | None
    by: str | None

    @property
    def check(self) -> Ed25519PublicKey:
        """What checks signatures; it does not go from one process to another."""
        return loaded(self.public["x"])


def octets(text: str) -> bytes:
    """What base64url says (RFC 7515); `Wrong` where it is written in another way than one."""
    found = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
    if base64.urlsafe_b64encode(found).rstrip(b"=").decode() != text:
        raise Wrong("base64url is written in another way than usual")
    return found


@cache
def loaded(octets_: str) -> Ed25519PublicKey:
    """The key of which a JWK holds these octets; `Wrong` where it is one that proves nothing."""
    found = octets(octets_)
    if int.from_bytes(found, "little") % 2**255 % _FIELD in _SMALL:
        raise Wrong("the public key is one for which anybody can write signatures")
    return Ed25519PublicKey.from_public_bytes(found)


def require_key(kid: str, public: dict[str, str]) -> None:
    """`Wrong` unless a JWK is a key of the kind that is used here and has this thumbprint."""
    kind = {"alg": "Ed25519", "crv": "Ed25519", "kid": kid, "kty": "OKP", "use": "sig"}
    if {name: value for name, value in public.items() if name != "x"} != kind:
        raise Wrong("the public key is not an Ed25519 key of this fingerprint")
    named = canonical({name: public[name] for name in ("crv", "kty", "x")})
    if octets(kid) != hashlib.sha256(named.encode()).digest():
        raise Wrong("the public key has another fingerprint (RFC 7638)")
    loaded(public["x"])


def check_jws(jws: str, text: bytes, kid: str, key: Any, alg: str = "Ed25519") -> None:
    """A detached JWS with its payload as it stands (RFC 7797); `Wrong` unless it is genuine."""
    protected, payload, signature = jws.split(".")
    expected = {"alg": alg, "kid": kid, "b64": False, "crit": ["b64"]}
    if payload or json.loads(octets(protected)) != expected:
        raise Wrong("the signature's header is not one of this key")
    key.verify(octets(signature), protected.encode() + b"." + text)


def moment(text: str) -> datetime:
    """A time of a document, which says its offset."""
    found = datetime.fromisoformat(text)
    if found.tzinfo is None:
        raise ValueError(f"{text} is no time with an offset")
    return found


class Keys:
    """The keys given, and which of them are trusted: those to begin with, and whom they endorse."""

    def __init__(self, told: Told) -> None:
        self.told, self.known, self.given = told, dict[str, Key](), list[dict[str, Any]]()
        self.trusted: set[str] = set()

    def take(self, content: bytes, where: str) -> list[str]:
        """Read a list of keys; their fingerprints, in its order."""
        try:
            document = json.loads(content)
            if document.get("next"):
                raise Wrong("it is one page of several: the rest is missing")
            found = [self._take(each) for each in document["items"]]
        except Wrong as error:
            raise Unusable(f"{where}: {error}") from None
        except MALFORMED as error:
            raise Unusable(f"{where} is no list of keys: {why(error)}") from None
        if not found:
            raise Unusable(f"{where} has no key")
        return found

    def _take(self, each: dict[str, Any]) -> str:
        kid = each["kid"]
        require_key(kid, each["public_key"])
        first, until, by = moment(each["valid_from"]), each["valid_until"], each["endorsed_by"]
        last = None if until is None else moment(until)
        if not isinstance(by, str | None):
            raise ValueError("endorsed_by is no fingerprint")
        key = Key(each["public_key"], first, last, by)
        before = self.known.get(kid)
        if before and (before.first, before.by) != (first, key.by):
            raise Wrong(f"key {kid} is told otherwise than in the other list")
        if before and before.last and (last is None or before.last < last):
            key = before
        self.known[kid] = key
        self.given.append(each)
        return str(kid)

    def take_one(self, kid: str, public: dict[str, str]) -> None:
        """The key that a seal brings along, of a fingerprint that is trusted."""
        require_key(kid, public)
        self.known[kid] = Key(public, None, None, None)

    def trust(self, roots: list[str]) -> None:
        """Trust these, and all that were endorsed from them on; each ends where the next begins."""
        follows: dict[str, str] = {}
        for each in self.given:
            kid, by = each["kid"], each["endorsed_by"]
            if by is None or follows.get(by) == kid or not self._is_endorsed(each):
                continue
            if by in follows:
                self.told.fail(f"key {by}", f"it endorses two keys: {follows[by]} and {kid}")
            follows[by] = kid
            begins, key = self.known[kid].first, self.known[by]
            if begins and (key.last is None or begins < key.last):
                self.known[by] = key._replace(last=begins)
        for root in roots:
            while root not in self.trusted:
                self.trusted.add(root)
                root = follows.get(root, root)

    def _is_endorsed(self, each: dict[str, Any]) -> bool:
        kid, by = each["kid"], each["endorsed_by"]
        if by not in self.known:
            self.told.leave(f"endorsement of key {kid}: the key before it is not given")
            return False
        said = {name: each[name] for name in ("endorsed_by", "public_key", "valid_from")}
        try:
            check_jws(each["endorsement"], canonical(said).encode(), by, self.known[by].check)
        except (*MALFORMED, Wrong, InvalidSignature):
            self.told.fail(f"key {kid}", f"it is not endorsed by {by}, which it names")
            return False
        self.told.did("endorsements of keys")
        return True

    def of(self, seal: dict[str, Any], sealed_at: str) -> Key:
        """The trusted key that a seal names; `Wrong` if it is another, or was not valid then."""
        kid = seal["key"]
        if not self.given and kid in self.trusted and kid not in self.known:
            self.take_one(kid, seal["public_key"])
            self.told.leave(f"from when to when key {kid} was valid (give --keys)")
        if kid not in self.known:
            raise Wrong(
                f"it is sealed with key {shown(kid)}, which is none of those given:"
                " another service's, or newer than your list of keys"
            )
        if kid not in self.trusted:
            raise Wrong(
                f"it is sealed with key {kid}, which is not trusted: it was not endorsed"
                " from a key that you trust. Compare its fingerprint with paper"
            )
        key = self.known[kid]
        if seal["public_key"] != key.public:
            raise Wrong("the public key in its seal is another than that of this fingerprint")
        at = moment(sealed_at)
        if (key.first and at < key.first.replace(microsecond=0)) or (key.last and at > key.last):
            raise Wrong(f"it says that it was sealed at {sealed_at}, when key {kid} was not valid")
        return key
