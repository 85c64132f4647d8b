"""Tables as text: encoding, the sign between fields and the decimal sign are found out.

UTF-8 refuses almost every text that is none, so it is tried first; what is none is Windows-1252,
which spreadsheets write in Europe and America. The sign between fields is the one that parts most
of the first lines alike: commas stand in numbers and addresses as well, and titles above headings
have few signs. Where it is the semicolon, the comma is the decimal sign: that is why spreadsheets
write semicolons.
"""

import codecs
import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress
from functools import partial
from itertools import islice

from records.services.importing.sheets import (
    LONGEST_CELL,
    MOST_COLUMNS,
    NoSpreadsheet,
    Opened,
    Row,
    Sheet,
)

_SIGNS = (";", "\t", ",", "|")
_NO_TABLE = "The file is neither a workbook (.xlsx) nor a table as text (.csv)."
_FIRST_LINES = 20
_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def open_csv(content: bytes) -> Opened:
    """The one sheet of a table as text."""
    text, notes = _text(content)
    start, sign = _sign(text)
    sheet = Sheet("Table", lambda: _rows(text, start, sign))
    return Opened((sheet,), decimal_comma=sign == ";", notes=notes)


def _text(content: bytes) -> tuple[str, tuple[str, ...]]:
    if content.startswith(_UTF16):
        text = _decoded(content, "utf-16")
        if "\0" in text:
            raise NoSpreadsheet(_NO_TABLE)
        return text, ()
    if b"\0" in content:
        raise NoSpreadsheet(_NO_TABLE)
    try:
        return content.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        note = (
            "The text is no UTF-8; it was read as Windows-1252. Look at the letters with accents."
        )
        return _decoded(content, "cp1252"), (note,)


def _decoded(content: bytes, encoding: str) -> str:
    try:
        return content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise NoSpreadsheet(
            f"Line {line} holds bytes that are no text in UTF-8 or Windows-1252: save the table as "
            "“CSV UTF-8”."
        ) from None


def _sign(text: str) -> tuple[int, str]:
    """Where the table begins, and the sign between its fields."""
    first, _, _ = text.partition("\n")
    if first.lower().startswith("sep=") and len(first.strip()) == 5:
        return 1, first[4]
    whole = io.StringIO(text, newline=None)  # some end lines by a carriage return alone
    lines = list(islice((line for line in whole if line.strip()), _FIRST_LINES))
    return 0, max(_SIGNS, key=partial(_alike, lines))


def _alike(lines: Iterable[str], sign: str) -> tuple[int, int]:
    """How many lines a sign parts into the same number of fields, and that number."""
    widths = Counter[int]()
    with suppress(csv.Error):  # told with its row when the rows are read
        widths.update(map(len, csv.reader(lines, delimiter=sign)))
    return max(((count, width) for width, count in widths.items() if width > 1), default=(0, 0))


def _rows(text: str, start: int, sign: str) -> Iterator[tuple[int, Row]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign, strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, 1):
            if number > start:
                yield number, tuple(_cell(each, number) for each in cells[:MOST_COLUMNS])
    except csv.Error:
        raise NoSpreadsheet(
            f"Row {number + 1} cannot be read: a quotation mark is opened or closed where it "
            "should not be."
        ) from None


def _cell(text: str, number: int) -> str | None:
    if len(text) > LONGEST_CELL:
        raise NoSpreadsheet(f"Row {number} has a field of more than {LONGEST_CELL:,} characters.")
    return text.strip() or None
