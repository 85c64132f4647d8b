"""A device that signs, made of other libraries than the service's: cryptography and rfc8785."""

import base64
import hashlib
import json
import uuid
from datetime import UTC, datetime
from typing import Any

import rfc8785
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256

from tests.records.client import Answer, Api

Document = dict[str, Any]


def b64(octets: bytes) -> str:
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode()


def digest(document: Any) -> str:
    return hashlib.sha256(rfc8785.dumps(document)).hexdigest()


class Device:
    """A key that stays here, of one of two kinds, and what it signs."""

    def __init__(self, alg: str = "Ed25519") -> None:
        self.alg = alg
        self.jwk = self._jwk()
        named = {name: self.jwk[name] for name in ("crv", "kty", "x", "y") if name in self.jwk}
        self.kid = self.thumbprint(named)
        self.jwk |= {"kid": self.kid, "use": "sig", "alg": alg}

    @staticmethod
    def thumbprint(members: dict[str, str]) -> str:
        return b64(hashlib.sha256(rfc8785.dumps(members)).digest())

    def _jwk(self) -> dict[str, str]:
        if self.alg == "Ed25519":
            self.private: Any = Ed25519PrivateKey.generate()
            x = self.private.public_key().public_bytes_raw()
            return {"kty": "OKP", "crv": "Ed25519", "x": b64(x)}
        self.private = ec.generate_private_key(ec.SECP256R1())
        point = self.private.public_key().public_numbers()
        return {"kty": "EC", "crv": "P-256", "x": b64(point.x.to_bytes(32)),
                "y": b64(point.y.to_bytes(32))}  # fmt: skip

    def jws(self, document: Any) -> str:
        """Detached, over the canonical text."""
        header = {"alg": self.alg, "kid": self.kid, "b64": False, "crit": ["b64"]}
        protected = b64(json.dumps(header).encode())
        return (
            f"{protected}..{b64(self._sign(protected.encode() + b'.' + rfc8785.dumps(document)))}"
        )

    def _sign(self, data: bytes) -> bytes:
        if self.alg == "Ed25519":
            return bytes(self.private.sign(data))
        r, s = decode_dss_signature(self.private.sign(data, ec.ECDSA(SHA256())))
        return r.to_bytes(32) + s.to_bytes(32)

    def register(self, person: Api) -> Answer:
        return person.call("PUT", "/me/key", {"public_key": self.jwk})

    def state(self, event: Document, by: Document, **changes: Any) -> Document:
        """What it shows of an event, as the service tells the event now."""
        told = {"state", "revision", "received_at", "changed_at", "catalogue", "cautions",
                "deference", "derived", "findings", "not_evaluated", "limits_changed",
                "earlier_record", "records_beside", "signatures", "snapshot", "withdrawal",
                "record"}  # fmt: skip
        shown = ("rule", "severity", "subject", "sentence")
        return {
            "form": 1,
            "meaning": "performed",
            "event": event["id"],
            "by": by,
            "key": self.kid,
            "signed_at": datetime.now(UTC).isoformat(timespec="seconds"),
            "document": digest({n: value for n, value in event.items() if n not in told}),
            "nameplates": digest(plates(event["snapshot"])),
            "catalogue": event["catalogue"],
            "limits_changed": digest(event["limits_changed"]),
            "findings": [{name: each[name] for name in shown} for each in event["findings"]],
            "attachments": [],
            "traces": [],
        } | changes

    def signed(self, statement: Document, **given: Any) -> Document:
        """The body that a signature is sent with."""
        device = {"statement": statement, "signature": self.jws(statement)}
        return {
            "id": str(uuid.uuid4()),
            "meaning": "performed",
            "digest": digest(statement),
            "device": device,
        } | given


def plates(snapshot: Document) -> Document:
    """Without what neighbours were left with."""
    left = ("settings", "duty_points")
    near = [{n: v for n, v in each.items() if n not in left} for each in snapshot["neighbours"]]
    return snapshot | {"neighbours": near}
