"""A sealed record as a document for people: archival PDF with the record as data inside."""

from datetime import datetime
from typing import Any

from records.documents import texts, typesetting
from records.documents.blocks import Block
from records.documents.contents import (
    cautions,
    closing,
    duty_points,
    judged,
    leftovers,
    nameplates,
    sealed,
    settings,
    site_tests,
    summary,
    verifications,
)
from records.documents.contents.source import Source

TEMPLATE = "record"

# The order of reading; `leftovers` comes last, when all others have taken what is theirs.
SECTIONS = (
    summary.summary,
    site_tests.visit,
    settings.settings,
    site_tests.electrical,
    site_tests.mechanical,
    duty_points.duty_points,
    verifications.verifications,
    site_tests.protections,
    site_tests.levels,
    judged.findings,
    judged.not_judged,
    judged.limits_changed,
    closing.not_possible,
    closing.remarks,
    closing.attachments,
    closing.others,
    sealed.signatures,
    sealed.seal,
    cautions.cautions,
    judged.derived,
    judged.limits,
    nameplates.nameplates,
    leftovers.leftovers,
)


def render(record: dict[str, Any], seal: dict[str, Any], data: bytes) -> bytes:
    """The PDF of a sealed record, with `data` (its data.json) attached; same input, same bytes."""
    sheet = sheet_of(record, seal)
    sealed_at = datetime.fromisoformat(str(record["sealed_at"]).upper())
    return typesetting.pdf(TEMPLATE, sheet, data, sealed_at)


def sheet_of(record: dict[str, Any], seal: dict[str, Any]) -> dict[str, Any]:
    """Everything that is printed, in order, as the templates take it."""
    source = Source.of(record, seal)
    blocks: list[Block] = [block for section in SECTIONS for block in section(source)]
    title = summary.title(source)
    digest = str(seal.get("digest", ""))
    return {
        "title": texts.plain(title),
        "author": texts.plain(str(record.get("contractor", {}).get("name", ""))),
        "running": texts.runs(title),
        "footer": texts.runs(f"Record {record.get('number')} · SHA-256 {digest[:16]}…"),
        "blocks": blocks,
    }
