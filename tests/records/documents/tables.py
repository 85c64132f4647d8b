"""Reading CSV and XLSX back with readers that are not ours."""

import csv
import io
import re
from collections.abc import Iterator
from typing import Any

import openpyxl
from openpyxl.cell import Cell

APOSTROPHE = re.compile(r"(^|[;\t\r\n])'")
ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")
ALL_VALUES = "All values"


def rows_of_csv(text: bytes) -> list[dict[str, str]]:
    """The lines as they stand, by the names of their columns."""
    return list(csv.DictReader(io.StringIO(text.decode(), newline=""), strict=True))


def entered(cell: str) -> str:
    """A text as it was entered: one apostrophe less at the beginning and after a divider."""
    return APOSTROPHE.sub(r"\1", cell)


def workbook(content: bytes) -> openpyxl.Workbook:
    """The workbook, formulas as formulas."""
    return openpyxl.load_workbook(io.BytesIO(content))


def text(value: Any) -> str:
    """A cell's text; ISO/IEC 29500-1, 22.9.2.19 says how controls are written, the reader leaves
    that to its caller."""
    return ESCAPED.sub(lambda found: chr(int(found[1], 16)), str(value))


def shown(cell: Cell) -> str:
    """What a spreadsheet shows in a cell."""
    if not isinstance(cell.value, (int, float)):
        return text(cell.value)
    decimals = re.fullmatch(r"0(?:\.(0+))?", cell.number_format)
    return f"{cell.value:.{len(decimals[1] or '')}f}" if decimals else repr(cell.value)


def table(sheet: Any) -> Iterator[dict[str, Cell]]:
    """The rows below a sheet's head, cells by the names of their columns."""
    head = int(sheet.auto_filter.ref.split(":")[0].lstrip("A")) if sheet.auto_filter.ref else 0
    names = [cell.value for cell in sheet[head]] if head else []
    for row in sheet.iter_rows(min_row=head + 1) if head else ():
        yield {name: cell for name, cell in zip(names, row, strict=False) if name}
