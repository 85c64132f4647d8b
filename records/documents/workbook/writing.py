"""Sheets as an XLSX file: typed cells, nothing that a text could turn into a formula.

The same sheets make the same bytes: dates come from the record, and XlsxWriter dates the parts of
the file alike.
"""

import io
import re
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from records.documents.workbook.sheets import Digits, Row, Sheet, Value

# Of a cell, in UTF-16 units (ISO/IEC 29500-1, 18.4.12 leaves it open; spreadsheets hold no more).
LONGEST = 32_767
_CUT = " … [goes on in data.json, and in further rows of the sheet All values]"
_KEPT = LONGEST - len(_CUT)
# Digits that a number in a spreadsheet surely keeps.
_KEPT_DIGITS = 15
_PLAIN = re.compile(r"-?(0|[1-9][0-9]*)(\.([0-9]+))?")
# What XML 1.0 cannot hold; other controls are written as _xHHHH_ (ISO/IEC 29500-1, 22.9.2.19).
_NOT_IN_XML = re.compile("[\ufffe\uffff\ud800-\udfff]")
COMMANDS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""With what a text begins that a spreadsheet would take for a formula."""
_NARROWEST, _WIDEST = 9, 48
_LINE = 120


@dataclass(frozen=True, slots=True)
class About:
    """What the file says of itself."""

    title: str
    author: str
    footer: str
    at: datetime


def write(sheets: Sequence[Sheet], about: About) -> bytes:
    """The bytes of a workbook."""
    file = io.BytesIO()
    book = xlsxwriter.Workbook(file, {"constant_memory": True})
    book.set_properties({
        "title": clean(about.title), "author": clean(about.author), "created": about.at,
        "comments": "A computed agreement is arithmetic and not a safety approval.",
    })  # fmt: skip
    writer = _Writer(book)
    for sheet in sheets:
        writer.sheet(sheet, about.footer)
    book.close()
    return file.getvalue()


class _Writer:
    def __init__(self, book: xlsxwriter.Workbook) -> None:
        self.book = book
        self.head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True,
                                     "valign": "bottom"})  # fmt: skip
        self.text = book.add_format({"text_wrap": True, "valign": "top"})
        # Stays text when somebody edits it, too.
        self.quoted = book.add_format({"text_wrap": True, "valign": "top", "quote_prefix": True})
        self.note = book.add_format({"italic": True})
        self.numbers: dict[str, Format] = {}

    def sheet(self, sheet: Sheet, footer: str) -> None:
        page = self.book.add_worksheet(sheet.name)
        notes = [line for words in sheet.above for line in _lines(words)]
        for row, line in enumerate(notes):
            page.write_string(row, 0, line, self.note)
        head = len(notes) + (1 if notes else 0)
        for column, words in enumerate(sheet.heads):
            page.write_string(head, column, words, self.head)
        for index, row_ in enumerate(sheet.rows):
            for column, value in enumerate(row_):
                self._cell(page, head + 1 + index, column, value)
        _set_up(page, sheet, head, footer)

    def _cell(self, page: Worksheet, row: int, column: int, value: Value) -> None:
        if value is None or value == "":
            return
        if isinstance(value, Digits):
            self._digits(page, row, column, value)
        elif isinstance(value, str):
            text = shortened(clean(value))
            style = self.quoted if text.startswith(COMMANDS) else self.text
            page.write_string(row, column, text, style)
        else:
            page.write_number(row, column, value, self._number("General"))

    def _digits(self, page: Worksheet, row: int, column: int, digits: Digits) -> None:
        shape = number_format(digits)
        if shape is None:
            page.write_string(row, column, str(digits), self.quoted)
        else:
            page.write_number(row, column, float(digits), self._number(shape))

    def _number(self, shape: str) -> Format:
        if shape not in self.numbers:
            self.numbers[shape] = self.book.add_format({"num_format": shape, "valign": "top"})
        return self.numbers[shape]


def number_format(digits: str) -> str | None:
    """The format that shows a number in its digits; None where a number would not keep them.

    So it is with an exponent, with more than 15 significant digits, and with a negative zero.
    """
    found = _PLAIN.fullmatch(digits)
    if found is None:
        return None
    significant = digits.lstrip("-0.").replace(".", "")
    if len(significant) > _KEPT_DIGITS or (digits.startswith("-") and not significant):
        return None
    return f"0.{'0' * len(found[3])}" if found[3] else "0"


def clean(text: str) -> str:
    """A text with what XML cannot hold as codes."""
    return _NOT_IN_XML.sub(lambda found: f"‹U+{ord(found[0]):04X}›", text)


def shortened(text: str) -> str:
    """A text that fits into a cell; it says where to go on where it does not."""
    return text if _fits(text, LONGEST) else next(pieces(text, _KEPT)) + _CUT


def pieces(text: str, longest: int = LONGEST) -> Iterator[str]:
    """A text in pieces that each fit into a cell."""
    if _fits(text, longest):
        yield text
        return
    begun, units = 0, 0
    for index, character in enumerate(text):
        width = _units(character)
        if units + width > longest:
            yield text[begun:index]
            begun, units = index, 0
        units += width
    yield text[begun:]


def _fits(text: str, longest: int) -> bool:
    return len(text) * 2 <= longest or _units(text) <= longest


def _units(text: str) -> int:
    return len(text) + sum(1 for character in text if ord(character) > 0xFFFF)


def _lines(words: str) -> list[str]:
    return textwrap.wrap(words, _LINE) or [""]


def _set_up(page: Worksheet, sheet: Sheet, head: int, footer: str) -> None:
    for column in range(len(sheet.heads)):
        page.set_column(column, column, _width(sheet, column))
    page.freeze_panes(head + 1, 0)
    if sheet.rows and sheet.heads:
        page.autofilter(head, 0, head + len(sheet.rows), len(sheet.heads) - 1)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.repeat_rows(head)
    page.set_footer(f"&L{footer}&R&A, &P / &N")


def _width(sheet: Sheet, column: int) -> float:
    longest = max((_length(row, column) for row in sheet.rows), default=0)
    head = max(map(len, sheet.heads[column].split()), default=0) + 3
    return min(max(longest + 2, head, _NARROWEST), _WIDEST)


def _length(row: Row, column: int) -> int:
    value = row[column] if column < len(row) else None
    return 0 if value is None else max(map(len, str(value).splitlines()), default=0)
