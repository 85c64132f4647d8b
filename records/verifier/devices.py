"""What people signed on a device, with a key that the device cannot give away."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256

from records.verifier.canonical import canonical
from records.verifier.keys import check_jws, loaded, moment, octets, require_key
from records.verifier.telling import MALFORMED, Wrong, shown

ED25519, ES256 = "Ed25519", "ES256"
_HALF = 32  # bytes of each number of a P-256 key or signature
_SHOWN = ("rule", "severity", "subject", "sentence")
_LEFT = ("settings", "duty_points")
Write = Callable[[Any], str]


class _P256(NamedTuple):
    """Checks ECDSA over P-256 as a JWS holds it (RFC 7518): both numbers, one after the other."""

    public: ec.EllipticCurvePublicKey

    def verify(self, signature: bytes, data: bytes) -> None:
        """`InvalidSignature` unless it is genuine."""
        if len(signature) != 2 * _HALF:
            raise InvalidSignature
        r, s = (int.from_bytes(each) for each in (signature[:_HALF], signature[_HALF:]))
        self.public.verify(encode_dss_signature(r, s), data, ec.ECDSA(SHA256()))


def device_key(public: Mapping[str, str]) -> Any:
    """What checks signatures of a device's key (JWK); `Wrong` where it is none of its two kinds."""
    kid = public["kid"]
    if public.get("alg") != ES256:
        require_key(kid, dict(public))
        return loaded(public["x"])
    kind = {"alg": ES256, "crv": "P-256", "kid": kid, "kty": "EC", "use": "sig"}
    if {name: value for name, value in public.items() if name not in ("x", "y")} != kind:
        raise Wrong("the device's public key is neither of Ed25519 nor of P-256")
    named = canonical({name: public[name] for name in ("crv", "kty", "x", "y")})
    if octets(kid) != hashlib.sha256(named.encode()).digest():
        raise Wrong("the device's public key has another fingerprint (RFC 7638)")
    point = [octets(public[name]) for name in ("x", "y")]
    if any(len(each) != _HALF for each in point):
        raise Wrong("the device's public key is no point of P-256")
    found = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), b"\4" + b"".join(point))
    return _P256(found)


def check_statement(statement: Mapping[str, Any], jws: str, public: Mapping[str, str]) -> None:
    """`Wrong` or `InvalidSignature` unless a device's key signed exactly this statement."""
    if statement["key"] != public["kid"]:
        raise Wrong("its statement names another key than the one that is beside it")
    text = canonical(statement).encode()
    algorithm = ES256 if public.get("alg") == ES256 else ED25519
    check_jws(jws, text, public["kid"], device_key(public), algorithm)


def differing(
    statement: Mapping[str, Any], record: Mapping[str, Any], by: str, write: Write = canonical
) -> Iterator[tuple[str, str]]:
    """Members of a statement that say otherwise than an event does, each with what that is."""
    judged = record["judgement"]
    files = [(each["id"], each["sent_sha256"]) for each in record["attachments"]]
    now = {
        "form": 1,
        "meaning": "performed",
        "event": record["event"]["id"],
        "by": by,
        "document": _digest(write(record["event"])),
        "nameplates": _digest(write(_nameplates(record["snapshot"]))),
        "catalogue": judged["catalogue"],
        "limits_changed": _digest(write(judged["limits_changed"])),
        "attachments": sorted(files),
        "traces": sorted(each["id"] for each in record["traces"]),
    }
    said = {
        **statement,
        "by": statement["by"]["id"],
        "attachments": sorted((each["id"], each["sha256"]) for each in statement["attachments"]),
        "traces": sorted(statement["traces"]),
    }
    for name, value in now.items():
        if said[name] != value:
            yield name, _WORDS[name]


_WORDS = {
    "form": "a form of statement that this program knows",
    "meaning": "the meaning",
    "event": "the visit",
    "by": "the person",
    "document": "what was entered",
    "nameplates": "the nameplates",
    "catalogue": "the catalogue of rules",
    "limits_changed": "the client's limits",
    "attachments": "the attached files",
    "traces": "the recorded traces",
}


def unseen(
    statement: Mapping[str, Any], findings: Iterable[Mapping[str, Any]]
) -> list[Mapping[str, Any]]:
    """Findings that stood on no screen when the statement was signed."""
    seen = [_as_shown(each) for each in statement["findings"]]
    return [each for each in findings if _as_shown(each) not in seen]


def _as_shown(finding: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(finding[name] for name in _SHOWN)


def _nameplates(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """What neighbours were left with changes from visit to visit, and is on no plate."""
    plates = dict(snapshot)
    if "neighbours" in plates:
        plates["neighbours"] = [
            {name: value for name, value in each.items() if name not in _LEFT}
            for each in plates["neighbours"]
        ]
    return plates


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def check_devices(
    record: Mapping[str, Any], write: Write
) -> tuple[list[tuple[str, str]], list[str]]:
    """Keys of a record that signed on a device, each with its person; and what is wrong."""
    signers, wrong = list[tuple[str, str]](), list[str]()
    performed = [each for each in record["signatures"] if each["meaning"] == "performed"]
    for each in record["signatures"]:
        if "device" not in each:
            continue
        device, who = each["device"], shown(each["by"]["name"])
        try:
            statement, public = device["statement"], device["public_key"]
            check_statement(statement, device["signature"], public)
            if _digest(canonical(statement)) != device["digest"]:
                wrong.append(f"what {who} signed on a device has another digest")
            if moment(device["key_since"]) > moment(each["at"]):
                wrong.append(f"the key of {who}'s device was not known when its signature came")
            found = [words for _, words in differing(statement, record, each["by"]["id"], write)]
            if found:
                wrong.append(f"what {who} signed on a device is not this: {', '.join(found)}")
            signers.append((public["kid"], each["by"]["id"]))
        except InvalidSignature:
            wrong.append(f"the signature of {who}'s device is not of this statement and key")
        except Wrong as error:
            wrong.append(f"what {who} signed on a device: {error}")
        except MALFORMED:
            wrong.append(f"what {who} signed on a device cannot be read")
    if performed and all("device" in each for each in performed) and not wrong:
        wrong += _unanswered(record, [each["device"]["statement"] for each in performed])
    return signers, wrong


def _unanswered(record: Mapping[str, Any], statements: list[Mapping[str, Any]]) -> list[str]:
    """What came to light after the last look at a device wants somebody's answer."""
    late = list(record["judgement"]["findings"])
    for statement in statements:
        late = unseen(statement, late)
    answered = {each["finding"] for each in record["answers"]}
    return [
        f"{shown(each['rule'])} was found after it was signed on a device, and nobody answered it"
        for each in late
        if each["id"] not in answered
    ]
