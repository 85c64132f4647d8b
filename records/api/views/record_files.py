"""Photographs, documents and traces of a sealed record."""

import json

from django.http import FileResponse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from records.api.base import BookView
from records.api.downloads import ATTACHMENT_TYPES, TRACE_TYPE, kept_file, of_types
from records.api.schema import READ
from records.errors import NotFound
from records.ids import identity
from records.selectors import sealed, traces


class RecordFile(BookView):
    """One file that a record names."""

    @extend_schema(
        operation_id="read_record_file", tags=["records"],
        responses={**of_types(*ATTACHMENT_TYPES, TRACE_TYPE), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str, file: str) -> FileResponse:  # noqa: A002
        """An attachment or a trace by the id that the record's text gives it."""
        record = sealed.get(self.actor, identity(id))
        wanted = str(identity(file))
        text = json.loads(bytes(record.canonical))
        for told in text["attachments"]:
            if told["id"] == wanted:
                return kept_file(told)
        for told in text["traces"]:
            if told["id"] == wanted:
                return kept_file(traces.as_file(told))
        raise NotFound()
