"""What is attached to a PDF, found without reading it as one."""

import re
import zlib

from records.verifier.sealed import digest
from records.verifier.telling import BEGIN, MOST, Wrong


def record_in(pdf: bytes) -> bytes:
    """The one record that is attached to a PDF; `Wrong` if it is not exactly one, or no PDF."""
    found = _attached(pdf)
    if b"%%EOF" not in pdf[-2048:] or not pdf[:1024].count(b"%PDF-"):
        raise Wrong("it is no whole PDF: damaged or cut short")
    if len(found) != 1:
        raise Wrong(
            f"{'several' if found else 'no'} records are attached to it, expected one:"
            " damaged, encrypted or not of this service"
        )
    return found[0]


def _attached(pdf: bytes) -> list[bytes]:
    """Every record that is attached to a PDF: a stream as it is, or deflated (ISO 32000, 7.4.4).

    Streams stand in the file itself, whatever way its objects are listed: so all are looked at.
    """
    found: dict[str, bytes] = {}
    for match in _STREAM.finditer(pdf):
        start = pdf.rfind(b" obj", max(0, match.start() - 4096), match.start())
        said, at = pdf[start : match.start()], match.end()
        if b"FlateDecode" in said:
            content = _inflated(pdf, at, b"EmbeddedFile" in said)
        else:
            content = pdf[at : pdf.find(b"endstream", at)].rstrip(b"\r\n")
        if content.startswith(BEGIN) or (b"EmbeddedFile" in said and b"json" in said):
            found[digest(content)] = content
        if len(found) > 1:
            break  # one too many already
    return list(found.values())


_STREAM = re.compile(rb">>\s*stream\r?\n")


def _inflated(pdf: bytes, at: int, whole: bool) -> bytes:
    """A deflated stream; its first bytes alone, unless it is a record or said to be attached."""
    unpack = zlib.decompressobj()
    try:
        content = unpack.decompress(pdf[at : at + 4096], len(BEGIN))
        if not whole and content != BEGIN:
            return b""
        content += unpack.decompress(unpack.unconsumed_tail + pdf[at + 4096 :], MOST)
    except zlib.error as error:
        if whole:
            raise Wrong(f"what is attached to it is damaged: {error}") from None
        return b""
    if not unpack.eof:
        raise Wrong("what is attached to it is cut short, or larger than 64 MiB")
    return content
