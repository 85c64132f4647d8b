"""Records, keys and bundles as design and docstring say they are, made by other libraries.

Nothing of the verifying program is used: canonical text is rfc8785's, signatures are made with
cryptography alone.
"""

import base64
import hashlib
import json
import uuid
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

Document = dict[str, Any]
SITE = "019c0000-0000-7000-8000-000000000b01"
OTHER_SITE = "019c0000-0000-7000-8000-000000000b02"
FILE = b"Settings as they were read out.\n"


def b64(octets: bytes) -> str:
    return base64.urlsafe_b64encode(octets).rstrip(b"=").decode()


def sha(octets: bytes) -> str:
    return hashlib.sha256(octets).hexdigest()


@dataclass
class SealingKey:
    """A key of a service, with the time that it seals in."""

    private: Ed25519PrivateKey = field(default_factory=Ed25519PrivateKey.generate)
    valid_from: str = "2026-01-01T00:00:00Z"
    valid_until: str | None = None
    before: "SealingKey | None" = None

    @property
    def kid(self) -> str:
        named = f'{{"crv":"Ed25519","kty":"OKP","x":"{self.x}"}}'
        return b64(hashlib.sha256(named.encode()).digest())

    @property
    def x(self) -> str:
        return b64(self.private.public_key().public_bytes_raw())

    @property
    def jwk(self) -> Document:
        return {"alg": "Ed25519", "crv": "Ed25519", "kid": self.kid, "kty": "OKP", "use": "sig",
                "x": self.x}  # fmt: skip

    def sign(self, text: bytes) -> str:
        header = {"alg": "Ed25519", "kid": self.kid, "b64": False, "crit": ["b64"]}
        protected = b64(json.dumps(header).encode())
        return f"{protected}..{b64(self.private.sign(protected.encode() + b'.' + text))}"

    def next(self, at: str) -> "SealingKey":
        """The key that this one endorses, and that seals from then on."""
        self.valid_until = at
        return SealingKey(valid_from=at, before=self)

    def published(self) -> Document:
        by = self.before and self.before.kid
        said = {"endorsed_by": by, "public_key": self.jwk, "valid_from": self.valid_from}
        endorsement = self.before.sign(rfc8785.dumps(said)) if self.before else ""
        return said | {"kid": self.kid, "algorithm": "Ed25519", "valid_until": self.valid_until,
                       "endorsement": endorsement}  # fmt: skip


def published(*keys: SealingKey) -> bytes:
    """As /api/v1/keys answers."""
    return json.dumps({"items": [key.published() for key in keys], "next": None}).encode()


def content(number: int, previous: str | None, **changed: Any) -> Document:
    """What a record says, signed by two people."""
    document: Document = {
        "algorithms": {"canonical_text": "RFC 8785", "digest": "SHA-256", "signature": "Ed25519"},
        "answers": [{"accepted": True, "at": "2026-03-14T15:00:00Z", "by": "Ilse Varn",
                     "finding": "f1", "id": "a1", "role": "office", "text": "Seen – as intended."}],
        "attachments": [{"id": "e1", "name": "settings.txt", "purpose": "settings",
                         "sha256": sha(FILE), "size": len(FILE)}],
        "client": {"id": "c", "name": "Tresk Water District"},
        "contractor": {"id": "k", "name": "Halvorn Pump Works"},
        "corrects": None,
        "event": {"id": f"e{number}", "kind": "start_up", "site": SITE,
                  "remarks": "Läuft ruhig. Ω",
                  "flow": {"value": f"{540 + number}.0", "unit": "gpm"}},
        "format": 1,
        "judgement": {"catalogue": "2026-11", "derived": [{"id": "slip", "value": "0.02"}],
                      "findings": [{"id": "f1", "rule": "motor.slip", "sentence": "≥ 2 %"}],
                      "limits_changed": []},
        "number": number,
        "previous": previous,
        "record_id": str(uuid.UUID(int=number)),
        "sealed_at": f"2026-03-{14 + number % 10:02}T16:00:00Z",
        "snapshot": {"site": {"id": SITE, "code": "B-01"}, "pump": {"tag": "P-101"}},
        "traces": [],
    }  # fmt: skip
    document |= changed
    return document | {"signatures": _signed(document)}


def digests(document: Document) -> tuple[str, str]:
    """What people sign of a document: as performed, and as reviewed."""
    judged = document["judgement"]
    performed = sha(rfc8785.dumps({
        "document": document["event"], "snapshot": document["snapshot"],
        "catalogue": judged["catalogue"], "limits_changed": judged["limits_changed"],
        "findings": judged["findings"], "attachments": document["attachments"],
        "traces": document["traces"],
    }))  # fmt: skip
    told = ("id", "finding", "text", "accepted", "by")
    answers = [{name: each[name] for name in told} for each in document["answers"]]
    return performed, sha(rfc8785.dumps({"performed": performed, "answers": answers}))


def _signed(document: Document) -> list[Document]:
    performed, reviewed = digests(document)
    return [
        {"meaning": "performed", "digest": performed, "by": {"id": "t", "name": "Tovik Harn"}},
        {"meaning": "reviewed", "digest": reviewed, "by": {"id": "o", "name": "Ilse Varn"}},
    ]


def sealed(document: Document, key: SealingKey, text: bytes | None = None) -> bytes:
    """A record's JSON, as the service hands it out."""
    text = rfc8785.dumps(document) if text is None else text
    seal = {"digest": sha(text), "key": key.kid, "public_key": key.jwk, "signature": key.sign(text)}
    beside = json.dumps(seal, sort_keys=True, separators=(",", ":")).encode()
    return b'{"record":' + text + b',"seal":' + beside + b"}"


def digest_of(data: bytes) -> str:
    return str(json.loads(data)["seal"]["digest"])


def chain(key: SealingKey, numbers: Iterable[int], **changed: Any) -> list[bytes]:
    """Records of one site, each linked to the one before."""
    found: list[bytes] = []
    for number in numbers:
        previous = digest_of(found[-1]) if found else None
        found.append(sealed(content(number, previous, **changed), key))
    return found


def head(data: bytes) -> Document:
    record = json.loads(data)["record"]
    return {"site": record["event"]["site"], "number": record["number"], "digest": digest_of(data)}


def heads(*last: bytes) -> bytes:
    return json.dumps({"heads": [head(each) for each in last]}).encode()


def members(records: list[bytes], *keys: SealingKey, **more: bytes) -> dict[str, bytes]:
    """What a bundle of one site holds, without its list."""
    found = {f"records/B-01/{number}.json": data for number, data in enumerate(records, 1)}
    found |= {f"files/{sha(FILE)}.txt": FILE, "keys.json": published(*keys)}
    return found | {"heads.json": heads(records[-1])} | more


def package(content: Mapping[str, bytes], **said: Any) -> bytes:
    """datapackage.json: every member with its size and digest."""
    resources = [
        {"path": path, "bytes": len(data), "hash": f"sha256:{sha(data)}"}
        for path, data in content.items()
    ]
    return json.dumps({"resources": resources, **said}).encode()


def bundle(path: Path, content: Mapping[str, bytes], listed: bytes | None = None) -> Path:
    """A ZIP of these, with the list last, as a stream would have it."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in content.items():
            file.writestr(name, data)
        file.writestr("datapackage.json", package(content) if listed is None else listed)
    return path
