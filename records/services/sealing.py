"""Sealing an event: number, link, canonical text, signature, in one transaction."""

import hashlib
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from calculations.inputs.reading import Problem, pointer
from records import permissions
from records.errors import NoSigningKey, NotReady
from records.models import Event, Record, RecordDocument, Signature, SiteSummary
from records.models.base import new_id
from records.permissions import Actor
from records.selectors import attachments, event_documents, traces
from records.services import (
    audit,
    device_signatures,
    drafts,
    findings,
    keys,
    performed_tasks,
    readings,
    recorded_values,
    references,
    signatures,
    summaries,
)
from records.services.content import canonical
from records.services.times import instant

FORMAT = 1
ALGORITHMS = {"canonical_text": "RFC 8785", "digest": "SHA-256", "signature": "Ed25519"}
DOCUMENTS = ("pdf",)
CONTRACTOR, CLIENT = "contractor", "client"


def seal(actor: Actor, event: Event, *, shown: str | None = None) -> tuple[Record, bool]:
    """Seal an event into a record; sealing again answers with the same record.

    `NotReady` lists everything that stands in the way. `shown` is the ETag of the event as the
    person was shown it: `Stale` where it is no longer so.
    """
    permissions.require(actor, "events.seal")
    permissions.require_presence(actor)
    existing = Record.objects.filter(event=event).first()
    if existing is not None:
        return existing, False
    with transaction.atomic():
        return drafts.sealing(event, lambda: _sealed(actor, event, shown))


def _sealed(actor: Actor, event: Event, shown: str | None) -> tuple[Record, bool]:
    event = _held(event.row)
    existing = Record.objects.filter(event=event).first()
    if existing is not None:
        return existing, False
    event.refuse_unless_draft()
    event.refuse_unless_shown(shown)
    head = SiteSummary.objects.get(site=event.site_id)
    _refuse_unready(event)
    record = _seal(event, head)
    audit.write(actor, "sealed", audit.of_event(event), _change(record))
    drafts.around(actor, record)
    return record, True


def _held(row: int) -> Event:
    rows = Event.objects.select_related("site", "pump_set", CONTRACTOR, CLIENT)
    return rows.get(row=row)


def _change(record: Record) -> audit.Change:
    told = {"record": str(record.id), "number": record.number, "digest": record.digest.hex()}
    return audit.Change(after=told)


def _seal(event: Event, head: SiteSummary) -> Record:
    key = keys.signing_key()
    now, identity = timezone.now().replace(microsecond=0), new_id()
    corrected = _corrected(event)
    row = keys.known(key, now)
    content = _content(event, head, now, str(identity), corrected)
    text = canonical(content)
    record = Record(
        id=identity,
        contractor_id=event.contractor_id,
        client_id=event.client_id,
        site_id=event.site_id,
        event=event,
        pump_set_id=event.pump_set_id,
        number=content["number"],
        kind=event.kind,
        performed_at=event.performed_at,
        sealed_at=now,
        format=FORMAT,
        canonical=text,
        digest=hashlib.sha256(text).digest(),
        previous_digest=head.last_digest,
        signature=keys.sign(text, key),
        key=row,
        corrects=corrected,
    )
    _keep(record)
    recorded_values.keep(record, content)
    readings.keep(record, content)
    performed_tasks.keep(record, content)
    _ask_for_documents(record)
    event.note_said(state="sealed")
    _move_head(head, record)
    summaries.refresh(event.site_id)
    return record


def _keep(record: Record) -> None:
    """A record may have been corrected by a contractor whose records this one does not see.

    And the key may have been exchanged since it was looked at.
    """
    try:
        with transaction.atomic():
            record.save(force_insert=True)
    except IntegrityError as error:
        if "signing key" in str(error):
            raise NoSigningKey("the signing key was exchanged just now: ask again") from None
        if "record_is_corrected_once" not in str(error):
            raise
        raise NotReady(problems=[Problem("/event/corrects", "corrected", _ELSEWHERE)]) from None


_ELSEWHERE = (
    "another contractor has corrected this record, and the client has not handed that on to you:"
    " ask for it and correct that one, or else withdraw this draft"
)


