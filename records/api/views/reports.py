"""Report schedules, reports and their files over the API."""

from django.http import FileResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records.api import report_answers as told
from records.api.base import (
    PAGING,
    BookView,
    NewestFirst,
    choice_filter,
    filters,
    id_filter,
    paged,
)
from records.api.downloads import kept_file, of_types
from records.api.schema import CREATE, READ, page_of
from records.ids import identity
from records.selectors import reports as selector
from records.services import report_schedules, reports
from records.services.report_schedules import ReportScheduleInput
from records.services.reports import ReportInput

SPANS = ("week", "month", "day")


class ReportScheduleList(BookView):
    """When reports are wanted."""

    @extend_schema(
        operation_id="list_report_schedules", tags=["reports"],
        parameters=[
            OpenApiParameter(
                "in_force", bool, description="true: what applies now; false: what has ended."
            ),
            *PAGING,
        ],
        responses={200: page_of(told.ReportScheduleAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """A page of schedules, ended ones too; where there is none, no report is made by itself."""
        rows = selector.schedules(self.actor)
        given = filters(request, "in_force")
        if "in_force" in given:
            word = choice_filter("in_force", given["in_force"], ("true", "false"))
            rows = rows.filter(ended_at__isnull=word == "true")
        return paged(self, rows, selector.schedule_document, NewestFirst)

    @extend_schema(
        operation_id="set_report_schedule", tags=["reports"], request=ReportScheduleInput,
        responses={200: told.ReportScheduleAnswer, 201: told.ReportScheduleAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Want a report every week or month, of one client or of all, in place of what was set."""
        row, created = report_schedules.put(self.actor, self.body())
        headers = {"Location": f"{request.path}/{row.id}"}
        document = selector.schedule_document(row)
        return Response(document, status=201 if created else 200, headers=headers)


class ReportScheduleDetail(BookView):
    """One schedule."""

    @extend_schema(
        operation_id="read_report_schedule", tags=["reports"],
        responses={200: told.ReportScheduleAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The schedule, in force or ended."""
        return Response(selector.schedule_document(selector.schedule(self.actor, identity(id))))

    @extend_schema(
        operation_id="end_report_schedule", tags=["reports"], responses={204: None, **READ}
    )
    def delete(self, request: Request, id: str) -> Response:  # noqa: A002
        """End it: periods that are over by now are still reported."""
        report_schedules.end(self.actor, identity(id))
        return Response(status=204)


class ReportList(BookView):
    """Reports, of periods and of days."""

    @extend_schema(
        operation_id="list_reports", tags=["reports"],
        parameters=[
            OpenApiParameter("client", OpenApiTypes.UUID, description="Id of the client."),
            OpenApiParameter("period", str, enum=SPANS),
            *PAGING,
        ],
        responses={200: page_of(told.ReportAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """A page of reports, newest first; those that are not made yet as well."""
        rows, given = selector.rows(self.actor), filters(request, "client", "period")
        if "client" in given:
            rows = rows.filter(client_id=id_filter("client", given["client"]))
        if "period" in given:
            rows = rows.filter(period=choice_filter("period", given["period"], SPANS))
        return paged(self, rows, selector.document, NewestFirst)

    @extend_schema(
        operation_id="ask_for_report", tags=["reports"], request=ReportInput,
        responses={200: told.ReportAnswer, 202: told.ReportAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Ask for a report of any day that has come: it says what it would have said then.

        It is made in the background: its state says how far it is.
        """
        row, created = reports.ask(self.actor, self.body())
        headers = {"Location": f"{request.path}/{row.id}"}
        document = selector.document(selector.get(self.actor, row.id))
        return Response(document, status=202 if created else 200, headers=headers)


class ReportDetail(BookView):
    """One report."""

    @extend_schema(
        operation_id="read_report", tags=["reports"], responses={200: told.ReportAnswer, **READ}
    )
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """How far it is, what it counts, and whom it was mailed to."""
        return Response(selector.document(selector.get(self.actor, identity(id))))


class _ReportFile(BookView):
    kept_as = ""

    def _file(self, id: str) -> FileResponse:  # noqa: A002
        row = selector.get(self.actor, identity(id))
        return kept_file(selector.kept(row, self.kept_as))


class ReportPdf(_ReportFile):
    """A report as a document."""

    kept_as = "pdf"

    @extend_schema(
        operation_id="download_report_document", tags=["reports"],
        responses={**of_types("application/pdf"), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> FileResponse:  # noqa: A002
        """The PDF; 404 while it is not made."""
        return self._file(id)


class ReportWorkbook(_ReportFile):
    """A report as a workbook."""

    kept_as = "xlsx"

    @extend_schema(
        operation_id="download_report_workbook", tags=["reports"],
        responses={**of_types(selector.FILES["xlsx"][1]), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> FileResponse:  # noqa: A002
        """The XLSX, with every line; 404 while it is not made."""
        return self._file(id)


class ReportData(_ReportFile):
    """A report as data."""

    kept_as = "json"

    @extend_schema(
        operation_id="download_report_data", tags=["reports"],
        responses={200: OpenApiTypes.OBJECT, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> FileResponse:  # noqa: A002
        """The JSON, with every line; 404 while it is not made."""
        return self._file(id)
