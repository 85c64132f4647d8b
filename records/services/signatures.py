"""Signing an event: who, when, with which meaning, over exactly which text.

`performed` covers the document, the nameplates, the catalogue's version with the limits that
were changed, the findings shown, and the files kept;
`reviewed` and `witnessed` cover that digest and the answers. Changing what is covered makes a
signature void. One that came from a device holds what was shown there besides.
"""

import hashlib
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple, get_args
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone
from pydantic import Field

from calculations.findings import SEVERITIES
from calculations.inputs.base import Id, Part, Text
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Conflict, Invalid, SameIdOtherContent
from records.models import Answer, Event, Finding, Signature
from records.models.audit import Action
from records.models.base import new_id
from records.models.event import Meaning
from records.permissions import Actor
from records.selectors import attachments, traces
from records.services import audit, device_signatures
from records.services.content import canonical
from records.services.reading import read_input
from records.services.times import instant


class SignatureInput(Part):
    """A signature with its meaning, and the digest of what the signer was shown."""

    id: Id | None = None
    meaning: Meaning
    digest: Text = Field(description="Of `to_sign`, or of the device's statement.")
    device: device_signatures.DeviceInput | None = Field(
        default=None, description="Where it was signed on a device, without signal."
    )


def digests(event: Event) -> dict[str, str]:
    """Hex digest of what a signature of each meaning would cover now."""
    performed, reviewed = (hashlib.sha256(text).hexdigest() for text in _texts(event))
    return {"performed": performed, "reviewed": reviewed, "witnessed": reviewed}


def text_to_sign(event: Event, meaning: Meaning) -> bytes:
    """The canonical text (RFC 8785) whose digest a signature of a meaning would cover now."""
    performed, reviewed = _texts(event)
    return performed if meaning == "performed" else reviewed


def _texts(event: Event) -> tuple[bytes, bytes]:
    performed = canonical(_performed(event))
    digest = hashlib.sha256(performed).hexdigest()
    return performed, canonical({"performed": digest, "answers": _answers(event)})


def to_sign(event: Event) -> dict[str, str] | None:
    """The same while it can be signed; None once it is sealed or withdrawn."""
    return digests(event) if event.state == "draft" else None


def _performed(event: Event) -> dict[str, Any]:
    found = in_order(Finding.objects.filter(event=event, present=True))
    return {
        "document": event.document,
        "snapshot": event.snapshot,
        "catalogue": event.catalogue,
        "limits_changed": event.judgement["limits_changed"],
        "findings": [finding.document for finding in found],
        "attachments": [attachments.line(each) for each in attachments.of(event)],
        "traces": [traces.line(trace) for trace in traces.of(event)],
    }


def in_order(found: Iterable[Finding]) -> list[Finding]:
    """The gravest first: the order in which findings are shown, signed and sealed."""
    return sorted(found, key=lambda f: (SEVERITIES.index(f.severity), f.rule, f.subject, f.id))


def _answers(event: Event) -> list[dict[str, Any]]:
    rows = Answer.objects.filter(event=event).select_related("finding").order_by("row")
    return [
        {
            "id": str(row.id),
            "finding": str(row.finding.id),
            "text": row.text,
            "accepted": row.accepted,
            "by": row.by_name,
        }
        for row in rows
    ]


class Choice(NamedTuple):
    """A meaning that somebody could sign with: over which digest, or why not yet."""

    meaning: Meaning
    digest: str
    refused: str


def choices(actor: Actor, event: Event) -> list[Choice]:
    """What `sign` would say to the actor about each meaning now."""
    current, signed = digests(event), valid(event)
    hindered = ((m, _hindrance(actor, m, signed)) for m in get_args(Meaning))
    return [Choice(m, current[m], why.detail if why else "") for m, why in hindered]


def sign(actor: Actor, event: Event, given: Mapping[str, Any]) -> tuple[Signature, bool]:
    """Sign what the signer was shown; the same signature again changes nothing.

    `Conflict` where that one is void by now: it would be told as if it held.
    """
    permissions.require(actor, "events.sign")
    permissions.require_presence(actor)
    wanted = read_input(SignatureInput, given)
    locked = Event.objects.select_for_update().get(row=event.row)
    existing = Signature.objects.filter(event=event, id=wanted.id).first() if wanted.id else None
    if existing is not None:
        return _repeated(actor, existing, wanted), False
    locked.refuse_unless_draft()
    current = digests(locked)
    row = _signature(actor, locked, wanted)
    if wanted.device is not None:
        row.device = device_signatures.taken(actor, locked, wanted.device, given["device"])
        _refuse_other_statement(row.device, wanted)
        row.digest = bytes.fromhex(current["performed"])
    elif wanted.digest != current[wanted.meaning]:
        # The right digest is not told: whoever repeats it must have read what it is of.
        raise Conflict(_CHANGED, [Problem("/digest", "outdated", _OUTDATED)])
    else:
        row.digest = bytes.fromhex(wanted.digest)
    hindered = _hindrance(actor, wanted.meaning, valid(locked))
    if hindered is not None:
        raise hindered
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        raise _meaning("taken", _TAKEN) from None
    write_down(actor, locked, "signed", row)
    locked.note_said(snapshot_frozen=True)
    event.snapshot_frozen = True
    return row, True


