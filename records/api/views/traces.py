"""Recorded traces of an event over the API."""

from django.http import FileResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records.api import documents as told
from records.api.base import BookView
from records.api.downloads import kept_file
from records.api.json_bodies import JsonParser
from records.api.raw_bodies import CsvParser, body_of, media_type_of
from records.api.schema import CREATE, READ, READ_OR_CONFLICT, page_of
from records.ids import identity
from records.models import Trace
from records.selectors import traces as selector
from records.services import event_files, events, traces

IN_THE_QUERY = [
    OpenApiParameter("id", str, description="An id of your own (a UUID)."),
    OpenApiParameter("name", str, description="What the trace shows."),
]
ABOUT = """Keep the rows of a trace, and judge the event again.

As `text/csv`, the first row naming the columns with their units (`time [s],feedback [psi],
output_frequency [Hz]`), or as JSON. `time` and `feedback` are needed; `set_point`,
`output_frequency`, `flow` and `running_pumps` may stand beside them. Semicolons or tabs with
decimal commas are read too. Without a unit, times are instants (RFC 3339); those without an
offset are the station's own time, and refused in an hour in which clocks are changed there. An
empty cell or NaN is a sample without a value. A step test names the trace by its id.
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
        if media_type_of(request) == CsvParser.media_type:
            given = dict(request.query_params.items())
            body = body_of(request, traces.LARGEST)
            trace, created = traces.add_csv(self.actor, event, given, body.lines())
        else:
            given = {**request.query_params.dict(), **self.body()}
            trace, created = traces.add_columns(self.actor, event, given)
        return Response(
            selector.document(trace),
            status=201 if created else 200,
            headers={"Location": f"{request.path}/{trace.id}"},
        )


class TraceDetail(BookView):
    """One trace."""

    @extend_schema(
        operation_id="read_trace", tags=["events"],
        responses={(200, "text/csv"): OpenApiTypes.STR, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str, trace: str) -> FileResponse:  # noqa: A002
        """The rows as CSV, in the form that is kept."""
        event = events.get(self.actor, identity(id))
        return kept_file(selector.as_file(selector.line(selector.get(event, identity(trace)))))

    @extend_schema(
        operation_id="remove_trace", tags=["events"], responses={204: None, **READ_OR_CONFLICT}
    )
    def delete(self, request: Request, id: str, trace: str) -> Response:  # noqa: A002
        """Remove a wrong trace from a draft that nobody has signed; it is judged without it."""
        event = events.get(self.actor, identity(id))
        event_files.remove(self.actor, event, Trace, identity(trace))
        return Response(status=204)
