"""A report as a workbook: a sheet a section, typed cells, written row by row."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import orjson
import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from records.documents.contents.cautions import DEFERENCE
from records.documents.report import data
from records.documents.report.gathered import CHANGES, LISTED, Gathered
from records.documents.report.words import COLUMNS, TITLES, Column, changed, time_of, title
from records.documents.workbook.writing import COMMANDS, clean, shortened

MOST_ROWS = 1_000_000
"""Of a sheet; spreadsheets hold 1,048,576 (ISO/IEC 29500-1 leaves it open)."""

_COUNT_HEADS = [
    Column("Overdue", lambda line: line["overdue"], kind="number"),
    Column("Due soon", lambda line: line["due_soon"], kind="number"),
    Column("Never verified", lambda line: line["never_verified"], kind="number"),
    Column("Current", lambda line: line["current"], kind="number"),
]
_NAMES = {
    "overdue": "Overdue", "due_soon": "Due soon", "never_verified": "Never verified",
    "outside": "Out of tolerance", "done": "Verified", "sealed": "Records", "intervals":
    "Intervals", "pieces": "Pieces",
}  # fmt: skip
_HEADS = (
    Column("Station", lambda line: line["station"]),
    Column("Record", lambda line: line["number"], kind="number"),
    Column("Sealed at", lambda line: line["sealed_at"], width=26),
    Column("SHA-256 of the record", lambda line: line["digest"], width=66),
)


def write(found: Gathered, path: Path, at: datetime) -> None:
    """The workbook into a file; the same report, the same bytes."""
    book = xlsxwriter.Workbook(str(path), {"constant_memory": True})
    book.set_properties({
        "title": clean(title(found.head)), "author": clean(found.head["contractor"]["name"]),
        "created": at.replace(tzinfo=None),
        "comments": "A computed agreement is arithmetic and not a safety approval.",
    })  # fmt: skip
    writer = _Writer(book, found)
    writer.summary()
    for name in (*LISTED, *CHANGES):
        lines = (orjson.loads(line) for line in found.sections[name].lines())
        writer.sheets(_NAMES[name], writer.placed(COLUMNS[name]), lines, [TITLES[name][0]])
    counted = data.head(found)
    writer.sheets("Clients", [Column("Client", lambda line: line["name"], width=34),
                              *_COUNT_HEADS], counted["clients"])  # fmt: skip
    station = Column("Station", lambda line: line["station"])
    writer.sheets("Stations", [writer.client, station, *_COUNT_HEADS], counted["stations"])
    task = Column("Task", lambda line: line["title"], width=40)
    writer.sheets("Tasks", [task, *_COUNT_HEADS], counted["tasks"])
    heads = "The head of each station's records: whoever keeps it can show that none was dropped."
    writer.sheets("Heads", [writer.client, *_HEADS], found.heads, [heads])
    book.close()


class _Writer:
    def __init__(self, book: xlsxwriter.Workbook, found: Gathered) -> None:
        self.book, self.found = book, found
        self.head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True})
        self.text = book.add_format({"text_wrap": True, "valign": "top"})
        # Stays text when somebody edits it, too.
        self.quoted = book.add_format({"text_wrap": True, "valign": "top", "quote_prefix": True})
        self.note = book.add_format({"italic": True})
        self.date = book.add_format({"num_format": "yyyy-mm-dd", "valign": "top", "align": "left"})
        self.number = book.add_format({"num_format": "0", "valign": "top"})
        names = found.names
        self.client = Column("Client", lambda line: names.get(line["client"], ""), width=28)

    def placed(self, columns: Sequence[Column]) -> list[Column]:
        return [self.client, Column("Station", lambda line: line.get("station")), *columns]

    def summary(self) -> None:
        page = self.book.add_worksheet("Summary")
        page.set_column(0, 0, 34)
        page.set_column(1, 1, 20)
        told = self.found.head
        for row, line in enumerate((title(told), time_of(told), DEFERENCE)):
            page.write_string(row, 0, clean(line), self.note)
        counts = {_words(name): number for name, number in self.found.counts.items()}
        changes = {changed(name): n for name, n in self.found.changes().items()}
        tried = {"Of these not possible at the last try": self.found.not_possible}
        for row, (name, number) in enumerate((counts | tried | changes).items(), start=4):
            page.write_string(row, 0, name, self.text)
            page.write_number(row, 1, number, self.number)

    def sheets(
        self,
        name: str,
        columns: Sequence[Column],
        lines: Iterable[dict[str, Any]],
        above: Sequence[str] = (),
    ) -> None:
        """A sheet, and a further one for each million rows."""
        page, first = self._sheet(name, columns, above)
        row, number = first, 1
        for line in lines:
            if row - first == MOST_ROWS:
                _close(page, first, row, len(columns))
                number += 1
                page, first = self._sheet(f"{name} {number}", columns, above)
                row = first
            for index, column in enumerate(columns):
                self._cell(page, row, index, column.of(line), column.kind)
            row += 1
        _close(page, first, row, len(columns))

    def _sheet(
        self, name: str, columns: Sequence[Column], above: Sequence[str]
    ) -> tuple[Worksheet, int]:
        page = self.book.add_worksheet(name)
        for index, column in enumerate(columns):
            page.set_column(index, index, column.width)
        for row, line in enumerate(above):
            page.write_string(row, 0, line, self.note)
        head = len(above)
        for index, column in enumerate(columns):
            page.write_string(head, index, column.head, self.head)
        page.freeze_panes(head + 1, 0)
        page.set_landscape()
        page.fit_to_pages(1, 0)
        page.repeat_rows(head)
        page.set_footer("&R&A, &P / &N")
        return page, head + 1

    def _cell(self, page: Worksheet, row: int, column: int, value: Any, kind: str) -> None:
        if value is None or value == "":
            return
        if kind == "date":
            page.write_datetime(row, column, date.fromisoformat(value), self.date)
        elif kind == "number":
            page.write_number(row, column, value, self.number)
        else:
            text = shortened(clean(str(value)))
            style = self.quoted if text.startswith(COMMANDS) else self.text
            page.write_string(row, column, text, style)


def _close(page: Worksheet, first: int, row: int, columns: int) -> None:
    if row > first:
        page.autofilter(first - 1, 0, row - 1, columns - 1)


def _words(state: str) -> str:
    return state.replace("_", " ").capitalize()
