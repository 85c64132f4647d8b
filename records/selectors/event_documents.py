"""An event as it is told: the document, what was found, answered and signed."""

from typing import Any

from django.db.models import QuerySet
from django.db.models.fields.json import KT

from records.documents.contents import cautions
from records.models import Answer, Event, Finding
from records.selectors import attachments, traces
from records.services import findings, signatures
from records.services.times import instant

_OF_A_LINE = ("id", "kind", "state", "revision", "created_at", "site__id", "pump_set__id")


def event_document(event: Event) -> dict[str, Any]:
    """The whole of an event: what was posted, and what the service says of it."""
    return {
        **_told(event),
        "findings": [finding_document(finding) for finding in findings.present(event)],
        "signatures": [signatures.signature_document(row) for row in signatures.valid(event)],
    }


def new_event_document(event: Event, found: list[Finding]) -> dict[str, Any]:
    """The same of an event that was posted just now: nobody has answered or signed."""
    told = [_finding(finding, findings.needs_answer(finding)) for finding in found]
    return {**_told(event), "findings": told, "signatures": []}


def _told(event: Event) -> dict[str, Any]:
    return {
        **event.document,
        "state": event.state,
        "revision": event.revision,
        "received_at": instant(event.created_at),
        "changed_at": instant(event.changed_at),
        "catalogue": event.catalogue,
        "cautions": cautions.concerning(event.snapshot),
        "deference": cautions.DEFERENCE,
        "derived": event.judgement["derived"],
        "findings": [],
        "not_evaluated": event.judgement["not_evaluated"],
        "limits_changed": event.judgement["limits_changed"],
        "earlier_record": event.judgement["earlier_record"],
        "records_beside": event.judgement.get("records_beside")
        or {"last": None, "next": None, "left": None, "anew": {}},
        "signatures": [],
        "snapshot": event.snapshot,
        "withdrawal": _withdrawal(event),
        "record": str(event.record.id) if event.state == "sealed" else None,
    }


def _withdrawal(event: Event) -> dict[str, str] | None:
    if event.withdrawn_at is None:
        return None
    at = instant(event.withdrawn_at)
    return {"reason": event.withdrawal_reason, "by": event.withdrawn_by_name, "at": at}


def finding_document(finding: Finding) -> dict[str, Any]:
    """A finding with its latest valid answer, and whether it still stands in the way."""
    return _finding(finding, findings.is_open(finding), findings.valid_answer(finding))


def _finding(finding: Finding, is_open: bool, answer: Answer | None = None) -> dict[str, Any]:
    return {
        **finding.document,
        "open": is_open,
        "answer": findings.answer_document(answer) if answer else None,
    }


def content(event: Event, found: list[Finding]) -> dict[str, Any]:
    """What a record holds of an event, besides what sealing adds."""
    answers = Answer.objects.filter(event=event).select_related("finding").order_by("row")
    return {
        "contractor": _party(event.contractor),
        "client": _party(event.client),
        "event": event.document,
        "snapshot": event.snapshot,
        "judgement": {**event.judgement, "findings": [finding.document for finding in found]},
        "attachments": [attachments.line(each) for each in attachments.of(event)],
        "traces": [traces.line(trace) for trace in traces.of(event)],
        "answers": [findings.answer_document(row) for row in answers],
        "signatures": [signatures.signature_document(row) for row in signatures.valid(event)],
    }


def _party(organization: Any) -> dict[str, str]:
    return {"id": str(organization.id), "name": organization.name}


def as_lines(events: QuerySet[Event]) -> QuerySet[Event]:
    """Events as a list needs them: of the document the time as entered, and what it corrects."""
    rows = events.select_related("site", "pump_set").only(*_OF_A_LINE)
    return rows.annotate(
        performed_at_as_entered=KT("document__performed_at"), corrects=KT("document__corrects")
    )


def event_line(event: Any) -> dict[str, Any]:
    """An event in a list, of `as_lines`."""
    return {
        "id": str(event.id),
        "kind": event.kind,
        "site": str(event.site.id),
        "pump_set": str(event.pump_set.id) if event.pump_set else None,
        "performed_at": event.performed_at_as_entered,
        "corrects": event.corrects,
        "state": event.state,
        "revision": event.revision,
        "received_at": instant(event.created_at),
    }
