"""What becomes of the golden records as documents, kept as texts that a reviewer can read.

Renew what is kept:
    DJANGO_SETTINGS_MODULE=deploy.settings .venv/bin/python -m tests.records.documents.test_golden
"""

import json
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from openpyxl.cell import Cell

from records.documents import readings_csv, record_pdf
from records.documents.workbook import workbook
from tests.records.documents import tables
from tests.records.documents.reading_back import pages, reader

GOLDEN = Path(__file__).parents[1] / "golden"
NEW_LINE = "\n"
# So many columns of the readings say which record it is.
OF_RECORD = 4
FORMATS = sorted(GOLDEN.glob("format_*.json"))


def of_pdf(record: dict[str, Any], seal: dict[str, Any], data: bytes) -> Iterator[str]:
    """Pages, headings, what is attached, and the first page."""
    pdf = record_pdf.render(record, seal, data)
    read = reader(pdf)
    yield f"title: {read.metadata.title}"
    yield f"pages: {len(read.pages)}"
    for name, [content] in read.attachments.items():
        yield f"attached: {name}, SHA-256 {sha256(content).hexdigest()}"
    yield from (f"heading: {words}" for words in _outline(read.outline))
    yield "first page:"
    yield from (line.rstrip() for line in pages(pdf)[0].splitlines())


def _outline(entries: Any, depth: int = 0) -> Iterator[str]:
    for entry in entries:
        if isinstance(entry, list):
            yield from _outline(entry, depth + 1)
        else:
            yield "  " * depth + entry.title


def of_workbook(record: dict[str, Any], seal: dict[str, Any], data: bytes) -> Iterator[str]:
    """Every cell as a spreadsheet shows it, row by row; of the sheet of all values its digest."""
    for sheet in tables.workbook(workbook.render(record, seal)):
        rows = [_row(row) for row in sheet.iter_rows()]
        yield f"sheet: {sheet.title}, {len(rows)} rows"
        if sheet.title == tables.ALL_VALUES:
            yield f"SHA-256 {sha256(NEW_LINE.join(rows).encode()).hexdigest()}"
        else:
            yield from rows


def _row(cells: Iterable[Cell]) -> str:
    shown = (tables.shown(cell) if cell.value is not None else "" for cell in cells)
    return " | ".join(shown).rstrip(" |")


def of_csv(record: dict[str, Any], seal: dict[str, Any], data: bytes) -> Iterator[str]:
    """The readings; what all lines begin with is told once."""
    rows = tables.rows_of_csv(readings_csv.head() + readings_csv.lines(record))
    beginnings = {tuple(list(row.items())[:OF_RECORD]) for row in rows}
    yield from (f"{name}: {value}" for beginning in beginnings for name, value in beginning)
    yield " | ".join(list(rows[0])[OF_RECORD:])
    yield from (" | ".join(list(row.values())[OF_RECORD:]) for row in rows)


KINDS = {"pdf": of_pdf, "xlsx": of_workbook, "csv": of_csv}


def told(golden: Path, kind: str) -> str:
    """A golden record as a document of this kind, in words."""
    data = golden.read_bytes()
    both = json.loads(data)
    return "\n".join(KINDS[kind](both["record"], both["seal"], data)) + "\n"


def kept(golden: Path, kind: str) -> Path:
    """Where the words are kept."""
    return golden.with_name(f"{golden.stem}_{kind}.txt")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("golden", FORMATS, ids=lambda path: path.stem)
def test_a_golden_record_becomes_the_same_documents(golden: Path, kind: str) -> None:
    """Where this fails by intention: renew, and look at the difference before it is kept."""
    assert told(golden, kind) == kept(golden, kind).read_text(encoding="utf-8")


def test_the_record_itself_is_attached() -> None:
    for golden in FORMATS:
        digest = sha256(golden.read_bytes()).hexdigest()
        assert f"attached: data.json, SHA-256 {digest}" in told(golden, "pdf").splitlines()


if __name__ == "__main__":
    for path in FORMATS:
        for name in KINDS:
            kept(path, name).write_text(told(path, name), encoding="utf-8")
