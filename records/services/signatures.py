"""Signing an event: who, when, with which meaning, over exactly which text.

`performed` covers the document, the nameplates, the catalogue's version with the limits that
were changed, the findings shown, and the files kept;
`reviewed` and `witnessed` cover that digest and the answers. Changing what is covered makes a
signature void.
"""

from collections.abc import Iterable, Mapping
from typing import Any, Literal
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from calculations.findings import SEVERITIES
from calculations.inputs.base import Id, Part, Text
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Conflict, SameIdOtherContent
from records.models import Answer, Event, Finding, Signature
from records.models.audit import Action
from records.models.base import new_id
from records.permissions import Actor
from records.selectors import attachments, traces
from records.services import audit
from records.services.content import digest_of
from records.services.reading import read_input
from records.services.times import instant


class SignatureInput(Part):
    """A signature with its meaning, and the digest of what the signer was shown."""

    id: Id | None = None
    meaning: Literal["performed", "reviewed", "witnessed"]
    digest: Text


def digests(event: Event) -> dict[str, str]:
    """Hex digest of what a signature of each meaning would cover now."""
    performed = digest_of(_performed(event)).hex()
    reviewed = digest_of({"performed": performed, "answers": _answers(event)}).hex()
    return {"performed": performed, "reviewed": reviewed, "witnessed": reviewed}


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


def sign(actor: Actor, event: Event, given: Mapping[str, Any]) -> tuple[Signature, bool]:
    """Sign what the signer was shown; the same signature again changes nothing."""
    permissions.require(actor, "events.sign")
    permissions.require_presence(actor)
    wanted = read_input(SignatureInput, given)
    locked = Event.objects.select_for_update().get(row=event.row)
    existing = Signature.objects.filter(event=event, id=wanted.id).first() if wanted.id else None
    if existing is not None:
        return _repeated(actor, existing, wanted), False
    locked.refuse_unless_draft()
    current = digests(locked)
    _refuse(actor, locked, wanted, current)
    row = _signature(actor, locked, wanted)
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        raise _meaning("taken", "you have signed this already with this meaning") from None
    write_down(actor, locked, "signed", row)
    locked.note_said(snapshot_frozen=True)
    event.snapshot_frozen = True
    return row, True


def _repeated(actor: Actor, existing: Signature, wanted: SignatureInput) -> Signature:
    same = (existing.by_id, existing.meaning, bytes(existing.digest).hex())
    if same != (actor.user_id, wanted.meaning, wanted.digest):
        raise SameIdOtherContent()
    return existing


def _refuse(actor: Actor, event: Event, wanted: SignatureInput, current: Mapping[str, str]) -> None:
    if wanted.digest != current[wanted.meaning]:
        # The right digest is not told: whoever repeats it must have read what it is of.
        raise Conflict(_CHANGED, [Problem("/digest", "outdated", _OUTDATED)])
    if wanted.meaning == "performed":
        return
    performers = _valid(event).filter(meaning="performed").values_list("by", flat=True)
    if not performers:
        words = "nobody has signed yet that the work was performed: expected that meaning first"
        raise _meaning("too_early", words)
    if actor.user_id in performers:
        words = "you have signed that the work was performed: expected another person for this"
        raise _meaning("same_person", words)


def _meaning(code: str, words: str) -> Conflict:
    return Conflict(words, [Problem("/meaning", code, words)])


_CHANGED = "what stands there now is not what you would sign: read the visit again, then sign"
_OUTDATED = "expected the digest, for this meaning, of the visit as it stands now"


def _signature(actor: Actor, event: Event, wanted: SignatureInput) -> Signature:
    return Signature(
        id=UUID(wanted.id) if wanted.id else new_id(),
        event=event,
        contractor_id=event.contractor_id,
        client_id=event.client_id,
        meaning=wanted.meaning,
        digest=bytes.fromhex(wanted.digest),
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
    }
