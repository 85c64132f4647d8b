"""Events over the API: post, change, answer, sign, seal."""

from typing import Any, get_args

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from calculations.inputs.event import Event as EventInput
from calculations.inputs.event import EventKind
from calculations.inputs.reading import Problem
from records import permissions
from records.api import documents as told
from records.api.base import (
    PAGING,
    BookView,
    NewestFirst,
    choice_filter,
    etag,
    filters,
    id_filter,
    paged,
)
from records.api.problems import document as problem_document
from records.api.record_documents import RecordAnswer
from records.api.schema import CHANGE, CREATE, READ, page_of, to_add
from records.errors import BookError, Invalid
from records.ids import identity
from records.models import Event, Site
from records.models.event import State
from records.selectors.event_documents import (
    as_lines,
    event_document,
    event_line,
    finding_document,
    new_event_document,
)
from records.selectors.sealed import record_document
from records.services import (
    event_checks,
    events,
    findings,
    sealing,
    signatures,
    withdrawals,
)

WORDS = {"state": get_args(State), "kind": get_args(EventKind)}
FILTERS = [
    OpenApiParameter("site", OpenApiTypes.UUID, description="Id of the site."),
    OpenApiParameter("pump_set", OpenApiTypes.UUID, description="Id of the pump set."),
    *(OpenApiParameter(name, str, enum=words) for name, words in WORDS.items()),
    *PAGING,
]


