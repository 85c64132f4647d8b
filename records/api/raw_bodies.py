"""Bodies that are read piece by piece: rows of a trace, photographs, documents."""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import IO, Any

from rest_framework.parsers import BaseParser
from rest_framework.request import Request

from records.errors import LengthRequired, TooLarge, Unreadable

_PIECE = 256 * 1024
_STEP = 16 * 1024


class Body:
    """A body that is read once, in lines or pieces; one that breaks off is refused at its end."""

    def __init__(self, stream: IO[bytes], length: int) -> None:
        self._stream, self._length = stream, length

    def lines(self) -> Iterator[bytes]:
        """Its lines, each with its end."""
        yield from self._counted(iter(self._stream))

    def pieces(self) -> Iterator[bytes]:
        """Its bytes, some at a time."""
        yield from self._counted(iter(lambda: self._stream.read(_PIECE), b""))

    def arriving(self) -> Iterator[bytes]:
        """Its bytes, a few at a time, as far as they come: where it breaks off, no error."""
        with suppress(OSError):
            yield from iter(lambda: self._stream.read(_STEP), b"")

    def _counted(self, parts: Iterator[bytes]) -> Iterator[bytes]:
        received = 0
        for part in parts:
            received += len(part)
            yield part
        if received != self._length:
            raise Unreadable(f"the body broke off: {received} of {self._length} bytes came")


class RawParser(BaseParser):
    """Any media type; nothing is read yet."""

    media_type = "*/*"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """The stream."""
        return stream


class PartParser(RawParser):
    """`application/partial-upload` (draft-ietf-httpbis-resumable-upload)."""

    media_type = "application/partial-upload"


class CsvParser(RawParser):
    """`text/csv` (RFC 4180)."""

    media_type = "text/csv"


def body_of(request: Request, largest: int) -> Body:
    """The body, where it says how long it is; `TooLarge` where that is more than `largest`."""
    length = length_of(request)
    if not length:
        raise Unreadable("expected a body with its length in Content-Length")
    if length > largest:
        raise TooLarge(f"at most {largest} bytes are taken here, {length} were announced")
    stream: Any = request.data
    return Body(stream, length)


def length_of(request: Request) -> int:
    """How long the body is said to be; 0 where there is none. `LengthRequired` if it comes in
    chunks, of which nobody knows how many: they are not read.
    """
    if request.META.get("HTTP_TRANSFER_ENCODING"):
        raise LengthRequired("expected Content-Length in place of Transfer-Encoding")
    given = request.META.get("CONTENT_LENGTH") or "0"
    if not given.isdecimal():
        raise LengthRequired("expected a whole number in Content-Length")
    return int(given)


def media_type_of(request: Request) -> str:
    """What the body is said to be, without parameters."""
    return (request.content_type or "").partition(";")[0].strip().lower()
