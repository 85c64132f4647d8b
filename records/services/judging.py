"""Judging an event, and keeping what was found."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any
from uuid import UUID, uuid5

from calculations import judging
from calculations.catalogue import RULES
from calculations.findings import Judgement
from calculations.inputs.event import AttachmentReference, NotReceived
from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from records.json_text import document_of, text_of
from records.models import Event, Finding
from records.permissions import Actor
from records.selectors import bases, rule_settings
from records.selectors.attachments import KeptFile
from records.selectors.bases import Basis, Pair
from records.services.content import quick_digest
from records.services.reading import read_input

# Findings of one event have ids that follow from rule and subject: the same one keeps its id.
_NAMES = UUID("0d4c1b8e-6a59-4f0e-9a43-5f6c2f7b9a10")


@dataclass(frozen=True)
class Judged:
    """What the catalogue says, as documents."""

    catalogue: str
    derived: list[dict[str, str]]
    findings: list[dict[str, Any]]
    not_evaluated: list[dict[str, Any]]
    limits_changed: list[dict[str, Any]]
    earlier_record: dict[str, Any] | None
    records_beside: dict[str, Any]

    def without_findings(self) -> dict[str, Any]:
        """What is kept beside the findings."""
        return {
            "catalogue": self.catalogue,
            "derived": self.derived,
            "not_evaluated": self.not_evaluated,
            "limits_changed": self.limits_changed,
            "limits": limits(self.limits_changed),
            "earlier_record": self.earlier_record,
            "records_beside": self.records_beside,
        }


def evaluate(actor: Actor, given: Mapping[str, Any]) -> Judged:
    """Judge what is known of a pump set, by the limits of its site's client; keeps nothing."""
    subject = read_input(Subject, given)
    client = subject.site.client if subject.site else None
    rows = rule_settings.in_force(actor, UUID(client)) if client else []
    return _judged(subject, Basis(rule_settings.changes(rows)), "")


def judge(event_id: UUID, snapshot: Mapping[str, Any], event: EventInput, basis: Basis) -> Judged:
    """Judge an event's document, read already, against its snapshot."""
    subject = _plates(text_of(snapshot)).model_copy(update={"event": _with_files(event, basis)})
    accepted = basis.accepted
    while True:
        judged = _judged(subject, basis, str(event_id), accepted)
        holding = frozenset(pair for pair in accepted if _holds(pair, judged, basis))
        if holding == accepted:
            return judged
        accepted = holding


@lru_cache(maxsize=128)
def _plates(snapshot: bytes) -> Subject:
    """Nameplates as they are typed: every change and every answer of a draft meets the same."""
    return read(Subject, document_of(snapshot))


def _with_files(event: EventInput, basis: Basis) -> EventInput:
    """The event as if it named every file that was kept, and told apart which has not come."""
    named = [_received(each, basis.files) for each in event.attachments or ()]
    named += [each.reference for each in basis.files]
    saved = _received(event.settings_file, basis.files) if event.settings_file else None
    return event.model_copy(update={"attachments": named or None, "settings_file": saved})


def _received(named: AttachmentReference, files: Iterable[KeptFile]) -> AttachmentReference:
    if any(file.is_named_by(named) for file in files):
        return named
    return NotReceived.model_construct(**dict(named))


def _holds(pair: Pair, judged: Judged, basis: Basis) -> bool:
    """Whether what a rule found of a subject is what was accepted, all of it."""
    return all(
        compared_digest(document) in basis.held_against.get(document["id"], ())
        for document in judged.findings
        if (document["rule"], document["subject"]) == pair and document["severity"] != "note"
    )


def again(actor: Actor, event: Event) -> None:
    """Judge a locked draft as it stands, after an answer that other rules wait for."""
    parsed = read(EventInput, event.document)
    judged = judge(event.id, event.snapshot, parsed, bases.as_judged(actor, event, parsed))
    event.catalogue, event.judgement = judged.catalogue, judged.without_findings()
    event.save(update_fields=["catalogue", "judgement", "changed_at"])
    keep_findings(event, judged)


@cache
def awaited() -> frozenset[str]:
    """Rules that others wait for."""
    return frozenset(parent for each in RULES for parent in each.waits_for)


@cache
def _catalogue_limits() -> dict[str, dict[str, str]]:
    return {
        f"{each.id}.{name}": rule_settings.limit_value(limit)
        for each in RULES
        for name, limit in each.limits.items()
    }


def limits(changed: list[dict[str, Any]]) -> dict[str, dict[str, str]]:
    """Every limit that applies, by `rule.limit`: the catalogue's, less what was changed."""
    return _catalogue_limits() | {
        f"{each['rule']}.{each['limit']}": {"value": each["value"], "unit": each["unit"]}
        for each in changed
    }


def _judged(
    subject: Subject, basis: Basis, owner: str, accepted: frozenset[Pair] = frozenset()
) -> Judged:
    own = rule_settings.in_si(basis.limits_changed)
    judgement = judging.judge(
        subject, own, recordings=basis.recordings, earlier=basis.records.first,
        beside=basis.records.beside,
        accepted=accepted, answered=basis.answered,
    )  # fmt: skip
    return Judged(
        catalogue=judgement.catalogue,
        derived=[judging.derived_document(value) for value in judgement.derived],
        findings=_finding_documents(judgement, owner),
        not_evaluated=[judging.not_evaluated_document(each) for each in judgement.not_evaluated],
        limits_changed=basis.limits_changed,
        earlier_record=basis.records.told("first"),
        records_beside=basis.records.told_beside,
    )


def _finding_documents(judgement: Judgement, owner: str) -> list[dict[str, Any]]:
    """A finding is its rule and its subject; a second one of both is told apart by its order."""
    seen: Counter[str] = Counter()
    documents = []
    for finding in judgement.findings:
        name = f"{owner} {finding.rule} {finding.subject}"
        seen[name] += 1
        identity = uuid5(_NAMES, name if seen[name] == 1 else f"{name} {seen[name]}")
        documents.append(judging.finding_document(finding, str(identity)))
    return documents


def keep_findings(event: Event, judged: Judged) -> None:
    """Make the event's rows of findings those that are found now; none is deleted."""
    found = rows(event, judged)
    before = Finding.objects.filter(event=event, present=True)
    before.exclude(id__in=[finding.id for finding in found]).update(present=False)
    Finding.objects.bulk_create(
        found,
        update_conflicts=True,
        unique_fields=["event", "id"],
        update_fields=["severity", "document", "compared_digest", "present"],
    )


def rows(event: Event, judged: Judged) -> list[Finding]:
    """What was found of an event, as rows."""
    return [_row(event, document) for document in judged.findings]


def _row(event: Event, document: Mapping[str, Any]) -> Finding:
    return Finding(
        id=UUID(document["id"]),
        event=event,
        contractor_id=event.contractor_id,
        client_id=event.client_id,
        rule=document["rule"],
        subject=document["subject"],
        severity=document["severity"],
        document=document,
        compared_digest=compared_digest(document),
        present=True,
    )


def compared_digest(document: Mapping[str, Any]) -> bytes:
    """What an answer to a finding is held against."""
    return quick_digest([document["severity"], document["compared"]])
