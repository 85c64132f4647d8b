"""The objects of a PDF, one after the other, with nothing between them.

Read is only what the service's own programs write (ISO 32000-2, 7.5): objects in plain sight, a
table of them as text that names their places, and one later revision at most, the signature's.
Everything else is refused. So no reader finds an object that was not looked at here, and the time
that a file takes grows with its size alone.
"""

import re
from collections.abc import Iterator
from itertools import compress
from typing import NamedTuple

from records.verifier.telling import Wrong

MOST_OBJECTS = 1_000_000
WHITE = rb"[\x00\t\n\f\r ]"
NAME_ENDS = rb"(?![^\x00\t\n\f\r ()<>\[\]{}/%])"


class PdfObject(NamedTuple):
    """An object: what it says with its strings emptied, and where its stream lies, if any."""

    number: int
    at: int
    said: bytes
    data: tuple[int, int] | None = None


def strange(what: str) -> Wrong:
    """The file is not as the service writes them."""
    return Wrong(
        f"it is not as the service writes a PDF: {what}. It is damaged or was changed, or another"
        " program saved it anew: then save the data.json that is attached to it, and check that"
    )


def read_objects(pdf: bytes) -> list[PdfObject]:
    """Every object of every revision, and what the trailers say as objects without a number."""
    if b"%%EOF" not in pdf[-2048:] or not (begin := _HEADER.match(pdf)):
        raise Wrong("it is no whole PDF: damaged or cut short")
    at, table, all_of_them = begin.end(), 0, list[PdfObject]()
    for _ in range(2):
        found, at = _objects(pdf, at, MOST_OBJECTS - len(all_of_them))
        trailer, at = _table(pdf, at, {each[:2] for each in found}, table)
        table = trailer.at
        all_of_them += [*found, trailer]
        if at == len(pdf):
            return all_of_them
    raise strange("it was changed more than once after it was made")


_HEADER = re.compile(rb"%PDF-[12]\.[0-9]\s+(?:%[\x80-\xff]{4,8}\s+)?")

_STRING = rb"\((?:[^()\\]++|\\[\s\S])*+\)"
for _ in range(4):  # parentheses in parentheses
    _STRING = rb"\((?:[^()\\]++|\\[\s\S]|" + _STRING + rb")*+\)"
# Other characters stand in a name as their codes, and readers differ in what they take for an end.
_NAME = rb"/[!-$&'*-.0-;=?-Z\\^-z|~]*+"
_SAID = (
    rb"((?:[\x00\t\n\f\r 0-9+\-.R\[\]]++|true|false|null|<<|>>|<(?:[0-9A-Fa-f]|" + WHITE + rb")*+>|"
    + _NAME + b"|" + _STRING + rb")*+)"
)  # fmt: skip
_STRINGS, _EMPTY = re.compile(rb"\([^()\\]*+\)|" + _STRING), b"<>"
_BEGIN = WHITE + rb"*+([1-9][0-9]{0,7}) 0 obj(?![0-9A-Za-z])"
_UNREAD = re.compile(_BEGIN)
_OBJECT = re.compile(_BEGIN + _SAID + rb"(?:endobj|(stream)\r?\n)")
# The same in half the time, of those without a stream: whatever else, up to the j of `endobj`.
_ELSE = rb"[\x00\t\n\f\r !-$&'*-;=>?-ik-z|~]*+"
_PLAIN = re.compile(
    _BEGIN + b"(" + _ELSE + rb"(?:(?:<<|" + _STRING + rb"|<[0-9A-Fa-f]*+>|(?<!endob)j)" + _ELSE
    + b")*+)j"
)  # fmt: skip
_LENGTH = re.compile(rb"/Length\s+([0-9]{1,9})(?![0-9]|\s+[0-9]+\s+R)")
_SAYS_LENGTH = re.compile(rb"/Length" + NAME_ENDS)
_AFTER_DATA = re.compile(rb"\r?\n?endstream\s+endobj")
_HIDDEN = re.compile(rb"[0-9]" + WHITE + rb"+[0-9]+" + WHITE + rb"+obj")