def _repeated(actor: Actor, existing: Signature, wanted: SignatureInput) -> Signature:
    read = existing.device["digest"] if existing.device else bytes(existing.digest).hex()
    same = (existing.by_id, existing.meaning, read)
    if same != (actor.user_id, wanted.meaning, wanted.digest):
        raise SameIdOtherContent()
    if existing.void_since is not None:
        raise Conflict(_VOID, [Problem("/id", "void", _VOID)])
    return existing


def _refuse_other_statement(device: Mapping[str, Any], wanted: SignatureInput) -> None:
    problems = []
    if wanted.digest != device["digest"]:
        problems.append(Problem("/digest", "other", "expected the digest of the statement"))
    if wanted.meaning != device["statement"]["meaning"]:
        problems.append(Problem("/meaning", "other", "expected the meaning that it states"))
    if problems:
        raise Invalid(problems=problems)


def _hindrance(actor: Actor, meaning: Meaning, signed: list[Signature]) -> Conflict | None:
    """Why the actor cannot sign with a meaning, of what is signed already."""
    if any((each.by_id, each.meaning) == (actor.user_id, meaning) for each in signed):
        return _meaning("taken", _TAKEN)
    if meaning == "performed":
        return None
    performers = {each.by_id for each in signed if each.meaning == "performed"}
    if not performers:
        words = "nobody has signed yet that the work was performed, which comes first"
        return _meaning("too_early", words)
    if actor.user_id in performers:
        words = "you have signed that the work was performed: expected another person for this"
        return _meaning("same_person", words)
    return None


def _meaning(code: str, words: str) -> Conflict:
    return Conflict(words, [Problem("/meaning", code, words)])


_TAKEN = "you have signed this already with this meaning"
_VOID = (
    "the signature of this id holds no longer: it was taken back, or what it covers was changed; "
    "expected a new one"
)
_CHANGED = "what stands there now is not what you would sign: read the visit again, then sign"
_OUTDATED = "expected the digest, for this meaning, of the visit as it stands now"


def _signature(actor: Actor, event: Event, wanted: SignatureInput) -> Signature:
    return Signature(
        id=UUID(wanted.id) if wanted.id else new_id(),
        event=event,
        contractor_id=event.contractor_id,
        client_id=event.client_id,
        meaning=wanted.meaning,
        by_id=actor.user_id,
        by_name=actor.name,
        by_role=actor.role,
        by_organization=actor.organization,
        at=timezone.now(),
    )


def _valid(event: Event) -> Any:
    return Signature.objects.filter(event=event, void_since=None)


def valid(event: Event) -> list[Signature]:
    """Signatures that still cover what stands there, in the order they were given."""
    return list(_valid(event).order_by("row"))


def void(signed: list[Signature]) -> None:
    """Make signatures void; they stay as rows."""
    if signed:
        rows = [each.row for each in signed]
        Signature.objects.filter(row__in=rows).update(void_since=timezone.now())


def write_down(actor: Actor, event: Event, action: Action, row: Signature) -> None:
    """Add to the audit what became of a signature, and whose it is."""
    told = {"signature": str(row.id), "meaning": row.meaning, "by": row.by_name}
    audit.write(actor, action, audit.of_event(event), audit.Change(after=told))


def void_outdated(actor: Actor, event: Event) -> None:
    """Make void what no longer covers what stands there; unsigned, the snapshot is free again."""
    signed = valid(event)
    if not signed:
        return
    current = digests(event)
    outdated = [s for s in signed if bytes(s.digest).hex() != current[s.meaning]]
    void(outdated)
    for each in outdated:
        write_down(actor, event, "signature void", each)
    frozen = len(outdated) < len(signed)
    if frozen != event.snapshot_frozen:
        Event.objects.filter(row=event.row).update(snapshot_frozen=frozen)
        event.snapshot_frozen = frozen


def signature_document(row: Signature) -> dict[str, Any]:
    """A signature as it stands in documents."""
    return {
        "id": str(row.id),
        "meaning": row.meaning,
        "digest": bytes(row.digest).hex(),
        "by": {"id": str(row.by_id), "name": row.by_name},
        "role": row.by_role,
        "organization": row.by_organization,
        "at": instant(row.at),
        **({"device": row.device} if row.device else {}),
    }
