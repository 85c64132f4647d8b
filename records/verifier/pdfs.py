"""The one file that is attached to a PDF, whichever reader looks for it."""

import re
import zlib

from records.verifier.pdf_objects import NAME_ENDS, PdfObject, read_objects, strange
from records.verifier.telling import MOST, Wrong


def record_in(pdf: bytes) -> bytes:
    """The one file that is attached to a PDF; `Wrong` if it is not exactly one, or no PDF.

    Wherever a file is named, it has to be this one: then it does not matter which names a reader
    goes by. What cannot name a file, but might for some reader, is refused.
    """
    objects = read_objects(pdf)
    _refuse_other_ways(objects)
    named = _named_files(objects)
    for each in objects:
        if each.data and _times(b"/EmbeddedFile", each.said):
            named.add(each.number)
    if len(named) != 1:
        raise Wrong(
            f"{'several' if named else 'no'} records are attached to it, expected one:"
            " damaged, encrypted or not of this service"
        )
    found = [each for each in objects if each.number in named]
    if len(found) != 1:
        raise strange("what is attached to it stands in it twice, or is missing")
    return _content(pdf, found[0])


_OTHER_WAYS = re.compile(
    rb"/(?:Encrypt|ObjStm|XRef|XRefStm|Crypt|RF|FS|FileAttachment|GoToE|RichMedia|Collection"
    rb"|JavaScript|JS)" + NAME_ENDS
)  # fmt: skip
_SIGNS = rb"2[0-9A-Fa-f]|3[A-Fa-f]|40|5[B-Fb-f]|60|7[B-Eb-e]|[89A-Fa-f][0-9A-Fa-f]"
_HIDES = re.compile(rb"#(?!" + _SIGNS + b")")


def _refuse_other_ways(objects: list[PdfObject]) -> None:
    """Names that lead to files in another way, or that say what they are in another way."""
    said = b"\n".join([each.said for each in objects])
    if found := _OTHER_WAYS.search(said):
        raise strange(f"{found[0].decode()} stands in it")
    if _HIDES.search(said):
        raise strange("a letter of a name, or what may end it, is written as its code")


def _times(name: bytes, said: bytes) -> int:
    """How often a name stands there; a font's may begin like it."""
    return len(re.findall(re.escape(name) + NAME_ENDS, said)) if name in said else 0


_REFERENCE = rb"\s*([0-9]{1,8}) 0 R"
_NUMBER = re.compile(_REFERENCE)
_FILES = re.compile(rb"/EF\s*<<((?:\s*/U?F" + _REFERENCE + rb")+)\s*>>")
_TREE = re.compile(
    rb"/EmbeddedFiles\s*<<\s*/Names\s*\[((?:\s*<[0-9A-Fa-f]*>" + _REFERENCE
    + rb")*)\s*\]\s*>>"
)  # fmt: skip
_ASSOCIATED = re.compile(rb"/AF\s*\[((?:" + _REFERENCE + rb")*)\s*\]")


def _named_files(objects: list[PdfObject]) -> set[int]:
    """The numbers of all streams that are named as files."""
    files, named, holders = set[int](), set[int](), set[PdfObject]()
    for each in (each for each in objects if b"F" in each.said):
        if _times(b"/EF", each.said):
            files |= _numbers(_FILES, b"/EF", each.said)
            holders.add(each)
        elif _times(b"/Filespec", each.said):
            raise strange("a file that is named in it lies elsewhere")
        named |= _numbers(_TREE, b"/EmbeddedFiles", each.said)
        named |= _numbers(_ASSOCIATED, b"/AF", each.said)
    if any(each.number in named and each not in holders for each in objects):
        raise strange("a file that is named in it lies elsewhere")
    return files


def _numbers(pattern: re.Pattern[bytes], name: bytes, said: bytes) -> set[int]:
    """Those that stand behind the name, each time in the one form that is known."""
    if name not in said:
        return set()
    found = list(pattern.finditer(said))
    if len(found) != _times(name, said) or _times(b"/Filespec", said) > 1:
        raise strange(f"{name.decode()} stands in it in another form")
    return {int(number) for each in found for number in _NUMBER.findall(each[1])}


_PARTS = re.compile(
    rb"/(Length)\s+[0-9]+|/(Type)\s*/EmbeddedFile|/(Filter)\s*/FlateDecode"
    rb"|/(Params)\s*<<(?:[^<>]|<>)*>>|/(Subtype)\s*/[\w#.+-]+|\s+"
)


def _content(pdf: bytes, stream: PdfObject) -> bytes:
    """What the stream holds: as it is, or deflated (ISO 32000-2, 7.4.4)."""
    said = stream.said.strip()
    parts = [part for each in _PARTS.findall(said) for part in each if part]
    if _PARTS.sub(b"", said) != b"<<>>" or len(parts) != len(set(parts)) or not stream.data:
        raise strange("what is attached to it is described in another form")
    data = pdf[slice(*stream.data)]
    if b"Filter" not in parts:
        return data
    unpack = zlib.decompressobj()
    try:
        content = unpack.decompress(data, MOST)
    except zlib.error as error:
        raise Wrong(f"what is attached to it is damaged: {error}") from None
    if not unpack.eof:
        raise Wrong("what is attached to it is cut short, or larger than 64 MiB")
    if unpack.unused_data:
        raise strange("something stands behind what is attached to it")
    return content
