"""Judging an event, and keeping what was found."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid5

from calculations import judging
from calculations.findings import Judgement
from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.subject import Subject
from records.errors import Invalid
from records.models import Event, Finding
from records.services.content import quick_digest

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

    def without_findings(self) -> dict[str, Any]:
        """What is kept beside the findings."""
        return {
            "catalogue": self.catalogue,
            "derived": self.derived,
            "not_evaluated": self.not_evaluated,
            "limits_changed": self.limits_changed,
        }


def evaluate(given: Mapping[str, Any]) -> Judged:
    """Judge what is known of a pump set; keeps nothing."""
    try:
        subject = read(Subject, given)
    except InvalidDocument as error:
        raise Invalid(problems=error.problems) from None
    return _documents(judging.judge(subject), "")


def judge(event_id: UUID, snapshot: Mapping[str, Any], event: EventInput) -> Judged:
    """Judge an event's document, read already, against its snapshot."""
    subject = read(Subject, snapshot).model_copy(update={"event": event})
    return _documents(judging.judge(subject), str(event_id))


def _documents(judgement: Judgement, owner: str) -> Judged:
    return Judged(
        catalogue=judgement.catalogue,
        derived=[judging.derived_document(value) for value in judgement.derived],
        findings=_finding_documents(judgement, owner),
        not_evaluated=[judging.not_evaluated_document(each) for each in judgement.not_evaluated],
        limits_changed=[],
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


def keep_findings(event: Event, judged: Judged) -> list[Finding]:
    """Make the event's rows of findings those that are found now; none is deleted."""
    found = [_row(event, document) for document in judged.findings]
    if event.revision > 1:
        before = Finding.objects.filter(event=event, present=True)
        before.exclude(id__in=[finding.id for finding in found]).update(present=False)
    return Finding.objects.bulk_create(
        found,
        update_conflicts=True,
        unique_fields=["event", "id"],
        update_fields=["severity", "document", "compared_digest", "present"],
    )


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
        compared_digest=quick_digest([document["severity"], document["compared"]]),
        present=True,
    )
