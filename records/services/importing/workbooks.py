"""Workbooks (ISO/IEC 29500): looked at before they are read, then read a row at a time.

A workbook is a ZIP of XML. What it unpacks to is told by its list of members and never exceeded:
the standard library reads no byte more of a member than that says. Entities are refused by
defusedxml. Formulas are not computed here, and what was computed last may be out of date: such a
cell has no value.
"""

import io
import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from typing import Any

import openpyxl
from openpyxl.utils.cell import range_boundaries

from records.services.importing.sheets import (
    LONGEST_CELL,
    MOST_COLUMNS,
    Cell,
    Day,
    NoSpreadsheet,
    Number,
    Opened,
    Row,
    Sheet,
    Trouble,
)

MOST_MEMBERS = 2_000
MOST_UNPACKED = 300_000_000
# XML of a table packs to a twentieth; whoever wants more than this hides something.
MOST_RATIO = 100
SMALL = 1_000_000
# These two are held in memory whole.
MOST_SHARED_TEXTS = 50_000_000
MOST_STYLES = 10_000_000
MOST_SHEETS = 30

_MERGED = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]*?ref="([A-Z]+[0-9]+:[A-Z]+[0-9]+)"')
_CHUNK = 1 << 20
_SURE_DIGITS = 15
Merged = tuple[tuple[int, int, int, int], ...]


def open_workbook(content: bytes) -> Opened:
    """The visible sheets of a workbook."""
    _look_at(content)
    try:
        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, keep_links=False)
        pages = [page for page in book.worksheets if page.sheet_state == "visible"]
    except Exception as error:  # whatever a parser meets in a broken file
        raise _unreadable(error) from None
    if len(pages) > MOST_SHEETS:
        raise NoSpreadsheet(f"The workbook has more than {MOST_SHEETS} sheets.")
    merged = {page.title: _merged(content, page) for page in pages}
    hidden = [page.title for page in book.worksheets if page.sheet_state != "visible"]
    notes = [f"The sheet “{name}” is hidden: it is not read." for name in hidden]
    return Opened(
        tuple(Sheet(page.title, _reader(page, merged[page.title])) for page in pages),
        notes=tuple(notes),
    )


def _look_at(content: bytes) -> None:
    """Refuse what is no workbook, and what unpacks to too much, before anything is unpacked."""
    try:
        members = zipfile.ZipFile(io.BytesIO(content)).infolist()
    except (zipfile.BadZipFile, ValueError, OSError) as error:
        raise _unreadable(error) from None
    names = {member.filename for member in members}
    if "xl/workbook.xml" not in names:
        raise NoSpreadsheet(_other_kind(names))
    if len(names) != len(members) or len(members) > MOST_MEMBERS:
        raise _too_much()
    if any(member.flag_bits & 1 for member in members):
        raise NoSpreadsheet("The workbook opens with a password: save it without one.")
    if sum(member.file_size for member in members) > MOST_UNPACKED:
        raise _too_much()
    for member in members:
        _look_at_member(member)


def _look_at_member(member: zipfile.ZipInfo) -> None:
    packed = max(member.compress_size, 1)
    if member.file_size > SMALL and member.file_size / packed > MOST_RATIO:
        raise _too_much()
    most = {"xl/sharedStrings.xml": MOST_SHARED_TEXTS, "xl/styles.xml": MOST_STYLES}
    if member.file_size > most.get(member.filename, MOST_UNPACKED):
        raise _too_much()


def _other_kind(names: set[str]) -> str:
    if "xl/workbook.bin" in names:
        return "The file is a binary workbook (.xlsb): save it as .xlsx, then send that one."
    if "mimetype" in names:
        return "The file is an open document (.ods or the like): save it as .xlsx, then send that."
    if "word/document.xml" in names:
        return "The file is a text document; expected a workbook (.xlsx) or a table (.csv)."
    return "The file is a ZIP without a workbook in it; expected .xlsx or .csv."


def _too_much() -> NoSpreadsheet:
    return NoSpreadsheet(
        "The workbook unpacks to far more than a table needs, so it was not opened. Copy the cells "
        "alone into a new workbook, or save each sheet as .csv."
    )


