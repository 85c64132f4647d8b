"""PDFs that show a reader something else than the record that is checked: none passes."""

import base64
import json
import time
import zlib
from pathlib import Path

import pytest

from tests.records.verifier.pdf_making import (
    DEFLATED,
    JSON,
    PAGES,
    attached,
    catalog,
    filespec,
    holding,
    shown,
    stream,
    written,
)  # fmt: skip

GENUINE = (Path(__file__).parent.parent / "golden" / "format_1.json").read_bytes()
FORGED = GENUINE.replace(b"Ombrelay", b"Umbrelay", 1)
PACKED = zlib.compress(FORGED)
TWO = catalog((b"data.json", 4), (b"approved.json", 6))
HEX = FORGED.hex().encode() + b">"


def with_second(second, **more):
    """The genuine record, and something else beside it."""
    return holding(GENUINE, **{"o1": TWO, "o6": filespec(7, b"approved.json"), "o7": second} | more)


def late_blocks():
    """Deflated, but with so many blocks without content before it that a glance sees nothing."""
    pack = zlib.compressobj(9)
    begin = b"".join(pack.compress(b"") + pack.flush(zlib.Z_FULL_FLUSH) for _ in range(2))
    empty = b"\x00\x00\x00\xff\xff" * 1000
    return begin[:2] + empty + zlib.compress(FORGED)[2:]


