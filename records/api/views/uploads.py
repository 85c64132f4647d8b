"""Files of an event that come in parts over the API."""

import re
from typing import Any

from django.db import transaction
from django.utils.decorators import method_decorator
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records import permissions
from records.api import documents as told
from records.api.base import BookView
from records.api.raw_bodies import Body, PartParser, length_of
from records.api.schema import APPEND, CREATE, READ, page_of
from records.errors import Unreadable
from records.ids import identity
from records.models import Attachment, Event, Trace, Upload
from records.selectors import attachments, traces
from records.selectors import uploads as selector
from records.services import events, uploads

ABOUT = f"""Announce a photograph, document or trace that will come in parts.

The answer's Location takes the parts: append them with PATCH, ask with HEAD how much has come
wherever the connection broke, and go on from there. All that came before it broke is kept. What
is taken, and how much, is the same as where a file comes at once. A file that nothing more comes
of is dropped after {uploads.KEPT_FOR.days} days. An organization may have
{uploads.MOST_UNDER_WAY} of them under way, of {uploads.MOST_BYTES // 2**30} GiB together.

Headers and offsets follow draft-ietf-httpbis-resumable-upload; a file is announced in JSON, since
its purpose and digest belong to it.
"""
APPENDING = """Append the bytes that come next.

A body that breaks off counts as far as it came. Where other bytes are expected next the answer is
409, and its Upload-Offset says which. The last part makes the file: the answer is then the
attachment's or trace's, or the problem that stands against it, as if it had come at once, with
`Upload-Complete: ?1`. What is refused then is refused again until the upload is given up. The
last part sent again answers as before and changes nothing.
"""
IN_THE_HEADERS = [
    OpenApiParameter(
        "Upload-Offset", {"type": "integer", "minimum": 0, "maximum": 10**15 - 1},
        OpenApiParameter.HEADER, required=True,
        description="Where in the file the body begins.",
    ),
    OpenApiParameter(
        "Upload-Complete", str, OpenApiParameter.HEADER, enum=["?0", "?1"],
        description="Whether the file ends with this body. Left out: as its length says.",
    ),
]  # fmt: skip
_OFFSET = re.compile(r"[0-9]{1,15}")
_KINDS = {Attachment: ("attachments", attachments), Trace: ("traces", traces)}


class UploadList(BookView):
    """Files of one event that are under way."""

    @extend_schema(
        operation_id="list_uploads", tags=["events"],
        responses={200: page_of(told.UploadAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """What is under way."""
        event = events.get(self.actor, identity(id))
        items = [selector.document(upload) for upload in selector.of(event)]
        return Response({"items": items, "next": None})

    @extend_schema(
        operation_id="begin_upload", tags=["events"], description=ABOUT,
        request=uploads.UploadInput,
        responses={200: told.UploadAnswer, 201: told.UploadAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request, id: str) -> Response:  # noqa: A002
        """Announce a file."""
        event = events.get(self.actor, identity(id))
        upload, created = uploads.begin(self.actor, event, self.body())
        where = {"Location": f"{request.path}/{upload.id}"}
        return Response(
            selector.document(upload),
            status=201 if created else 200,
            headers=selector.headers(upload) | where,
        )


@method_decorator(transaction.non_atomic_requests, name="dispatch")
class UploadDetail(BookView):
    """One file that is under way.

    A request that appends makes a transaction of every part, so that what came is kept, whatever
    happens to the rest; so the others here make their own as well.
    """

    parser_classes = (PartParser,)
    makes_its_own_transactions = True

    @extend_schema(
        operation_id="read_upload", tags=["events"],
        responses={200: told.UploadAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str, upload: str) -> Response:  # noqa: A002
        """How much has come; HEAD answers with the headers alone."""
        _, found = self._find(id, upload)
        return Response(selector.document(found), headers=selector.headers(found))

    def head(self, request: Request, id: str, upload: str) -> Response:  # noqa: A002
        """How much has come, in headers."""
        _, found = self._find(id, upload)
        return Response(status=204, headers=selector.headers(found))

    @extend_schema(
        operation_id="append_to_upload", tags=["events"], description=APPENDING,
        parameters=IN_THE_HEADERS, request={PartParser.media_type: OpenApiTypes.BINARY},
        responses={
            200: told.FileAnswer, 201: told.FileAnswer, 204: None, **APPEND,
        },
    )  # fmt: skip
    def patch(self, request: Request, id: str, upload: str) -> Response:  # noqa: A002
        """Append the bytes that come next."""
        event, found = self._find(id, upload)
        offset, length = _offset(request), length_of(request)
        last = _is_last(request, offset + length, found.size)
        if not (last and found.completed_at):
            uploads.refuse_unless_next(self.actor, event, found, offset, length)
            found.received = self._append(found, offset, length)
        if not last:
            return Response(status=204, headers=selector.headers(found))
        self.headers |= {"Upload-Complete": "?1", "Upload-Offset": str(found.received)}
        made, created = uploads.complete(self.actor, event.id, found.id)
        return _told(request, made, 201 if created else 200)

    @extend_schema(operation_id="give_up_upload", tags=["events"], responses={204: None, **READ})
    def delete(self, request: Request, id: str, upload: str) -> Response:  # noqa: A002
        """Give the upload up, with all that came; what was made of a complete one stays."""
        with permissions.inside(self.actor):
            event = events.get(self.actor, identity(id))
            uploads.give_up(self.actor, event, identity(upload))
        return Response(status=204)

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        """What may go well when tried again is not told as if it were over."""
        if response.status_code >= 500:
            self.headers.pop("Upload-Complete", None)
        return super().finalize_response(request, response, *args, **kwargs)

    def _find(self, event: str, upload: str) -> tuple[Event, Upload]:
        with permissions.inside(self.actor):
            found = events.get(self.actor, identity(event))
            return found, selector.get(found, identity(upload))

    def _append(self, upload: Upload, offset: int, length: int) -> int:
        """Where what was kept ends; a body that broke off is told so, if anybody still listens."""
        if not length:
            return offset
        stream: Any = self.request.data
        end = uploads.keep(self.actor, upload, offset, Body(stream, length).arriving())
        if end != offset + length:
            self.headers["Upload-Offset"] = str(end)
            words = f"the body broke off: {end - offset} of {length} bytes came, and are kept"
            raise Unreadable(words)
        return end


def _offset(request: Request) -> int:
    given = request.headers.get("Upload-Offset", "")
    if not _OFFSET.fullmatch(given):
        raise Unreadable("expected the header Upload-Offset: where in the file the body begins")
    return int(given)


def _is_last(request: Request, end: int, size: int) -> bool:
    """Whether the file is to end with this body."""
    given = request.headers.get("Upload-Complete")
    if given == "?1" and end != size:
        raise Unreadable(f"Upload-Complete: ?1, but the body ends at {end} of {size} bytes")
    return given != "?0" and end == size


def _told(request: Request, made: Attachment | Trace, status: int) -> Response:
    """As where it came at once."""
    place, describe = _KINDS[type(made)]
    where = request.path.rpartition("/uploads/")[0] + f"/{place}/{made.id}"
    return Response(describe.document(made), status=status, headers={"Location": where})
