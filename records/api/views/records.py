"""Sealed records, their forms, and the keys that seals are checked with."""

from typing import Any

from django.http import FileResponse, HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from calculations.inputs.reading import Problem
from records import permissions
from records.api import record_documents as told
from records.api.base import PAGING, BookView, NewestFirst, Pages, filters, id_filter, paged
from records.api.downloads import kept_file
from records.api.schema import READ, page_of
from records.errors import Invalid, NotFound
from records.ids import identity
from records.models import RecordDocument
from records.selectors import sealed, signing_keys

FILTERS = [
    OpenApiParameter("site", OpenApiTypes.UUID, description="Id of the site."),
    OpenApiParameter("number", int, description="Number at the site."),
    OpenApiParameter(
        "after_number", int, description="Those of one site after this number, in their order."
    ),
]


class RecordList(BookView):
    """Sealed records that the caller may see."""

    @extend_schema(
        operation_id="list_records", tags=["records"], parameters=[*FILTERS, *PAGING],
        responses={200: page_of(told.RecordAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """A page of records: newest first, or one site's after a number."""
        permissions.require(self.actor, "records.read")
        rows = filtered(request, sealed.rows(self.actor))
        pages = Pages if "after_number" in request.query_params else NewestFirst
        return paged(self, rows, sealed.record_document, pages)


def filtered(request: Request, rows: Any) -> Any:
    """Of `rows` those that were asked for."""
    given = filters(request, "site", "number", "after_number")
    if "site" in given:
        rows = rows.filter(site__id=id_filter("site", given["site"]))
    if "number" in given:
        rows = rows.filter(number=_number("number", given["number"]))
    if "after_number" in given:
        if "site" not in given:
            words = "expected the id of a site: after_number counts the records of one"
            raise Invalid(problems=[Problem("/site", "required", words)])
        rows = rows.filter(number__gt=_number("after_number", given["after_number"]))
    return rows


def _number(name: str, text: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise Invalid(problems=[Problem(f"/{name}", "number", "expected a whole number")])
    return int(text)


class RecordDetail(BookView):
    """One record."""

    @extend_schema(
        operation_id="read_record", tags=["records"],
        responses={200: told.RecordAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The record with its seal, and where its forms are."""
        return Response(sealed.record_document(sealed.get(self.actor, identity(id))))


class RecordData(BookView):
    """The record for programs."""

    @extend_schema(
        operation_id="read_record_data", tags=["records"],
        responses={200: told.RecordData, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> HttpResponse:  # noqa: A002
        """The canonical text as it was sealed, with the seal beside it."""
        record = sealed.get(self.actor, identity(id))
        answer = HttpResponse(sealed.data(record), content_type="application/json")
        answer["ETag"] = f'"{bytes(record.digest).hex()}"'
        return answer


class RecordPdf(BookView):
    """The record for people."""

    @extend_schema(
        operation_id="read_record_pdf", tags=["records"],
        responses={
            (200, "application/pdf"): OpenApiTypes.BINARY, 202: told.Operation, **READ,
        },
    )  # fmt: skip
    def get(self, request: Request, id: str) -> FileResponse | Response:  # noqa: A002
        """The PDF; 202 with the operation's address while it is being made."""
        record = sealed.get(self.actor, identity(id))
        document = RecordDocument.objects.get(record=record, kind="pdf")
        if document.sha256 is None:
            return Response(
                operation_document(document),
                status=202,
                headers={"Location": f"/api/v1/operations/{document.id}", "Retry-After": "1"},
            )
        file = {
            "name": f"record-{record.site.code}-{record.number}.pdf",
            "content_type": "application/pdf",
            "sha256": bytes(document.sha256).hex(),
        }
        return kept_file(file)


class OperationDetail(BookView):
    """Long work and what became of it."""

    @extend_schema(
        operation_id="read_operation", tags=["records"],
        responses={200: told.Operation, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """State and result."""
        permissions.require(self.actor, "records.read")
        rows = permissions.visible(RecordDocument.objects.select_related("record"), self.actor)
        document = rows.filter(id=identity(id)).first()
        if document is None:
            raise NotFound()
        return Response(operation_document(document))


_DETAILS = {
    "done": "",
    "waiting": "the document is being made",
    "failed": "the document could not be made so far, and is tried again",
}


def operation_document(document: RecordDocument) -> dict[str, str | None]:
    """Long work as it is told."""
    done = document.sha256 is not None
    result = f"/api/v1/records/{document.record.id}/document.{document.kind}"
    state = "done" if done else "failed" if document.last_error else "waiting"
    return {
        "id": str(document.id),
        "state": state,
        "result": result if done else None,
        "detail": _DETAILS[state],
    }


class KeyList(BookView):
    """The public keys."""

    @extend_schema(
        operation_id="list_keys", tags=["records"],
        responses={200: page_of(told.KeyAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Every key that a seal was ever made with; what `verify.py --keys` takes."""
        return Response(signing_keys.document())
