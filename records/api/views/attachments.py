"""Photographs and documents of an event over the API."""

from typing import get_args

from django.http import FileResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from calculations.inputs.event import AttachmentPurpose
from records.api import documents as told
from records.api.base import BookView
from records.api.downloads import ATTACHMENT_TYPES, kept_file, of_types
from records.api.raw_bodies import RawParser, body_of
from records.api.schema import CREATE, READ, READ_OR_CONFLICT, page_of
from records.ids import identity
from records.models import Attachment
from records.selectors import attachments as selector
from records.services import attachments, event_files, events

IN_THE_QUERY = [
    OpenApiParameter("purpose", str, required=True, enum=get_args(AttachmentPurpose)),
    OpenApiParameter("name", str, required=True, description="The file's name, for people."),
    OpenApiParameter("id", str, description="An id of your own (a UUID)."),
    OpenApiParameter("sha256", str, description="Of the bytes sent, in hex: they are checked."),
]
ABOUT = f"""Keep a photograph or document; its bytes are the body.

Taken are {attachments.TAKEN}; with the purpose `settings_file` any bytes. Photographs are drawn
anew: position and camera data do not come along. At most {attachments.LARGEST // 2**20} MiB.
"""


class AttachmentList(BookView):
    """Attachments of one event."""

    parser_classes = (RawParser,)

    @extend_schema(
        operation_id="list_attachments", tags=["events"],
        responses={200: page_of(told.AttachmentAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """What was attached."""
        event = events.get(self.actor, identity(id))
        items = [selector.document(attachment) for attachment in selector.of(event)]
        return Response({"items": items, "next": None})

    @extend_schema(
        operation_id="post_attachment", tags=["events"], parameters=IN_THE_QUERY,
        description=ABOUT, request={"application/octet-stream": OpenApiTypes.BINARY},
        responses={200: told.AttachmentAnswer, 201: told.AttachmentAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request, id: str) -> Response:  # noqa: A002
        """Keep an attachment."""
        event = events.get(self.actor, identity(id))
        body = body_of(request, attachments.LARGEST)
        given = dict(request.query_params.items())
        row, created = attachments.add(self.actor, event, given, body.pieces())
        return Response(
            selector.document(row),
            status=201 if created else 200,
            headers={"Location": f"{request.path}/{row.id}"},
        )


class AttachmentDetail(BookView):
    """One attachment."""

    @extend_schema(
        operation_id="read_attachment", tags=["events"],
        responses={**of_types(*ATTACHMENT_TYPES), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str, attachment: str) -> FileResponse:  # noqa: A002
        """The file as it is kept, to be saved and not to be shown."""
        event = events.get(self.actor, identity(id))
        return kept_file(selector.line(selector.get(event, identity(attachment))))

    @extend_schema(
        operation_id="remove_attachment", tags=["events"],
        responses={204: None, **READ_OR_CONFLICT},
    )  # fmt: skip
    def delete(self, request: Request, id: str, attachment: str) -> Response:  # noqa: A002
        """Remove a wrong file from a draft that nobody has signed; it is judged without it."""
        event = events.get(self.actor, identity(id))
        event_files.remove(self.actor, event, Attachment, identity(attachment))
        return Response(status=204)
