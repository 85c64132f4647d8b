"""Whether a file is a whole PDF: its beginning, its end, and where its end says objects are told.

ISO 32000-2, 7.5.2 (header), 7.5.4 and 7.5.8 (cross-references) and 7.5.5 (trailer). Nothing in it
is opened or run: a file that is a PDF and something else besides is saved, never shown.
"""

import re
from typing import IO

from calculations.inputs.reading import Problem
from records.errors import Invalid

_HEADER = re.compile(rb"%PDF-[12]\.[0-9]")
_END = re.compile(rb"startxref\s+([0-9]{1,12})\s+%%EOF")
_TABLE = re.compile(rb"\s*xref\s+[0-9]+\s+[0-9]+\s")
_STREAM = re.compile(rb"\s*[0-9]+\s+[0-9]+\s+obj\b")
_TAIL = 1024
"""Bytes at the end in which the end is looked for, as readers do."""


def refuse_broken(file: IO[bytes]) -> None:
    """`Invalid` where the file does not begin and end as a PDF does; it is left anywhere."""
    file.seek(0, 2)
    size = file.tell()
    file.seek(0)
    if not _HEADER.match(file.read(8)):
        raise _invalid("its first line names no version")
    file.seek(max(0, size - _TAIL))
    ends = list(_END.finditer(file.read()))
    if not ends:
        raise _invalid("its end is missing")
    if not _tells_objects(file, int(ends[-1][1]), size):
        raise _invalid("its end does not lead to its objects")


def _tells_objects(file: IO[bytes], at: int, size: int) -> bool:
    """Whether a table of objects that names a root begins here, or a stream of them."""
    if at >= size:
        return False
    file.seek(at)
    told = file.read()
    if _STREAM.match(told):
        dictionary, stream, _ = told.partition(b"stream")
        return bool(stream) and b"/XRef" in dictionary and b"/Root" in dictionary
    _, trailer, dictionary = told.partition(b"trailer")
    return bool(_TABLE.match(told)) and bool(trailer) and b"/Root" in dictionary


def _invalid(why: str) -> Invalid:
    words = f"expected a whole PDF, but {why}: send it again, or save it as PDF anew"
    return Invalid(problems=[Problem("", "pdf", words)])
