"""What came signed from a device: by whose key, over what it showed, and whether that stands."""

from collections.abc import Iterable, Mapping
from typing import Any, Literal

from cryptography.exceptions import InvalidSignature
from django.utils import timezone
from pydantic import Field

from calculations.findings import Severity
from calculations.inputs.base import Id, Moment, Part, Text
from calculations.inputs.reading import InvalidDocument, Problem, read
from calculations.statements import digest
from records.errors import Conflict, Invalid
from records.models import DeviceKey, Event, Signature
from records.permissions import Actor
from records.selectors import attachments, traces
from records.services.event_checks import DEVICE_TOLERANCE
from records.services.times import instant
from records.verifier.devices import check_statement, differing, unseen
from records.verifier.telling import MALFORMED, Wrong

MOST_FINDINGS = 1000


class Signer(Part):
    """Who signs."""

    id: Id
    name: Text


class ShownFinding(Part):
    """A finding as it stood on the screen."""

    rule: Text
    severity: Severity
    subject: Text
    sentence: Text


class StatedFile(Part):
    """A file that goes with the visit."""

    id: Id
    sha256: Text = Field(description="Hex, of the bytes as they are sent.")


class Statement(Part):
    """What a technician signs on a device: exactly what it shows."""

    form: Literal[1]
    meaning: Literal["performed"]
    event: Id
    by: Signer
    key: Text = Field(description="Thumbprint of the device's key.")
    signed_at: Moment = Field(description="By the device's own clock.")
    document: Text = Field(description="Hex SHA-256 of the canonical text (RFC 8785).")
    nameplates: Text = Field(
        description="The same of the snapshot, without `settings` and `duty_points` of neighbours."
    )
    catalogue: Text
    limits_changed: Text = Field(description="The same of the limits that were changed.")
    findings: list[ShownFinding] = Field(max_length=MOST_FINDINGS)
    attachments: list[StatedFile] = Field(max_length=MOST_FINDINGS)
    traces: list[Id] = Field(max_length=MOST_FINDINGS)


class DeviceInput(Part):
    """A statement, signed by a device's key."""

    statement: Statement
    signature: Text = Field(
        description="Detached JWS (RFC 7797) over the statement's canonical text (RFC 8785)."
    )


def taken(actor: Actor, event: Event, device: DeviceInput, given: Mapping[str, Any]) -> Any:
    """What is kept of a device's signature of a locked draft.

    `Invalid` where it is not genuine; `Conflict` where its key is not good for the actor, or what
    was signed is not what stands there: each member that differs is named. `given` is what
    `device` was read from: its own signs were signed.
    """
    stated, statement = device.statement, given["statement"]
    key = _key(actor, stated.key)
    try:
        check_statement(statement, device.signature, key.public_jwk)
    except (Wrong, InvalidSignature, *MALFORMED):
        raise Invalid(problems=[Problem(_AT + "signature", "forged", _FORGED)]) from None
    _refuse_time(stated.signed_at, key)
    problems = [
        Problem(f"{_AT}statement/{name}", "outdated", f"{words}: there it stands otherwise")
        for name, words in differing(statement, _as_recorded(event), str(actor.user_id))
    ]
    if problems:
        raise Conflict(_CHANGED, problems)
    return {
        "statement": statement,
        "digest": digest(statement),
        "signature": device.signature,
        "public_key": key.public_jwk,
        "key_since": instant(key.created_at),
    }


def problems_of(held: Any) -> list[Problem]:
    """What of a column is not as `taken` keeps it; whose the key is, nothing proves."""
    if not isinstance(held, dict) or set(held) != _KEPT:
        return [Problem("/device", "object", f"expected an object of {', '.join(sorted(_KEPT))}")]
    try:
        read(DeviceInput, {name: held[name] for name in DeviceInput.model_fields}, "/device")
        check_statement(held["statement"], held["signature"], held["public_key"])
        Moment.read(held["key_since"])
    except InvalidDocument as error:
        return list(error.problems)
    except (Wrong, InvalidSignature):
        return [Problem("/device/signature", "forged", _FORGED)]
    except MALFORMED as error:
        return [Problem("/device", "unreadable", f"key or time cannot be read: {error}")]
    if held["digest"] != digest(held["statement"]):
        return [Problem("/device/digest", "differs", "expected that of the statement")]
    return []


_KEPT = {"statement", "digest", "signature", "public_key", "key_since"}
_AT = "/device/"


def _key(actor: Actor, kid: str) -> DeviceKey:
    rows = DeviceKey.objects.filter(
        organization_id=actor.organization_id, user_id=actor.user_id, kid=kid
    )
    key = rows.select_related("token").first()
    if key is None:
        raise Conflict(_UNKNOWN, [Problem(_AT + "statement/key", "unknown_key", _UNKNOWN)])
    if key.token.revoked_at is not None:
        raise Conflict(_REVOKED, [Problem(_AT + "statement/key", "revoked", _REVOKED)])
    return key


def _refuse_time(signed: Moment, key: DeviceKey) -> None:
    """A device's clock may be wrong by so much; what it signed lies in its key's time."""
    late = signed.at > timezone.now() + DEVICE_TOLERANCE
    if late or signed.at < key.created_at - DEVICE_TOLERANCE:
        words = f"expected a time between {instant(key.created_at)}, when the key came, and now"
        raise Invalid(problems=[Problem(_AT + "statement/signed_at", "out_of_range", words)])


def _as_recorded(event: Event) -> dict[str, Any]:
    """The event as far as a statement speaks of it, in the form of a record."""
    return {
        "event": event.document,
        "snapshot": event.snapshot,
        "judgement": event.judgement,
        "attachments": [attachments.line(each) for each in attachments.of(event)],
        "traces": [traces.line(each) for each in traces.of(event)],
    }


def found_later(
    performed: list[Signature], found: Iterable[Mapping[str, Any]]
) -> list[Mapping[str, Any]]:
    """Findings that were shown to nobody who performed the work: all had signed on a device."""
    late = list(found) if performed else []
    for each in performed:
        late = unseen(each.device["statement"], late) if each.device else []
    return late


_FORGED = "the signature is not by this key over this statement"
_UNKNOWN = "no device of yours has registered this key"
_REVOKED = "the device that signed was revoked before this came: sign it on another one"
_CHANGED = "what stands there now is not what was signed on the device: look at both, sign again"
