"""Photographs, documents and traces that were kept with a record."""

from typing import Any

from records.documents import labels
from records.documents.blocks import Block, Column, Row, heading, paragraph, table
from records.documents.contents.listing import DIGEST
from records.documents.contents.source import Source
from records.documents.placing import Part
from records.documents.shown import text

_SAME = "The record names each by the SHA-256 of its bytes: no other file has the same."
_COLUMNS = (Column("Name", fr=1), Column("What it is", fr=1.3), Column("SHA-256", mm=DIGEST))


def kept_files(source: Source) -> list[Block]:
    """A row for each file; its digest says which bytes are meant."""
    rows = [_attachment(part) for part in source.record.parts("attachments")]
    rows += [_trace(source, part) for part in source.record.parts("traces")]
    if not rows:
        return []
    return [heading("Files kept"), paragraph(_SAME, "small"), table(_COLUMNS, rows, small=True)]


def _attachment(part: Part) -> Row:
    what = labels.sentence(labels.word(str(part.take("purpose"))))
    kind = str(part.take("content_type")).partition(";")[0]
    told = f"{what}; {kind}, {_size(part.take('size'))}"
    sent, kept = str(part.take("sent_sha256")), str(part.take("sha256"))
    if sent == kept:
        return (text(str(part.take("name"))), text(told), text(kept))
    told += "; drawn anew from what was sent"
    return (text(str(part.take("name"))), text(told), text(f"{kept} (as sent: {sent})"))


def _trace(source: Source, part: Part) -> Row:
    columns = ", ".join(_heading(each) for each in part.take("columns"))
    told = f"Trace of {part.take('rows')} rows: {columns}"
    interval = part.take("sample_interval")
    if interval:
        told += f"; a sample every {source.shown.words('sample_interval', interval)}"
    name = str(part.take("name") or "Trace")
    return (text(name), text(f"{told}; {_size(part.take('size'))}"), text(str(part.take("sha256"))))


def _heading(column: dict[str, Any]) -> str:
    name = labels.word(column["name"])
    unit = labels.unit(str(column["unit"] or ""))
    return f"{name} [{unit}]" if unit else name


def _size(count: Any) -> str:
    return f"{count} bytes" if count < 10_000 else f"{count / 1000:.0f} kB"