def _objects(pdf: bytes, at: int, most: int) -> tuple[list[PdfObject], int]:
    """The objects from here on, and where they end."""
    found, stop = list[PdfObject](), -1
    while True:
        if stop < at and (stop := pdf.find(b"stream", at)) < 0:
            stop = len(pdf)
        matches = list[re.Match[bytes]]()
        while len(found) + len(matches) <= most and (plain := _PLAIN.match(pdf, at, stop)):
            matches.append(plain)
            at = plain.end()
        found += _without_stream(matches)
        if len(found) > most:
            raise strange(f"it has more than {MOST_OBJECTS} objects")
        if not (each := _OBJECT.match(pdf, at)):
            if unread := _UNREAD.match(pdf, at):
                raise strange(f"object {int(unread[1])} cannot be read")
            return found, at
        number, said, at = int(each[1]), _STRINGS.sub(_EMPTY, each[2]), each.end()
        data = None
        if each[3]:
            data, at = _data(pdf, at, number, said)
        found.append(PdfObject(number, each.start(1), said, data))


def _without_stream(matches: list[re.Match[bytes]]) -> Iterator[PdfObject]:
    """What was read at once; `endobj` stands in strings alone, and these are emptied."""
    said = _STRINGS.sub(_EMPTY, b"endobj".join([each[2] for each in matches])).split(b"endobj")
    numbers, places = [int(each[1]) for each in matches], [each.start(1) for each in matches]
    return map(PdfObject, numbers, places, said)


def _data(pdf: bytes, start: int, number: int, said: bytes) -> tuple[tuple[int, int], int]:
    """Where the stream of an object lies, and where the object ends."""
    lengths = _LENGTH.findall(said)
    if len(lengths) != 1 or len(_SAYS_LENGTH.findall(said)) != 1:
        raise strange(f"of object {number} it is not said once how long it is")
    end = start + int(lengths[0])
    after = _AFTER_DATA.match(pdf, end)
    if not after:
        raise strange(f"object {number} is not as long as it says")
    if pdf.find(b"obj", start, end) >= 0 and _HIDDEN.search(pdf, start, end):
        raise strange(f"another object stands inside of object {number}")
    return (start, end), after.end()


_TABLE = re.compile(WHITE + rb"*(xref\s+)(?=[0-9])")
_SECTION = re.compile(rb"([0-9]{1,8}) ([0-9]{1,8}) ?(?:\r\n|\n|\r)")
_ROWS = re.compile(rb"(?:[0-9]{10} (?:[0-9]{5} f|00000 n)(?: [\r\n]|\r\n))*+")
_TRAILER = re.compile(rb"trailer\b" + _SAID + rb"startxref\s+([0-9]{1,10})\s+%%EOF\s*")
_PREVIOUS = re.compile(rb"/Prev\s+([0-9]{1,10})(?![0-9])")


def _table(
    pdf: bytes, at: int, objects: set[tuple[int, int]], before: int
) -> tuple[PdfObject, int]:
    """The trailer behind a table that names places of these objects alone; where it ends."""
    begin = _TABLE.match(pdf, at)
    if not begin:
        raise strange("it holds something that is no plain object")
    place, at = begin.start(1), begin.end()
    while section := _SECTION.match(pdf, at):
        first, count, start = int(section[1]), int(section[2]), section.end()
        at = start + 20 * count
        rows = pdf[start:at]
        if len(rows) < 20 * count or not _ROWS.fullmatch(rows):
            raise strange("its table of objects is damaged")
        words = rows.split()
        told = zip(range(first, first + count), map(int, words[::3]), strict=True)
        if missing := set(compress(told, [kind == b"n" for kind in words[2::3]])) - objects:
            raise strange(f"object {min(missing)[0]} is not where its table says")
    trailer = _TRAILER.match(pdf, at)
    if not trailer or int(trailer[2]) != place:
        raise strange("its end does not lead to its objects")
    said = _STRINGS.sub(_EMPTY, trailer[1])
    previous = [int(each) for each in _PREVIOUS.findall(said)]
    if b"/Root" not in said or previous != ([before] if before else []):
        raise strange("its revisions do not follow each other")
    return PdfObject(0, place, said), trailer.end()
