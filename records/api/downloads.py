"""Files of the book as downloads: saved under a name, never shown as a page of ours."""

from collections.abc import Mapping
from typing import Any

from django.core.files.storage import default_storage
from django.http import FileResponse

from records.services.files import stored_name


def kept_file(told: Mapping[str, Any]) -> FileResponse:
    """A kept file by what is told of it: `name`, `content_type`, `sha256`."""
    answer = FileResponse(
        default_storage.open(stored_name(bytes.fromhex(told["sha256"]))),
        content_type=told["content_type"],
        as_attachment=True,
        filename=told["name"],
    )
    answer["ETag"] = f'"{told["sha256"]}"'
    return answer
