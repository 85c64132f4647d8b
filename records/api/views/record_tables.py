"""Sealed records for spreadsheets, and what a record's JSON holds, as a schema."""

import json
from typing import Any

from django.http import HttpResponse
from django.http.response import HttpResponseBase
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from records import permissions
from records.api import record_schema
from records.api.base import BookView
from records.api.downloads import made_file, of_types
from records.api.schema import READ
from records.api.views.records import FILTERS, filtered
from records.documents.workbook import workbook
from records.ids import identity
from records.models import Record
from records.selectors import readings, sealed

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV = "text/csv"
_CSV = f"{CSV}; charset=utf-8; header=present"  # RFC 4180, 3


def _name(record: Record, ending: str) -> str:
    return f"record-{record.site.code}-{record.number}{ending}"


class RecordWorkbook(BookView):
    """The record for spreadsheets."""

    @extend_schema(
        operation_id="read_record_workbook", tags=["records"],
        responses={**of_types(XLSX), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> HttpResponseBase:  # noqa: A002
        """A sheet for each part; numbers with their units, what was entered, and SI."""
        record = sealed.get(self.actor, identity(id))
        content = json.loads(bytes(record.canonical))
        made = workbook.render(content, sealed.seal(record))
        return made_file(made, _name(record, ".xlsx"), XLSX)


class RecordReadings(BookView):
    """The record's quantities for programs that read tables."""

    @extend_schema(
        operation_id="read_record_readings", tags=["records"],
        responses={**of_types(CSV), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> HttpResponseBase:  # noqa: A002
        """A line for every quantity, as entered and in SI.

        RFC 4180. In columns of text, whoever reads takes away one apostrophe at the beginning of
        a cell and after each semicolon, tab or line end: it keeps spreadsheets from taking a text
        for a formula.
        """
        record = sealed.get(self.actor, identity(id))
        return made_file(readings.of(record), _name(record, "-readings.csv"), _CSV)


class ManyReadings(BookView):
    """The quantities of many records."""

    @extend_schema(
        operation_id="read_readings", tags=["records"], parameters=FILTERS,
        responses={**of_types(CSV), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> HttpResponseBase:
        """The same of every record that the caller may see, or of those that are asked for.

        In the order of sealing. What breaks off ends without the last chunk: it is not whole.
        """
        permissions.require(self.actor, "records.read")
        rows = readings.until(filtered(request, sealed.rows(self.actor)))
        answer = made_file(readings.stream(self.actor, rows), "readings.csv", _CSV)
        answer["ETag"] = readings.tag(rows)
        return answer


class RecordSchema(BookView):
    """What a record's JSON holds."""

    authentication_classes: Any = ()
    permission_classes: Any = ()
    is_for_nobody_known = True

    @extend_schema(
        operation_id="read_record_schema", tags=["records"], auth=[],
        responses={(200, "application/schema+json"): dict[str, Any], **READ},
    )  # fmt: skip
    def get(self, request: Request) -> HttpResponse:
        """JSON Schema of `data.json`, as records are sealed now."""
        return HttpResponse(record_schema.as_text(), content_type="application/schema+json")
