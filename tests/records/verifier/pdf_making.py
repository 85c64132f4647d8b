"""PDFs with files attached, object by object, so that a test can write them otherwise."""

import io
import re
import zlib

import pypdf

PAGES = {2: b"<</Type/Pages/Kids[3 0 R]/Count 1>>", 3: b"<</Type/Page/Parent 2 0 R>>"}
JSON = b"/Type/EmbeddedFile/Subtype/application#2Fjson"
DEFLATED = b"/Filter/FlateDecode"


def stream(data: bytes, said: bytes = b"") -> bytes:
    """An object's text."""
    return b"<<%s/Length %d>>\nstream\n%s\nendstream" % (said, len(data), data)


def attached(content: bytes) -> bytes:
    """A stream with a file in it."""
    return stream(zlib.compress(content), JSON + DEFLATED)


def filespec(number: int, name: bytes = b"data.json") -> bytes:
    """What names the stream of this number."""
    return b"<</Type/Filespec/F(%s)/UF(%s)/EF<</F %d 0 R/UF %d 0 R>>>>" % (
        name, name, number, number,
    )  # fmt: skip


def catalog(*named: tuple[bytes, int]) -> bytes:
    """The root, with these names of attached files."""
    names = b"".join(b"(%s)%d 0 R" % each for each in named)
    return b"<</Type/Catalog/Pages 2 0 R/Names<</EmbeddedFiles<</Names[%s]>>>>>>" % names


def holding(content: bytes, **more: bytes) -> bytes:
    """A PDF with one file attached; objects by number in its place or besides (`o6=…`)."""
    objects = {1: catalog((b"data.json", 4)), **PAGES, 4: filespec(5), 5: attached(content)}
    return written(objects | {int(name[1:]): each for name, each in more.items()})


def written(objects: dict[int, bytes], before: bytes = b"", places: dict[int, int] = {}) -> bytes:  # noqa: B006
    """These objects, at the end of a file `before` or as one; `places` that are not theirs."""
    text, at = before or b"%PDF-1.7\n%\x80\x80\x80\x80\n", {}
    for number, content in objects.items():
        at[number] = len(text)
        text += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    lines = b"".join(
        b"%d 1\n%010d 00000 n \n" % (number, places.get(number, place))
        for number, place in sorted((places | at).items())
    )
    earlier = re.findall(rb"startxref\n([0-9]+)", before)
    previous = b"/Prev %s" % earlier[-1] if earlier else b""
    return text + (
        b"xref\n0 1\n0000000000 65535 f \n%strailer\n<</Size 99/Root 1 0 R%s>>\n"
        b"startxref\n%d\n%%%%EOF\n" % (lines, previous, len(text))
    )


def shown(pdf: bytes) -> list[bytes]:
    """Every file that an independent reader finds attached to it."""
    files = pypdf.PdfReader(io.BytesIO(pdf)).attachments.values()
    return [each for several in files for each in several]
