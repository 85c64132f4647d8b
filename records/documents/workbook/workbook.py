"""A sealed record as a workbook: a sheet for each part, and one with every single value."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from records.documents.contents import summary as contents
from records.documents.contents.cautions import DEFERENCE
from records.documents.contents.source import Source
from records.documents.readings import Leaf, leaves
from records.documents.workbook import judged, measured, writing
from records.documents.workbook.sheets import Digits, Row, Sheet, valued

_READING = (
    "Numbers are shown with the digits that were entered, in the units that were entered, written "
    "as in data.json (degC is °C, m3/h is m³/h, 1 is a plain number). A number that a spreadsheet "
    "would round stands as text. Pressures are gauge. Cells hold no formulas.",
    "The sheet All values holds every value of the record with its place in data.json. Where this "
    "file and data.json differ, data.json is the record.",
)


def render(record: Mapping[str, Any], seal: Mapping[str, Any]) -> bytes:
    """The XLSX of a sealed record; same input, same bytes."""
    source = Source.of(record, seal)
    sealed_at = datetime.fromisoformat(str(record["sealed_at"]).upper())
    about = writing.About(
        title=contents.title(source),
        author=str(source.record.part("contractor").see("name") or ""),
        footer=f"Record {record['number']} · SHA-256 {str(seal.get('digest', ''))[:16]}…",
        at=sealed_at.replace(tzinfo=None),
    )
    return writing.write(sheets(source, list(leaves(record))), about)


def sheets(source: Source, found: Sequence[Leaf]) -> list[Sheet]:
    """Every sheet, in the order of reading."""
    rest = [
        measured.nameplates(source, found),
        measured.settings(source),
        measured.electrical(source, found),
        measured.duty_points(source),
        measured.transmitter_points(source),
        measured.protections(source),
        measured.visit(source, found),
        judged.findings(source),
        judged.finding_values(source),
        judged.not_judged(source),
        judged.limits(source),
        judged.derived(source),
        judged.signatures(source),
        judged.seal(source),
        judged.files(source),
        judged.cautions(source),
        all_values(found),
    ]
    return [summary(source, [sheet.name for sheet in rest]), *rest]


def summary(source: Source, names: Sequence[str]) -> Sheet:
    """What this record is, with what result, and which sheets follow."""
    corrects = source.record.see("corrects") or {}
    rows: list[Row] = [
        ("Record", f"{source.record.see('number')} of this station"),
        ("What", contents.what(source)),
        ("Where", contents.where(source)),
        ("Done", contents.who_and_when(source)),
        ("Result", contents.result(source)),
        ("Left open", contents.undone(source)),
        ("Replaces", f"record {corrects['number']}: {corrects['reason']}" if corrects else None),
        *((name, _plain(cell)) for name, cell in contents.facts(source)),
        *((f"Sheet {index + 2}", name) for index, name in enumerate(names)),
    ]
    shown = [row for row in rows if row[1]]
    return Sheet("Summary", ("What", "Value"), shown, (DEFERENCE, "", *_READING))


def _plain(cell: Any) -> str:
    """A cell's text, with every character as it was entered."""
    given = cell["t"] if cell else ""
    pieces = [given] if isinstance(given, str) else given
    return "".join(p if isinstance(p, str) else _characters(p["u"]) for p in pieces)


def _characters(codes: str) -> str:
    return "".join(chr(int(code.removeprefix("U+"), 16)) for code in codes.split())


ALL_HEADS = ("Place in data.json", "In words", "Tag", "Serial", "Measured at", "State",
             "As entered", "Number", "Unit", "SI value", "SI unit")  # fmt: skip


def all_values(found: Sequence[Leaf]) -> Sheet:
    """Every value of the record that is not empty; a long text over several rows."""
    rows = [row for leaf in found for row in _rows(leaf)]
    words = "Places are JSON Pointers (RFC 6901) into the member record of data.json."
    return Sheet("All values", ALL_HEADS, rows, (words,))


def _rows(leaf: Leaf) -> list[Row]:
    number, *rest = valued(leaf.quantity)
    first, *more = writing.pieces(leaf.text)
    shown = number if isinstance(number, Digits) else None
    named = (leaf.place, leaf.words, leaf.tag, leaf.serial, leaf.measured_at, leaf.state)
    whole: Row = (*named, first, shown, *rest)
    return [whole, *((leaf.place, f"{leaf.words}, continued", *named[2:], each) for each in more)]
