"""Checking a record offline, as anybody may write it: no code of the service, two packages."""

import base64
import hashlib
import json
from typing import Any

import rfc8785
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

BEGIN, BESIDE = b'{"record":', b',"seal":'


class NotGenuine(Exception):
    """Why a record is not what was sealed."""


def verify(data: bytes) -> dict[str, Any]:
    """The record in a `data.json`, if every check passes; `NotGenuine` says which does not."""
    try:
        text = data[len(BEGIN) : data.rindex(BESIDE)]
        whole = json.loads(data)
        _require(list(whole) == ["record", "seal"], "not a record and its seal")
        record, seal = whole["record"], whole["seal"]
        _require(data.startswith(BEGIN), "the record does not begin where it should")
        _require(rfc8785.dumps(record) == text, "not the canonical text (RFC 8785)")
        _require(hashlib.sha256(text).hexdigest() == seal["digest"], "digest")
        _require(_thumbprint(seal["public_key"]) == seal["key"], "key id (RFC 7638)")
        _check_signature(text, seal)
        beside = json.dumps(seal, sort_keys=True, separators=(",", ":")).encode()
        _require(data == BEGIN + text + BESIDE + beside + b"}", "something was added")
    except (ValueError, KeyError, TypeError, AttributeError, InvalidSignature) as error:
        raise NotGenuine(repr(error)) from error
    found: dict[str, Any] = record
    return found


def _check_signature(text: bytes, seal: dict[str, Any]) -> None:
    """Detached JWS with unencoded payload (RFC 7797), Ed25519 (RFC 8037)."""
    protected, payload, signature = seal["signature"].split(".")
    _require(payload == "", "the signature is detached")
    header = json.loads(_decode(protected))
    expected = {"alg": "Ed25519", "kid": seal["key"], "b64": False, "crit": ["b64"]}
    _require(header == expected, "header of the signature")
    public = seal["public_key"]
    about = {name: value for name, value in public.items() if name != "x"}
    kind = {"kty": "OKP", "crv": "Ed25519", "alg": "Ed25519", "use": "sig", "kid": seal["key"]}
    _require(about == kind, "kind of key")
    _require(_encode(_decode(signature)) == signature, "encoding of the signature")
    key = Ed25519PublicKey.from_public_bytes(_decode(public["x"]))
    key.verify(_decode(signature), protected.encode() + b"." + text)


def _thumbprint(public: dict[str, str]) -> str:
    members = {name: public[name] for name in ("crv", "kty", "x")}
    text = json.dumps(members, sort_keys=True, separators=(",", ":"))
    return _encode(hashlib.sha256(text.encode()).digest())


def _decode(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def _encode(octets: bytes) -> str:
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode()


def _require(holds: bool, words: str) -> None:
    if not holds:
        raise NotGenuine(words)
