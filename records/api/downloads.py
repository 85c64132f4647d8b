"""Files of the book as downloads: saved under a name, never shown as a page of ours."""

from collections.abc import Mapping
from typing import Any

from django.core.files.storage import default_storage
from django.http import FileResponse, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils.http import content_disposition_header
from drf_spectacular.types import OpenApiTypes

from records.services.files import saved_as, stored_name

ATTACHMENT_TYPES = (
    "application/octet-stream", "application/pdf", "image/jpeg", "image/png", "text/plain",
)  # fmt: skip
TRACE_TYPE = "text/csv"


def made_file(content: Any, name: str, content_type: str) -> HttpResponseBase:
    """Bytes that were made just now, or that are still being made where they come in pieces."""
    many = not isinstance(content, bytes)
    answer = (StreamingHttpResponse if many else HttpResponse)(content, content_type=content_type)
    answer["Content-Disposition"] = content_disposition_header(as_attachment=True, filename=name)
    return answer


def pdf_to_show(content: bytes, name: str) -> HttpResponse:
    """A PDF that was made just now of what is registered: a browser shows it at once."""
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = content_disposition_header(False, name) or "inline"
    return answer


def of_types(*types: str) -> dict[Any, Any]:
    """A file as an answer of the OpenAPI document."""
    return {(200, each): OpenApiTypes.BINARY for each in types}


def kept_file(told: Mapping[str, Any]) -> FileResponse:
    """A kept file by what is told of it: `name`, `content_type`, `sha256`."""
    answer = FileResponse(
        default_storage.open(stored_name(bytes.fromhex(told["sha256"]))),
        content_type=told["content_type"],
        as_attachment=True,
        filename=saved_as(told["name"], told["content_type"]),
    )
    answer["ETag"] = f'"{told["sha256"]}"'
    return answer
