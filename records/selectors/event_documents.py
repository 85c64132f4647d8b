"""An event as it is told: the document, what was found, answered and signed."""

from typing import Any

from records.models import Event, Finding
from records.services import findings, signatures
from records.services.times import instant


def event_document(event: Event) -> dict[str, Any]:
    """The whole of an event: what was posted, and what the service says of it."""
    found = findings.present(event)
    return {
        **event.document,
        "state": event.state,
        "revision": event.revision,
        "received_at": instant(event.created_at),
        "changed_at": instant(event.changed_at),
        "catalogue": event.catalogue,
        "derived": event.judgement["derived"],
        "findings": [finding_document(finding) for finding in found],
        "not_evaluated": event.judgement["not_evaluated"],
        "limits_changed": event.judgement["limits_changed"],
        "signatures": [signatures.signature_document(row) for row in signatures.valid(event)],
        "snapshot": event.snapshot,
        "record": str(event.record.id) if event.state == "sealed" else None,
    }


def finding_document(finding: Finding) -> dict[str, Any]:
    """A finding with its latest valid answer, and whether it still stands in the way."""
    answer = findings.valid_answer(finding)
    return {
        **finding.document,
        "open": findings.is_open(finding),
        "answer": findings.answer_document(answer) if answer else None,
    }


def event_line(event: Event) -> dict[str, Any]:
    """An event in a list."""
    return {
        "id": str(event.id),
        "kind": event.kind,
        "site": str(event.site.id),
        "pump_set": str(event.pump_set.id) if event.pump_set else None,
        "performed_at": event.document["performed_at"],
        "state": event.state,
        "revision": event.revision,
        "received_at": instant(event.created_at),
    }
