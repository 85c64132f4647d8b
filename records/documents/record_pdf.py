"""A sealed record as a document for people: archival PDF with the record as data inside."""

from datetime import datetime
from typing import Any

from records.document_style import Style, Units
from records.documents import figures, papers, texts, typesetting
from records.documents.blocks import Block, paragraph
from records.documents.charts.beside import NOTHING, Beside
from records.documents.contents import leftovers, sealed, summary
from records.documents.contents.sections import ANNEX, CLOSING, JUDGED, ON_SITE
from records.documents.contents.source import Source

TEMPLATE = "record"

# After the first page; `leftovers` comes last, when all others have taken what is theirs.
SECTIONS = (
    *ON_SITE,
    *JUDGED,
    *CLOSING,
    sealed.signatures,
    sealed.seal,
    *ANNEX,
    leftovers.leftovers,
)

AS_ENTERED = Style()


def render(
    record: dict[str, Any],
    seal: dict[str, Any],
    data: bytes,
    style: Style = AS_ENTERED,
    beside: Beside = NOTHING,
) -> bytes:
    """The PDF of a sealed record, with `data` (its data.json) attached; same input, same bytes.

    `beside` is what its figures need and its text does not hold.
    """
    sheet = sheet_of(record, seal, style, beside)
    sealed_at = datetime.fromisoformat(str(record["sealed_at"]).upper())
    return typesetting.pdf(TEMPLATE, sheet, data, sealed_at)


def sheet_of(
    record: dict[str, Any],
    seal: dict[str, Any],
    style: Style = AS_ENTERED,
    beside: Beside = NOTHING,
) -> dict[str, Any]:
    """Everything that is printed, in order, as the templates take it."""
    source = Source.of(record, seal, style.units, beside)
    first = summary.summary(source)
    rest = [block for section in SECTIONS for block in section(source)]
    told = [*_units_explained(style.units), *_codes_explained([*first, *rest])]
    blocks: list[Block] = [*first, *told, *rest]
    title = summary.title(source)
    digest = str(seal.get("digest", ""))
    return {
        "paper": papers.size(style.paper, record.get("snapshot") or {}),
        "title": texts.plain(title),
        "author": texts.plain(texts.short(str(record.get("contractor", {}).get("name", "")))),
        "running": texts.runs(title),
        "footer": texts.runs(f"Record {record.get('number')} · SHA-256 {digest[:16]}…"),
        "blocks": figures.on_paper(blocks),
    }


def _units_explained(units: Units) -> list[Block]:
    """Which units these are, said once where they are not those that were entered."""
    return [paragraph(_UNITS.format(_SYSTEMS[units]), "small")] if units in _SYSTEMS else []


def _codes_explained(blocks: list[Block]) -> list[Block]:
    """What codes of characters mean, said once where there are any."""
    return [paragraph(_CODES, "small")] if _has_codes(blocks) else []


def _has_codes(value: Any) -> bool:
    if isinstance(value, dict):
        return set(value) == {"u"} or any(_has_codes(inner) for inner in value.values())
    return isinstance(value, list) and any(_has_codes(inner) for inner in value)


_CODES = (
    "A character that the faces of this document do not have is printed as its Unicode number, as "
    "‹U+05D0›. The attached data.json has every text as it was written."
)
_UNITS = (
    "Quantities are printed in {} units, as this client wants them. What was entered in another "
    "unit stands behind or under the number in lighter type, with the digits entered. Sentences, "
    "plates in one line, instruments and limits keep the units they were written in."
)
_SYSTEMS = {"si": "SI and other metric", "us": "US customary"}