def _content(
    event: Event, head: SiteSummary, now: datetime, identity: str, corrected: Record | None
) -> dict[str, Any]:
    return {
        **event_documents.content(event, findings.present(event)),
        "format": FORMAT,
        "record_id": identity,
        "number": head.last_number + 1,
        "previous": bytes(head.last_digest).hex() if head.last_digest else None,
        "sealed_at": instant(now),
        "algorithms": ALGORITHMS,
        "corrects": _correction(event, corrected),
    }


def _corrected(event: Event) -> Record | None:
    identity = event.document.get("corrects")
    return _known(event).get(id=identity) if identity else None


def _known(event: Event) -> QuerySet[Record]:
    """The records of the event's site that its contractor knows of."""
    return permissions.known_to(Record.objects.filter(site=event.site_id), event.contractor_id)


def _correction(event: Event, corrected: Record | None) -> dict[str, Any] | None:
    if corrected is None:
        return None
    return {
        "record_id": str(corrected.id),
        "number": corrected.number,
        "reason": event.document["correction_reason"],
    }


def _ask_for_documents(record: Record) -> None:
    for kind in DOCUMENTS:
        RecordDocument.objects.create(
            record=record,
            contractor_id=record.contractor_id,
            client_id=record.client_id,
            kind=kind,
        )


def _move_head(head: SiteSummary, record: Record) -> None:
    head.last_number, head.last_digest = record.number, record.digest
    head.last_sealed_at = record.sealed_at
    head.save(update_fields=["last_number", "last_digest", "last_sealed_at"])


def obstacles(event: Event) -> list[Problem]:
    """Everything that stands in the way of sealing."""
    problems = [
        Problem(pointer("findings", str(finding.id)), finding.severity, _words(finding))
        for finding in findings.present(event)
        if findings.is_open(finding)
    ]
    problems += _not_kept(event) + _corrected_already(event)
    current = signatures.digests(event)
    signed = [s for s in signatures.valid(event) if bytes(s.digest).hex() == current[s.meaning]]
    problems += _found_later(event, [s for s in signed if s.meaning == "performed"])
    performers = {s.by_id for s in signed if s.meaning == "performed"}
    if not performers:
        words = "nobody has signed that the work was performed"
        problems.append(Problem("/signatures", "unsigned", words))
    if not any(s.meaning == "reviewed" and s.by_id not in performers for s in signed):
        words = "a second person has not signed the review"
        problems.append(Problem("/signatures", "unreviewed", words))
    return problems


def _found_later(event: Event, performed: list[Signature]) -> list[Problem]:
    """What the technician's device did not show wants an answer, were it a note."""
    notes = {
        str(each.id): each.document
        for each in findings.present(event)
        if not findings.needs_answer(each) and findings.valid_answer(each) is None
    }
    late = device_signatures.found_later(performed, list(notes.values()))
    return [
        Problem(pointer("findings", each["id"]), "found_later", f"{_LATER}: {each['sentence']}")
        for each in late
    ]


_LATER = "was found after the technician had signed on the device, and needs a written answer"


def _not_kept(event: Event) -> list[Problem]:
    kept, recorded = attachments.of(event), traces.of(event)
    digests = {bytes(digest).hex() for each in kept for digest in (each.sha256, each.sent_sha256)}
    digests |= {bytes(each.sha256).hex() for each in recorded}
    found = references.not_kept(event.document, digests, {str(each.id) for each in recorded})
    return [Problem("/event" + each.pointer, each.code, each.detail) for each in found]


def _corrected_already(event: Event) -> list[Problem]:
    """A record is corrected once: what is still wrong then stands in the new one."""
    named = event.document.get("corrects")
    newer = _known(event).filter(corrects__id=named).first() if named else None
    if newer is None:
        return []
    words = (
        f"the record was corrected already, by record {newer.number}: if that one is wrong too,"
        f" correct it in turn, by its id {newer.id}, or else withdraw this draft"
    )
    return [Problem("/event/corrects", "corrected", words)]


def _words(finding: Any) -> str:
    if finding.severity == "stop" and finding.document.get("correct_only"):
        return f"must be corrected: {finding.document['sentence']}"
    wanted = "the office's reason" if finding.severity == "stop" else "a written answer"
    return f"needs correction or {wanted}: {finding.document['sentence']}"


def _refuse_unready(event: Event) -> None:
    problems = obstacles(event)
    if problems:
        raise NotReady(problems=problems)
