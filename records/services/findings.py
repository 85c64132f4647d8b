"""Findings of an event, answering them, and which of them are still open."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from calculations.inputs.base import Id, Part, Words
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Conflict, NotFound, SameIdOtherContent, Stale
from records.models import Answer, Event, Finding
from records.models.base import new_id
from records.permissions import Actor
from records.services import audit, judging, signatures, summaries
from records.services.content import quick_digest
from records.services.reading import read_input
from records.services.times import instant


class AnswerInput(Part):
    """What is written about a finding."""

    id: Id | None = None
    text: Words
    accepted: bool = True


def present(event: Event) -> list[Finding]:
    """What the catalogue says of the event now, with the answers given so far."""
    rows = Finding.objects.filter(event=event, present=True).prefetch_related("answers")
    return signatures.in_order(rows)


def valid_answer(finding: Finding) -> Answer | None:
    """The latest answer that was given to exactly what is compared now."""
    answers = sorted(finding.answers.all(), key=lambda answer: answer.row, reverse=True)
    same = bytes(finding.compared_digest)
    return next((a for a in answers if bytes(a.compared_digest) == same), None)


def needs_answer(finding: Finding) -> bool:
    """Whether somebody has to answer: a note is for information."""
    return bool(finding.severity != "note")


def is_open(finding: Finding) -> bool:
    """Whether the finding stands in the way of sealing."""
    if not needs_answer(finding):
        return False
    answer = valid_answer(finding)
    return answer is None or not answer.accepted


def may_accept(actor: Actor, finding: Finding) -> bool:
    """Whether an answer of the actor's may accept the finding as it is."""
    if finding.severity != "stop":
        return permissions.may(actor, "findings.answer")
    return not _is_correct_only(finding) and permissions.may(actor, "stops.accept")


def _is_correct_only(finding: Finding) -> bool:
    return finding.severity == "stop" and bool(finding.document.get("correct_only"))


def state_of(finding: Finding) -> str:
    """What a person was shown of a finding, as a digest: what it compares, and its answer."""
    held = valid_answer(finding)
    return quick_digest([bytes(finding.compared_digest).hex(), held and str(held.id)]).hex()


def answer(
    actor: Actor,
    event: Event,
    identity: UUID,
    given: Mapping[str, Any],
    *,
    shown: str | None = None,
) -> tuple[Answer, bool]:
    """Answer a finding; the same id with the same words again changes nothing.

    A `stop` is accepted by the office alone, and some can only be corrected. `shown` is what
    `state_of` said of the finding as the person read it: `Stale` where it is no longer so.
    """
    permissions.require(actor, "findings.answer")
    event = Event.objects.select_for_update().get(row=event.row)  # no seal, no repeat in between
    finding = Finding.objects.filter(event=event, id=identity).first()
    if finding is None:
        raise NotFound()
    wanted = read_input(AnswerInput, given)
    existing = Answer.objects.filter(event=event, id=wanted.id).first() if wanted.id else None
    if existing is not None:
        return _repeated(existing, finding, wanted), False
    _refuse(actor, event, finding, wanted, shown)
    with transaction.atomic():
        row = Answer.objects.create(
            id=UUID(wanted.id) if wanted.id else new_id(),
            event=event,
            contractor_id=event.contractor_id,
            client_id=event.client_id,
            finding=finding,
            text=wanted.text,
            accepted=wanted.accepted,
            compared_digest=finding.compared_digest,
            by_id=actor.user_id,
            by_name=actor.name,
            by_role=actor.role,
            at=timezone.now(),
        )
        if finding.rule in judging.awaited():
            judging.again(actor, event)
        signatures.void_outdated(actor, event)
        audit.write(actor, "finding answered", audit.of_event(event), _change(row), row.text)
        event.note_said()
        summaries.refresh(event.site_id)
    return row, True


def _change(row: Answer) -> audit.Change:
    told = {"finding": str(row.finding.id), "rule": row.finding.rule, "accepted": row.accepted}
    return audit.Change(after={"answer": str(row.id), **told})


def _repeated(existing: Answer, finding: Finding, wanted: AnswerInput) -> Answer:
    same = (existing.finding_id, existing.text, existing.accepted)
    if same != (finding.row, wanted.text, wanted.accepted):
        raise SameIdOtherContent()
    return existing


def _refuse(
    actor: Actor, event: Event, finding: Finding, wanted: AnswerInput, shown: str | None
) -> None:
    event.refuse_unless_draft()
    if not finding.present:
        raise Conflict("the finding no longer holds: what it compared was changed")
    if shown is not None and shown != state_of(finding):
        raise Stale(_OVERTAKEN, revision=event.revision, etag=event.etag)
    if finding.severity == "stop" and wanted.accepted:
        if _is_correct_only(finding):
            words = "this can only be corrected, not accepted: expected false"
            raise Conflict(words, [Problem("/accepted", "correct_only", words)])
        permissions.require(actor, "stops.accept")


_OVERTAKEN = "what the finding compares was changed, or somebody answered it: read it again"


def answer_document(row: Answer) -> dict[str, Any]:
    """An answer as it stands in documents."""
    return {
        "id": str(row.id),
        "finding": str(row.finding.id),
        "text": row.text,
        "accepted": row.accepted,
        "by": row.by_name,
        "role": row.by_role,
        "at": instant(row.at),
    }
