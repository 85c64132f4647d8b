"""Readings as CSV: a line for every quantity of a record, as entered and in SI.

RFC 4180 in UTF-8, divided by commas, with the point as decimal sign. Columns of numbers hold
nothing but numbers. Spreadsheets take a text for a formula that begins with = + - @, a tab or a
line end, and some of them cut cells at semicolons and tabs: there, and before an apostrophe, an
apostrophe is put in front. Whoever reads texts takes away one apostrophe at the beginning and
after each semicolon, tab or line end, and has exactly what was entered.
"""

import csv
import io
import re
from collections.abc import Iterable, Mapping
from typing import Any

from calculations.units import NUMBER
from records.documents.readings import Leaf, quantities

EDITION = 2
"""Goes up when the same record would get other lines: what is kept of an older one is made anew."""

COLUMNS = (
    "record_id", "record_number", "site_code", "performed_at", "tag", "serial", "place", "words",
    "measured_at", "state", "value", "unit", "si_value", "si_unit",
)  # fmt: skip
_FIRST = frozenset("=+-@\t\r\n'＝＋－＠")
_GUARDED = re.compile(f"(^|[;\t\r\n])(?=[{re.escape(''.join(sorted(_FIRST)))}])")


def head() -> bytes:
    """The line that names the columns."""
    return written([COLUMNS])


def lines(record: Mapping[str, Any]) -> bytes:
    """The lines of one record, without the head."""
    event, site = record["event"], record["snapshot"]["site"]
    common = (record["record_id"], record["number"], guarded(str(site.get("code") or "")),
              event.get("performed_at") or "")  # fmt: skip
    return written((*common, *_cells(leaf)) for leaf in quantities(record))


def _cells(leaf: Leaf) -> tuple[Any, ...]:
    found = leaf.quantity
    assert found is not None  # noqa: S101
    digits = found.digits if NUMBER.fullmatch(found.digits) else guarded(found.digits)
    texts = (leaf.tag, leaf.serial, leaf.place, leaf.words, leaf.measured_at, leaf.state)
    si = "" if found.si is None else repr(found.si)
    return (*map(guarded, texts), digits, guarded(found.unit), si, found.si_unit)


def guarded(text: str) -> str:
    """A text that no spreadsheet takes for a formula; the same text where none would."""
    if not text or (text[0] not in _FIRST and ";" not in text and text.isprintable()):
        return text  # most are
    return _GUARDED.sub(r"\1'", text)


def written(rows: Iterable[Iterable[Any]]) -> bytes:
    """Rows as CSV."""
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue().encode()