def predicted():
    """In rows that each begin with a 0, as a predictor has them (ISO 32000-2, 7.4.4.4)."""
    rows = b"".join(b"\0" + FORGED[at : at + 100] for at in range(0, len(FORGED) // 100 * 100, 100))
    return zlib.compress(rows)


def objects_in_a_stream(*, before=b"", update=True):
    """A later revision whose table is a stream and whose objects stand in one."""
    held = {1: TWO, 6: filespec(7, b"approved.json")}
    heads, bodies = b"", b""
    for number, each in held.items():
        heads += b"%d %d " % (number, len(bodies))
        bodies += each + b" "
    packed = stream(
        zlib.compress(heads + bodies),
        b"/Type/ObjStm/N 2/First %d%s" % (len(heads), DEFLATED),
    )
    text = holding(GENUINE)
    first = text[text.rindex(b"startxref") :].split()[1]
    places = {}
    for number, each in ((7, stream(PACKED, DEFLATED)), (8, packed)):
        places[number] = len(text)
        text += b"%d 0 obj\n%s\nendobj\n" % (number, each)
    rows = [(1, 2, 8, 0), (6, 2, 8, 1), (7, 1, places[7], 0), (8, 1, places[8], 0)]
    rows.append((9, 1, len(text), 0))
    table = b"".join(
        bytes([kind]) + at.to_bytes(4, "big") + bytes([of]) for _, kind, at, of in rows
    )
    said = b"/Type/XRef/Size 10/Index[1 1 6 4]/W[1 4 1]/Root 1 0 R/Prev %s" % first
    end = b"9 0 obj\n%s\nendobj\nstartxref\n%d\n%%%%EOF\n"
    return text + end % (stream(table, said), len(text))


def table_beside_the_table():
    """A trailer whose /XRefStm leads to a table, as a stream without a type (7.5.8.4)."""
    other = {1: TWO, 6: filespec(7, b"approved.json")}
    second = b"".join(b"%d %d " % at for at in ((1, 0), (6, len(TWO) + 1)))
    packed = stream(second + b" ".join(other.values()), b"/N 2/First %d" % len(second))
    rows = b"".join(b"\2" + (8).to_bytes(4, "big") + bytes([nth]) for nth in range(2))
    table = stream(rows, b"/Size 10/Index[1 1 6 1]/W[1 4 1]/Root 1 0 R")
    before = holding(GENUINE)
    pdf = written({7: stream(b" " + FORGED), 8: packed, 9: table}, before)
    return pdf.replace(b"/Prev", b"/XRefStm %010d/Prev" % pdf.index(b"9 0 obj"))


HIDDEN = b"7 0 obj <</Type/Filespec/F<61>/UF<61>/EF<</F 9 0 R>>>> endobj"


def inside_of(other):
    """An object that the table alone knows: it stands in another's text."""
    objects = {1: catalog((b"data.json", 4), (b"a", 7)), **PAGES, 4: filespec(5)}
    objects |= {5: attached(GENUINE), 8: other, 9: stream(PACKED, DEFLATED)}
    at = written(objects).index(b"7 0 obj <<")
    return written(objects, places={7: at})


def updated(**more):
    """A second revision that nobody signed."""
    return written({int(name[1:]): each for name, each in more.items()}, holding(GENUINE))


SHOWN = {
    "a filter that the names escape": with_second(stream(PACKED, b"/Filter/Flate#44ecode")),
    "another filter": with_second(stream(HEX, b"/Filter/ASCIIHexDecode")),
    "two filters": with_second(
        stream(PACKED.hex().encode() + b">", b"/Filter[/ASCIIHexDecode/FlateDecode]")
    ),
    "in base 85": with_second(stream(base64.a85encode(FORGED) + b"~>", b"/Filter/ASCII85Decode")),
    "a predictor": with_second(
        stream(predicted(), DEFLATED + b"/DecodeParms<</Predictor 10/Columns 100>>")
    ),
    "no type, another beginning": with_second(stream(zlib.compress(b" " + FORGED), DEFLATED)),
    "a long dictionary": with_second(
        stream(PACKED, JSON + DEFLATED + b"/Of[" + b"0 " * 3000 + b"]")
    ),
    "empty blocks before it": with_second(stream(late_blocks(), DEFLATED)),
    "no record at all": with_second(stream(b"Approved by all.", b"/Type/EmbeddedFile")),
    "a name that is escaped": with_second(
        stream(zlib.compress(b"\n" + FORGED), DEFLATED),
        o6=filespec(7, b"a").replace(b"/EF", b"/E#46").replace(b"Filespec", b"File#73pec"),
    ),
    "a tree that is escaped": with_second(
        stream(b" " + FORGED), o1=TWO.replace(b"EmbeddedFiles", b"#45mbeddedFiles")
    ),
    "a later revision": updated(o1=TWO, o6=filespec(7, b"a"), o7=stream(b" " + FORGED)),
    "a later revision of the file itself": updated(o5=stream(b" " + FORGED)),
    "objects in a stream": objects_in_a_stream(),
    "an object in a string": inside_of(b"<</Title(%s)>>" % HIDDEN),
    "an object in the content of a stream": inside_of(stream(HIDDEN)),
    "a comment between": with_second(
        stream(b" " + FORGED), o6=b"<</Type/Filespec/F(a)/UF(a)/EF%x\n<</F 7 0 R>>>>"
    ),
    "a tree with branches": holding(
        GENUINE,
        o1=b"<</Type/Catalog/Pages 2 0 R/Names<</EmbeddedFiles 8 0 R>>>>",
        o8=b"<</Kids[9 0 R]>>",
        o9=b"<</Limits[(a)(a)]/Names[(a)6 0 R]>>",
        o6=filespec(7, b"a"),
        o7=stream(b" " + FORGED),
    ),
}
# What one reader leaves out, and another may show.
NOT_SHOWN_BY_ALL = {
    "the same one twice": with_second(attached(GENUINE)),
    "a table beside the table": table_beside_the_table(),
    "names that end for some before they end": holding(
        GENUINE,
        o1=TWO.replace(b"/EmbeddedFiles", b"/EmbeddedFiles#00"),
        o6=b"<</F(a)/UF(a)/EF#00<</F 7 0 R>>>>",
        o7=stream(b" " + FORGED),
    ),
    "a script that attaches a file": holding(
        GENUINE, o8=b"<</S/JavaScript/JS(this.createDataObject\\('approved.json', ''\\))>>"
    ),
    "files that lie elsewhere": holding(GENUINE, o6=b"<</Type/Filespec/FS/URL/F(a)>>", o1=TWO),
    "files without a type": holding(GENUINE, o6=b"<</F(a)>>", o1=TWO),
    "files hung to a page": holding(
        GENUINE,
        o3=b"<</Type/Page/Parent 2 0 R/Annots[<</Subtype/FileAttachment/FS 6 0 R>>]>>",
        o6=filespec(7, b"a"),
        o7=stream(b" " + FORGED),
    ),
    "text between hexadecimal strings": holding(
        GENUINE, o8=b"<</A<(> /EF<</F 9 0 R>>/B<)>>>", o9=stream(FORGED)
    ),
    "a filter said twice": holding(GENUINE, o5=attached(GENUINE).replace(DEFLATED, DEFLATED * 2)),
    "a length said twice": holding(GENUINE, o5=attached(GENUINE).replace(b"<<", b"<</Length 9", 1)),
    "a length that is told elsewhere": holding(
        GENUINE, o5=b"<<%s/Length 8 0 R>>\nstream\n%s\nendstream" % (JSON, GENUINE), o8=b"9"
    ),
    "a stream that is longer than it says": holding(
        GENUINE, o8=b"<</Length 1>>\nstream\n  \nendstream"
    ),
    "something behind the deflated": holding(
        GENUINE, o5=stream(zlib.compress(GENUINE) + PACKED, JSON + DEFLATED)
    ),
    "a table that leads elsewhere": holding(GENUINE).replace(b"startxref\n", b"startxref\n1"),
    "bytes before it": b"\n" + holding(GENUINE),
    "bytes behind it": holding(GENUINE) + b"7 0 obj null endobj\n%%EOF\n",
    "encrypted": holding(GENUINE).replace(b"/Root 1 0 R", b"/Root 1 0 R/Encrypt 4 0 R"),
}


@pytest.fixture(scope="module")
def trusted():
    return ("--fingerprint", json.loads(GENUINE)["seal"]["key"])


def test_what_is_written_plainly_passes(verify, put, trusted):
    assert verify(*trusted, put("record.pdf", holding(GENUINE))).status == 0
    assert shown(holding(GENUINE)) == [GENUINE]


@pytest.mark.parametrize("how", SHOWN)
def test_no_other_file_can_be_shown_than_the_one_that_is_checked(verify, put, trusted, how):
    assert any(each != GENUINE for each in shown(SHOWN[how])), "the reader shows nothing else"
    said = verify(*trusted, put("record.pdf", SHOWN[how]))
    assert said.status == 1
    assert "record.pdf: it is not as the service" in said or "several records are attached" in said


@pytest.mark.parametrize("how", NOT_SHOWN_BY_ALL)
def test_what_readers_may_take_in_two_ways_is_refused(verify, put, trusted, how):
    said = verify(*trusted, put("record.pdf", NOT_SHOWN_BY_ALL[how]))
    assert said.status == 1
    assert "it is not as the service" in said or "attached to it" in said or "no whole" in said


def test_names_that_are_text_lead_nowhere_and_harm_nothing(verify, put, trusted):
    text = rb"<</Title(/EF<</F 9 0 R>> 100 % \) /ObjStm \( stream endobj /Fil#65 (of (two)))>>"
    assert verify(*trusted, put("record.pdf", holding(GENUINE, o8=text))).status == 0


def test_fonts_whose_names_begin_like_others_harm_nothing(verify, put, trusted):
    fonts = b"".join(b"/FontName/%s+Sans" % each for each in (b"EFHQNY", b"RFABCD", b"FSABCD"))
    text = b"<<%s/AFABCD 1/EmbeddedFileABCD 2/LengthABCD 3/XRefABCD 4>>" % fonts
    assert verify(*trusted, put("record.pdf", holding(GENUINE, o8=text))).status == 0


def nested(streams, unpacked):
    """Streams that each begin in the one before, and all unpack to its end."""
    text = b""
    for _ in range(streams):
        inner = b'{"record": 1 obj<</Filter/FlateDecode>>stream\n\x78\x9c'
        text += b"\0" + len(inner).to_bytes(2, "little") + (~len(inner) & 0xFFFF).to_bytes(
            2, "little"
        ) + inner  # fmt: skip
    pack = zlib.compressobj(9, wbits=-15)
    return (
        b"1 obj<</Filter/FlateDecode>>stream\n\x78\x9c"
        + text
        + (pack.compress(bytes(unpacked)) + pack.flush() + b"sum?")
    )


HOSTILE = {
    "streams in streams": nested(600, 60 << 20),
    "streams without end": b"1 obj/FlateDecode/EmbeddedFile>>stream\n" * 50_000,
    "strings in strings": b"(" * 2_000_000,
    "strings that run on": b"".join(b"%d 0 obj(" % each for each in range(1, 100_000)),
    "objects": b"".join(b"%d 0 obj endobj\n" % each for each in range(1, 100_000)),
    "brackets": b"1 0 obj<</A" + b"<" * 1_000_000,
    "tables": b"xref\n" + b"0 0\n" * 500_000,
}


@pytest.mark.parametrize("how", HOSTILE)
def test_no_file_keeps_the_program_busy(verify, put, trusted, how):
    pdf = b"%PDF-1.7\n" + HOSTILE[how] + holding(GENUINE)[9:]
    before = time.process_time()
    said = verify(*trusted, put("record.pdf", pdf))
    assert said.status == 1
    assert time.process_time() - before < 3


def test_too_many_objects_are_told(verify, put, trusted, program, monkeypatch):
    monkeypatch.setattr(program, "MOST_OBJECTS", 4)
    said = verify(*trusted, put("record.pdf", holding(GENUINE)))
    assert said.status == 1
    assert "it has more than 4 objects" in said