def _unreadable(error: Exception) -> NoSpreadsheet:
    causes = (error, error.__cause__, error.__context__)
    if any(type(each).__module__.startswith("defusedxml") for each in causes):
        return NoSpreadsheet("The workbook declares entities, which no spreadsheet writes.")
    return NoSpreadsheet(
        "The workbook cannot be read: it is damaged, or was not written by a spreadsheet. Open it "
        "in one, save it as .xlsx anew, then send that one."
    )


def _merged(content: bytes, page: Any) -> Merged:
    """Where cells are merged: that stands behind the rows, which are read one by one."""
    found: list[bytes] = []
    before = b""
    try:
        with zipfile.ZipFile(io.BytesIO(content)).open(page._worksheet_path) as member:
            while chunk := member.read(_CHUNK):
                found += _MERGED.findall(before + chunk)
                before = (before + chunk)[-200:].rpartition(b">")[2]
    except Exception as error:
        raise _unreadable(error) from None
    if len(found) > MOST_MEMBERS:
        raise NoSpreadsheet(f"Too many cells of the sheet “{page.title}” are merged: unmerge them.")
    return tuple(range_boundaries(each.decode()) for each in found)


def _reader(page: Any, merged: Merged) -> Any:
    return lambda: _rows(page, merged)


def _rows(page: Any, merged: Merged) -> Iterator[tuple[int, Row]]:
    page.reset_dimensions()  # what a file says of its size is not trusted
    try:
        for number, cells in enumerate(page.iter_rows(), 1):
            row = [_cell(cell, page.title, number) for cell in cells[:MOST_COLUMNS]]
            yield number, tuple(_with_merged(row, number, merged) if merged else row)
    except NoSpreadsheet:
        raise
    except Exception as error:
        raise _unreadable(error) from None


def _with_merged(row: list[Cell], number: int, merged: Merged) -> list[Cell]:
    for left, top, right, bottom in merged:
        if top <= number <= bottom:
            row += [None] * (min(right, MOST_COLUMNS) - len(row))
            for index in range(left - 1, min(right, MOST_COLUMNS)):
                row[index] = Trouble(
                    "is merged with others, so that nobody can tell whose value it is: unmerge "
                    "the cells and fill each"
                )
    return row


def _cell(cell: Any, sheet: str, number: int) -> Cell:
    value, kind = cell.value, cell.data_type
    if value is None:
        return None
    if kind == "f":
        formula = str(value)[:40]
        return Trouble(
            f"holds a formula ({formula}), whose last result may be out of date: copy the cell, "
            "then paste it as a value"
        )
    if kind == "e":
        return Trouble(f"holds an error ({str(value)[:20]})")
    if isinstance(value, str):
        if len(value) > LONGEST_CELL:
            raise NoSpreadsheet(f"Row {number} of “{sheet}” has a text of more than 10,000 signs.")
        return value.strip() or None
    if isinstance(value, bool):
        return value
    return _dated(value) if isinstance(value, (date, time)) else _number(cell, value)


def _dated(value: date | time) -> Cell:
    if isinstance(value, datetime):
        midnight = value.time() == time()
        return Day(value.date().isoformat() if midnight else value.isoformat(" "))
    return Day(value.isoformat())


def _number(cell: Any, value: Any) -> Cell:
    """A number with the digits that a spreadsheet shows: fifteen, which is all it keeps."""
    if not isinstance(value, (int, float)):
        return Trouble("holds a time span: write it as a number")
    if value != value or value in (float("inf"), float("-inf")):
        return Trouble("is no number")
    if abs(value) >= 10**_SURE_DIGITS:
        return Trouble("has more digits than a spreadsheet keeps of a number: enter it as text")
    if "%" in str(cell.number_format):
        return Number(_digits(value * 100), "%")
    return Number(_digits(value))


def _digits(value: float) -> str:
    if float(value).is_integer():
        return str(int(value))
    return f"{value:.{_SURE_DIGITS}g}"
