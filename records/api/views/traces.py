"""Recorded traces of an event over the API."""

from typing import IO, cast

from django.core.files.storage import default_storage
from django.http import FileResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records.api import documents as told
from records.api.base import BookView
from records.api.csv_bodies import CsvParser
from records.api.json_bodies import JsonParser
from records.api.schema import CREATE, READ, page_of
from records.errors import Unreadable
from records.ids import identity
from records.selectors import traces as selector
from records.services import events, traces
from records.services.files import stored_name

IN_THE_QUERY = [
    OpenApiParameter("id", str, description="With CSV: an id of your own (a UUID)."),
    OpenApiParameter("name", str, description="With CSV: what the trace shows."),
]
ABOUT = """Keep the rows of a trace, and judge the event again.

As `text/csv`, the first row naming the columns with their units (`time [s],feedback [psi],
output_frequency [Hz]`), or as JSON. `time` and `feedback` are needed; `set_point`,
`output_frequency`, `flow` and `running_pumps` may stand beside them. Semicolons with decimal
commas are read too; without a unit, times are instants. An empty cell or NaN is a sample without
a value. A step test names the trace by its id.
"""


class TraceList(BookView):
    """Traces of one event."""

    parser_classes = (JsonParser, CsvParser)

    @extend_schema(
        operation_id="list_traces", tags=["events"],
        responses={200: page_of(told.TraceAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """What was recorded; the rows are at each trace's own address."""
        event = events.get(self.actor, identity(id))
        items = [selector.document(trace) for trace in selector.of(event)]
        return Response({"items": items, "next": None})

    @extend_schema(
        operation_id="post_trace", tags=["events"], parameters=IN_THE_QUERY, description=ABOUT,
        request={"application/json": told.TraceRows, "text/csv": OpenApiTypes.STR},
        responses={200: told.TraceAnswer, 201: told.TraceAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request, id: str) -> Response:  # noqa: A002
        """Keep a trace."""
        event = events.get(self.actor, identity(id))
        if (request.content_type or "").partition(";")[0].strip() == "text/csv":
            if not int(request.META.get("CONTENT_LENGTH") or 0):
                raise Unreadable("expected CSV, got no body")
            given = {name: request.query_params[name] for name in request.query_params}
            body = cast(IO[bytes], request.data)
            trace, created = traces.add_csv(self.actor, event, given, body)
        else:
            trace, created = traces.add_columns(self.actor, event, self.body())
        return Response(
            selector.document(trace),
            status=201 if created else 200,
            headers={"Location": f"{request.path}/{trace.id}"},
        )


class TraceDetail(BookView):
    """The rows of one trace."""

    @extend_schema(
        operation_id="read_trace", tags=["events"],
        responses={(200, "text/csv"): OpenApiTypes.STR, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str, trace: str) -> FileResponse:  # noqa: A002
        """The rows as CSV, in the form that is kept."""
        event = events.get(self.actor, identity(id))
        found = selector.get(event, identity(trace))
        digest = bytes(found.sha256)
        answer = FileResponse(
            default_storage.open(stored_name(digest)),
            content_type="text/csv; charset=utf-8",
            as_attachment=True,
            filename=f"trace-{found.id}.csv",
        )
        answer["ETag"] = f'"{digest.hex()}"'
        return answer