class EventList(BookView):
    """Events of the caller's organization, newest first."""

    @extend_schema(
        operation_id="list_events", tags=["events"], parameters=FILTERS,
        responses={200: page_of(told.EventLine), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """A page of events."""
        permissions.require(self.actor, "events.read")
        rows = permissions.visible(Event.objects.all(), self.actor)
        return paged(self, as_lines(_filtered(rows, request)), event_line, NewestFirst)

    @extend_schema(
        operation_id="post_event", tags=["events"],
        request=to_add(EventInput, *event_checks.REQUIRED),
        responses={200: told.EventAnswer, 201: told.EventAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Post an event; what is found is computed before the answer is sent."""
        posted = events.post(self.actor, self.body())
        event = posted.event
        headers = etag(event) | {"Location": f"{request.path}/{event.id}"}
        return Response(_posted(posted), status=201 if posted.created else 200, headers=headers)


def _posted(posted: events.Posted) -> dict[str, Any]:
    if posted.created:
        return new_event_document(posted.event, signatures.in_order(posted.found))
    return event_document(posted.event)


def _filtered(rows: Any, request: Request) -> Any:
    for name, value in filters(request, "site", "pump_set", "state", "kind").items():
        if name == "site":
            # Its row first: joined, its events would be sorted, and read all for that.
            of_site = Site.objects.filter(id=id_filter(name, value)).order_by("-row").values("row")
            rows = rows.filter(site=of_site[:1])
        elif name == "pump_set":
            rows = rows.filter(pump_set__id=id_filter(name, value))
        else:
            rows = rows.filter(**{name: choice_filter(name, value, WORDS[name])})
    return rows


class EventBatch(BookView):
    """Several events at once, each for itself."""

    @extend_schema(
        operation_id="post_event_batch", tags=["events"], request=told.Batch,
        responses={200: told.BatchAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Post up to 100 events; a result for each, in their order."""
        permissions.require(self.actor, "events.write")
        results = events.post_batch(self.actor, self.body())
        return Response({"results": [_result(result) for result in results]})


def _result(result: events.Posted | BookError) -> dict[str, Any]:
    if isinstance(result, BookError):
        return {"status": result.status, "problem": problem_document(result)}
    return {"status": 201 if result.created else 200, "event": _posted(result)}


class EventDetail(BookView):
    """One event."""

    @extend_schema(
        operation_id="read_event", tags=["events"],
        responses={200: told.EventAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The event with everything said about it."""
        event = events.get(self.actor, identity(id))
        return Response(event_document(event), headers=etag(event))

    @extend_schema(
        operation_id="change_event", tags=["events"],
        request={"application/merge-patch+json": EventInput},
        responses={200: told.EventAnswer, **CHANGE},
    )  # fmt: skip
    def patch(self, request: Request, id: str) -> Response:  # noqa: A002
        """Change the event by a merge patch; it is judged again."""
        event = events.change(self.actor, identity(id), self.body(), self.revision())
        return Response(event_document(event), headers=etag(event))


class FindingList(BookView):
    """What was found in one event."""

    @extend_schema(
        operation_id="list_findings", tags=["events"],
        responses={200: page_of(told.FindingAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """Findings with their answers."""
        event = events.get(self.actor, identity(id))
        items = [finding_document(finding) for finding in findings.present(event)]
        return Response({"items": items, "next": None})


class FindingAnswer(BookView):
    """The answer to one finding."""

    @extend_schema(
        operation_id="answer_finding", tags=["events"], request=findings.AnswerInput,
        responses={200: told.Answer, 201: told.Answer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request, id: str, finding: str) -> Response:  # noqa: A002
        """Answer a finding in words; a `stop` is accepted by the office alone."""
        event = events.get(self.actor, identity(id))
        row, created = findings.answer(self.actor, event, identity(finding), self.body())
        return Response(findings.answer_document(row), status=201 if created else 200)


class SignatureList(BookView):
    """Signatures of one event."""

    @extend_schema(
        operation_id="read_signatures", tags=["events"],
        responses={200: told.Signatures, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """What there is to sign now, and who has signed."""
        event = events.get(self.actor, identity(id))
        signed = [signatures.signature_document(row) for row in signatures.valid(event)]
        return Response({"to_sign": signatures.to_sign(event), "signatures": signed})

    @extend_schema(
        operation_id="sign_event", tags=["events"], request=signatures.SignatureInput,
        responses={200: told.Signature, 201: told.Signature, **CREATE},
    )  # fmt: skip
    def post(self, request: Request, id: str) -> Response:  # noqa: A002
        """Sign exactly what was read: its digest is repeated."""
        event = events.get(self.actor, identity(id))
        row, created = signatures.sign(self.actor, event, self.body())
        return Response(signatures.signature_document(row), status=201 if created else 200)


class SignatureDetail(BookView):
    """One signature."""

    @extend_schema(
        operation_id="withdraw_signature", tags=["events"], responses={204: None, **CREATE}
    )
    def delete(self, request: Request, id: str, signature: str) -> Response:  # noqa: A002
        """Withdraw your own signature of what is not sealed: it becomes void, and stays kept."""
        event = events.get(self.actor, identity(id))
        withdrawals.withdraw_signature(self.actor, event, identity(signature))
        return Response(status=204)


class EventWithdrawal(BookView):
    """Withdrawing a draft."""

    @extend_schema(
        operation_id="withdraw_event", tags=["events"], request=withdrawals.WithdrawalInput,
        responses={200: told.EventAnswer, 201: told.EventAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request, id: str) -> Response:  # noqa: A002
        """Withdraw a draft with a reason: it stays readable, and nothing more is done with it."""
        event = events.get(self.actor, identity(id))
        event, created = withdrawals.withdraw(self.actor, event, self.body())
        status = 201 if created else 200
        return Response(event_document(event), status=status, headers=etag(event))


class EventSeal(BookView):
    """Sealing an event."""

    @extend_schema(
        operation_id="seal_event", tags=["events"], request=None,
        responses={200: RecordAnswer, 201: RecordAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request, id: str) -> Response:  # noqa: A002
        """Seal the event into a numbered record; again answers with the same record."""
        if self.request.data:
            raise Invalid(problems=[Problem("", "unexpected", "expected no body")])
        event = events.get(self.actor, identity(id))
        record, created = sealing.seal(self.actor, event)
        return Response(
            record_document(record),
            status=201 if created else 200,
            headers={"Location": f"/api/v1/records/{record.id}"},
        )
