"""Reading CSV: the body is not read at once, whoever takes it reads line by line."""

from collections.abc import Mapping
from typing import IO, Any

from rest_framework.parsers import BaseParser

from records.errors import TooLarge
from records.services.traces import LARGEST


class CsvParser(BaseParser):
    """`text/csv` (RFC 4180)."""

    media_type = "text/csv"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """The body as a stream; `TooLarge` where it says that it is longer than is taken."""
        request = (parser_context or {})["request"]
        if int(request.META.get("CONTENT_LENGTH") or 0) > LARGEST:
            raise TooLarge(f"a trace may be {LARGEST} bytes at most")
        return stream
